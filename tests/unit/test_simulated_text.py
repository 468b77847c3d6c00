"""What `simulate` prints, on passages whose sums are known."""

import re
from dataclasses import replace

import pytest
from builders import in_average
from hand_worked import WAYPOINTS, bank_of, boat_of, passage_of, waypoints_of, without_engine

from powersim.records import ChargingRule, Fuel, Load, Shedding
from powersim.report.ledger import ledger_sum
from powersim.report.simulated import MOST_LINES, _warned, simulated_text
from powersim.report.verdict_view import _in_average
from powersim.report.warnings import warnings_of


@pytest.fixture(scope="module")
def hand_worked():
    return in_average(passage_of())


@pytest.fixture(scope="module")
def hard():
    """Forty days, a weak bank, many loads, little fuel: everything there is to say is said."""
    loads = [Load(name=f"load number {n} of many", draw_A=0.2 + 0.01 * n) for n in range(20)]
    boat = boat_of(
        battery=bank_of("flooded", capacity_Ah=100.0),
        fuel=Fuel(tank_L=40.0, aboard_L=20.0, reserve_L=15.0),
        charging=ChargingRule(start_soc=0.5, stop_soc=0.8),
        shedding=Shedding(comfort_below_soc=0.6, useful_below_soc=0.4),
    )
    loads.append(Load(name="anchor light", draw_A=0.1, states=frozenset({"anchored"})))
    loads.append(Load(name="kettle", draw_A=0.1, states=frozenset({"berthed"})))
    legs = waypoints_of(days=40, motoring_start_h=6.0, heel_deg=30.0)
    return in_average(passage_of(boat=boat, loads=tuple(loads), waypoints=legs))


def test_the_five_lines_of_the_hand_worked_passage(hand_worked):
    """Sums in tests/reference/test_hand_worked_passage.py: one run of 1.25 h and 1 L; 51 L left,
    31 above the reserve of 20. After 48 h 83 Ah are gone of 200; by the end of the fiftieth hour
    two more of 2.5 Ah, 88 in all: 56 % are left.
    """
    *holds, lowest, engine, diesel, bank, gales = simulated_text(hand_worked, brief=True).split(
        "\n"
    )
    assert gales.endswith(" of the time above 34 kn, NOT counted: heavy_weather in boat.toml")
    assert " ".join(" ".join(holds).split()) == (
        "HOLDS in average weather alone (no grey week, no calm): charge above its floor of 20 %, "
        "diesel above reserve"
    )
    assert re.fullmatch(
        r"lowest  56 % on Sun 3 May 01:00 \(01:00 UTC\), 34°0\d'N 040°00'W; 13\.\d\d V", lowest
    )
    assert [engine, diesel, bank] == [
        "engine  1.2 h and 1.0 L for charging, in 1 run of 1 h 15 min on average",
        "diesel  51.0 L left at landfall, 31.0 L above the reserve of 20.0 L",
        "bank    lasts to landfall with all charging lost",
    ]


def test_the_whole_text_of_the_hand_worked_passage(hand_worked):
    text = simulated_text(hand_worked, written="Results in results: hourly.csv.")
    assert text.startswith("two days: A to B, 2.0 days, 245 nm\n\nHOLDS ")
    for line in (
        "instruments  24 Ah",
        "1 charging run (all: engine.csv):\nSat 2 May 11:15  1 h 15 min  1.0 L",
        "motoring   3.0 h, 6.0 L",
        "diesel, L  60.0 aboard - 2.0 below the pick-up - 6.0 motoring - 1.0 charging\n"
        "           runs = 51.0 left",
        "Results in results: hourly.csv. A forecast is no promise.",
    ):
        assert line in text


@pytest.mark.parametrize("name", ["hand_worked", "hard"])
@pytest.mark.parametrize("brief", [True, False])
def test_it_fits_a_page(request, name, brief):
    result = request.getfixturevalue(name)
    written = "Results in some/long/way/to/a/folder: hourly.csv, daily.csv, engine.csv."
    lines = simulated_text(result, brief=brief, written=written).split("\n")
    assert max(map(len, lines)) <= 80
    assert len(lines) <= (9 if brief else MOST_LINES)
    assert MOST_LINES < 40


def test_a_hard_passage_says_what_fails_and_the_gravest_warning(hard):
    text = simulated_text(hard)
    assert text.split("\n")[2].startswith(
        "FAILS   in average weather alone (no grey week, no calm): charge is below its"
    )
    assert "\nnext    'powersim plan FOLDER' looks for a charging rule that holds" in text
    assert " loads  without " in text.split("\nfrom ")[1].split("\n")[0]
    assert "\n! loads switched off to save charge went without " in text
    assert "; see that you can do without them\n" in text.replace("\n  ", " ")
    assert "\n! 3 more warnings, and what to do, in summary.json\n" in text


def test_warnings_that_do_not_fit_are_counted():
    """One line each, room for three: two of five are told and the rest counted.

    What to do about the gravest goes last, and where it makes two lines of one, after all others.
    """
    warnings = [{"text": f"warning {n}", "advice": "do something"} for n in range(5)]
    told, all_told = _warned(warnings, room=3)
    assert told.split("\n") == [
        "! warning 0; do something",
        "! warning 1; do something",
        "! 3 more warnings, and what to do, in summary.json",
    ]
    assert not all_told
    grave = {"text": "grave " * 9, "advice": "heave to " * 5}
    told, _ = _warned([grave, *warnings], room=4)
    assert told.split("\n")[1].strip().endswith("heave to")
    assert told.endswith("! 4 more warnings, and what to do, in summary.json")
    told, _ = _warned([grave, *warnings], room=2)
    assert (
        told == f"! {'grave ' * 9}".strip() + "\n! 5 more warnings, and what to do, in summary.json"
    )
    assert _warned(warnings, room=5) == (
        "\n".join(f"! warning {n}; do something" for n in range(5)),
        True,
    )


def test_each_week_of_a_long_passage_is_in_the_table_once(hard):
    """Forty days are six weeks, two of them on each line."""
    table = simulated_text(hard).split("\nfrom ")[1].split("Worst week")[0]
    assert len(table.strip().split("\n")) == 2 + 3


LEAVES_LOW = {"floor_broken": True, "days_to_floor": 0.0}


@pytest.mark.parametrize(
    ("charge", "fuel", "sentence"),
    [
        ({}, {}, "charge above its floor of 50 %, diesel above reserve"),
        (
            {"floor_broken": True, "days_to_floor": 3.04, "below_floor_h": 0.5},
            {},
            "charge is below its floor of 50 % after 3.0 days, for 30 min in all",
        ),
        (
            {"floor_broken": True, "days_to_floor": 0.4 / 24.0, "below_floor_h": 60.0},
            {},
            "charge is below its floor of 50 % after 24 min, for 2.5 days in all",
        ),
        (
            LEAVES_LOW | {"soc_at_departure": 0.49, "below_floor_h": 0.07},
            {},
            "charge is below its floor of 50 % as she leaves, at 49 %, for 4 min in all",
        ),
        (
            LEAVES_LOW | {"soc_at_departure": 0.499, "below_floor_h": 0.001},
            {},
            "charge is below its floor of 50 % as she leaves, at 49.9 %, for 1 min in all",
        ),
        ({"dark_h": 12.25}, {}, "everything is dark for 12.2 h"),
        ({}, {"reserve_broken": True}, "the diesel falls below its reserve"),
        ({}, {"reserve_broken": True, "wanted_and_not_there_L": 3.0}, "the diesel runs out"),
    ],
)
def test_why_a_passage_holds_or_not(charge, fuel, sentence):
    average = {
        "charge": {"floor_soc": 0.5, "floor_broken": False, "dark_h": 0.0} | charge,
        "fuel": {
            "kind": "diesel",
            "aboard_L": 60.0,
            "reserve_broken": False,
            "wanted_and_not_there_L": 0.0,
        }
        | fuel,
    }
    verdict = {"floor": {"frac": float("floor_broken" in charge)}, "counted_from_h": 0.0}
    _, why = _in_average({"holds": not (charge or fuel), "verdict": verdict, "average": average})
    assert str(why) == f"in average weather alone (no grey week, no calm): {sentence}"


def test_a_boat_that_leaves_below_her_floor_has_a_day_to_come_up_and_is_told_so():
    """At 58 % of 200 Ah with a floor of 60 %: 4 Ah up at the alternator's 20 A less the loads."""
    battery = bank_of(soc_at_departure=0.58, floor_soc=0.60)
    waypoints = (replace(WAYPOINTS[0], motoring_start_h=0.0), WAYPOINTS[1])
    boat = boat_of(battery=battery, charging=ChargingRule(start_soc=0.7, stop_soc=0.9))
    result = in_average(passage_of(boat=boat, waypoints=waypoints))
    text = simulated_text(result, brief=True)
    assert " ".join(text.partition("\nlowest")[0].split()) == (
        "HOLDS in average weather alone (no grey week, no calm): charge above its floor of 60 %, "
        "diesel above reserve; she leaves at 58 %, and her floor counts from the second day on"
    )
    bank = text.split("\n")[-2]
    assert result.summary["verdict"]["counted_from_h"] == 24.0
    assert result.summary["average"]["charge"]["lowest_soc"] <= 0.58
    assert result.summary["parts"][0]["lowest_soc"] <= 0.58
    assert bank.startswith("bank    already below its floor, ")


@pytest.mark.parametrize("name", ["hand_worked", "hard"])
def test_the_diesel_adds_up_as_printed(request, name):
    summary = request.getfixturevalue(name).summary
    left, right = str(ledger_sum(summary)).split(" = ")
    terms = [float(sign + amount) for sign, amount in re.findall(r"([+-]?) ?(\d+\.\d)", left)]
    # Every term is rounded to 0.05 L.
    assert sum(terms) == pytest.approx(float(right.split()[0]), abs=0.05 * (len(terms) + 1))


def test_a_term_of_the_diesel_that_prints_as_nothing_is_left_out(hand_worked):
    fuel = hand_worked.summary["average"]["fuel"] | {
        "heater_L": 0.049,
        "alternator_motoring_L": 0.051,
    }
    told = str(ledger_sum({"average": {"fuel": fuel}}))
    assert "heater" not in told
    assert "- 0.1 alternator while motoring" in told


def test_a_boat_without_an_engine_hears_nothing_of_engines():
    text = simulated_text(in_average(passage_of(boat=without_engine())))
    for nothing in ("engine ", "altern", "diesel", "charging run", "motor"):
        assert nothing not in text
    names = [line.split("  ")[0] for line in text.split("\n")[2:6]]
    assert names == ["HOLDS", "", "lowest", "bank"]


def test_a_boat_with_petrol_hears_nothing_of_diesel():
    boat = boat_of()
    text = simulated_text(
        in_average(passage_of(boat=replace(boat, engine=replace(boat.engine, kind="petrol"))))
    )
    assert "diesel" not in text
    assert ", petrol above reserve\n" in text.replace("\n        ", " ")
    assert "\npetrol  51.0 L left at landfall" in text
    assert (
        "\npetrol, L  60.0 aboard - 2.0 below the pick-up - 6.0 motoring - 1.0 charging\n" in text
    )


def test_a_load_is_named_rather_than_counted_as_one_smaller():
    """Eight fit where seven and the sum of the rest would stand."""
    loads = tuple(Load(name=f"load {n}", draw_A=0.1 * n) for n in range(1, 10))
    eight, nine = (simulated_text(in_average(passage_of(loads=loads[-n:]))) for n in (8, 9))
    assert "smaller" not in eight
    assert "load 2 " in eight
    assert "2 smaller ones" in nine


def test_how_often_the_bank_is_full_is_told_once(hard, hand_worked):
    """In the warning that it is not, or in the line of its wear."""
    assert "between full charges" in simulated_text(hand_worked)
    (wear,) = (line for line in simulated_text(hard).split("\n") if line.startswith("wear "))
    assert wear.endswith(" of the label")
    told = [warning.text for warning in warnings_of(hard) if "full" in warning.text]
    assert len(told) == 1
    assert told[0].startswith("not fully charged for 40 days")


def test_a_boat_without_loads():
    text = simulated_text(in_average(passage_of(loads=())))
    assert "\n\nLoads take nothing.\n" in text


def test_a_charge_just_below_the_floor_does_not_read_as_the_floor():
    """2.012 A for 50 h are 100.6 Ah of 200: 49.7 %, which in whole percent is the floor's 50."""
    boat = without_engine(battery=bank_of(floor_soc=0.5))
    result = in_average(passage_of(boat=boat, loads=(Load(name="all", draw_A=2.012),)))
    assert result.summary["average"]["charge"]["lowest_soc"] == pytest.approx(
        1.0 - 2.012 * 50 / 200
    )
    assert "\nlowest  49.7 % on " in simulated_text(result, brief=True)
