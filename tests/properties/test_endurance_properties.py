"""What holds of every boat's endurance: what is lost never makes the bank last longer."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from builders import boat_of, passage_of
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from powersim.planning.cases import LOAD_SETS
from powersim.planning.endurance import endurance
from powersim.planning.failures import NO_CHARGING, NO_ENGINE, WORKING
from powersim.records import CHEMISTRIES, Controller, Load, Window
from powersim.simulation.result import simulate

STEP_h = 0.5
few = settings(
    phases=(Phase.explicit, Phase.generate),
    max_examples=6,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)


@st.composite
def passages(draw):
    """By sun alone, the engine aboard but never run: then nothing is made up for."""
    boat = boat_of(
        chemistry=draw(st.sampled_from(tuple(CHEMISTRIES))),
        capacity_Ah=draw(st.floats(40.0, 300.0)),
        battery={"soc_at_departure": draw(st.floats(0.2, 1.0))},
        panel_W=(draw(st.floats(5.0, 150.0)), draw(st.floats(5.0, 150.0))),
        controllers=(
            Controller(name="port", kind=draw(st.sampled_from(("mppt", "pwm")))),
            Controller(name="starboard"),
        ),
        charging={"by_engine": False},
    )
    loads = (
        Load(name="instruments", draw_A=draw(st.floats(0.1, 3.0)), priority="essential"),
        Load(name="pilot", draw_A=draw(st.floats(0.0, 4.0)), role="pilot", spread_frac=0.3),
        Load(name="light", draw_W=draw(st.floats(0.0, 20.0)), window=Window(kind="night")),
        Load(name="laptop", draw_W=draw(st.floats(0.0, 60.0)), priority="comfort", on_frac=0.3),
    )
    return passage_of(
        boat=boat,
        loads=loads,
        days=draw(st.floats(0.5, 2.0)),
        lat_deg=draw(st.floats(-60.0, 65.0)),
        depart_utc=datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=draw(st.integers(0, 8760))),
    )


@few
@given(passage=passages(), members=st.sampled_from((1, 3)), worst=st.booleans())
def test_more_that_fails_never_lasts_longer(passage, members, worst):
    """In every weather by itself. Days to the floor to a step: they are linear within it."""
    result = simulate(passage, step_h=STEP_h)
    table = endurance(
        result,
        from_h="worst" if worst else 0.0,
        members=members,
        without=["one panel lost", "pilot draw doubled"],
        costs=False,
    )
    days = {
        (line.loss, line.loads): (line.days_to_floor, line.days_to_flat) for line in table.lines
    }
    both = "without panel and double pilot"
    worse_than = [
        ("one panel lost", WORKING),
        ("solar lost", "one panel lost"),
        (NO_CHARGING, "solar lost"),
        (NO_ENGINE, WORKING),
        ("pilot draw doubled", WORKING),
        (both, "one panel lost"),
        (both, "pilot draw doubled"),
    ]
    for loads in LOAD_SETS:
        for worse, better in worse_than:
            (low_floor, low_flat), (floor, flat) = days[worse, loads], days[better, loads]
            assert np.all(low_floor <= floor + STEP_h / 24.0), (worse, better, loads)
            assert np.all(low_flat <= flat), (worse, better, loads)
    for loss, loads in days:
        (floor, flat), (all_floor, all_flat) = days[loss, loads], days[loss, "all loads"]
        assert np.all(floor <= flat)
        assert np.all(all_floor <= floor + STEP_h / 24.0), (loss, loads)
        assert np.all(all_flat <= flat), (loss, loads)


@few
@given(passage=passages(), members=st.sampled_from((1, 3)))
def test_dropping_a_load_never_shortens(passage, members):
    table = endurance(simulate(passage, step_h=STEP_h), members=members)
    for gain in table.dropping.gains:
        for days in (gain.days_to_floor, gain.beside_days_to_floor):
            assert np.all(np.asarray(days) >= -STEP_h / 24.0)
        for days in (gain.days_to_flat, gain.beside_days_to_flat):
            assert np.all(np.asarray(days) >= 0.0)
    order = [float(np.median(gain.days_to_flat)) for gain in table.dropping.gains]
    assert order == sorted(order, reverse=True)


@few
@given(passage=passages(), from_frac=st.floats(0.0, 0.95), members=st.sampled_from((1, 4)))
def test_no_number_lies_beyond_landfall(passage, from_frac, members):
    result = simulate(passage, step_h=STEP_h)
    from_h = from_frac * result.prepared.track.arrival_h
    table = endurance(result, from_h=from_h, members=members, costs=False)
    assert table.from_h <= from_h < table.from_h + STEP_h + 1e-9
    for line in table.lines:
        for days in np.atleast_1d(line.days_to_floor), np.atleast_1d(line.days_to_flat):
            assert days.min() >= 0.0
            assert np.all(np.isinf(days) | (days <= table.days_to_landfall))


@pytest.mark.parametrize("members", [2, 5])
def test_a_member_is_the_same_among_few_and_many(members):
    passage = passage_of(days=2.0)
    few_of, many_of = (
        endurance(simulate(passage, step_h=STEP_h), members=count, costs=False)
        for count in (members, 7)
    )
    for one, other in zip(few_of.lines, many_of.lines, strict=True):
        np.testing.assert_allclose(one.days_to_floor, other.days_to_floor[:members], atol=1e-9)
        np.testing.assert_array_equal(one.days_to_flat, other.days_to_flat[:members])
