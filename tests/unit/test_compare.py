"""Choices simulated side by side, and what their differences show, against simulate and by hand."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from builders import boat_of, passage_of
from compared_made import choice_of, compared_of, outcome_made

import powersim
from powersim.errors import refused
from powersim.planning import compare as compare_module
from powersim.planning.cases import ALL_LOADS
from powersim.planning.compare import Choice, Study, of_choice, outcome_of, outcomes
from powersim.planning.compare_best import compared
from powersim.planning.days_left import days_left
from powersim.planning.failures import NO_CHARGING
from powersim.planning.measures import measured

STUDY = Study(members=20, seed=3, step_h=1.0, risk_frac=0.1)
PASSAGE = passage_of(
    boat=boat_of(battery={"soc_at_departure": 0.6}, charging={"shortest_h": 0.5}),
    days=2.0,
    leg={"motoring_start_h": 2.0},
)
LATER = replace(PASSAGE, depart_utc=PASSAGE.depart_utc + timedelta(days=40))
SMALLER = replace(
    PASSAGE, boat=replace(PASSAGE.boat, battery=replace(PASSAGE.boat.battery, capacity_Ah=80.0))
)
CHOICES = [
    Choice(passage=one, name="short")
    for one in (PASSAGE, LATER, SMALLER, replace(LATER, boat=SMALLER.boat))
]


@pytest.fixture(scope="module")
def found():
    return dict(outcomes(STUDY, CHOICES, jobs=1))


@pytest.mark.parametrize("place", range(len(CHOICES)))
def test_a_choice_comes_to_what_simulate_says_of_it(found, place):
    """To the last digit, whatever was simulated before it."""
    passage, outcome = CHOICES[place].passage, found[place]
    result = powersim.simulate(passage, step_h=1.0, members=20, seed=3, risk_frac=0.1)
    assert outcome.verdict == result.verdict
    assert outcome.verdict.as_dict() == result.summary["verdict"]
    for name, values in measured(result.ensemble, passage.boat).items():
        assert np.array_equal(outcome.measured[name], values), name
    line = days_left(result, members=20, seed=3).worst.line(NO_CHARGING, ALL_LOADS)
    assert np.array_equal(outcome.lost.flat_days, line.days_to_flat)
    # Counted from the moment itself, and not from the departure less what was before it.
    assert outcome.lost.floor_days == pytest.approx(line.days_to_floor, abs=1e-12)
    # 240 nm at 5 kn, by the spheroid and not by 60 nm a degree.
    late = outcome.landfall_utc - passage.depart_utc - timedelta(days=2)
    assert abs(late) < timedelta(minutes=10)


def test_pieces_hold_neighbours_that_share_a_departure(monkeypatch):
    """Four choices of two departures: in the order of these, and no choice is done twice. Eighty
    for two processes are sixteen pieces of five."""
    monkeypatch.setattr(compare_module, "_FEW", 0)
    _, works = compare_module._packed(CHOICES)
    pieces = compare_module._pieces(works, hands=1)
    assert [work.place for piece in pieces for work in piece] == [0, 2, 1, 3]
    many = compare_module._packed([*CHOICES] * 20)[1]
    assert list(map(len, compare_module._pieces(many, hands=2))) == [5] * 16
    assert [len(piece) for piece in compare_module._pieces(works[:3], hands=None)] == [1, 1, 1]
    monkeypatch.setattr(compare_module, "_FEW", 4)
    assert [len(piece) for piece in compare_module._pieces(works, hands=None)] == [4]


def test_weather_files_are_sent_once():
    forecast = object()
    known = [replace(CHOICES[0], passage=replace(PASSAGE, forecast=forecast)) for _ in range(3)]
    weather, works = compare_module._packed([*known, CHOICES[0]])
    assert weather == (None, forecast)
    assert [work.weather for work in works] == [(1, 0)] * 3 + [(0, 0)]
    assert all(work.choice.passage.forecast is None for work in works)
    study = replace(STUDY, weather=weather)
    assert compare_module._unpacked(study, works[0]).passage.forecast is forecast


def test_a_choice_that_is_refused_is_named():
    choice = replace(CHOICES[0], told=("battery.capacity 80 Ah (was 100 Ah)",))
    named = of_choice(refused("wind.grib", "does not cover the boat"), choice)
    assert str(named).startswith(
        "wind.grib: does not cover the boat (in the choice short, leaving "
    )
    assert "UTC, battery.capacity 80 Ah (was 100 Ah))" in str(named)


def test_differences_against_the_first_by_hand():
    """Ten passages: litres 10 each before; after it 12 in all, so 2 more in each."""
    first = outcome_made(members=10, burnt=10.0)
    second = outcome_made(members=10, burnt=12.0, days=np.linspace(1.0, 1.9, 10))
    result = compared_of(first, second)
    difference = result.differences[1]["burnt"]
    assert (difference.mean, difference.least, difference.most) == (2.0, 2.0, 2.0)
    assert result.differences[0]["burnt"].same
    # Days: 1.0 to 1.9, mean 1.45, against 2.0 in all.
    assert result.lasts[1].mean == pytest.approx(-0.55)


def test_days_to_landfall_have_no_difference():
    days = np.array([1.0, np.inf, 2.0])
    result = compared_of(outcome_made(members=3), outcome_made(members=3, days=days))
    assert result.lasts[1] is None
    assert result.lasts[0].same


def test_the_best_and_what_cannot_be_told_from_it():
    """Of 200: 4, 2, 12 and 60 fail, nested. Against the 2: two more cannot show, nor can ten more
    of three comparisons: 10/202 = 0.0495, its error sqrt((12/202 - 0.0495^2)/202) = 0.01679,
    times 2.394 for 5 % / 3 is 0.0402, which is less: they can. 60 can."""
    four = [outcome_made(members=200, failing=count) for count in (4, 2, 12, 60)]
    result = compared_of(*four)
    assert result.least == (1,)
    assert result.not_told_apart == (0, 1)
    assert result.holding == (0, 1)


def test_the_luckiest_of_many_is_told_from_fewer():
    """Nine more of 200 show against one (0.0446 - 1.96 * 0.01612 > 0), but not as one of 39 (with
    3.22 errors)."""
    best, worse = (outcome_made(members=200, failing=count) for count in (0, 9))
    assert compared_of(best, worse).not_told_apart == (0,)
    assert len(compared_of(best, *[worse] * 39).not_told_apart) == 40


def test_equal_shares_are_all_best():
    result = compared_of(*[outcome_made(members=40, failing=1)] * 3)
    assert result.least == result.not_told_apart == (0, 1, 2)


def test_outcomes_are_put_in_the_order_asked(found):
    result = compared(STUDY, CHOICES, dict(reversed(found.items())))
    assert [one.verdict for one in result.outcomes] == [found[at].verdict for at in range(4)]
    assert choice_of().name == "made"
    assert outcome_of(STUDY, CHOICES[2]).verdict == found[2].verdict
