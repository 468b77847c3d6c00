"""The picture of the charge in words: every figure that is said is one that is drawn."""

import re
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from builders import in_average
from hand_worked import passage_of, waypoints_of, without_engine
from made_ensemble import ensemble_of

import powersim
from powersim.report.charge_words import charge_words
from powersim.report.figure_charge import charge_figure
from powersim.report.figure_fan import fan_figure

MEMBERS = 200


@pytest.fixture(scope="module")
def alone():
    passage = passage_of(waypoints=waypoints_of(days=9), ship_offset_h=-3.0)
    return in_average(passage, step_h=1.0)


@pytest.fixture(scope="module")
def many(alone):
    """Two hundred members about the average; twelve are below the floor after 100 h."""
    hours = len(alone.hourly)
    spread = np.linspace(-0.1, 0.1, MEMBERS)
    hour_soc = np.clip(alone.hourly["soc"].to_numpy()[:, None] + spread, 0.0, 1.0)
    floor_h = np.where(np.arange(MEMBERS) < 12, 100.0, np.inf)
    return replace(
        alone,
        ensemble=ensemble_of(
            hours=hours, members=MEMBERS, hour_soc=hour_soc, floor_h=floor_h,
            lowest_soc=hour_soc.min(axis=0), lowest_h=hour_soc.argmin(axis=0) + 1.0,
            hour_charging_frac=np.full(hours, 0.05),
        ),
    )  # fmt: skip


def test_each_moment_says_the_curve_that_is_drawn(many):
    told, numbers = charge_words(many), fan_figure(many)
    for moment in told.moments:
        at = numbers.charge.times_utc.index(moment.when_utc)
        # None of these is within half a per cent of the floor, and needs a decimal.
        median, low, high, edge = (
            f"{line[at]:.0f}"
            for line in (
                numbers.median_percent, numbers.low_percent, numbers.high_percent,
                numbers.edge_percent,
            )
        )  # fmt: skip
        band = f"8 in 10 between {low} and {high} %" if low != high else f"8 in 10 at {low} %"
        assert f": median {median} %, {band}, 19 in 20 above {edge} %." in moment.words
        failed = "12 of 200 (6 %)" if at >= 100 else "none of 200 (0 %)"
        assert f"by then: {failed}." in moment.words


def test_a_moment_begins_with_ships_time_and_latitude(many):
    """Departure on 1 May at 00:00 UTC, ship's time three hours behind, from 50 N."""
    first, *_, last = charge_words(many).moments
    assert first.words.startswith("Thu 30 Apr 21:00, 50°N: median 100 %")
    # Three hours of ship's time on that day: 0.05 x 3 = 0.15 h, which is said as 0.1 or 0.2.
    assert re.search(r"Engine that day on average: charging 0\.[12] h\.$", first.words)
    assert last.words.startswith("Sat 9 May 21:00, ")
    assert "charging 1.0 h" in last.words or "charging 1.1 h" in last.words  # 21 h x 0.05


def test_moments_are_at_even_hours_of_the_ships_day(many):
    """216 hours in steps of two: fewer than 160."""
    told = charge_words(many)
    clocks = [(moment.when_utc - timedelta(hours=3)).hour for moment in told.moments]
    assert {hour % 2 for hour in clocks[1:-1]} == {0}
    assert 100 <= len(told.moments) <= 160
    rises = [moment.when_utc for moment in told.moments]
    assert rises == sorted(set(rises))


@pytest.mark.parametrize(("days", "most"), [(1, 26), (15, 160), (40, 160)])
def test_there_are_never_too_many(days, most):
    passage = passage_of(waypoints=waypoints_of(days=days, speed_kn=1.0 if days > 1 else 5.0))
    moments = charge_words(in_average(passage, step_h=1.0)).moments
    assert 10 <= len(moments) <= most


def test_the_one_that_is_chosen_first_is_the_worst(many):
    told, numbers = charge_words(many), fan_figure(many)
    lowest = numbers.edge_percent.index(min(numbers.edge_percent))
    chosen = numbers.charge.times_utc.index(told.moments[told.worst].when_utc)
    assert abs(chosen - lowest) <= 1


def test_the_whole_says_what_the_picture_says(many):
    told, numbers = charge_words(many), fan_figure(many)
    assert told.title == "State of charge in 200 simulated passages, hour by hour"
    for percents in (numbers.median_percent, numbers.low_percent, numbers.edge_percent):
        assert f"{min(percents):.0f} % on " in told.description
    assert "12 of 200 at landfall (6 %), half of these by Tue 5 May 01:00" in told.description
    assert "the limit is 5 %" in told.description
    assert "The floor is 20 %; flat is 10 %." in told.description
    assert "in all, charging 11 h, motoring 0 h" in told.description  # 216 x 0.05 = 10.8


def test_none_fails(many):
    quiet = replace(many.ensemble, floor_h=np.full(MEMBERS, np.inf))
    told = charge_words(replace(many, ensemble=quiet)).description
    assert "or dark, by then: none of 200; the limit is 5 %." in told


def test_average_weather_alone_says_so(alone):
    told, numbers = charge_words(alone), charge_figure(alone)
    assert told.title == "State of charge in average weather alone, hour by hour"
    assert told.description.startswith("One curve, in average weather alone: from 100 %")
    for moment in told.moments:
        at = numbers.times_utc.index(moment.when_utc)
        assert f": {numbers.soc_percent[at]:.0f} % in average weather" in moment.words
        assert "of 200" not in moment.words


def test_a_boat_without_an_engine_hears_nothing_of_one():
    told = charge_words(powersim.simulate(passage_of(boat=without_engine()), step_h=1.0, members=3))
    assert "Below, floor broken, or dark, by then: none of 3; the limit is 5 %." in told.description
    assert "reserve" not in told.description + told.moments[0].words
    assert "engine" not in told.description.lower()
    assert not [moment for moment in told.moments if "ngine" in moment.words]


def test_a_charge_just_below_the_floor_is_not_said_to_be_at_it(many):
    """A floor of 20 %, and an edge of 19.8 % for an hour."""
    hour_soc = many.ensemble.hour_soc.copy()
    hour_soc[100, :20], lowest_soc = 0.198, many.ensemble.lowest_soc.copy()
    lowest_soc[:20] = 0.198
    lowest_h = np.where(np.arange(MEMBERS) < 20, 101.0, many.ensemble.lowest_h)
    ensemble = replace(many.ensemble, hour_soc=hour_soc, lowest_soc=lowest_soc, lowest_h=lowest_h)
    told = charge_words(replace(many, ensemble=ensemble))
    assert "lowest at 19.8 % on " in told.description


def test_the_share_is_said_as_the_verdict_says_it(many):
    """35 of 200 are 17.5 %, which is 18 %; 11 of 200 are 5.5 %, and 10.4 would be 5.2 %."""
    from powersim.report.verdict_view import verdict_view

    floor_h = np.where(np.arange(MEMBERS) < 35, 100.0, np.inf)
    made = replace(many, ensemble=replace(many.ensemble, floor_h=floor_h))
    told = charge_words(made).description
    assert "35 of 200 at landfall (18 %)" in told
    assert "18 %" in str(verdict_view(made.summary).why).replace("\u00a0", " ")
