"""A prepared passage answers as the passage does that is simulated from its files on."""

from dataclasses import fields, replace

import numpy as np
import pytest
from builders import LOADS, in_average, passage_of

import powersim
from powersim.api import Result
from powersim.records import ChargingRule, panel_of
from powersim.simulation.ensemble import EnsembleResult

HOW = {"step_h": 1.0, "members": 4, "seed": 2}
SPREAD = tuple(replace(load, spread_frac=0.2) for load in LOADS)
PASSAGE = passage_of(loads=SPREAD, days=2.0, leg={"motoring_calm_frac": 0.5})
BOAT = PASSAGE.boat
BANK = replace(BOAT.battery, capacity_Ah=110.0)
PANEL = panel_of("panel 0", power_W=300.0)
RULE = ChargingRule(start_soc=0.9, stop_soc=0.95)


def loads(place, **changes):
    return (*SPREAD[:place], replace(SPREAD[place], **changes), *SPREAD[place + 1 :])


CHANGES = {
    "a draw": lambda ready: ready.with_loads(loads(3, draw_A=4.0)),
    "its hours": lambda ready: ready.with_loads(loads(1, on_h_per_day=12.0)),
    "a load left ashore": lambda ready: ready.with_loads(loads(0, count=0)),
    "a load that is no more in the list": lambda ready: ready.with_loads(SPREAD[1:]),
    "the bank": lambda ready: ready.with_boat(replace(BOAT, battery=BANK)),
    "a panel": lambda ready: ready.with_boat(replace(BOAT, panels=(PANEL,))),
    "the rule": lambda ready: ready.with_rule(RULE),
    "the date": lambda ready: ready.changed(
        replace(PASSAGE, depart_utc=PASSAGE.depart_utc.replace(month=12))
    ),
    "nothing": lambda ready: ready,
    "one thing and back": lambda ready: ready.with_rule(RULE).with_rule(BOAT.charging),
}


@pytest.fixture(scope="module")
def ready():
    return powersim.prepare(PASSAGE, **HOW)


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_it_answers_as_the_changed_passage_simulated_afresh(ready, change):
    changed = change(ready)
    found = changed.simulate(risk_frac=0.1)
    afresh = powersim.simulate(changed.passage, risk_frac=0.1, **HOW)
    assert isinstance(found, Result)
    assert found.summary == afresh.summary
    assert found.hourly.equals(afresh.hourly)
    for field in fields(EnsembleResult):
        one, other = (getattr(result.ensemble, field.name) for result in (found, afresh))
        if field.name != "weeks":  # of its sums, and in the summary
            assert np.array_equal(one, other), field.name


def test_a_change_shows_and_leaves_the_passage_that_was_there_as_it_was(ready):
    before = ready.simulate()
    hungry = ready.with_loads(loads(3, draw_A=8.0)).simulate()
    assert hungry.ensemble.loads_Ah.min() > 1.2 * before.ensemble.loads_Ah.min()
    assert ready.simulate().summary == before.summary
    assert ready.passage is PASSAGE


def test_the_mean_sky_alone_has_no_members(ready):
    alone = powersim.prepare(PASSAGE, step_h=1.0, members=1)
    assert (alone.members, ready.members) == (1, 4)
    changed = alone.with_rule(RULE)
    assert changed.simulate().ensemble is None
    assert changed.simulate().summary == in_average(changed.passage, step_h=1.0).summary


def test_progress_and_refusals_are_those_of_simulate(ready):
    told = []
    ready.simulate(progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
    with pytest.raises(ValueError, match="members must be 1 or more, got 0"):
        powersim.prepare(PASSAGE, members=0)
    with pytest.raises(ValueError, match="hangs on an unknown supply 'genset'"):
        ready.with_loads(loads(0, supply="genset"))
