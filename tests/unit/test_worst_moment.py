"""The worst moment against a try of every moment by itself."""

import math

import numpy as np
import pytest
from builders import boat_of, calm_seas, passage_of

from powersim.planning.endurance import endurance
from powersim.planning.failures import NO_CHARGING
from powersim.planning.scenario import Scenario
from powersim.planning.worst_moment import APART_h, with_room, worst_moment
from powersim.records import Load
from powersim.simulation.bands import quantiles
from powersim.simulation.result import simulate

STEP_h = 0.5


def result_of(**given):
    """Two and a half days by sun and engine, the bank up and down."""
    boat = boat_of(
        capacity_Ah=60.0,
        battery={"soc_at_departure": 0.9},
        charging={"start_soc": 0.55, "stop_soc": 0.8},
    )
    loads = (Load(name="all", draw_A=2.5, spread_frac=0.2),)
    return simulate(
        passage_of(**{"boat": boat, "loads": loads, "days": 2.5} | given), step_h=STEP_h
    )


def without_charging(result, *, from_h, members=1):
    table = endurance(result, from_h=from_h, members=members, costs=False)
    (line,) = [one for one in table.lines if (one.loss, one.loads) == (NO_CHARGING, "all loads")]
    return table, line


@pytest.mark.parametrize("members", [1, 4])
def test_no_other_moment_is_worse(members):
    result = result_of()
    table, _ = without_charging(result, from_h="worst", members=members)
    assert (table.worst.judged_by, table.worst.apart_h) == ("flat", APART_h)
    assert table.worst.from_h == table.from_h
    judged = {}
    near = np.arange(-APART_h + STEP_h, APART_h, STEP_h) + table.from_h
    far = np.arange(0.0, result.prepared.track.arrival_h, APART_h)
    for moment_h in sorted({*far[far >= 0.0].tolist(), *near[near >= 0.0].tolist()}):
        if moment_h >= result.prepared.track.arrival_h:
            continue
        _, line = without_charging(result, from_h=moment_h, members=members)
        judged[moment_h] = float(quantiles(np.atleast_1d(line.days_to_flat), (0.1,))[0])
    shortest = min(judged.values())
    assert math.isfinite(shortest)
    assert judged[table.from_h] == pytest.approx(shortest, abs=1e-9)
    # The first of those that are as bad.
    assert table.from_h == next(h for h, days in judged.items() if days <= shortest + 1e-12)


@pytest.mark.parametrize(
    ("capacity_Ah", "members", "days"),
    [(40.0, 6, 9.0), (60.0, 1, 9.0), (160.0, 6, 7.0), (30.0, 3, 1.5)],
)
def test_leaving_out_what_cannot_be_worse_finds_the_same(capacity_Ah, members, days, monkeypatch):
    """Every moment of three hours followed by itself, and one in four first: the same moment. The
    smallest bank is dark in all members, the largest in none before landfall."""
    boat = boat_of(capacity_Ah=capacity_Ah, charging={"start_soc": 0.55, "stop_soc": 0.8})
    loads = (Load(name="all", draw_A=2.5, spread_frac=0.2),)
    passage = passage_of(boat=boat, loads=loads, days=days, leg={"motoring_calm_frac": 0.5})
    forcing = Scenario(members=None if members == 1 else members, seed=2, step_h=1.0).of(passage)
    until = int(24 * days) - 1
    found = []
    for sparse in (1, 4):
        monkeypatch.setattr("powersim.planning.worst_moment.SPARSE", sparse)
        found.append(
            worst_moment(
                forcing,
                soc=0.9,
                floor_soc=0.5,
                until=until,
                landfall=until,
                progress=lambda _: None,
            )
        )
    assert found[0] == found[1]


def test_where_nothing_goes_dark_the_floor_decides():
    """55 Ah from full to the floor at 1 A: reached after 55 h of 60, from departure only."""
    boat = {"capacity_Ah": 110.0, "battery": {"health_frac": 1.0}}
    result = simulate(calm_seas(boat=boat, loads=(Load(name="a", draw_A=1.0),), days=2.5))
    table, line = without_charging(result, from_h="worst")
    assert table.worst.judged_by == "floor"
    # At its floor after 55 h, but for rounding: from there it lasts no time at all.
    assert 55.0 <= table.from_h <= 55.25
    assert line.days_to_floor == pytest.approx(0.0, abs=1e-9)


def test_where_landfall_always_comes_first_the_lowest_charge_decides():
    result = simulate(calm_seas(loads=(Load(name="a", draw_A=0.1),), days=1.0))
    table, line = without_charging(result, from_h="worst")
    assert table.worst.judged_by == "charge"
    # The last quarter of an hour before landfall.
    assert table.from_h == 23.75
    assert math.isinf(line.days_to_floor)


def test_moments_are_further_apart_on_a_long_passage(monkeypatch):
    monkeypatch.setattr("powersim.planning.worst_moment.MOST_MOMENTS", 5)
    result = result_of()
    forcing = Scenario(members=None, seed=1, step_h=STEP_h).of(result.passage)
    shares = []
    found = worst_moment(
        forcing, soc=0.9, floor_soc=0.5, until=119, landfall=119, progress=shares.append
    )
    assert found.apart_h == 4 * APART_h
    assert shares == sorted(shares)
    assert 0.0 < shares[0] <= shares[-1] <= 1.0


def test_a_moment_just_before_landfall_hides_no_worse_one():
    """Dark after 35 h of 35.3 h: only the unluckiest are. Dark after 36 h of 59.3 h: all are."""
    lasts_h, left_h = np.array([36.0, 35.0, np.inf]), np.array([59.3, 35.3, 10.0])
    assert with_room(lasts_h, left_h).tolist() == [36.0, math.inf, math.inf]
    # Where no moment has room, they count all the same: 1.5 times 36 h are 54 h.
    assert with_room(lasts_h, np.array([53.9, 35.3, 10.0])).tolist() == lasts_h.tolist()
    assert with_room(lasts_h, np.array([54.0, 35.3, 10.0])).argmin() == 0
