"""The search for the least diesel: what it keeps, and in which order it gives way."""

from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.planning.foresight import foresight
from powersim.simulation.plant import without_engine_rule
from powersim.simulation.prepare import prepare
from powersim.simulation.run import run
from powersim.simulation.state import start_state
from powersim.simulation.timetable import planned_steps
from powersim.voyage.ship_time import in_hours

GREY = {"panel_W": (40.0,), "battery": {"soc_at_departure": 0.7}}


def found(passage, *, end_soc=0.6, **given):
    """The timetable of a passage in steps of an hour's quarter."""
    prepared = prepare(passage)
    return foresight(passage, prepared, end_soc=end_soc, **given), prepared


def simulated(passage, prepared, runs):
    """Flows of the real simulation with these runs and no rule."""
    plant = replace(prepared.plant, rule=without_engine_rule(prepared.plant.rule))
    signals = replace(prepared.signals, ordered=planned_steps(runs, prepared.track)[:, None])
    soc = passage.boat.battery.soc_at_departure
    return run(signals, plant=plant, state=start_state(plant, soc=soc))[0]


@pytest.fixture(scope="module")
def grey():
    """Three days with little sun, that the engine must carry."""
    passage = passage_of(boat=boat_of(**GREY, charging={"shortest_h": 0.75, "longest_h": 2.0}))
    return passage, *found(passage)


def test_all_that_was_asked_for_is_kept(grey):
    passage, best, prepared = grey
    assert best.feasible
    assert best.lowest_soc >= passage.boat.battery.floor_soc
    assert best.end_soc >= 0.6 - 2e-9
    for one in best.runs:
        assert 0.75 <= one.run_h <= 2.0
    ordered = planned_steps(best.runs, prepared.track) > 0.0
    assert ordered.any()
    assert not (ordered & ~in_hours(prepared.track, passage.boat.charging.hours_h)).any()


def test_the_simulation_of_the_timetable_gives_its_figures(grey):
    passage, best, prepared = grey
    flows = simulated(passage, prepared, best.runs)
    assert best.charging_L == pytest.approx(
        flows.charging_L.sum() + flows.alternator_motoring_L.sum(), abs=1e-9
    )
    assert best.charging_h == pytest.approx(sum(one.run_h for one in best.runs))
    assert best.end_soc == pytest.approx(flows.soc[-1, 0], abs=1e-12)
    assert best.lowest_soc == pytest.approx(flows.soc.min(), abs=1e-12)


def test_the_boats_own_rule_does_not_do_better():
    passage = passage_of(boat=boat_of(**GREY, charging={"start_soc": 0.6}))
    prepared = prepare(passage)
    soc = passage.boat.battery.soc_at_departure
    own, _ = run(prepared.signals, plant=prepared.plant, state=start_state(prepared.plant, soc=soc))
    best = foresight(passage, prepared, end_soc=float(own.soc[-1, 0]))
    assert own.charging_L.sum() > 0.0
    assert best.feasible
    assert best.charging_L <= own.charging_L.sum()


def test_no_diesel_where_the_sun_does_it_all():
    best, _ = found(passage_of(boat=boat_of(panel_W=(400.0,))))
    assert best.feasible
    assert (best.runs, best.charging_L, best.charging_h) == ((), 0.0, 0.0)


@pytest.mark.parametrize(
    "boat",
    [{"engine": None}, {"charging": {"by_engine": False}}, {"alternator": {"charging_A": 0.0}}],
)
def test_a_boat_that_cannot_charge_has_no_runs(boat):
    best, _ = found(passage_of(boat=boat_of(**GREY, **boat)))
    assert best.runs == ()
    assert not best.feasible


def test_the_floor_comes_before_the_charge_at_landfall():
    """A single quarter of an hour cannot be enough for both: what is kept is the floor."""
    best, _ = found(passage_of(boat=boat_of(**GREY)), end_soc=1.0)
    assert not best.feasible
    assert best.lowest_soc >= 0.5
    assert best.end_soc < 1.0


def test_a_floor_that_cannot_be_held_is_broken_least():
    passage = passage_of(boat=boat_of(**GREY, charging={"hours_h": (10.0, 11.0)}))
    best, prepared = found(passage, floor_soc=0.65)
    flows = simulated(passage, prepared, best.runs)
    most = simulated(passage, prepared, ())
    assert not best.feasible
    assert (flows.soc < 0.65).sum() < (most.soc < 0.65).sum()


def test_a_full_charge_is_made_when_it_is_due():
    boat = boat_of(
        **GREY,
        charging={"full_every_days": 1.0, "longest_h": 12.0},
        alternator={"constant_V": 14.4, "battery_sensing": True},
    )
    passage = passage_of(boat=boat, days=4.0)
    best, prepared = found(passage, most_since_full_h=60.0)
    free, _ = found(passage, most_since_full_h=np.inf)
    assert best.feasible
    assert simulated(passage, prepared, best.runs).since_full_h.max() <= 60.0
    assert simulated(passage, prepared, free.runs).since_full_h.max() > 60.0
    assert best.charging_L > free.charging_L


def test_progress_is_told_to_the_end():
    seen = []
    found(passage_of(boat=boat_of(**GREY), days=2.0), progress=seen.append)
    assert seen == [0.5, 1.0]


def test_many_skies_are_refused():
    passage = passage_of(boat=boat_of(**GREY))
    prepared = prepare(passage)
    signals = replace(prepared.signals, load_A=np.repeat(prepared.signals.load_A, 2, axis=-1))
    with pytest.raises(ValueError, match="one sky"):
        foresight(passage, replace(prepared, signals=signals), end_soc=0.6)
