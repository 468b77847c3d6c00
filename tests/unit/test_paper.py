"""A table on paper to charge by: by hand on a constant boat, and what must always be so."""

from dataclasses import replace
from functools import cache

import hand_worked
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from planned import grey_passage

from powersim import api
from powersim.planning import paper_days
from powersim.planning.paper import paper_way
from powersim.planning.paper_days import by_paper, days_of, gains_soc, kind_of
from powersim.planning.paper_table import (
    KINDS,
    MOST_ROWS,
    PaperTable,
    charging_of,
    paper_table,
    run_h,
)
from powersim.records import ChargingRule, Load
from powersim.report.card_paper import draw_paper_card
from powersim.report.paper_view import paper_sections
from powersim.report.screen_text import screen_text
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.prepare import prepare

BOUNDS = {"least_h": 1.0, "longest_h": 4.0}


def constant_passage(**boat):
    """A bank of 200 Ah without losses, 1 A on all the time, 20 A from the engine, and no sun."""
    rule = ChargingRule(start_soc=0.3, run_h=2.0, read_at_h=(6.0,), hours_h=(8.0, 20.0))
    return hand_worked.passage_of(
        boat=hand_worked.boat_of(charging=rule, **boat),
        loads=(Load(name="instruments", draw_A=1.0),),
        waypoints=hand_worked.waypoints_of(days=6),
    )


@cache
def prepared_by_hand():
    return prepare(constant_passage(), step_h=1.0)


def charging_by_hand(gains=(0.10, -0.05, -0.12)):
    return charging_of(constant_passage().boat, prepared_by_hand(), gains)


@pytest.mark.parametrize(
    ("soc", "kind", "hours"),
    [
        # Wanted are 70 %, and 10 points are an hour's 20 A.
        (0.65, 0, 0.0),  # the sun brings 10 points, 5 are lacking
        (0.55, 0, 1.0),  # 5 points lacking are half an hour, and an hour is the least
        (0.60, 1, 1.5),  # 10 and 5
        (0.60, 2, 2.5),  # 10 and 12 are 2 h 12 min: in steps of half an hour
        (0.20, 2, 4.0),  # 62 points would be more than the longest
    ],
)
def test_a_run_by_hand(soc, kind, hours):
    found = run_h(charging_by_hand(), soc=soc, kind=kind, wanted_soc=0.70, **BOUNDS)
    assert found == hours


@given(
    st.floats(0.05, 0.95),
    st.floats(0.0, 0.5),
    st.floats(0.2, 0.96),
    st.lists(st.floats(-0.4, 0.4), min_size=3, max_size=3),
)
def test_a_greyer_day_or_a_lower_bank_never_asks_for_less(soc, lower, wanted_soc, gains):
    """Whatever the ensemble makes of the kinds of day: a greyer one is never taken to give more."""
    charging = charging_by_hand(tuple(gains))
    runs = [
        [
            run_h(charging, soc=one, kind=kind, wanted_soc=wanted_soc, **BOUNDS)
            for kind in range(len(KINDS))
        ]
        for one in (soc, max(soc - lower, 0.0))
    ]
    assert all(row == sorted(row) for row in runs)
    assert all(low >= high for high, low in zip(*runs, strict=True))


def test_between_two_rows_the_lower_one_counts_and_below_all_of_them_the_longest_run():
    table = PaperTable(
        levels_soc=(0.8, 0.6),
        levels_V=None,
        runs_h=((0.0, 0.0, 1.0), (1.0, 1.5, 2.0)),
        longest_h=4.0,
        read_at_h=6.0,
        begin_h=8.0,
        wanted_soc=0.7,
        least_h=1.0,
    )
    found = table.runs_at(np.array([0.95, 0.79, 0.60, 0.59, 0.79]), np.array([2, 2, 0, 0, 1]))
    assert found.tolist() == [1.0, 2.0, 1.0, 4.0, 1.5]


def test_a_day_without_the_engine_takes_what_the_loads_take():
    """By hand: 24 Ah of 200 Ah, on a day of any kind, since there is no sun."""
    passage = constant_passage()
    prepared = prepare(passage, step_h=1.0)
    forcing = draw_ensemble(passage, prepared, members=5, seed=1)
    assert gains_soc(forcing, days_of(prepared, 6.0)) == pytest.approx((-0.12,) * 3)


def test_who_goes_by_the_table_runs_what_it_says_each_morning():
    """By hand, six days from midnight on: five dawns to run on, two hours of 0.8 L each, and the
    last day's run is at sea too. The bank is full to the end, so nothing else can matter.
    """
    passage = constant_passage()
    prepared = prepare(passage, step_h=0.5)
    forcing = draw_ensemble(passage, prepared, members=3, seed=1)
    table = paper_table(passage.boat, prepared, charging_by_hand(), wanted_soc=0.5, least_h=1.0)
    always = replace(table, levels_soc=(0.0,), runs_h=((2.0, 2.0, 2.0),))
    never = replace(table, levels_soc=(0.0,), runs_h=((0.0, 0.0, 0.0),))
    found = by_paper(passage.boat, forcing, [always, never])
    dawns = len(days_of(prepared, 6.0)) - 1
    assert found.charging_h[0] == pytest.approx(2.0 * dawns)
    assert found.charging_L[0] == pytest.approx(1.6 * dawns)
    assert not found.charging_h[1].any()
    assert (found.end_soc[0] > found.end_soc[1]).all()


@pytest.mark.usefixtures("middle_banks")
def test_a_lower_bank_gets_the_longer_run(monkeypatch):
    """Two boats at 75 and at 50 % at departure, read rightly: the second is a row further down."""
    monkeypatch.setattr(paper_days, "_seems_soc", _rightly)
    runs = []
    for soc in (0.75, 0.50):
        passage = constant_passage(battery=hand_worked.bank_of(soc_at_departure=soc))
        prepared = prepare(passage, step_h=1.0)
        forcing = draw_ensemble(passage, prepared, members=2, seed=1)
        table = paper_table(passage.boat, prepared, charging_by_hand(), wanted_soc=0.5, least_h=1.0)
        # 6 h take 6 Ah, 3 points, before the first dawn.
        two = replace(table, levels_soc=(0.7, 0.4), runs_h=((0.0,) * 3, (3.0,) * 3))
        found = by_paper(passage.boat, forcing, [two])
        runs.append(float(found.charging_h[0, 0]))
    assert runs[0] < runs[1]


def _rightly(batch, forcing, signals, plant, member_of):
    return np.asarray(batch.state.total_Ah) / plant.bank.capacity_Ah


def test_kinds_are_told_by_the_share_of_a_clear_skys_light():
    assert kind_of(np.array([0.9, 0.7, 0.69, 0.4, 0.39, 0.0])).tolist() == [0, 0, 1, 1, 2, 2]


@pytest.fixture(scope="module")
def way():
    """Read by a voltmeter, in few members."""
    return api.paper(grey_passage(battery={"reading": "volts"}), members=60, step_h=1.0)


def test_the_table_that_is_offered_holds_and_fits_a_card(way):
    assert way.verdict.holds
    table = way.table
    assert 1 <= len(table.levels_soc) <= MOST_ROWS
    # What a cheap voltmeter shows.
    assert [round(20.0 * volts, 6) % 1.0 for volts in table.levels_V] == [0.0] * len(table.levels_V)
    assert list(table.levels_V) == sorted(table.levels_V, reverse=True)
    for row, below in zip(table.runs_h, [*table.runs_h[1:], (table.longest_h,) * 3], strict=True):
        assert all(more >= less for less, more in zip(row, below, strict=True))
        assert list(row) == sorted(row)


def test_screen_and_page_say_the_same_table(way):
    screen = screen_text(paper_sections(way, searched_in=200))
    assert max(map(len, screen.splitlines())) <= 80
    drawn = " ".join(text.get_text() for page in draw_paper_card(way) for text in page.texts)
    for words in (f"{way.table.levels_V[0]:.2f} V or more", "run now", "If unsure", "no shadow"):
        assert words in " ".join(screen.split())
        assert words in " ".join(drawn.split())


def test_a_table_that_fails_too_often_is_not_offered():
    """An alternator of 3 A keeps nothing up."""
    passage = grey_passage(alternator={"charging_A": 3.0}, panel_W=(20.0,))
    found = paper_way(passage, seed=1, risk_frac=0.05, step_h=1.0, judged_in=40, searched_in=20)
    assert not found.verdict.holds
    told = " ".join(screen_text(paper_sections(found, searched_in=20)).split())
    assert "FAILS" in told
    assert "No table is offered" in told
    assert "run now" not in told
