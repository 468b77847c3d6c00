"""The risk that `plan` promises against the risk that is found in fresh members of other seeds.

No publication: a promise about chance is held against many more draws of that chance.
"""

import math
from dataclasses import replace

import pytest
from builders import LOADS, boat_of, passage_of

from powersim.planning.plan import plan
from powersim.planning.policy_evaluation import evaluate_policies
from powersim.planning.rule_limits import failing
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.prepare import prepare

SPREAD = tuple(replace(load, spread_frac=0.1) for load in LOADS)
FRESH, SEEDS = 1000, (101, 102, 103, 104, 105)
VALIDATION_MEMBERS = 1000


@pytest.mark.parametrize("risk_frac", [0.05, 0.20])
def test_the_risk_promised_is_found_in_5000_fresh_members(risk_frac):
    boat = boat_of(panel_W=(60.0,), battery={"soc_at_departure": 0.8})
    passage = passage_of(boat=boat, loads=SPREAD, days=6.0)
    found = plan(
        passage, members=200, validation_members=VALIDATION_MEMBERS, risk_frac=risk_frac, step_h=1.0
    )
    assert found.found.holds
    prepared = prepare(passage, step_h=1.0)
    fails = sum(
        int(
            failing(
                evaluate_policies(
                    boat, draw_ensemble(passage, prepared, members=FRESH, seed=seed), [found.rule]
                ),
                found.limits,
            ).any.sum()
        )
        for seed in SEEDS
    )
    share = fails / (FRESH * len(SEEDS))
    # Three standard errors of the difference between 1,000 judges and 5,000 fresh members.
    error = math.sqrt(
        risk_frac * (1.0 - risk_frac) * (1.0 / VALIDATION_MEMBERS + 1.0 / (FRESH * len(SEEDS)))
    )
    assert share <= risk_frac + 3.0 * error
    assert share == pytest.approx(found.found.fails_frac, abs=3.0 * error)
