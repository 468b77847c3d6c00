"""The search for a charging rule, on passages short enough to try every rule."""

from dataclasses import replace

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of

from powersim.planning import one_sky_candidates
from powersim.planning.policy_evaluation import evaluate_policies
from powersim.planning.rule_candidates import at_level, kinds, never_charge
from powersim.planning.rule_limits import failing, fails_frac, holds, limits_of
from powersim.planning.rule_one_sky import search_one_sky
from powersim.planning.rule_search import search
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.mean_sky import MeanSky
from powersim.simulation.prepare import prepare
from powersim.simulation.verdict import most_that_may

GREY = {"panel_W": (60.0,), "battery": {"soc_at_departure": 0.8}}
SPREAD = tuple(replace(load, spread_frac=0.1) for load in LOADS)
MEMBERS = 60


def case_of(*, days=8.0, step_h=1.0, seed=4, **boat):
    passage = passage_of(boat=boat_of(**GREY | boat), loads=SPREAD, days=days)
    prepared = prepare(passage, step_h=step_h)
    forcing = draw_ensemble(passage, prepared, members=3 * MEMBERS, seed=seed)
    return passage, prepared, forcing.between(0, MEMBERS), forcing.between(MEMBERS, 3 * MEMBERS)


@pytest.fixture(scope="module")
def grey():
    passage, prepared, forcing, validation_members = case_of()
    limits = limits_of(passage.boat, risk_frac=0.10)
    told = []
    found = search(passage, forcing, validation_members, limits, progress=told.append)
    return passage, prepared, forcing, validation_members, limits, found, told


def test_what_is_found_holds_in_members_that_it_was_not_chosen_by(grey):
    passage, _, _, validation_members, limits, found, _ = grey
    again = evaluate_policies(passage.boat, validation_members, [found.rule])
    assert fails_frac(again, limits)[0] == found.fails_frac
    assert found.holds
    assert found.fails_frac <= 0.10


@pytest.mark.slow
def test_no_rule_of_a_brute_grid_that_holds_costs_less_than_noise_explains(grey):
    """Every kind at every second per cent, in all members of the validation."""
    passage, prepared, _, validation_members, limits, found, _ = grey
    rules = [
        at_level(kind, float(soc))
        for kind in kinds(passage, prepared)
        for soc in np.arange(0.5, 0.97, 0.02)
    ]
    grid = evaluate_policies(passage.boat, validation_members, rules)
    most = most_that_may(validation_members.members, limits.risk_frac, surely=True)
    safe = np.flatnonzero(failing(grid, limits).any.sum(axis=1) <= most)
    assert 0 < len(safe) < len(rules)
    assert found.verdict.sure
    best = min(safe, key=lambda place: grid.cost_L[place].mean())
    mine = found.offers[0].validated.cost_L[0]
    # Of all rules that hold here the luckiest costs least; one standard error of the difference
    # member by member, or a twentieth, is what choosing in other members may cost. With so few
    # members that is luck too: with seeds 1 to 6 the luckiest costs up to 4.9 L less.
    more = mine - grid.cost_L[best]
    error = more.std(ddof=1) / np.sqrt(len(more))
    assert more.mean() <= max(error, 0.05 * grid.cost_L[best].mean())


def test_levels_are_whole_per_cent(grey):
    rule = grey[5].rule
    for level in (rule.start_soc, *([] if rule.stop_soc is None else [rule.stop_soc])):
        assert 100.0 * level == pytest.approx(round(100.0 * level))


def test_progress_grows_to_one(grey):
    told = grey[6]
    assert told == sorted(told)
    assert told[-1] == 1.0


@pytest.mark.usefixtures("middle_banks")
def test_where_the_sun_is_enough_the_engine_is_left_alone():
    """Enough for the greyest days: a single member below the floor would call for the engine."""
    passage, _, forcing, validation_members = case_of(days=3.0, panel_W=(800.0,))
    (idle,) = evaluate_policies(
        passage.boat, validation_members, [never_charge(passage.boat)]
    ).lowest_soc
    assert idle.min() > passage.boat.battery.floor_soc + 0.05  # a wide margin
    found = search(passage, forcing, validation_members, limits_of(passage.boat, risk_frac=0.05))
    assert found.holds
    assert not found.rule.by_engine
    assert not found.validated.charging_h.any()


def test_where_nothing_holds_the_least_bad_is_told():
    passage, _, forcing, validation_members = case_of(
        capacity_Ah=40.0, alternator={"charging_A": 3.0}
    )
    found = search(passage, forcing, validation_members, limits_of(passage.boat, risk_frac=0.05))
    assert not found.holds
    assert found.fails_frac > 0.5


def test_a_boat_without_an_alternator_can_only_do_without():
    passage, _, forcing, validation_members = case_of(engine=None)
    found = search(passage, forcing, validation_members, limits_of(passage.boat, risk_frac=0.05))
    assert not found.rule.by_engine
    assert found.rules_evaluated == 1


def test_the_best_rule_for_one_sky_keeps_the_limits_there_and_beats_a_grid(grey):
    passage, prepared, *_ = grey
    best = search_one_sky(passage, prepared)
    limits = limits_of(passage.boat, risk_frac=0.0)
    assert holds(best, limits)[0]
    grid = evaluate_policies(
        passage.boat,
        MeanSky(prepared=prepared),
        [
            at_level(kind, float(soc))
            for kind in one_sky_candidates.kinds(passage.boat, prepared.track)
            for soc in np.arange(0.5, 0.9, 0.01)
        ],
    )
    safe = holds(grid, limits)
    assert best.charging_L[0, 0] <= grid.charging_L[safe, 0].min() + 1e-9
