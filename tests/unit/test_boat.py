"""boat.toml: every key, every default with its reason, every mistake in a sailor's words."""

from dataclasses import asdict
from datetime import UTC, datetime

import pytest

from powersim.errors import InputError
from powersim.inputs.boat import collect_boat, read_boat
from powersim.inputs.boat_passage import parse_depart
from powersim.inputs.text import ReadingError
from powersim.records import BankPlace, ShadeSector, battery_of, panel_of

BATTERY = '[battery]\nchemistry = "flooded"\ncapacity = "220 Ah"\n'
ENGINE = '[engine]\nrated = "14 kW"\n[fuel]\ntank = "85 L"\n'
ALTERNATOR = '[alternator]\nnameplate = "75 A"\n'


@pytest.fixture
def boat_file(write_file):
    """Read a boat.toml written as text."""
    return lambda text: collect_boat(write_file("boat.toml", text))


@pytest.fixture
def boat_of(write_file):
    """The boat of a boat.toml in which nothing is wrong."""
    return lambda text: read_boat(write_file("boat.toml", text)).boat


def messages(found, path_end="boat.toml"):
    """What is wrong, with the folder left out of the file's name."""
    return [
        str(problem).replace(problem.file, path_end, 1) if problem.file else str(problem)
        for problem in found.problems
    ]


def assumed(found):
    return {one.place: (one.value, one.reason) for one in found.assumptions}


# What the keys mean


def test_a_chemistry_and_a_capacity_make_a_bank(boat_of):
    assert boat_of(BATTERY).battery == battery_of("flooded", capacity_Ah=220.0)


def test_every_key_of_the_battery_reaches_its_field(boat_of):
    boat = boat_of(
        '[battery]\nchemistry = "AGM"\ncapacity = "200 Ah"\ncapacity_10h = "185 Ah"\n'
        'capacity_5h = "170 Ah"\npeukert = 1.15\nnominal = "24 V"\nhealth = "90 %"\n'
        'health_doubt = "4 %"\n'
        'at_departure = "95 %"\nfloor = "55 %"\nflat = "25 %"\ncutout = "22.4 V"\n'
        'self_discharge = "3 %/month"\nstandby = "10 mA"\ncharge_efficiency = "92 %"\n'
        'absorption = "28.6 V"\nfloat = "27.2 V"\ntemp_comp = "-48 mV/degC"\n'
        'full_tail = "1.5 %"\ncycle_life = "900 at 40 %; 500 at 75 %"\nreading = "monitor"\n'
        'temperature = "cabin"\n'
    )
    expected = battery_of(
        "agm",
        capacity_Ah=200.0,
        capacity_10h_Ah=185.0,
        capacity_5h_Ah=170.0,
        peukert_exponent=1.15,
        nominal_V=24.0,
        health_frac=0.90,
        health_doubt_frac=0.04,
        soc_at_departure=0.95,
        floor_soc=0.55,
        flat_soc=0.25,
        cutout_V=22.4,
        self_discharge_frac_per_month=0.03,
        standby_A=0.01,
        charge_efficiency_frac=0.92,
        absorption_V=28.6,
        float_V=27.2,
        temp_comp_V_per_C=-0.048,
        full_tail_frac=0.015,
        cycle_life=((0.4, 900.0), (0.75, 500.0)),
        reading="monitor",
        place=BankPlace(place="cabin"),
    )
    found, wanted = asdict(boat.battery), asdict(expected)
    assert found.pop("cycle_life") == wanted.pop("cycle_life")
    assert found.pop("place") == wanted.pop("place")
    assert found.pop("rested") == wanted.pop("rested")
    assert found == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("bilge", BankPlace()),
        ("Outside", BankPlace(place="outside")),
        ("at least 5 degC", BankPlace(least_C=5.0)),
        ("cabin, at least 4 degC", BankPlace(place="cabin", least_C=4.0)),
        ("12 degC", BankPlace(fixed_C=12.0)),
        ("-3 degC", BankPlace(fixed_C=-3.0)),
    ],
)
def test_how_warm_the_bank_is_can_be_a_place_or_a_temperature(boat_of, text, place):
    assert boat_of(BATTERY + f'temperature = "{text}"\n').battery.place == place


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("cabbin", "'cabbin' is not known here; did you mean 'cabin'?"),
        ("90 degC", "'90 degC' is not between -30 degC and 60 degC"),
        ("at least 90 degF, cabin, bilge", "says one thing twice"),
        ("12 degC, at least 5 degC", "'12 degC, at least 5 degC' has one temperature too many"),
        ("cold", "'cold' is not known here"),
    ],
)
def test_a_temperature_of_the_bank_that_cannot_be_read(boat_file, text, reason):
    (problem,) = boat_file(BATTERY + f'temperature = "{text}"\n').problems
    assert reason in problem.text
    assert problem.line == 4
    assert "for example 12 degC" in problem.expected


def test_the_default_place_of_the_bank_is_named_with_its_reason(boat_file):
    (assumed,) = (
        one
        for one in boat_file(BATTERY).assumptions
        if one.place == "boat.toml battery.temperature"
    )
    assert assumed.value == "bilge"
    assert assumed.reason.startswith("low in the boat: 3 degC above the air")


def test_self_discharge_is_a_share_a_month_with_or_without_the_month(boat_of):
    with_month = boat_of(BATTERY + 'self_discharge = "4 %/month"\n')
    assert boat_of(BATTERY + 'self_discharge = "4 %"\n') == with_month
    assert with_month.battery.self_discharge_frac_per_month == pytest.approx(0.04)


def test_default_voltages_scale_with_a_24_V_bank(boat_of):
    boat = boat_of(BATTERY + 'nominal = "24 V"\n' + ALTERNATOR + "splitter = true\n" + ENGINE)
    assert boat.battery.absorption_V == pytest.approx(28.8)
    assert boat.battery.cutout_V == pytest.approx(23.0)
    assert boat.battery.temp_comp_V_per_C == pytest.approx(-0.060)
    assert boat.alternator.constant_V == pytest.approx(28.4)
    assert boat.alternator.cable_drop_V == pytest.approx(2 * (0.2 + 0.6))


def test_a_panel_alone_has_a_sticker_and_a_controller(boat_of):
    boat = boat_of(BATTERY + '[[panel]]\npower = "50 W"\n[[panel]]\npower = "100 W"\n')
    assert boat.panels == (
        panel_of("panel 1", power_W=50.0),
        panel_of("panel 2", power_W=100.0),
    )
    assert [controller.name for controller in boat.controllers] == ["controller"]


def test_every_key_of_a_panel_reaches_its_field(boat_of):
    (panel,) = boat_of(
        BATTERY + '[[panel]]\nname = "port  rail"\npower = "0.05 kW"\ncount = 2\nmount = "hand"\n'
        'tilt = "20 deg"\nbearing = "-90 deg"\ntrims_per_day = 5\ncontroller = "small"\n'
        'salt = "6 %"\nwiring = "2 %"\nyield = "104 %"\n'
        'vmp = "18.2 V"\nimp = "2.75 A"\nvoc = "22.5 V"\n'
        'isc = "2.95 A"\ntemp_coefficient = "-0.5 %/degC"\nshade = [\n'
        '  { from = "200 deg", to = "320 deg", below = "45 deg", side = "lee" },\n'
        '  { from = "-20 deg", to = "20 deg", below = "80 deg", loss = "50 %" },\n]\n'
        '[[controller]]\nname = "small"\n'
    ).panels
    assert panel == panel_of(
        "port rail",
        power_W=50.0,
        count=2,
        mount="hand",
        tilt_deg=20.0,
        bearing_deg=-90.0,
        trims_per_day=5,
        controller="small",
        salt_frac=0.06,
        wiring_frac=0.02,
        yield_frac=1.04,
        module_Vmp=18.2,
        module_Imp=2.75,
        module_Voc=22.5,
        module_Isc=2.95,
        power_temp_coeff_per_C=-0.005,
        shades=(
            ShadeSector(from_deg=200.0, to_deg=320.0, below_deg=45.0, side="lee"),
            ShadeSector(from_deg=-20.0, to_deg=20.0, below_deg=80.0, loss_frac=0.5),
        ),
    )


def test_a_half_known_sticker_is_completed_in_proportion(boat_of):
    """A 200 W module of 36 V: 1.008 * 200 / 36 = 5.6 A; 36 * 22 / 18 = 44 V; 5.6 * 6 / 5.6."""
    (panel,) = boat_of(BATTERY + '[[panel]]\npower = "200 W"\nvmp = "36 V"\n').panels
    sticker = (panel.module_Vmp, panel.module_Imp, panel.module_Voc, panel.module_Isc)
    assert sticker == pytest.approx((36.0, 5.6, 44.0, 6.0))


def test_every_key_of_a_controller_reaches_its_field(boat_of):
    (controller,) = boat_of(
        BATTERY + '[[controller]]\nname = "main"\nkind = "pwm"\ndrop = "0.3 V"\nrated = "10 A"\n'
        'idle = "8 mA"\nabsorption = "14.6 V"\nfloat = "13.6 V"\ntemp_comp = "0 mV/degC"\n'
        'efficiency = "94 %"\n'
    ).controllers
    assert (controller.name, controller.kind) == ("main", "pwm")
    assert (controller.rated_A, controller.idle_A) == (10.0, pytest.approx(0.008))
    assert (controller.absorption_V, controller.float_V) == (14.6, 13.6)
    assert (controller.temp_comp_V_per_C, controller.drop_V) == (0.0, 0.3)
    assert controller.efficiency_frac == pytest.approx(0.94)


def test_panels_on_one_tracking_controller_may_be_in_series(boat_of):
    panels = '[[panel]]\npower = "50 W"\n[[panel]]\npower = "100 W"\n'
    for typed, wired in (("", "parallel"), ('[[controller]]\nwired = "series"\n', "series")):
        (controller,) = boat_of(BATTERY + panels + typed).controllers
        assert controller.wired == wired


def test_panels_in_series_on_a_pwm_controller_are_refused(boat_file):
    found = boat_file(BATTERY + '[[controller]]\nkind = "pwm"\nwired = "series"\n')
    (said,) = messages(found)
    assert "wired: panels in series on a pwm controller: it holds them at the bank's volt" in said
    assert 'wired = "parallel", or kind = "mppt"' in said


def test_how_panels_are_wired_is_assumed_where_there_are_several(boat_file):
    panel = '[[panel]]\npower = "50 W"\n'
    for panels, several in ((panel, False), (2 * panel, True)):
        assert ("boat.toml controller.wired" in assumed(boat_file(BATTERY + panels))) == several


def test_an_alternator_gives_less_than_its_nameplate(boat_of):
    """60 % and 75 % of 75 A, hot: common practice, no source."""
    alternator = boat_of(BATTERY + ALTERNATOR + ENGINE).alternator
    assert (alternator.charging_A, alternator.motoring_A) == (45.0, 56.25)


@pytest.mark.parametrize(
    ("more", "outputs"),
    [
        ("", (37.5, 37.5)),
        ("temperature_controlled = true\n", (45.0, 56.25)),
        ('charging = "60 A"\n', (60.0, 37.5)),
    ],
)
def test_lithium_limits_an_alternator_to_half_unless_it_minds_its_heat(boat_of, more, outputs):
    """50 % of 75 A: common practice, no source. What was measured goes before it."""
    bank = BATTERY.replace("flooded", "lifepo4")
    alternator = boat_of(bank + ALTERNATOR + more + ENGINE).alternator
    assert (alternator.charging_A, alternator.motoring_A) == outputs
    assert alternator.temperature_controlled is ("true" in more)


@pytest.mark.parametrize(
    ("measured", "outputs"),
    [
        ('charging = "45 A"', (45.0, 45.0)),
        ('motoring = "50 A"', (40.0, 50.0)),
        ('charging = "40 A"\nmotoring = "52 A"', (40.0, 52.0)),
    ],
)
def test_measured_output_needs_no_nameplate(boat_of, measured, outputs):
    alternator = boat_of(BATTERY + f"[alternator]\n{measured}\n" + ENGINE).alternator
    assert (alternator.charging_A, alternator.motoring_A) == pytest.approx(outputs)


def test_every_key_of_the_alternator_reaches_its_field(boat_of):
    alternator = boat_of(
        BATTERY + ALTERNATOR + 'regulator = "multi-stage"\nvoltage = "14.1 V"\n'
        'absorption = "14.5 V"\nfloat = "13.4 V"\nabsorption_time = "90 min"\n'
        'cable_drop = "0.3 V"\nsplitter = true\nbattery_sensing = true\nefficiency = "55 %"\n'
        'temp_comp = "-30 mV/degC"\n' + ENGINE
    ).alternator
    assert alternator.regulator == "multi-stage"
    assert (alternator.constant_V, alternator.absorption_V, alternator.float_V) == (
        14.1,
        14.5,
        13.4,
    )
    assert (alternator.absorption_h, alternator.cable_drop_V) == (1.5, pytest.approx(0.9))
    assert (alternator.battery_sensing, alternator.efficiency_frac) == (True, 0.55)
    assert alternator.temp_comp_V_per_C == pytest.approx(-0.03)


def test_an_engine_nobody_measured_burns_what_the_fuel_curve_says(boat_of):
    """Skarstein and Uhlen 1989: 0.08145 L/h for each rated kW, * 14 kW * 0.45 = 0.513 L/h.

    Motoring 0.15 * 14 = 2.1 L/h: common practice, no source.
    """
    engine = boat_of(BATTERY + ENGINE).engine
    assert engine.charging_L_per_h == pytest.approx(0.5131, abs=1e-4)
    assert engine.motoring_L_per_h == pytest.approx(2.1)
    assert engine.charging_burn_loaded is False


def test_every_key_of_the_engine_reaches_its_field(boat_of):
    engine = boat_of(
        BATTERY + '[engine]\nrated = "19 hp"\ncharging_burn = "0.2 gal/h"\n'
        'charging_burn_loaded = true\nmotoring_burn = "1.9 L/h"\nmotoring_speed = "5 kn"\n'
        'slope = "0.3 L/kWh"\nstart_battery = "shared"\nshared_start = "45 %"\n'
        'max_heel = "20 deg"\ncharges_flat_bank = true\n[fuel]\ntank = "85 L"\n'
    ).engine
    assert engine.rated_kW == pytest.approx(14.168, abs=1e-3)  # 745.7 W to the horsepower
    assert engine.charging_L_per_h == pytest.approx(0.757, abs=1e-3)  # 3.785 L to the US gallon
    assert (engine.charging_burn_loaded, engine.charges_flat_bank) == (True, True)
    assert (engine.motoring_L_per_h, engine.motoring_kn) == (1.9, 5.0)
    assert (engine.slope_L_per_kWh, engine.max_heel_deg) == (0.3, 20.0)
    assert (engine.start_battery, engine.shared_start_soc) == ("shared", 0.45)


@pytest.mark.parametrize(
    ("cans", "litres"),
    [("3 x 20 L", 60.0), ("3x20L", 60.0), ("2 × 5 gal", 37.854), ("60 L", 60.0)],
)
def test_jerrycans_are_counted_or_summed(boat_of, cans, litres):
    fuel = boat_of(BATTERY + ENGINE + f'jerrycans = "{cans}"\n').fuel
    assert fuel.jerrycans_L == pytest.approx(litres, abs=1e-3)
    assert fuel.aboard_L == pytest.approx(85.0 + litres, abs=1e-3)


@pytest.mark.parametrize(
    ("more", "reserve_L"),
    [
        ("", 25.2),  # 12 h * 2.1 L/h, more than 20 % of 85 L
        ('jerrycans = "100 L"\n', 37.0),  # 20 % of 185 L, more than 25.2 L
        ('aboard = "20 L"\n', 20.0),  # no more than there is
    ],
)
def test_the_reserve_is_half_a_day_under_power_or_a_fifth(boat_of, more, reserve_L):
    """Common practice, no source."""
    assert boat_of(BATTERY + ENGINE + more).fuel.reserve_L == pytest.approx(reserve_L)


@pytest.mark.parametrize(
    ("chemistry", "habit"),
    [("flooded", (0.65, 0.80)), ("lifepo4", (0.30, 0.90))],
)
def test_the_charging_habit_follows_the_chemistry(boat_of, chemistry, habit):
    bank = BATTERY.replace("flooded", chemistry)
    rule = boat_of(bank + ALTERNATOR + ENGINE).charging
    assert (rule.start_soc, rule.stop_soc) == pytest.approx(habit)
    assert rule.full_every_days is None
    assert rule.by_engine


@pytest.mark.parametrize("engine", ["", ALTERNATOR + ENGINE])
def test_a_high_floor_leaves_room_for_a_rule(boat_of, engine):
    rule = boat_of(BATTERY + 'floor = "96 %"\n' + engine).charging
    assert (rule.start_soc, rule.stop_soc) == pytest.approx((0.98, 1.0))


def test_every_key_of_charging_and_shedding_reaches_its_field(boat_of):
    boat = boat_of(
        BATTERY + ALTERNATOR + ENGINE + '[charging]\nby_engine = true\nstart = "60 %"\n'
        'stop = "85 %"\nhours = "20:00-07:30"\nshortest = "45 min"\nlongest = "3 h"\n'
        'full_every = "10 days"\n[shedding]\ncomfort_below = "65 %"\nuseful_below = "55 %"\n'
        'restore_above = "8 %"\n'
    )
    rule, shedding = boat.charging, boat.shedding
    assert (rule.start_soc, rule.stop_soc, rule.full_every_days) == (0.60, 0.85, 10.0)
    assert (rule.hours_h, rule.shortest_h, rule.longest_h) == ((20.0, 7.5), 0.75, 3.0)
    assert (shedding.comfort_below_soc, shedding.useful_below_soc) == (0.65, 0.55)
    assert shedding.restore_above_frac == 0.08


def test_a_boat_without_an_engine_never_charges_by_it(boat_file):
    found = boat_file(BATTERY)
    assert found.boat.engine is found.boat.fuel is found.boat.alternator is None
    assert found.boat.charging.by_engine is False
    assert not any("engine" in place for place in assumed(found))
    found = boat_file(BATTERY + ENGINE)
    assert assumed(found)["boat.toml charging.by_engine"] == ("false", "there is no alternator")


def test_supplies_hang_on_by_name(boat_of):
    inverter, converter = boat_of(
        BATTERY + '[[supply]]\nname = "inverter"\n[[supply]]\nname = "laptop"\n'
        'efficiency = "88 %"\nidle = "1 W"\noutput = "19 V"\nleft_on = true\n'
    ).supplies
    assert (inverter.name, inverter.efficiency_frac, inverter.left_on) == ("inverter", 0.85, False)
    assert (converter.efficiency_frac, converter.idle_W) == (0.88, 1.0)
    assert (converter.output_V, converter.left_on) == (19.0, True)


# What is assumed


def test_every_default_is_told_with_its_reason(boat_file):
    found = boat_file(BATTERY + '[[panel]]\nname="a"\npower="50 W"\n[[panel]]\npower="50 W"\n')
    told = assumed(found)
    practice = "common practice, no source"
    assert told["boat.toml battery.health"] == (
        "85 %",
        f"a lead-acid bank of unknown age never gives its label; {practice}",
    )
    assert told["boat.toml battery.temp_comp"] == (
        "-30 mV/degC",
        f"per 12 V, from 25 degC; {practice}",
    )
    assert told["boat.toml battery.self_discharge"] == ("5 %/month", practice)
    assert told["boat.toml controller.idle"] == ("15 mA", practice)
    assert told["boat.toml panel.salt (a, panel 2)"] == ("4 %", f"salt and soot; {practice}")
    assert told["boat.toml shedding"] == ("off", "nothing is switched off unless you say when")


def test_what_is_given_is_not_assumed(boat_file):
    found = boat_file(BATTERY + 'health = "85 %"\n')
    assert "boat.toml battery.health" not in assumed(found)


# The passage


@pytest.mark.parametrize(
    ("written", "offset_h"),
    [("zone", None), ("UTC", 0.0), ("UTC-1", -1.0), ("utc+05:30", 5.5), ("UTC −3", -3.0)],
)
def test_ship_time_is_by_zones_or_fixed(boat_file, written, offset_h):
    found = boat_file(f'[passage]\nship_time = "{written}"\n' + BATTERY)
    assert found.problems == ()
    assert found.settings.ship_offset_h == offset_h


def test_settings_for_every_leg(boat_file):
    found = boat_file(
        '[passage]\nname = "home"\nspeed = "4.5 kn"\ntrack = "rhumb"\ntack = "port"\n'
        'heel = "12 deg"\nmotoring = "2 h at start; 3 h at end; 60 % of calms"\n'
        'calm_below = "7 kn"\ncloud_model = "reed"\n' + BATTERY
    )
    assert (found.settings.name, found.settings.cloud_model) == ("home", "reed")
    assert found.settings.leg == {
        "speed_kn": 4.5,
        "track": "rhumb",
        "tack": "port",
        "heel_deg": 12.0,
        "motoring_start_h": 2.0,
        "motoring_end_h": 3.0,
        "motoring_calm_frac": 0.6,
        "calm_kn": 7.0,
    }


@pytest.mark.parametrize(
    "written",
    [
        '"2026-09-05 09:00"',
        '"2026-09-05T09:00Z"',
        '"2026-09-05 09:00 UTC"',
        '"2026-09-05 11:30 +02:30"',
        "2026-09-05T09:00:00Z",
        "2026-09-05T09:00:00",
        "2026-09-05 04:00:00-05:00",
    ],
)
def test_departure_is_utc_unless_it_has_an_offset(boat_file, written):
    found = boat_file(f"[passage]\ndepart = {written}\n" + BATTERY)
    assert found.problems == ()
    assert found.settings.depart_utc == datetime(2026, 9, 5, 9, tzinfo=UTC)


@pytest.mark.parametrize("written", ['"2026-09-05"', "2026-09-05"])
def test_a_date_alone_begins_at_noon(boat_file, written):
    found = boat_file(f"[passage]\ndepart = {written}\n" + BATTERY)
    assert found.settings.depart_utc == datetime(2026, 9, 5, 12, tzinfo=UTC)
    assert assumed(found)["boat.toml passage.depart"] == (
        "12:00 UTC",
        "a date alone begins at noon UTC",
    )


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        ("next week", "cannot read 'next week' as a date"),
        ("05.09.2026", "cannot read '05.09.2026' as a date"),
        ("2026-02-30", "there is no '2026-02-30' in the calendar or on the clock"),
        ("2026-09-05 25:00", "there is no '2026-09-05 25:00' in the calendar or on the clock"),
        ("1926-09-05", "'1926-09-05' is not between 1950 and 2100"),
        (7, "7 is not a date"),
    ],
)
def test_what_is_no_departure_says_why(written, reason):
    with pytest.raises(ReadingError) as caught:
        parse_depart(written)
    assert caught.value.reason == reason


# What is wrong

NO_UNIT = "has no unit; write it with its unit, in quotes"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            '[battery]\nchemistry = "flooded"\ncapacity = "220 W"\n',
            "boat.toml:3: battery.capacity: '220 W' is a power\n"
            "  expected  charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            '[battery]\nchemistry = "flooded"\ncapacity = "0 Ah"\n',
            "boat.toml:3: battery.capacity: '0 Ah' is less than 1 Ah\n"
            "  expected  charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            '[battery]\nchemistry = "flooded"\ncapacity = 220\n',
            f"boat.toml:3: battery.capacity: 220 {NO_UNIT}\n"
            "  expected  charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            '[battery]\nchemistry = "flooded"\ncapacity = "220,5 Ah"\n',
            "boat.toml:3: battery.capacity: '220,5 Ah' has a comma in its number; write a decimal "
            "point, as in 45.5, and nothing between thousands\n"
            "  expected  charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            '[battery]\nchemistry = "flooded"\ncapacity = ["220 Ah"]\n',
            "boat.toml:3: battery.capacity: a list is not text in quotes\n"
            "  expected  charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            '[battery]\nchemistry = "flodded"\ncapacity = "220 Ah"\n',
            "boat.toml:2: battery.chemistry: 'flodded' is not known here; did you mean "
            "'flooded'?\n  expected  one of flooded, gel, agm, lifepo4",
        ),
        (
            '[battery]\nchemistry = "flooded"\n',
            "boat.toml:1: battery: no capacity\n"
            "  expected  capacity: charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            BATTERY + 'helth = "85 %"\n',
            "boat.toml:4: battery.helth: unknown key; did you mean 'health'?\n"
            "  expected  health, the share of the label's capacity that is left, for example 85 %",
        ),
        (
            BATTERY + 'nominal = "13 V"\n',
            "boat.toml:4: battery.nominal: no bank has 13 V\n  expected  12 V, 24 V, 36 V or 48 V",
        ),
        (
            BATTERY + 'floor = "15 %"\n',
            "boat.toml:4: battery.floor: the floor of 15 % is not above flat, 20 %\n"
            "  expected  the lowest charge that you plan for, for example 50 %",
        ),
        (
            BATTERY + 'flat = "60 %"\n',
            "boat.toml:4: battery.flat: the floor of 50 % is not above flat, 60 %\n"
            "  expected  charge at which the bank counts as flat, below the floor, for example "
            "20 %",
        ),
        (
            BATTERY.replace("flooded", "lifepo4") + 'cutout = "13 V"\nfloat = "12.9 V"\n',
            "boat.toml:4: battery.cutout: cutout at 13 V is not below float at 12.9 V\n"
            "  expected  voltage under load at which electronics drop out, for example 11.5 V",
        ),
        (
            BATTERY + 'capacity_10h = "230 Ah"\n',
            "boat.toml:4: battery.capacity_10h: 230 Ah at the 10-hour rate does not fit 220 Ah "
            "at the 20-hour rate\n"
            "  expected  less than at the slower rate, for example 200 Ah after 220 Ah",
        ),
        (
            BATTERY + 'capacity_5h = "55 Ah"\n',
            "boat.toml:4: battery.capacity_5h: 55 Ah at the 5-hour rate does not fit 220 Ah at "
            "the 20-hour rate\n"
            "  expected  less than at the slower rate, for example 200 Ah after 220 Ah",
        ),
        (
            BATTERY + '[[panel]]\npower = "-100 W"\n',
            "boat.toml:5: panel.power: '-100 W' is less than 1 W\n"
            "  expected  the label's power of one panel, for example 100 W",
        ),
        (
            BATTERY + '[panel]\npower = "100 W"\n',
            "boat.toml:4: panel: needs double square brackets\n"
            "  expected  one line [[panel]] before each of them",
        ),
        (
            "[[battery]]\n",
            "boat.toml:1: battery: a list is not a table\n"
            "  expected  its keys under a line [battery]",
        ),
        (
            BATTERY + '[[panel]]\npower = "100 W"\ncount = 1.5\n',
            "boat.toml:6: panel.count: 1.5 is not a whole number\n"
            "  expected  how many of them, for example 2",
        ),
        (
            BATTERY + '[[panel]]\npower = "100 W"\nvmp = "25 V"\nvoc = "22 V"\n',
            "boat.toml:6: panel.vmp: vmp of 25 V is not below voc of 22 V\n"
            "  expected  both as on the label, for example 18.0 V and 22.0 V",
        ),
        (
            BATTERY + '[[panel]]\npower = "100 W"\ncontroller = "man"\n'
            '[[controller]]\nname = "main"\n',
            "boat.toml:6: panel.controller: there is no 'man'; did you mean 'main'?\n"
            "  expected  the name of a [[controller]], here main",
        ),
        (
            BATTERY + '[[panel]]\npower = "100 W"\n[[controller]]\nname = "a"\n'
            '[[controller]]\nname = "b"\n',
            "boat.toml:4: panel: no controller, and there are several\n"
            "  expected  the name of a [[controller]], here a or b",
        ),
        (
            BATTERY + '[[panel]]\npower = "100 W"\nshade = [{ from = "0 deg", to = "9 deg" }]\n',
            "boat.toml:6: panel.shade: no below\n"
            "  expected  below: the height up to which the shade reaches, for example 60 deg",
        ),
        (
            BATTERY + '[[controller]]\nfloat = "14.8 V"\n',
            "boat.toml:5: controller.float: float at 14.8 V is above absorption at 14.4 V\n"
            "  expected  a float voltage below the absorption voltage, for example 13.5 V and "
            "14.4 V",
        ),
        (
            BATTERY + ALTERNATOR,
            "boat.toml:4: alternator: there is no [engine] to turn it\n"
            "  expected  a line [engine], then rated",
        ),
        (
            BATTERY + "[alternator]\n" + ENGINE,
            "boat.toml:4: alternator: no nameplate\n"
            "  expected  nameplate: the nameplate's current, for example 75 A; or charging, "
            "motoring",
        ),
        (
            BATTERY + ALTERNATOR + 'splitter = "yes"\n' + ENGINE,
            "boat.toml:6: alternator.splitter: 'yes' is neither true nor false\n"
            "  expected  true for a diode splitter between alternator and bank, false for none",
        ),
        (
            BATTERY + '[engine]\nrated = "14 kW"\n',
            "boat.toml: fuel: there is no such table\n  expected  a line [fuel], then tank",
        ),
        (
            BATTERY + '[fuel]\ntank = "85 L"\n',
            "boat.toml:4: fuel: there is no [engine] to burn it\n"
            "  expected  a line [engine], then rated",
        ),
        (
            BATTERY + ENGINE + 'aboard = "90 L"\n',
            "boat.toml:8: fuel.aboard: 90 L is more than tank and cans hold, 85 L\n"
            "  expected  at most 85 L; are the jerrycans in the file?",
        ),
        (
            BATTERY + ENGINE + 'aboard = "30 L"\nreserve = "40 L"\n',
            "boat.toml:9: fuel.reserve: a reserve of 40 L is more than the 30 L aboard\n"
            "  expected  less than what is aboard, for example 6 L",
        ),
        (
            BATTERY
            + ALTERNATOR
            + ENGINE.replace("[fuel]", 'start_battery = "shared"\n[fuel]')
            + '[charging]\nstart = "35 %"\n',
            "boat.toml:12: charging.start: the engine would be started at 35 %, where the bank "
            "that also starts it no longer can (40 %)\n"
            "  expected  40 % or more, or a starting battery of its own",
        ),
        (
            BATTERY + ALTERNATOR + ENGINE + '[charging]\nstart = "85 %"\n',
            "boat.toml:11: charging.start: the engine would start at 85 % and stop at 80 %\n"
            "  expected  a start below the stop, for example 55 % and 80 %",
        ),
        (
            BATTERY + ALTERNATOR + ENGINE + '[charging]\nlongest = "10 min"\n',
            "boat.toml:11: charging.longest: the shortest run, 0.5 h, is longer than the longest, "
            "0.1667 h\n  expected  for example 30 min and 4 h",
        ),
        (
            BATTERY + ALTERNATOR + ENGINE + '[charging]\nhours = "8-20"\n',
            "boat.toml:11: charging.hours: cannot read '8-20'\n"
            "  expected  from when to when it may run, ship's time, for example 08:00-20:00",
        ),
        (
            BATTERY + "[charging]\nby_engine = true\n",
            "boat.toml:5: charging.by_engine: there is no [alternator] to charge with\n"
            "  expected  false",
        ),
        (
            BATTERY + '[shedding]\ncomfort_below = "50 %"\nuseful_below = "60 %"\n',
            "boat.toml:6: shedding.useful_below: useful loads would go at 60 %, before comfort "
            "loads at 50 %\n"
            "  expected  a level at or below that of comfort loads, for example 45 % and 60 %",
        ),
        (
            BATTERY + '[[supply]]\nname = "a"\n[[supply]]\nname = "a"\n',
            "boat.toml:7: supply.name: 'a' is given twice\n  expected  a name of its own for each",
        ),
        (
            BATTERY + '[[supply]]\nname = "DC"\n',
            "boat.toml:5: supply.name: 'DC' means the bank itself\n  expected  another name",
        ),
        (
            BATTERY + "[wind]\n",
            "boat.toml:4: wind: unknown table\n  expected  tables passage, boat, battery, panel, "
            "controller, charger, alternator, engine, fuel, charging, shedding, heavy_weather, "
            "supply, device",
        ),
        (
            "[passage]\ndepart = 7\n" + BATTERY,
            "boat.toml:2: passage.depart: 7 is not a date\n"
            "  expected  a date and time in UTC, for example 2026-09-05 09:00",
        ),
        (
            '[passage]\nship_time = "UTC+15"\n' + BATTERY,
            "boat.toml:2: passage.ship_time: 'UTC+15' is more than 14 h from UTC\n"
            "  expected  zone for zones of longitude, or a fixed UTC-1 or UTC+05:30",
        ),
        (
            '[passage]\nspeed = "0 kn"\n' + BATTERY,
            "boat.toml:2: passage.speed: '0 kn' never arrives\n"
            "  expected  speed made good on every leg, for example 4.5 kn",
        ),
        (
            '[passage]\ncalm_below = "50 kn"\n' + BATTERY,
            "boat.toml:2: passage.calm_below: '50 kn' is more than 20 kn\n"
            "  expected  wind below which it is calm, where `motoring` has a share of calms, for "
            "example 7 kn",
        ),
        (
            "[passage]\n",
            "boat.toml: battery: there is no such table\n"
            "  expected  a line [battery], then chemistry and capacity",
        ),
        ("", "boat.toml: is empty\n  expected  at least a heading and one row, or one key"),
    ],
)
def test_a_mistake_is_told_in_a_sailors_words(boat_file, text, message):
    found = boat_file(text)
    assert found.boat is None
    assert messages(found) == [message]


def test_all_mistakes_are_told_at_once_in_the_order_of_the_file(boat_file):
    found = boat_file(
        '[passage]\ntack = "left"\n[battery]\nchemistry = "agm"\ncapacity = "2OO Ah"\n'
        'health = "140 %"\n[engine]\nrated = "14"\n[fuel]\ntank = "85 kg"\n'
    )
    assert [str(problem).split("boat.toml")[1].split("\n")[0] for problem in found.problems] == [
        ":2: passage.tack: 'left' is not known here",
        ":5: battery.capacity: cannot read '2OO Ah'",
        ":6: battery.health: '140 %' is more than 120 %",
        ":8: engine.rated: '14' has no unit",
        ":10: fuel.tank: '85 kg' is a mass",
    ]


def test_read_boat_raises_everything_in_one_error(write_file):
    path = write_file("boat.toml", '[battery]\nchemistry = "agm"\ncapacity = "0 Ah"\n')
    with pytest.raises(InputError) as caught:
        read_boat(path)
    assert str(caught.value) == (
        f"{path}:3: battery.capacity: '0 Ah' is less than 1 Ah\n"
        "  expected  charge at the 20-hour rate, for example 220 Ah"
    )


def test_a_bank_that_starts_the_engine_is_charged_before_it_no_longer_can(boat_of):
    lithium = '[battery]\nchemistry = "lifepo4"\ncapacity = "200 Ah"\n' + ALTERNATOR
    assert boat_of(lithium + ENGINE).charging.start_soc == pytest.approx(0.30)
    shared = ENGINE.replace("[fuel]", 'start_battery = "shared"\n[fuel]')
    assert boat_of(lithium + shared).charging.start_soc == pytest.approx(0.50)
