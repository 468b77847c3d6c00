"""Members laid out once for many rules: what is kept, and that it changes nothing."""

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.planning import signal_blocks
from powersim.planning.policy_evaluation import ARRAYS, evaluate_policies
from powersim.planning.signal_blocks import SignalBlocks, SignalCache
from powersim.records import ChargingRule, DailyRun
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.prepare import prepare

PASSAGE = passage_of(boat=boat_of(battery={"soc_at_departure": 0.8}), days=5.0)
RULES = (
    ChargingRule(start_soc=0.6, stop_soc=0.7),
    ChargingRule(start_soc=0.6, stop_soc=0.7, daily=(DailyRun(at_h=9.0, run_h=1.0),)),
    ChargingRule(start_soc=0.55, stop_soc=0.8, hours_h=(8.0, 12.0)),
)


@pytest.fixture(scope="module")
def forcing():
    return draw_ensemble(PASSAGE, prepare(PASSAGE, step_h=0.5), members=6, seed=3)


@pytest.mark.parametrize("days", [1, 4])
def test_rules_evaluated_in_kept_blocks_come_to_the_same(forcing, days):
    """To the bit, first and second time, with a timetable between rules that have none."""
    fresh = evaluate_policies(PASSAGE.boat, forcing, RULES)
    kept = SignalBlocks(forcing, days=days)
    for rules in (RULES[:1], RULES[1:], RULES):
        again = evaluate_policies(PASSAGE.boat, kept, rules)
        for name in ARRAYS:
            expected = getattr(fresh, name)[[RULES.index(rule) for rule in rules]]
            assert np.array_equal(getattr(again, name), expected), name


def test_what_is_laid_out_is_kept_if_wanted(forcing):
    kept, passing = SignalBlocks(forcing), SignalBlocks(forcing, keep=False)
    (first, *_) = kept.steps
    assert kept.laid(first) is kept.laid(first)
    assert passing.laid(first) is not passing.laid(first)
    assert [steps.start for steps in kept.steps] == [0, 4 * 48]


def test_the_cache_drops_what_was_asked_for_longest_ago(forcing, monkeypatch):
    cache, sets = SignalCache(), [np.arange(3), np.arange(3, 6), np.array([0, 4, 5])]
    one = cache.of(forcing, sets[0])
    monkeypatch.setattr(signal_blocks, "ROOM", 2 * one.size)
    two = cache.of(forcing, sets[1])
    assert cache.of(forcing, sets[0]) is one
    cache.of(forcing, sets[2])
    assert cache.of(forcing, sets[0]) is one
    assert cache.of(forcing, sets[1]) is not two


def test_a_set_with_no_room_for_it_is_laid_out_each_time(forcing, monkeypatch):
    monkeypatch.setattr(signal_blocks, "ROOM", 10)
    found = SignalCache().of(forcing, np.arange(6))
    assert not found.keep
    assert found.members == 6
