"""What a reading of the log counts for."""

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.logbook.hindcast import History, hindcast_as_planned, simulated
from powersim.logbook.observations import observations_of, predicted
from powersim.logbook.reading_errors import reading_covariance, set_anew_covariance
from powersim.logbook.readings import Reading
from powersim.physics.bank import bank_of
from powersim.physics.voltage import charge_resistance_ohm, emf_V
from powersim.records import LogEntry
from powersim.simulation.factors import Factors
from powersim.simulation.prepare import prepare
from powersim.simulation.reading_parts import counter_parts, total_soc, volts_parts
from powersim.simulation.usual_load import mean_load_A

DAYS, STEP_h = 4.0, 0.5
N = round(24 * DAYS / STEP_h)


def reading(at_h, **given):
    return Reading(at_h=at_h, entry=LogEntry(file="log.csv", line=2, row="", clock_s=0.0, **given))


def seen(*readings, passage=None, sounding=None):
    passage = passage or passage_of(days=DAYS)
    prepared = prepare(passage, step_h=STEP_h)
    nominal = simulated(
        hindcast_as_planned(passage, prepared, n_steps=N), Factors(*np.ones((5, 1)))
    )
    return observations_of(readings, passage, nominal, prepared, sounding=sounding)


# Departure is at 09:00 UTC at 30 W, so 20 h later it is 05:00, at night all the time since dusk.
NIGHT_h, NOON_h = 20.0, 27.0


def test_a_voltage_counts_as_rested_two_hours_after_discharge():
    (told,) = seen(reading(NIGHT_h, voltage_V=12.3, resting_h=2.0))
    assert told.source == "rested voltage"
    bank = bank_of(boat_of().battery, step_h=1.0)
    parts = volts_parts(
        boat_of().battery, bank, soc=told.value, load_A=0.0, drawn_frac=math.inf, since_load_h=2.0
    )
    assert told.sd == pytest.approx(total_soc(parts), rel=0.01)
    assert math.hypot(*told.common_sds) == pytest.approx(total_soc(parts, lasts=True), rel=0.01)
    assert told.value == pytest.approx(np.interp(12.3, bank.emf_knots_V, bank.emf_soc))


@pytest.mark.parametrize(
    "given",
    [
        {"resting_h": 1.9},
        {},
        {"resting_h": 3.0, "current_A": -5.0},  # C20/50 of 220 Ah is 4.4 A
    ],
)
def test_else_it_is_a_voltage_under_load(given):
    (told,) = seen(reading(NIGHT_h, voltage_V=12.3, **given))
    assert told.source == "voltage under load"


def test_a_full_bank_that_rests_higher_than_others_seems_more_than_full():
    """By hand: flooded, 12.20 V at half charge and 12.70 V full, so 0.1 V more are a tenth more.

    Were it taken for just full, its later readings, as much too high, would pass for right ones.
    """
    (told,) = seen(reading(NIGHT_h, voltage_V=12.8, resting_h=2.0))
    assert told.value == pytest.approx(1.1)
    (told,) = seen(reading(NIGHT_h, voltage_V=11.75, resting_h=2.0))
    low_V, next_V = bank_of(boat_of().battery, step_h=1.0).emf_knots_V[:2]
    assert told.value == pytest.approx((11.75 - low_V) / (next_V - low_V) * 0.5)


def test_a_heavy_load_makes_a_voltage_worth_less():
    """By the resistance, which is known to a quarter, and, if nobody measured it, by the load."""
    (light,) = seen(reading(NIGHT_h, voltage_V=12.3, current_A=-1.0))
    (heavy,) = seen(reading(NIGHT_h, voltage_V=12.14, current_A=-12.0))
    assert heavy.value == pytest.approx(light.value, abs=0.05)
    assert math.hypot(*heavy.common_sds) > 1.04 * math.hypot(*light.common_sds)


def test_after_charge_rest_takes_twelve_hours():
    # At 25 h after departure it is 10:00 and the sun has charged the bank.
    sunny = passage_of(days=DAYS, boat=boat_of(panel_W=(400.0,)))
    (short,) = seen(reading(30.0, voltage_V=12.6, resting_h=3.0), passage=sunny)
    (long,) = seen(reading(42.0, voltage_V=12.6, resting_h=13.0), passage=sunny)
    assert (short.source, long.source) == ("voltage under load", "rested voltage")
    # What stands on it after three hours is a quarter of a volt, after thirteen a sixteenth.
    assert short.sd > long.sd
    assert short.value < long.value


def test_a_voltage_under_load_is_raised_by_the_drop_over_the_bank():
    (light,) = seen(reading(NIGHT_h, voltage_V=12.2, current_A=-1.0))
    (heavy,) = seen(reading(NIGHT_h, voltage_V=12.2, current_A=-10.0))
    assert heavy.value > light.value


def test_a_voltage_while_charging_says_nothing():
    assert seen(reading(NOON_h, voltage_V=14.2, current_A=12.0)) == []


@pytest.mark.parametrize(("volts", "count"), [(13.2, 0), (12.6, 1), (13.5, 1)])
def test_a_lithium_voltage_speaks_only_near_its_ends(volts, count):
    lithium = passage_of(days=DAYS, boat=boat_of(chemistry="lifepo4"))
    told = seen(reading(NIGHT_h, voltage_V=volts, resting_h=3.0), passage=lithium)
    assert len(told) == count


def test_a_monitor_is_worth_less_the_longer_it_is_since_the_bank_was_full():
    """Full at departure, and never again: 71 % after 20 h, and three days later."""
    dark = passage_of(days=DAYS, boat=boat_of(panel_W=(), engine=None))
    early, late = seen(reading(NIGHT_h, soc=0.71), reading(NIGHT_h + 72.0, soc=0.71), passage=dark)
    assert (early.source, early.value) == ("battery monitor", 0.71)
    prepared = prepare(dark, step_h=STEP_h)
    bank, battery = prepared.plant.bank, dark.boat.battery
    used = 24.0 * mean_load_A(prepared) / bank.capacity_Ah
    for told, hours in ((early, 20.0), (late, 92.0)):
        parts = counter_parts(battery, soc=0.71, days=hours / 24.0, used_frac_per_day=used)
        assert told.sd == pytest.approx(total_soc(parts), rel=0.02)
    assert late.sd > early.sd


def test_a_counter_that_drifts_is_not_one_that_was_set_wrong():
    """Parts by themselves: two readings of a counter are not quite alike, though nearly all lasts.

    With the parts' own figures a and b the covariance is their product part by part; were what
    lasts one error, it would be the product of both roots, which is larger unless all grow alike.
    """
    dark = passage_of(days=DAYS, boat=boat_of(panel_W=(), engine=None))
    early, late = told = seen(
        reading(NIGHT_h, soc=0.71), reading(NIGHT_h + 72.0, soc=0.71), passage=dark
    )
    a, b = np.array(early.common_sds), np.array(late.common_sds)
    found = reading_covariance(told)[0, 1]
    assert found == pytest.approx((a * b).sum())
    assert found < 0.98 * np.hypot.reduce(a) * np.hypot.reduce(b)


def test_a_meter_errs_alike_at_rest_and_under_load():
    """Each part that lasts of one voltage is in common with the other, by the product of both."""
    told = seen(
        reading(NIGHT_h, voltage_V=12.3, resting_h=3.0),
        reading(NIGHT_h + 0.5, voltage_V=12.2, current_A=-5.0),
        reading(NIGHT_h + 0.6, dip_L=70.0),
    )
    covariance = reading_covariance(told)
    products = (
        one * other for one, other in zip(told[0].common_sds, told[1].common_sds, strict=True)
    )
    assert covariance[0, 1] == pytest.approx(sum(products))
    assert np.diag(covariance) == pytest.approx([one.sd**2 for one in told])
    assert (covariance[2, :2] == 0.0).all()


def test_a_voltage_is_looked_up_in_the_sailors_own_points():
    """Whose bank rests a tenth of a volt low: the same volts are more charge."""
    boat = boat_of()
    bank = bank_of(boat.battery, step_h=1.0)
    low = tuple((soc, emf_V(bank, soc) - 0.1) for soc in (0.5, 1.0))
    own = passage_of(days=DAYS, boat=boat_of(battery={"rested": low}))
    (usual,) = seen(reading(NIGHT_h, voltage_V=12.2, resting_h=3.0))
    (told,) = seen(reading(NIGHT_h, voltage_V=12.2, resting_h=3.0), passage=own)
    assert told.value > usual.value + 0.05
    assert told.sd < 0.7 * usual.sd


def test_dips_have_cans_added_and_what_was_bought_taken_off():
    told = seen(
        reading(10.0, dip_L=70.0),  # cans as at departure: 20 L
        reading(20.0, dip_L=75.0, cans_L=0.0),
        reading(30.0, dip_L=78.0, fuel_added_L=15.0),
    )
    assert [one.value for one in told] == [90.0, 75.0, 63.0]
    assert [one.sd for one in told] == [2.0, 2.0, 2.0]


def test_the_needle_counts_where_no_stick_was_read_and_for_less():
    """Half of a dial from 5 L to 75 L is 40 L, and 20 L in cans; at sea it is 12 % of the dial off,
    8.4 L, where a dip in litres of a tank of 80 L is 4 L off at most."""
    passage = passage_of(days=DAYS)
    fuel = replace(passage.boat.fuel, needle=((0.0, 5.0), (1.0, 75.0)))
    passage = replace(passage, boat=replace(passage.boat, fuel=fuel))
    by_needle, by_dip = seen(
        reading(10.0, needle_frac=0.5),
        reading(20.0, needle_frac=0.5, dip_L=50.0),
        passage=passage,
    )
    assert (by_needle.kind, by_needle.source, by_needle.column) == ("litres", "needle", "needle")
    assert (by_needle.value, by_needle.sd) == pytest.approx((60.0, 8.4))
    assert (by_dip.source, by_dip.value) == ("dip", 70.0)
    assert by_dip.sd <= 4.0
    assert seen(reading(10.0, needle_frac=0.5)) == []  # without marks


def test_a_depth_needs_a_sounding():
    dip = reading(10.0, dip_m=0.2)
    assert seen(dip) == []
    (told,) = seen(dip, sounding=lambda depth_m: (200.0 * depth_m, 3.0))
    assert (told.value, told.sd) == (60.0, 3.0)


def test_a_counter_counts_from_its_first_reading():
    told = seen(reading(10.0, solar_Ah=500.0), reading(34.0, solar_Ah=520.0))
    assert [(one.value, one.since_h, one.sd) for one in told] == [(20.0, 10.0, 1.6)]


def test_amperes_at_absorption_tell_of_the_taper_alone():
    """The test boat's alternator charges with 45 A: near that it is what limits the current."""
    (told,) = seen(reading(NOON_h, absorb_A=20.0))
    assert (told.kind, told.value, told.sd) == ("absorb_A", 20.0, 3.0)
    assert seen(reading(NOON_h, absorb_A=boat_of().alternator.charging_A)) == []


def test_what_is_said_of_absorption_is_the_taper_of_the_bank():
    """(held - open-circuit) / resistance, and from a bank twice as large twice as much."""
    passage = passage_of(days=DAYS)
    prepared = prepare(passage, step_h=STEP_h)
    factors = Factors(*np.ones((5, 2)))._replace(capacity=np.array([1.0, 2.0]))
    history = simulated(hindcast_as_planned(passage, prepared, n_steps=N), factors)
    observations = seen(reading(NOON_h, absorb_A=20.0), passage=passage)
    said = predicted(history, observations, passage)[0]
    battery = passage.boat.battery
    bank, soc = bank_of(battery, step_h=1.0), history.at("soc", [NOON_h])[0]
    one = observations[0]
    expected = [
        (one.volts - emf_V(bank, each)) / charge_resistance_ohm(bank, each, one.bank_C)
        for each in soc
    ]
    assert said == pytest.approx([expected[0], 2.0 * expected[1]])


def test_of_a_loggers_readings_some_count_evenly_and_the_last():
    many = [reading(0.1 * k, soc=0.7) for k in range(450)]
    told = seen(*many, reading(46.0, dip_L=70.0))
    assert [one.at_h for one in told if one.kind == "soc"] == pytest.approx(
        [0.1 * k for k in range(2, 450, 3)]
    )
    assert sum(one.kind == "litres" for one in told) == 1


def test_a_monitors_count_goes_before_its_per_cent_and_errs_by_the_charge_since_it_was_full():
    """By hand, in the dark without an engine: no charge, so that its efficiency has no part in it.

    After 20 h and after 92 h: 2 % of 187 Ah for how full it was when set, 30 mA for a shunt's zero
    times the hours, 1 % of the count, half an ampere-hour for the look.
    """
    dark = passage_of(days=DAYS, boat=boat_of(panel_W=(), engine=None))
    told = seen(
        reading(NIGHT_h, soc=0.9, monitor_Ah=-20.0),
        reading(NIGHT_h + 72.0, monitor_Ah=-92.0),
        passage=dark,
    )
    assert [(one.kind, one.value) for one in told] == [("monitor_Ah", -20.0), ("monitor_Ah", -92.0)]
    real_Ah = dark.boat.battery.real_capacity_Ah
    set_sd = 0.02 * real_Ah * math.sqrt(0.5)  # half of its variance is new after each full charge
    lasting = [(set_sd, 0.0, 0.03 * hours, 0.01 * out_Ah)
               for hours, out_Ah in ((20.0, 20.0), (92.0, 92.0))]  # fmt: skip
    for one, parts in zip(told, lasting, strict=True):
        assert one.sd == pytest.approx(math.hypot(*parts, set_sd, 0.5), rel=1e-6)
    covariance = reading_covariance(told)
    assert covariance[0, 1] == pytest.approx(sum(a * b for a, b in zip(*lasting, strict=True)))
    percent, count = seen(
        reading(NIGHT_h, soc=0.9), reading(NIGHT_h + 1.0, monitor_Ah=-21.0), passage=dark
    )
    assert percent.errs_with == count.errs_with
    assert reading_covariance([percent, count])[0, 1] > 0.0


def test_a_count_that_is_back_at_full_begins_to_err_anew():
    before, full, after = seen(
        reading(48.0, monitor_Ah=-40.0),
        reading(60.0, monitor_Ah=-0.4),
        reading(72.0, monitor_Ah=-9.0),
    )
    assert before.sd > full.sd
    assert after.sd < before.sd


def test_what_a_right_monitor_shows_by_hand():
    """5 A out for two hours, then 10 A in, of which 88 % count: -10, -1.2, and no more than 0.

    At 99 % it takes the bank to be full: it stands at 0 whatever it had counted.
    """
    battery = boat_of().battery
    assert battery.charge_efficiency_frac == 0.88
    net_A = np.array([-5.0, -5.0, -5.0, 10.0, 10.0, -4.0, 2.0, -3.0])[:, None]
    soc = np.array([1.0, 0.97, 0.95, 0.96, 0.98, 0.97, 0.99, 0.98])[:, None]
    flat = np.zeros_like(net_A)
    names = ("net_Ah", "solar_Ah", "loads_Ah", "charging_L", "other_L", "engine_h", "gear_h")
    past = History(
        at_h=np.arange(8.0), soc=soc, net_A=net_A, capacity_frac=np.ones((1, 1)),
        **dict.fromkeys(names, flat),
    )  # fmt: skip
    shown = past.counted(battery).net_Ah[:, 0]
    assert shown == pytest.approx([0.0, -5.0, -10.0, -1.2, 0.0, -4.0, 0.0, -3.0])
    assert past.charged_Ah(np.array([2.0, 4.5, 7.0])) == pytest.approx([0.0, 20.0, 22.0])


def test_counts_share_how_full_she_was_when_they_were_set_until_they_are_set_anew():
    """Of 2 % of 187 Ah one half of the variance is the monitor's own habit, the other is new."""
    dark = passage_of(days=DAYS, boat=boat_of(panel_W=(), engine=None))
    told = seen(*(reading(hours, monitor_Ah=-hours) for hours in (10.0, 20.0, 60.0)), passage=dark)
    half = 0.5 * (0.02 * dark.boat.battery.real_capacity_Ah) ** 2
    assert [one.anew_sd**2 for one in told] == pytest.approx([half] * 3)
    assert reading_covariance(told)[0, 1] == pytest.approx(half + 0.3 * 0.6 + 0.1 * 0.2)
    found = set_anew_covariance(told, np.array([40.0]))
    assert found == pytest.approx(np.array([[0, half, 0], [half, 0, 0], [0, 0, 0]]))
