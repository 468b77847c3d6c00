"""A timetable has the engine charge whatever the rule says, and the rule does not go on with it."""

from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.kernel.state import State, Switches
from powersim.simulation.prepare import prepare
from powersim.simulation.run import run
from powersim.simulation.state import start_state

MAY = {"may_run": True}
RULE = {"charging": {"start_soc": 0.55, "stop_soc": 0.8}}


def test_an_order_starts_a_full_enough_bank_outside_the_hours(one_step):
    boat = one_step(soc=0.7, **RULE)
    assert boat.take(ordered=True).charging == 1.0
    assert boat.state.by_order


def test_when_the_order_ends_so_does_the_run(one_step):
    """Though the rule would keep a run of its own going to 80 %, and for half an hour at least."""
    boat = one_step(soc=0.7, **RULE)
    boat.take(ordered=True, **MAY)
    assert boat.take(**MAY).charging == 0.0


def test_after_an_order_the_rule_begins_where_it_would_have(one_step):
    boat = one_step(soc=0.4, **RULE)
    boat.take(ordered=True, **MAY)
    assert boat.state.by_order
    assert boat.take(**MAY).charging == 1.0
    assert not boat.state.by_order


def test_an_order_cannot_run_an_engine_that_is_in_gear_or_lost(one_step):
    boat = one_step(soc=0.7, **RULE)
    assert boat.take(ordered=True, motoring=1.0).charging == 0.0
    assert boat.take(ordered=True, switches=Switches(engine=False)).charging == 0.0


@pytest.mark.parametrize("step_h", [0.25, 1.0])
@pytest.mark.usefixtures("plainly")
def test_members_follow_orders_of_their_own(step_h):
    """With a timetable each, they are what runs of their own are."""
    passage = passage_of(boat=boat_of(charging={"start_soc": 0.6, "stop_soc": 0.7}))
    prepared = prepare(passage, step_h=step_h)
    rng = np.random.default_rng(1)
    ordered = rng.random((prepared.track.n_steps, 5)) < 0.03
    plant = prepared.plant
    begin = start_state(plant, soc=np.full(5, 0.61))
    together, _ = run(replace(prepared.signals, ordered=ordered), plant=plant, state=begin)
    assert np.all(together.charging[ordered] == 1.0)
    assert np.any(together.charging[~ordered] == 1.0)
    for member in range(5):
        signals = replace(prepared.signals, ordered=ordered[:, [member]])
        alone, _ = run(signals, plant=plant, state=start_state(plant, soc=0.61))
        for field in alone._fields:
            column = getattr(together, field)[:, [member]]
            assert np.array_equal(column, getattr(alone, field)), field


def test_a_passage_without_orders_never_goes_by_one():
    prepared = prepare(passage_of())
    state = start_state(prepared.plant, soc=0.9)
    _, after = run(prepared.signals, plant=prepared.plant, state=state)
    assert isinstance(after, State)
    assert after.by_order.tolist() == [False]


def test_where_an_order_ends_within_a_step_the_rule_waits_for_what_the_bank_then_has(one_step):
    """At 54.9 % the rule would begin; the order lifts the bank above 55 % and it need not."""
    boat = one_step(soc=0.549, **RULE)
    flows = boat.take(ordered=0.5, **MAY)
    assert flows.charging == 0.5
    assert flows.soc > 0.55
    assert boat.take(**MAY).charging == 0.0
    # From 40 % it does not come so far.
    low = one_step(soc=0.4, **RULE)
    assert low.take(ordered=0.5, **MAY).charging == 0.5
    assert low.take(**MAY).charging == 1.0
