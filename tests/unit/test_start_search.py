"""The lowest safe start, on margins that are given by a line."""

import numpy as np
import pytest

from powersim.planning.start_search import lowest_safe_starts
from powersim.records import ChargingRule

RULE = ChargingRule(start_soc=0.25, stop_soc=0.27)


def found(margin_of, *, rounds=6):
    starts = []

    def margins_of(rules):
        starts.extend(rule.start_soc for rule in rules)
        return [margin_of(rule.start_soc) for rule in rules]

    (search,) = lowest_safe_starts([RULE], margins_of, least_soc=0.25, rounds=rounds)
    return search, starts


@pytest.mark.parametrize("rise", [1.0, 0.5, 0.25])
def test_the_lowest_safe_start_is_found_within_a_point(rise):
    search, _ = found(lambda start_soc: rise * (start_soc - 0.58), rounds=12)
    assert search.safe
    assert 0.58 <= search.best.start_soc <= 0.595


def test_a_bank_that_is_flat_at_low_starts_does_not_send_the_start_far_above():
    """Flat below 0.44, whatever the start: told from there, it would have to be raised to 0.95,
    where the tank runs dry and nothing holds."""
    points = ([0.25, 0.44, 0.60, 0.70, 0.80, 0.97], [-0.17, -0.12, 0.02, 0.1, -0.1, -0.17])
    search, starts = found(lambda start_soc: float(np.interp(start_soc, *points)))
    assert max(starts) < 0.7
    assert search.safe
    assert 0.57 <= search.best.start_soc <= 0.60


def test_what_burns_more_may_be_dropped_and_is_not_tried_again():
    evaluation = []

    def margins_of(rules):
        evaluation.extend(rules)
        return [-0.1] * len(rules)

    assert (
        lowest_safe_starts([RULE], margins_of, least_soc=0.25, rounds=6, drop=lambda searches: [])
        == []
    )
    assert evaluation == [RULE]
