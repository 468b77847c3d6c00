"""What `simulate --members` prints, on members made by hand around a passage with known sums."""

from dataclasses import replace

import numpy as np
import pytest
from builders import in_average
from hand_worked import LOADS, boat_of, passage_of, waypoints_of, without_engine
from made_ensemble import ensemble_of, weeks_of

from powersim.report.ensemble_view import told_places
from powersim.report.simulated import MOST_LINES_IN_MEMBERS, simulated_text
from powersim.report.verdict_view import verdict_view
from powersim.simulation.ensemble_summary import ensemble_summary

NEVER = np.inf


@pytest.fixture(scope="module")
def hand_worked():
    return in_average(passage_of())


def why(summary):
    return str(verdict_view(summary).why)


def counted(least, most, members=21):
    return np.linspace(least, most, members)


def tried(result, *, risk_frac=0.05, **given):
    given = {"members": 21, "hours": len(result.hourly)} | given
    return replace(result, ensemble=ensemble_of(**given), risk_frac=risk_frac)


def test_members_that_leave_below_the_floor_have_a_day(hand_worked):
    """All leave at 19 %; two of 20 are below from the second day on."""
    battery = replace(hand_worked.passage.boat.battery, soc_at_departure=0.19)
    boat = replace(hand_worked.passage.boat, battery=battery)
    result = in_average(replace(hand_worked.passage, boat=boat))
    floor_h = np.where(np.arange(20) < 2, 30.0, NEVER)
    told = simulated_text(
        tried(result, members=20, floor_h=floor_h, counted_from_h=24.0), brief=True
    )
    assert (
        "FAILS of 20 simulated passages, 2 fail (10 %; your risk is 5 %): charge falls below its "
        "floor of 20 % in 2; she leaves at 19 %, and her floor counts from the second day on; too "
    ) in " ".join(told.split())


def test_the_five_lines_when_some_fail(hand_worked):
    """Quantiles of 21 evenly spread members are those of the even spread itself: of charge from
    10 to 50 %: 14, 30 and 46, and 1 in 20 is below 12. Two of 21 are below the floor, one of these
    is dark. Three motor for 21 h where the others do for 3: 117 h in all, 5.6 on average. Two runs
    in 2.5 h on average are 1 h 15 min each.
    """
    result = tried(
        hand_worked,
        lowest_soc=counted(0.1, 0.5),
        floor_h=np.where(np.arange(21) < 2, 30.0, NEVER),
        flat_h=np.where(np.arange(21) < 1, 40.0, NEVER),
        charging_h=counted(0.0, 5.0),
        charging_L=counted(0.0, 4.0),
        charging_runs=2.0,
        motoring_h=np.where(np.arange(21) < 3, 21.0, 3.0),
        motoring_L=np.where(np.arange(21) < 3, 42.0, 6.0),
        fuel_left_L=counted(45.0, 55.0),
        weeks=weeks_of(members=21, runs=2.0, charging_h=counted(0.0, 5.0)),
    )
    lines = simulated_text(result, brief=True).split("\n")
    assert lines == [
        "FAILS     of 21 simulated passages, 2 fail (10 %; your risk is 5 %): charge",
        "          falls below its floor of 20 % in 2, everything goes dark in 1; too",
        "          close to call with 21: between 2.7 % and 28.9 %; '--members 1000'",
        "          tells more",
        "next      'powersim plan FOLDER' looks for a charging rule that holds",
        "lowest    median 30 % (8 in 10 lie between 14 % and 46 %); 1 in 20 below 12 %",
        "engine    median 2.5 h (8 in 10 lie between 0.5 h and 4.5 h) and 2.0 L (8 in 10",
        "          lie between 0.4 L and 3.6 L) for charging; in the first week about 2",
        "          runs of 1 h 15 min",
        "motoring  median 3.0 h and 6.0 L, mean 5.6 h and 11.1 L, 1 in 10 above 21.0 h",
        "          and 42.0 L",
        "diesel    median 50.0 L (8 in 10 lie between 46.0 L and 54.0 L) left at",
        "          landfall; above the reserve of 20.0 L in all",
        "bank      lasts to landfall with all charging lost",
        "gales     1 % of the time above 34 kn, NOT counted: heavy_weather in boat.toml",
    ]
    assert result.summary["holds"] is False
    assert hand_worked.summary["holds"] is True


def test_with_motoring_stands_what_counts_as_calm(hand_worked):
    first, *others = hand_worked.passage.waypoints
    leg = replace(first, motoring_calm_frac=0.2, calm_kn=7.0)
    passage = replace(hand_worked.passage, waypoints=(leg, *others))
    motoring = {
        "motoring_h": np.where(np.arange(21) < 3, 21.0, 3.0),
        "motoring_L": np.where(np.arange(21) < 3, 42.0, 6.0),
    }
    told = simulated_text(tried(replace(hand_worked, passage=passage), **motoring), brief=True)
    assert "1 in 10 above 21.0 h and 42.0 L; a calm is less than 7.0 kn" in " ".join(told.split())


def test_when_none_fails(hand_worked):
    """Of 100, at most 3.7 % can fail with ever more (z2 / (n + z2) = 3.84 / 103.84)."""
    assert why(tried(hand_worked, members=100).summary) == (
        "of 100 simulated passages, none fail: charge above its floor of 20 %, diesel above reserve"
    )


@pytest.mark.parametrize(
    ("members", "more"), [(21, "; '--members 1000' tells more"), (1000, None), (1200, "")]
)
def test_what_too_few_passages_cannot_say(hand_worked, members, more):
    """None of 21 leave 15.5 % possible; none of 1000 leave no doubt, and 55 of 1200 some."""
    fail = 55 if members == 1200 else 0
    floor_h = np.where(np.arange(members) < fail, 30.0, NEVER)
    told = why(tried(hand_worked, members=members, floor_h=floor_h).summary)
    between = {21: "0.0 % and 15.5 %", 1200: "3.5 % and 5.9 %"}.get(members)
    if more is None:
        assert "too close" not in told
    else:
        assert told.endswith(f"; too close to call with {members}: between {between}{more}")


def test_when_no_more_fail_than_the_sailor_risks(hand_worked):
    result = tried(hand_worked, risk_frac=0.1, fuel_left_L=np.where(np.arange(21) < 1, 3.0, 50.0))
    text = simulated_text(result, brief=True)
    assert text.startswith(
        "HOLDS   of 21 simulated passages, 1 fails (5 %; your risk is 10 %): the diesel\n"
        "        falls below its reserve in 1; "
    )
    # Nine tenths have 50 L left: one figure and no interval.
    assert "median 50.0 L left at landfall; BELOW the reserve of 20.0 L in 1 of 21\n" in text


def test_a_chance_beside_a_risk_that_rounds_alike(hand_worked):
    """11 of 210 are 5.2 %, more than 5 %."""
    result = tried(hand_worked, members=210, floor_h=np.where(np.arange(210) < 11, 30.0, NEVER))
    assert why(result.summary).startswith(
        "of 210 simulated passages, 11 fail (5.2 %; your risk is 5 %): charge falls below"
    )


def test_the_block_of_members(hand_worked):
    result = tried(
        hand_worked,
        lowest_soc=counted(0.1, 0.5),
        floor_h=np.where(np.arange(21) < 2, 30.0, NEVER),
        flat_h=np.where(np.arange(21) < 1, 40.0, NEVER),
        charging_h=counted(0.0, 5.0),
        charging_L=counted(0.0, 4.0),
        motoring_h=3.0,
        motoring_L=6.0,
        alternator_motoring_L=counted(0.0, 1.0),
        heater_L=0.0,
        unserved_Ah=counted(0.0, 100.0),
        fuel_left_L=counted(45.0, 55.0),
        longest_since_full_h=12.0,
    )
    text = simulated_text(result, written="Results in results: members.csv.")
    assert (
        """
                                   1 in 10                  1 in 10
21 simulated passages                below  median    mean    above
---------------------------------  -------  ------  ------  -------
lowest charge                         14 %    30 %    30 %     46 %
engine, charging                     0.5 h   2.5 h   2.5 h    4.5 h
engine, motoring                     3.0 h   3.0 h   3.0 h    3.0 h
diesel, charging runs                0.4 L   2.0 L   2.0 L    3.6 L
diesel, motoring                     6.0 L   6.0 L   6.0 L    6.0 L
diesel, alternator while motoring    0.1 L   0.5 L   0.5 L    0.9 L
diesel left at landfall             46.0 L  50.0 L  50.0 L   54.0 L
longest time between full charges     12 h    12 h    12 h     12 h
loads went without                   10 Ah   50 Ah   50 Ah    90 Ah

by day                      1     2  landfall
------------------------  ---  ----  --------
below the floor           0 %  10 %      10 %
gone flat                 0 %   5 %       5 %
diesel below its reserve  0 %   0 %       0 %
any of them               0 %  10 %      10 %

With ever more passages, between 3 % and 29 % would fail (19 times in 20).

"""
        in text
    )
    assert (
        "\nIn average weather alone it holds: lowest 56 % on Sun 3 May 01:00 (01:00 UTC),"
    ) in text
    assert "; charging 1.2 h, 1.0 L; 51.0 L of diesel left." in text.replace("\n", " ")
    assert max(map(len, text.split("\n"))) <= 80


def test_a_boat_without_an_engine_is_told_nothing_of_diesel():
    result = tried(in_average(passage_of(boat=without_engine())), fuel_left_L=0.0)
    text = simulated_text(result)
    assert "diesel" not in text
    assert "engine" not in text
    assert why(result.summary).startswith(
        "of 21 simulated passages, none fail: charge above its floor of 20 %; "
    )


@pytest.mark.parametrize(
    ("days", "told"),
    [
        (0.5, [0.5]),
        (2.1, [1, 2, 2.1]),
        (7.0, [1, 2, 3, 4, 5, 6, 7]),
        (9.5, [2, 4, 6, 8, 9.5]),
        (32.1, [5, 10, 15, 20, 25, 30, 32.1]),
        (36.0, [10, 20, 30, 36]),
        (1000.0, [1000]),
    ],
)
def test_the_days_that_are_told(days, told):
    made = ensemble_of(hours=round(24 * days), members=2)
    by_day = ensemble_summary(made, fuel=None)["by_day"]
    assert [by_day[place]["days"] for place in told_places(by_day)] == pytest.approx(told, abs=0.03)


def test_the_longest_page(hand_worked):
    """Three months, all there is to say, the widest numbers."""
    long = in_average(passage_of(waypoints=waypoints_of(days=35), boat=boat_of(), loads=LOADS))
    result = tried(
        long,
        floor_h=200.0,
        flat_h=300.0,
        charging_h=1234.0,
        charging_L=1234.0,
        charging_runs=99.0,
        motoring_h=1234.0,
        motoring_L=1234.0,
        alternator_motoring_L=1234.0,
        heater_L=1234.0,
        fuel_short_L=1234.0,
        unserved_Ah=12345.0,
    )
    lines = simulated_text(result, written="Results in some/long/way: hourly.csv.").split("\n")
    assert max(map(len, lines)) <= 80
    assert len(lines) <= MOST_LINES_IN_MEMBERS
