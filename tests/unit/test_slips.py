"""What a tired sailor mistypes in boat.toml and loads.csv: refused where it cannot be meant, and
asked about where it can. Figures that real boats have pass in silence.
"""

from dataclasses import replace

import pytest

from powersim.inputs.boat import collect_boat
from powersim.inputs.cautions import cautions_of
from powersim.inputs.folder import load_folder
from powersim.inputs.loads import collect_loads
from powersim.records import (
    CHEMISTRIES,
    Alternator,
    Boat,
    ChargingRule,
    Controller,
    Engine,
    Fuel,
    Supply,
    battery_of,
    chemistry_default,
)

BANK = '[battery]\nchemistry = "{}"\ncapacity = "220 Ah"\n'
FLOODED = BANK.format("flooded")
ENGINE = '[engine]\nrated = "14 kW"\n{}\n[fuel]\ntank = "85 L"\n'
ALTERNATOR = ENGINE.format("") + '[alternator]\nnameplate = "75 A"\n'
PANEL = '[[panel]]\npower = "100 W"\n'
SUPPLY = '[[supply]]\nname = "laptop"\n'
HEAD = "load,draw,standby,fuel,role\n"


@pytest.fixture
def said(write_file):
    """Errors and doubts of a boat.toml, without its name."""

    def read(text):
        found = collect_boat(write_file("boat.toml", text))
        errors = [str(one).partition("boat.toml:")[2] for one in found.problems]
        return errors, [f"{one.line}: {one.text}; {one.expected}" for one in found.doubts]

    return read


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            FLOODED + 'absorption = "20 V"',
            "4: battery.absorption: '20 V' does not go with a 12 V flooded bank\n"
            "  expected  charging voltage at 25 degC: 13.2 V to 16.5 V, for example 14.4 V",
        ),
        (
            FLOODED + 'absorption = "28.8 V"',
            "4: battery.absorption: '28.8 V' does not go with a 12 V flooded bank\n"
            "  expected  charging voltage at 25 degC: 13.2 V to 16.5 V, for example 14.4 V; or is "
            'the bank one of 24 V? then nominal = "24 V"',
        ),
        (
            FLOODED + 'nominal = "24 V"\nabsorption = "14.4 V"',
            "5: battery.absorption: '14.4 V' does not go with a 24 V flooded bank\n"
            "  expected  charging voltage at 25 degC: 26.4 V to 33 V, for example 28.8 V; or is "
            'the bank one of 12 V? then nominal = "12 V"',
        ),
        (
            BANK.format("lifepo4") + 'absorption = "15.5 V"',
            "4: battery.absorption: '15.5 V' does not go with a 12 V lifepo4 bank\n"
            "  expected  charging voltage at 25 degC: 13.2 V to 15.2 V, for example 14.2 V",
        ),
        (
            FLOODED + 'cutout = "5 V"',
            "4: battery.cutout: '5 V' does not go with a 12 V flooded bank\n"
            "  expected  voltage under load at which electronics drop out: 9 V to 12.6 V, for "
            "example 11.5 V",
        ),
        (
            FLOODED + 'temp_comp = "30 mV/degC"',
            "4: battery.temp_comp: '30 mV/degC' does not go with a 12 V flooded bank\n"
            "  expected  change of the charging voltage with temperature: -72 mV/degC to 0 "
            "mV/degC, for example -30 mV/degC",
        ),
        (
            FLOODED + ALTERNATOR + 'voltage = "20 V"',
            "11: alternator.voltage: '20 V' does not go with a 12 V flooded bank\n"
            "  expected  setpoint of a constant regulator: 12 V to 16.7 V, for example 14.4 V",
        ),
        (
            FLOODED + '[[controller]]\nabsorption = "20 V"',
            "5: controller.absorption: '20 V' does not go with a 12 V flooded bank\n"
            "  expected  its absorption voltage at 25 degC: 13.2 V to 16.5 V, for example 14.4 V",
        ),
        (
            FLOODED + '[[charger]]\nkind = "shore"\nrated = "20 A"\nfloat = "20 V"',
            "7: charger.float: '20 V' does not go with a 12 V flooded bank\n"
            "  expected  its float voltage at 25 degC: 12.8 V to 14.8 V, for example 13.5 V",
        ),
        (
            FLOODED + SUPPLY + 'efficiency = "8 %"',
            "6: supply.efficiency: '8 %' is less than 30 %\n"
            "  expected  power out, as a share of power in, for example 88 %",
        ),
        (
            FLOODED.replace("220 Ah", "220 mAh"),
            "3: battery.capacity: '220 mAh' is less than 1 Ah\n"
            "  expected  charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            FLOODED + PANEL.replace("100 W", "0.1 W"),
            "5: panel.power: '0.1 W' is less than 1 W\n"
            "  expected  the label's power of one panel, for example 100 W",
        ),
        (
            FLOODED + PANEL.replace("100 W", "100 kW"),
            "5: panel.power: '100 kW' is more than 10000 W\n"
            "  expected  the label's power of one panel, for example 100 W",
        ),
        (
            FLOODED + PANEL + 'vmp = "18 V"\nimp = "56 A"',
            "7: panel.imp: vmp x imp makes 1008 W of a panel of 100 W\n"
            "  expected  all as on one label, for example 100 W, 18.0 V, 5.6 A, 22.0 V and 6.0 A",
        ),
        (
            FLOODED + PANEL + 'vmp = "18 V"\nvoc = "220 V"',
            "7: panel.voc: voc of 220 V does not go with vmp of 18 V\n"
            "  expected  all as on one label, for example 100 W, 18.0 V, 5.6 A, 22.0 V and 6.0 A",
        ),
        (
            FLOODED + ENGINE.format('charging_burn = "7 L/h"'),
            "6: engine.charging_burn: '7 L/h' of an engine of 14 kW cannot be\n"
            "  expected  0.14 L/h to 6.3 L/h: burn at charging revs out of gear, for example "
            "0.7 L/h; or is rated wrong?",
        ),
        (
            FLOODED + ENGINE.format('motoring_burn = "21 L/h"'),
            "6: engine.motoring_burn: '21 L/h' of an engine of 14 kW cannot be\n"
            "  expected  0.14 L/h to 6.3 L/h: burn at cruising revs in gear, for example "
            "2.1 L/h; or is rated wrong?",
        ),
        (
            # By hand: a litre of diesel holds 0.84 kg x 42.6 MJ/kg / 3.6 = 9.9 kWh.
            FLOODED + ENGINE.format('slope = "0.0246 L/kWh"'),
            "6: engine.slope: '0.0246 L/kWh' is less than 0.1 L/kWh\n"
            "  expected  extra fuel for each kWh on the shaft, for example 0.246 L/kWh",
        ),
        (
            FLOODED + ALTERNATOR + 'charging = "450 A"',
            "11: alternator.charging: 450 A hot, and its nameplate says 75 A\n"
            "  expected  less than the nameplate: hot output at charging revs, for example 45 A",
        ),
    ],
)
def test_what_cannot_be_meant_is_refused(said, text, message):
    assert said(text) == ([message], [])


@pytest.mark.parametrize(
    ("text", "doubt"),
    [
        (
            FLOODED + 'absorption = "15.5 V"',
            "4: battery.absorption: '15.5 V' is not the usual 14.1 V to 15 V of a 12 V flooded "
            "bank; the bank gasses and dries out: right to equalise it now and then, under watch; "
            "for example 14.4 V",
        ),
        (
            BANK.format("gel") + 'absorption = "14.8 V"',
            "4: battery.absorption: '14.8 V' is not the usual 13.8 V to 14.4 V of a 12 V gel bank; "
            "gel dries out above, and nobody can top it up; for example 14.1 V",
        ),
        (
            BANK.format("lifepo4") + 'nominal = "24 V"\nabsorption = "29.6 V"',
            "5: battery.absorption: '29.6 V' is not the usual 27.6 V to 29.2 V of a 24 V lifepo4 "
            "bank; its protection opens, which can destroy an alternator; for example 28.4 V",
        ),
        (
            BANK.format("lifepo4") + 'temp_comp = "-30 mV/degC"',
            "4: battery.temp_comp: '-30 mV/degC' is not the usual 0 mV/degC of a 12 V lifepo4 "
            "bank; lithium is charged without: in the cold it would be given too much; for example "
            "0 mV/degC",
        ),
        (
            FLOODED + ALTERNATOR + 'voltage = "15.2 V"',
            "11: alternator.voltage: '15.2 V' is not the usual 13.6 V to 15 V of a 12 V flooded "
            "bank; the bank gasses and dries out; for example 14.4 V",
        ),
        (
            FLOODED.replace("220 Ah", "22 Ah"),
            "3: battery.capacity: '22 Ah' is not the usual 40 Ah to 2000 Ah; look again: charge at "
            "the 20-hour rate, for example 220 Ah",
        ),
        (
            FLOODED + SUPPLY + 'efficiency = "55 %"',
            "6: supply.efficiency: '55 %' is not the usual 60 % to 99 %; look again: power out, "
            "as a share of power in, for example 88 %",
        ),
        (
            FLOODED + ENGINE.format('motoring_burn = "0.21 L/h"'),
            "6: engine.motoring_burn: '0.21 L/h' of an engine of 14 kW is not the usual 0.42 L/h "
            "to 4.48 L/h; look again: burn at cruising revs in gear, for example 2.1 L/h",
        ),
        (
            FLOODED + ENGINE.format("") + 'aboard = "8.5 L"',
            "9: fuel.aboard: '8.5 L' is less than a quarter of what tank and cans hold, 85 L; look "
            "again: what tank and cans hold when you leave, for example 85 L",
        ),
        (
            FLOODED + PANEL + 'vmp = "18 V"\nimp = "6.6 A"',
            "7: panel.imp: vmp x imp makes 118.8 W of a panel of 100 W; look again: all as on one "
            "label, for example 100 W, 18.0 V, 5.6 A, 22.0 V and 6.0 A",
        ),
        (
            FLOODED + 'nominal = "24 V"\n' + PANEL + 'vmp = "18 V"',
            "7: panel.vmp: at 18 V it stays below the bank's 27 V, and most controllers give "
            "nothing then; count panels in series as one, with the sum of their power and voltage; "
            "for example 36 V",
        ),
        (
            FLOODED + ALTERNATOR + 'charging = "80 A"',
            "11: alternator.charging: 80 A hot, and its nameplate says 75 A; look again: hot "
            "output at charging revs, for example 45 A",
        ),
    ],
)
def test_what_is_unlike_other_boats_is_asked_about(said, text, doubt):
    assert said(text) == ([], [doubt])


@pytest.mark.parametrize(
    "text",
    [
        FLOODED + 'absorption = "14.8 V"\nfloat = "13.2 V"\ntemp_comp = "0 mV/degC"',
        FLOODED + 'nominal = "48 V"\nabsorption = "58.8 V"\nfloat = "54 V"\ncutout = "44 V"',
        BANK.format("lifepo4") + 'absorption = "14.0 V"\nfloat = "13.4 V"\ncutout = "12 V"',
        BANK.format("lifepo4") + 'absorption = "14.6 V"\nfloat = "13.8 V"',
        BANK.format("agm") + 'nominal = "24 V"\nabsorption = "29.4 V"\nfloat = "27.2 V"',
        BANK.format("gel") + 'absorption = "14.4 V"',
        # A splitter loses 0.6 V, which its owner makes up for at the regulator.
        FLOODED + ALTERNATOR + 'voltage = "15.2 V"\nsplitter = true',
        FLOODED + ENGINE.format('charging_burn = "0.4 L/h"\nmotoring_burn = "3 L/h"'),
        FLOODED + PANEL + 'vmp = "18.6 V"\nimp = "5.4 A"\nvoc = "22.8 V"\nisc = "5.7 A"',
        FLOODED + 'nominal = "24 V"\n' + PANEL,
    ],
)
def test_real_boats_pass_in_silence(said, text):
    assert said(text) == ([], [])


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_every_default_is_usual(chemistry):
    for field, allowed in CHEMISTRIES[chemistry].voltages.items():
        default_V = 14.2  # of a constant regulator, as records.Alternator has it
        if field != "constant_V":
            default_V, _ = chemistry_default(chemistry, field)
        assert allowed.possible_V[0] <= allowed.usual_V[0] <= default_V <= allowed.usual_V[1]
        assert allowed.usual_V[1] <= allowed.possible_V[1]


@pytest.mark.parametrize(
    ("row", "message"),
    [
        (
            "tiller pilot,36 mW,,,pilot",
            ":2:2: draw (column B): '36 mW' is not the usual 2 W to 500 W of a load with role "
            "'pilot'\n  expected  power or current while on, for example 36 W or 3 A\n"
            "  row       tiller pilot,36 mW,,,pilot",
        ),
        (
            "tiller pilot,36000 W,,,pilot",
            ":2:2: draw (column B): '36000 W' is more than 20000 W\n"
            "  expected  power or current while on, for example 36 W or 3 A\n"
            "  row       tiller pilot,36000 W,,,pilot",
        ),
        (
            "radio,5 kW,,,vhf",
            ":2:2: draw (column B): '5 kW' is not the usual 0.5 W to 120 W of a load with role "
            "'vhf'\n  expected  power or current while on, for example 36 W or 3 A\n"
            "  row       radio,5 kW,,,vhf",
        ),
        (
            "heater,16 W,,14 L/h,",
            ":2:4: fuel (column D): '14 L/h' is more than 5 L/h\n"
            "  expected  fuel burnt while on, for example 0.15 L/h\n"
            "  row       heater,16 W,,14 L/h,",
        ),
    ],
)
def test_a_load_a_thousand_times_off_is_refused(write_file, row, message):
    path = write_file("loads.csv", f"{HEAD}{row}\n")
    doubts = []
    _, _, (problem,) = collect_loads(path, doubts=doubts)
    assert str(problem) == f"{path}{message}"
    assert doubts == []


@pytest.mark.parametrize(
    ("row", "text"),
    [
        (
            "tiller pilot,3600 W,,,pilot",
            "draw (column B): '3600 W' is not the usual 2 W to 500 W of a load with role 'pilot'",
        ),
        (
            "music,5 mW,,,",
            "draw (column B): '5 mW' is not the usual 0.03 W to 3000 W of a load",
        ),
        ("heater,16 W,,1.4 L/h,", "fuel (column D): '1.4 L/h' is more than a cabin heater burns"),
        (
            "phone,7 W,600 W,,",
            "standby (column C): '600 W' is much for a load that is not on",
        ),
        (
            "clock,1 W,2 W,,",
            "standby (column C): '2 W' is much for a load that is not on",
        ),
    ],
)
def test_an_odd_load_is_asked_about(write_file, row, text):
    doubts = []
    loads, _, problems = collect_loads(write_file("loads.csv", f"{HEAD}{row}\n"), doubts=doubts)
    assert problems == ()
    assert len(loads) == 1
    assert [(one.line, one.text) for one in doubts] == [(2, text)]


def test_a_windlass_and_a_clock_pass_in_silence(write_file):
    rows = "windlass,90 A,,,\nalarm,5 mA,,,\ntricolour,25 W,,,sailing lights\nspare,0 W,,,\n"
    doubts = []
    loads, _, problems = collect_loads(write_file("loads.csv", HEAD + rows), doubts=doubts)
    assert (len(loads), problems, doubts) == (4, (), [])


ROUTE = (
    "waypoint,position,speed,stop,motoring,heel\nA,18 00 S 178 00 E,{}\nB,17 00 S 177 00 E,,,,\n"
)


@pytest.fixture
def cautioned(tmp_path):
    def read(*, boat=FLOODED, load="lamp,1 W,,,", leg="4 kn,,,"):
        files = {
            "boat.toml": f'[passage]\ndepart = "2026-05-02 22:00"\n{boat}',
            "loads.csv": f"{HEAD}{load}\ntricolour,2 W,,,sailing lights\n",
            "route.csv": ROUTE.format(leg),
        }
        for name, text in files.items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        return [f"{one.text}; {one.advice}" for one in cautions_of(load_folder(tmp_path))]

    return read


def test_check_says_where_the_odd_figure_stands(cautioned):
    assert cautioned(boat=FLOODED + 'health = "20 %"\n') == [
        "boat.toml:6: battery.health: '20 %' is not the usual 50 % to 105 %; look again: the "
        "share of the label's capacity that is left, for example 85 %"
    ]
    first, _ = cautioned(load="music,5 kW,,,")
    assert first.startswith("loads.csv:2:2: draw (column B): '5 kW' is not the usual 0.03 W to")


def test_a_load_that_empties_the_bank_in_a_day_is_told(cautioned):
    """By hand: 1 kW all day are 24 kWh, on 12 V 2000 Ah; the bank holds 220 Ah x 85 % = 187 Ah."""
    assert cautioned(load="heater,1 kW,,,") == [
        "heater takes up to 2000 Ah a day, more than the 187 Ah that the whole bank holds; look "
        "again at its draw, its unit and its time on"
    ]


@pytest.mark.parametrize(
    ("leg", "text"),
    [
        ("14 kn,,,", "14 kn made good from A, 336 nm a day: the usual is 1 kn to 10 kn"),
        ("0.42 kn,,,", "0.42 kn made good from A, 10 nm a day: the usual is 1 kn to 10 kn"),
        ("4 kn,300 days,,", "a stop of 300 days at A"),
        ("4 kn,,,58 deg", "58 degrees of heel on average from A"),
    ],
)
def test_an_odd_leg_is_told(cautioned, leg, text):
    assert any(one.startswith(f"{text}; look again") for one in cautioned(leg=leg))


def test_what_counts_as_calm_is_asked_about(cautioned):
    """Where it is odd, and where nothing hangs on it."""
    boat = ENGINE.format("")
    calms = FLOODED + boat, "4 kn,,20 % of calms,"

    def said(calm_below):
        text = f'calm_below = "{calm_below}"\n{calms[0]}'
        return [one for one in cautioned(boat=text, leg=calms[1]) if "calm_below" in one]

    assert said("7 kn") == []
    assert said("15 kn") == [
        "boat.toml:3: passage.calm_below: '15 kn' is not the usual 3 kn to 10 kn; look again: "
        "wind below which it is calm, where `motoring` has a share of calms, for example 7 kn"
    ]
    calms = FLOODED + boat, "4 kn,,,"
    assert said("5 kn") == []
    assert said("7 kn") == [
        "calm_below changes nothing: no leg motors through a share of its calms; give motoring "
        "such a share, for example 20 % of calms, or leave it out"
    ]


def test_motoring_for_longer_than_the_leg_is_told(cautioned):
    """By hand: 60 nm of latitude and 57 of longitude are 83 nm, at 4 kn 21 h."""
    boat = FLOODED + ENGINE.format("")
    said = cautioned(boat=boat, leg="4 kn,,300 h at start,")
    assert any(one.startswith("300 h of motoring from A, on a leg of some 21 h;") for one in said)


BOAT = Boat(
    name="invented",
    battery=battery_of("flooded", capacity_Ah=220.0),
    charging=ChargingRule(by_engine=False, start_soc=0.6, stop_soc=0.85),
)


def test_records_refuse_voltages_that_no_bank_is_charged_at():
    with pytest.raises(ValueError, match=r"absorption_V must be 13.2 to 16.5 V for flooded"):
        battery_of("flooded", capacity_Ah=220.0, absorption_V=20.0)
    with pytest.raises(ValueError, match=r"absorption_V must be 13.2 to 16.5 V for flooded"):
        replace(BOAT, controllers=(Controller(absorption_V=20.0),))
    engine = Engine(rated_kW=14.0, charging_L_per_h=0.6, motoring_L_per_h=2.0)
    fuel = Fuel(tank_L=100.0, aboard_L=100.0, reserve_L=30.0)
    alternator = Alternator(charging_A=45.0, motoring_A=50.0, constant_V=20.0)
    with pytest.raises(ValueError, match=r"constant_V must be 12 to 16.7 V for flooded"):
        replace(BOAT, engine=engine, fuel=fuel, alternator=alternator)


def test_records_refuse_efficiencies_that_are_a_slip():
    with pytest.raises(ValueError, match=r"efficiency_frac must be 0.3 to 1, got 0.08"):
        Supply(name="inverter", efficiency_frac=0.08)
    with pytest.raises(ValueError, match=r"efficiency_frac must be 0.5 to 1, got 0.09"):
        Controller(efficiency_frac=0.09)
