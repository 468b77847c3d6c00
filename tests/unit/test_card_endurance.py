"""The card's second page: days left, and what to switch off, each read back from the answer."""

from dataclasses import replace

import numpy as np
import pytest
from hand_worked import LOADS, boat_of, passage_of

import powersim
from powersim.planning.dropping import Dropping, LoadGain
from powersim.planning.endurance_table import DaysFrom, Endurance, EnduranceTable
from powersim.records import Load, Shedding
from powersim.report.card_endurance import card_endurance

INF = np.inf
#: Eleven members, so that the tenth least is the second and the median the sixth.
RANKS = np.arange(11.0)


def gain(load, group, days, charge_Ah=2.0):
    return LoadGain(
        load=load,
        group=group,
        charge_Ah_per_day=charge_Ah,
        days_to_floor=np.full(11, days / 2),
        days_to_flat=np.full(11, days),
        beside_days_to_floor=np.zeros(11),
        beside_days_to_flat=np.zeros(11),
    )


def lines(days, *, later=0.0):
    """The alternator's loss after so many days and more by the member; the sun's never."""
    made = {
        ("everything working", "all loads"): (INF, INF),
        ("alternator lost", "all loads"): (days, days + 2.0),
        ("alternator lost", "essential only"): (INF, INF),
        ("solar lost", "all loads"): (INF, INF),
        ("solar lost", "essential only"): (INF, INF),
    }
    return tuple(
        Endurance(
            loss=loss,
            loads=loads,
            days_to_floor=floor + 0.1 * RANKS,
            days_to_flat=flat + 0.1 * RANKS,
        )
        for (loss, loads), (floor, flat) in made.items()
    )


@pytest.fixture(scope="module")
def result():
    loads = (*LOADS, Load(name="horn", role="vhf"))
    boat = boat_of(shedding=Shedding(comfort_below_soc=0.6))
    return powersim.simulate(passage_of(boat=boat, loads=loads), step_h=1.0, members=1)


@pytest.fixture(scope="module")
def told(result):
    found = EnduranceTable(
        from_h=0.0,
        soc=np.ones(11),
        days_to_landfall=2.0,
        lines=lines(3.0),
        dropping=Dropping(
            beside="solar lost",
            gains=(
                gain("pilot", "essential", 3.0, 24.0),
                gain("horn", "protected", 2.5),
                gain("fridge", "comfort", 1.0),
                gain("lamp", "comfort", 0.02, 0.9),
                gain("plotter", "useful", INF),
                gain("music", "comfort", 2.0, 12.0),
            ),
        ),
        seed=1,
    )
    worst = DaysFrom(
        from_h=27.0, soc=np.full(11, 0.6), days_to_landfall=0.9, lines=lines(1.0, later=27.0)
    )
    return card_endurance(result, found, worst=worst)


def test_days_from_departure_and_from_the_worst_moment(told):
    (every, _), _ = told.lasts
    heads = [(column.over, column.head.replace("\n", " ")) for column in every.columns]
    times = ["to floor", "to flat", "1 in 10 below"]
    assert heads == [
        ("", "all loads on"),
        *(("from departure", head) for head in times),
        *(("from the worst moment", head) for head in times),
    ]
    (row,) = ([str(cell) for cell in row] for row in every.rows)
    # 3 days and 0.1 more by the member: the sixth has 3.5 and 5.5, the second 5.1 to flat.
    assert row == ["alternator lost", "3.5 days", "5.5 days", "5.1 days", "36 h", "3.5 days",
                   "3.1 days"]  # fmt: skip


def test_what_lasts_to_landfall_is_a_sentence(told):
    (_, all_loads), (essential, essential_stood) = told.lasts
    assert all_loads == "To landfall, all loads on: solar lost."
    assert essential.rows == ()
    assert essential_stood == "To landfall, essential only: alternator lost, solar lost."


def test_when_the_worst_moment_is(told):
    """27 h after midnight on 1 May, by a clock on UTC; the course is due north from 30 N."""
    assert str(told.opening) == (
        "In 11 simulated passages: the middle one, and what 1 in 10 is below. "
        "Worst moment: Sat 2 May 03:00 ship's time, 32°N."
    )


def test_the_order_of_switching_off(told):
    """The least needed first, and of these what gains most; never what is there for safety."""
    rows = [tuple(map(str, row)) for row in told.off.rows]
    assert rows == [
        ("1", "music", "comfort, at 60 %", "12 Ah", "2.0 days"),
        ("2", "fridge", "comfort, at 60 %", "2.0 Ah", "24 h"),
        ("3", "plotter", "useful", "2.0 Ah", "landfall"),
        ("4", "pilot", "essential", "24 Ah", "3.0 days"),
    ]
    assert told.little == "Gains little: lamp."
    assert told.never == "Never: the lookout, horn."


def test_in_average_weather_there_is_no_tenth(result):
    found = EnduranceTable(
        from_h=0.0,
        soc=1.0,
        days_to_landfall=2.0,
        lines=tuple(
            replace(line, days_to_floor=3.0, days_to_flat=5.0, at_once=False) for line in lines(1.0)
        ),
        dropping=None,
    )
    told = card_endurance(result, found)
    (every, _), _ = told.lasts
    assert [column.head.replace("\n", " ") for column in every.columns] == [
        "all loads on",
        "to floor",
        "to flat",
    ]
    assert str(told.opening) == "In average weather alone."
    assert told.off.rows == ()
