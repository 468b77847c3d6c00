"""Which rules are offered beside the one to follow: trials made by hand."""

from dataclasses import replace

import numpy as np
import pytest
from test_rule_ranking import IDLE, limits, one_evaluation_of

from powersim.planning.rule_offers import COST, DIESEL, FULL, MARGIN, RUNS, offers_of


def told(*rows, best=0, **asked):
    offers = offers_of(one_evaluation_of(*rows), limits(charging=asked), best, seed=1)
    return [(offer.rule.start_soc, offer.merits) for offer in offers]


#: 12 L in all, 10 of them fuel, 20 runs, and never below 60 %.
PLAIN = {"charging_L": 10.0, "cost_L": 12.0, "charging_runs": 20.0, "lowest_soc": 0.60}


def test_a_rule_that_nothing_beats_stands_alone():
    assert told(PLAIN, PLAIN | {"cost_L": 13.0}) == [(0.50, (COST, DIESEL, RUNS, MARGIN))]


@pytest.mark.parametrize(
    ("better", "merit"),
    [
        ({"charging_L": 9.0}, DIESEL),
        ({"charging_runs": 15.0}, RUNS),
        ({"lowest_soc": 0.63}, MARGIN),
    ],
)
def test_what_beats_it_at_something_is_offered_if_it_costs_little_more(better, merit):
    found = told(PLAIN, PLAIN | better | {"cost_L": 14.9})
    assert found[0] == (0.50, tuple(one for one in (COST, DIESEL, RUNS, MARGIN) if one != merit))
    assert found[1] == (pytest.approx(0.51), (merit,))
    # Over a quarter more is too dear.
    assert len(told(PLAIN, PLAIN | better | {"cost_L": 15.1})) == 1


def test_what_is_no_more_than_noise_beats_nothing():
    noisy_L = 10.0 + np.tile([3.0, -3.3], 10)  # less by 0.15 L, give or take 0.7
    assert len(told(PLAIN, PLAIN | {"charging_L": noisy_L})) == 1
    assert len(told(PLAIN, PLAIN | {"lowest_soc": 0.61})) == 1


def test_a_rule_that_fails_or_never_charges_is_not_offered():
    fails = PLAIN | {"charging_L": 1.0, "floor_h": 5.0}
    assert len(told(PLAIN, fails)) == 1
    assert len(told(PLAIN, IDLE | {"charging_L": 0.0, "cost_L": 0.0})) == 1


def test_an_engine_left_alone_is_offered_by_itself():
    assert told(IDLE, PLAIN) == [(0.50, ())]


def test_each_offer_has_the_verdict_of_its_own_members():
    evaluation = one_evaluation_of(PLAIN, PLAIN | {"charging_runs": 5.0})
    late = evaluation.floor_h.copy()
    late[1, 0] = 3.0
    offers = offers_of(replace(evaluation, floor_h=late), limits(), 0, seed=7)
    assert [offer.verdict.fails.frac for offer in offers] == [0.0, 0.05]
    assert {offer.verdict.seed for offer in offers} == {7}


def test_the_rule_that_fills_the_bank_soonest_is_offered_whatever_it_costs():
    late = PLAIN | {"longest_since_full_h": 24.0 * 25.0}
    nearer = late | {"longest_since_full_h": 24.0 * 14.0, "cost_L": 30.0}
    nearest = nearer | {"cost_L": 29.0}
    assert len(told(late, nearer, nearest)) == 1  # nobody asks for it
    found = told(late, nearer, nearest, full_every_days=10.0)
    assert found[1:] == [(pytest.approx(0.52), (FULL,))]
    in_time = PLAIN | {"longest_since_full_h": 24.0 * 12.0}
    assert told(in_time, nearest, full_every_days=10.0)[0][1][-1] == FULL
