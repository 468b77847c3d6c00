"""Days left without charging, from departure and from the worst moment, in one answer."""

import numpy as np
import pytest
from builders import boat_of, calm_seas, passage_of

from powersim.planning.cases import ALL_LOADS, ESSENTIAL_ONLY, LOAD_SETS
from powersim.planning.days_left import days_left
from powersim.planning.endurance import endurance
from powersim.planning.failures import NO_CHARGING
from powersim.records import Load
from powersim.simulation.prepared_passage import prepared_passage
from powersim.simulation.result import SimulationResult, simulate

STEP_h = 0.5


def test_days_by_hand():
    """Constant loads and no source of charge: days = Ah / A.

    110 Ah, full. A steady 1.0 A, half of it essential. From full to the floor at 50 % are 55 Ah:
    55 h at 1.0 A, 110 h at 0.5 A. Nothing charges on the way, so the worst moment is the one that
    leaves least: the passage ends after 60 h, and at 55 h the bank is at its floor already.
    """
    boat = {"capacity_Ah": 110.0, "battery": {"health_frac": 1.0}}
    loads = (
        Load(name="a", draw_A=0.5, priority="essential"),
        Load(name="b", draw_A=0.5, priority="comfort"),
    )
    found = days_left(simulate(calm_seas(boat=boat, loads=loads, days=2.5)), members=1, seed=1)
    at_quay = found.departure.line(NO_CHARGING, ALL_LOADS)
    assert at_quay.days_to_floor == pytest.approx(55.0 / 24.0, abs=1e-6)
    # 110 h: landfall comes first.
    assert np.isinf(found.departure.line(NO_CHARGING, ESSENTIAL_ONLY).days_to_floor)
    assert (found.departure.soc, found.departure.from_h, found.departure.worst) == (1.0, 0.0, None)
    assert (found.passages, found.seed, found.worst.worst.judged_by) == (1, None, "floor")
    assert found.worst.line(NO_CHARGING, ALL_LOADS).days_to_floor == pytest.approx(0.0, abs=1e-9)
    assert found.worst.soc == pytest.approx(1.0 - found.worst.from_h / 110.0, abs=1e-6)


@pytest.fixture(scope="module")
def passage():
    """Two and a half days by sun and engine, the bank up and down."""
    boat = boat_of(
        capacity_Ah=60.0,
        battery={"soc_at_departure": 0.9},
        charging={"start_soc": 0.55, "stop_soc": 0.8},
    )
    loads = (Load(name="all", draw_A=2.5, spread_frac=0.2),)
    return passage_of(boat=boat, loads=loads, days=2.5)


@pytest.mark.parametrize("members", [1, 6])
def test_it_is_what_the_table_says(passage, members):
    """The same numbers as the lines of the whole table, asked for from either moment."""
    result = simulate(passage, step_h=STEP_h)
    found = days_left(result, members=members, seed=3)
    for one, from_h in ((found.departure, 0.0), (found.worst, "worst")):
        table = endurance(result, from_h=from_h, members=members, seed=3, costs=False)
        assert one.from_h == table.from_h
        assert one.days_to_landfall == pytest.approx(table.days_to_landfall)
        np.testing.assert_allclose(one.soc, table.soc, atol=1e-12)
        assert [line.loads for line in one.lines] == list(LOAD_SETS)
        for line in one.lines:
            (same,) = [
                other
                for other in table.lines
                if (other.loss, other.loads) == (NO_CHARGING, line.loads)
            ]
            np.testing.assert_allclose(line.days_to_floor, same.days_to_floor, atol=1e-9)
            np.testing.assert_array_equal(line.days_to_flat, same.days_to_flat)
    quay, worst = (one.line(NO_CHARGING, ALL_LOADS) for one in (found.departure, found.worst))
    assert np.median(worst.days_to_flat) < np.median(quay.days_to_flat)


def test_members_of_a_prepared_passage_are_taken_over(passage):
    ready = prepared_passage(passage, kind=SimulationResult, step_h=STEP_h, members=6, seed=3)
    anew = days_left(ready.simulate(), members=6, seed=3)
    kept = days_left(ready, members=6, seed=3)
    for one, other in ((anew.departure, kept.departure), (anew.worst, kept.worst)):
        for line, same in zip(one.lines, other.lines, strict=True):
            np.testing.assert_array_equal(line.days_to_flat, same.days_to_flat)


def test_the_first_members_are_those_of_many_and_search_the_worst_moment(passage, monkeypatch):
    """Of 6 members the first 4 alone say from when on; 4 members say the same of themselves."""
    monkeypatch.setattr("powersim.planning.days_left.FEW", 4)
    result = simulate(passage, step_h=STEP_h)
    many, few = (days_left(result, members=members, seed=3) for members in (6, 4))
    assert many.worst.worst == few.worst.worst
    for one, other in ((many.departure, few.departure), (many.worst, few.worst)):
        for line, same in zip(one.lines, other.lines, strict=True):
            np.testing.assert_array_equal(line.days_to_flat[:4], same.days_to_flat)
            np.testing.assert_array_equal(line.days_to_floor[:4], same.days_to_floor)
