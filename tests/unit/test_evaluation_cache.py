"""Rules evaluated in ever more members: each once, and as if in all members at once."""

from dataclasses import replace

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of

from powersim.planning import evaluation_cache as caches
from powersim.planning.evaluation_cache import EvaluationCache
from powersim.planning.policy_evaluation import ARRAYS, evaluate_policies
from powersim.planning.rule_limits import limits_of, member_margins
from powersim.planning.rule_search import search_for
from powersim.records import ChargingRule, DailyRun
from powersim.simulation.aboard import Aboard, ForcingAboard
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.factors import Factors
from powersim.simulation.prepare import prepare

SPREAD = tuple(replace(load, spread_frac=0.1) for load in LOADS)
GREY = {"panel_W": (60.0,), "battery": {"soc_at_departure": 0.8}}
RULES = (
    ChargingRule(start_soc=0.62, stop_soc=0.65),
    ChargingRule(start_soc=0.55, stop_soc=0.65, daily=(DailyRun(at_h=8.0, run_h=1.0),)),
)
MEMBERS = 24


def passage():
    return passage_of(boat=boat_of(**GREY), loads=SPREAD, days=5.0)


@pytest.fixture(scope="module")
def forcing():
    return draw_ensemble(passage(), prepare(passage(), step_h=1.0), members=MEMBERS, seed=2)


def cache_of(forcing):
    boat = passage().boat
    return EvaluationCache(boat, forcing, limits_of(boat, risk_frac=0.10))


@pytest.fixture
def carried(monkeypatch):
    """How many passages all caches simulate: a rule in a member is one."""
    counts = []

    def counting(boat, forcing, rules, **given):
        counts.append(len(rules) * forcing.members)
        return evaluate_policies(boat, forcing, rules, **given)

    monkeypatch.setattr(caches, "evaluate_policies", counting)
    return counts


def aboard(forcing):
    drawn = np.random.default_rng(1).uniform(0.8, 1.2, (2, MEMBERS))
    factors = Factors(capacity=drawn[0], demand=drawn[1])
    mine = Aboard(soc=0.7 + 0.1 * drawn[0], factors=factors, burnt_L=10.0 * drawn[1])
    return ForcingAboard(forcing=forcing, aboard=mine)


@pytest.mark.parametrize("of", [lambda forcing: forcing, aboard], ids=["files", "boats"])
def test_what_is_carried_over_is_what_all_at_once_give_bit_for_bit(forcing, carried, of):
    sea = of(forcing)
    cache = cache_of(sea)
    cache.evaluate(RULES[:1], np.array([20, 3, 11]))
    cache.evaluate(RULES, 5)
    cache.evaluate(RULES[1:], np.array([4, 23]))
    evaluation = cache.evaluation(RULES)
    at_once = evaluate_policies(cache.boat, sea, RULES)
    for name in ARRAYS:
        np.testing.assert_array_equal(
            getattr(evaluation, name), getattr(at_once, name), err_msg=name
        )
    assert sum(carried) == len(RULES) * MEMBERS
    assert cache.rules_evaluated == len(RULES)


def test_members_are_given_in_the_order_that_is_asked_for(forcing):
    cache = cache_of(forcing)
    places = np.array([7, 2, 19])
    some = cache.evaluation(RULES, places)
    assert some.rules == RULES
    assert some.lowest_soc.tolist() == cache.evaluation(RULES).lowest_soc[:, places].tolist()


def test_what_is_known_of_a_floor_can_only_get_worse(forcing):
    """The more members are met, the lower the margin and the more limits are broken."""
    cache, rule = cache_of(forcing), RULES[0]
    known = []
    for count in (4, 12, MEMBERS):
        cache.evaluate([rule], count)
        known.append((cache.margin_soc(rule, cache.allowed), -cache.fails_in(rule).any))
    assert known == sorted(known, reverse=True)
    # Two of 24 may fail at 10 %: the third lowest says how far it is from failing.
    assert cache.allowed == 2
    margins = member_margins(cache.evaluation([rule]), cache.limits)[0]
    assert cache.margin_soc(rule, cache.allowed) == sorted(margins)[2]


def test_the_hardest_are_those_of_the_lowest_charge(forcing):
    cache = cache_of(forcing)
    lowest_soc = cache.evaluation(RULES).lowest_soc
    for rule, soc in zip(RULES, lowest_soc, strict=True):
        hardest = cache.hardest(5, like=rule)
        assert sorted(soc[hardest]) == sorted(soc)[:5]


def searched(*, members, validation_members, seed):
    asked = passage()
    return search_for(
        asked,
        prepare(asked, step_h=1.0),
        members=members,
        validation_members=validation_members,
        seed=seed,
        risk_frac=0.05,
    )


def test_the_same_seed_gives_the_same_answer(carried):
    one = searched(members=20, validation_members=100, seed=3)
    passages = sum(carried)
    other = searched(members=20, validation_members=100, seed=3)
    assert one.found.rule == other.found.rule
    assert one.found.rules_evaluated == other.found.rules_evaluated
    for name in ARRAYS:
        here, there = (getattr(each.found.validated, name) for each in (one, other))
        np.testing.assert_array_equal(here, there)
    assert sum(carried) == 2 * passages


@pytest.mark.usefixtures("middle_banks")
def test_the_chosen_rule_and_few_others_are_evaluated_in_every_validation_member(carried):
    """29,720 passages were simulated here when every rule was validated in all members, and every
    neighbour searched in all (counted then, in members with other draws of their loads)."""
    answer = searched(members=300, validation_members=1000, seed=1)
    assert sum(carried) < 0.7 * 29720
    found = answer.found
    assert found.validated.rules == (found.rule,)
    again = evaluate_policies(passage().boat, answer.validation, [found.rule])
    np.testing.assert_array_equal(again.lowest_soc, found.validated.lowest_soc)
    assert found.validated.lowest_soc.shape == (1, 1000)
    assert found.fails_frac == again.below_floor.mean()
