"""The first members of a run, whose books are kept in full."""

import pytest
from builders import boat_of, passage_of

from powersim.errors import BalanceError
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import members_state
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.ledgers import LEDGERS
from powersim.simulation.prepare import prepare
from powersim.simulation.sample_books import SampleBooks


def run_of(*, days, step_h=1.0, carried=lambda forcing, steps: forcing.signals(steps)):
    """Check after every 24 steps that go by."""
    passage = passage_of(boat=boat_of(), days=days)
    prepared = prepare(passage, step_h=step_h)
    forcing = draw_ensemble(passage, prepared, members=6, seed=1)
    state = members_state(forcing, soc=0.8)
    batch = Batch(plant=forcing.plant, state=state, step_h=step_h, sums=LEDGERS)
    sample = SampleBooks(forcing, batch, count=3)
    for first in range(0, prepared.track.n_steps, 24):
        steps = slice(first, first + 24)
        batch.through(carried(forcing, steps))
        sample.check(steps.stop)
        yield steps.stop


def test_they_close_and_come_to_where_the_run_comes():
    assert list(run_of(days=3.0)) == [24, 48, 72]


def test_a_member_that_came_elsewhere_is_found_by_the_end_at_the_latest():
    """The run meets the first day all over again."""
    found = run_of(days=3.0, carried=lambda forcing, steps: forcing.signals(slice(0, 24)))
    with pytest.raises(BalanceError, match="of the first members after step 72 is "):
        list(found)


def test_a_long_run_is_looked_at_on_the_way():
    found = run_of(
        days=17.0, step_h=0.25, carried=lambda forcing, steps: forcing.signals(slice(0, 24))
    )
    with pytest.raises(BalanceError, match="of the first members after step 1512 is "):
        list(found)
