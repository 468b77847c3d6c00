"""The plan as a whole: its parts agree with each other and with the simulation."""

from dataclasses import replace

import pytest
from planned import (
    MEMBERS,
    RISK,
    VALIDATION_MEMBERS,
    grey_passage,
    grey_plan,
    hopeless_plan,
    sunny_plan,
)
from scipy.stats import binom

from powersim import api
from powersim.planning.plan import plan, with_rule
from powersim.planning.policy_evaluation import evaluate_policies
from powersim.planning.rule_candidates import never_charge
from powersim.planning.rule_limits import failing, fails_frac
from powersim.records import PlannedRun, Shedding
from powersim.report.plan_files import plan_dict
from powersim.report.plan_text import plan_text
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.prepare import prepare
from powersim.simulation.result import simulate


def test_the_rule_keeps_to_the_risk_in_the_members_it_is_judged_in():
    found = grey_plan()
    assert found.found.holds
    assert found.help is None
    assert fails_frac(found.found.validated, found.limits)[0] <= RISK
    assert found.found.validated.charging_L.shape == (1, VALIDATION_MEMBERS)
    assert (found.members, found.validation_members) == (MEMBERS, VALIDATION_MEMBERS)


def test_the_timetable_is_the_simulation_of_the_rule():
    found = grey_plan()
    again = simulate(with_rule(grey_passage(), found.rule), step_h=0.5)
    engine = again.engine
    assert (
        found.runs["start_utc"].tolist()
        == engine["start_utc"][engine["kind"] == "charging"].tolist()
    )
    assert len(found.runs) > 2


def test_the_timetable_run_as_an_engine_plan_gives_the_same_passage():
    found = grey_plan()
    runs = tuple(
        PlannedRun(start_utc_s=run.start_utc.timestamp(), run_h=run.run_h)
        for run in found.runs.itertuples()
    )
    again = simulate(replace(grey_passage(), engine_plan=runs), step_h=0.5)
    told, planned = again.summary["average"], found.result.summary["average"]
    assert told["fuel"]["charging_L"] == pytest.approx(found.runs["fuel_L"].sum())
    assert told["charge"]["lowest_soc"] == pytest.approx(planned["charge"]["lowest_soc"])


def test_foresight_burns_no_more_than_the_best_rule_and_that_no_more_than_the_plan():
    lower_bound = grey_plan().lower_bound
    assert lower_bound.bound.feasible
    best_L, planned_L = lower_bound.best.charging_L[0, 0], lower_bound.planned.charging_L[0, 0]
    assert 0.0 < lower_bound.bound.charging_L <= best_L + 0.01
    assert best_L <= planned_L
    assert lower_bound.bound.end_soc >= lower_bound.best.end_soc[0, 0] - 1e-6


def test_to_let_loads_go_is_no_way_of_saving():
    boat = grey_passage().boat
    shedding = Shedding(comfort_below_soc=0.79, useful_below_soc=0.78)
    passage = replace(grey_passage(), boat=replace(boat, shedding=shedding))
    found = plan(
        passage, members=MEMBERS, validation_members=VALIDATION_MEMBERS, risk_frac=RISK, step_h=0.5
    )
    kept_on = grey_plan().lower_bound
    assert found.lower_bound.bound.charging_L == pytest.approx(kept_on.bound.charging_L, abs=0.01)
    assert found.lower_bound.best.charging_L == pytest.approx(kept_on.best.charging_L)


def test_where_the_sun_is_enough_there_is_nothing_to_compare():
    found = sunny_plan()
    assert found.found.holds
    assert (found.rule.by_engine, found.lower_bound, found.panel) == (False, None, None)
    assert not len(found.runs)


def test_where_no_rule_holds_it_says_what_is_in_the_way_and_what_would_help():
    found = hopeless_plan()
    assert not found.found.holds
    assert found.help.in_the_way == "floor"
    assert found.found.verdict.floor.frac == found.found.fails_frac
    assert found.help.more_L is None  # an alternator of 3 A is not helped by diesel
    assert found.help.more_W % 10.0 == 0.0
    assert found.help.more_W > 0.0


def test_a_rule_that_does_not_hold_is_not_measured_by_its_litres():
    found = hopeless_plan()
    assert found.rule.by_engine
    assert found.panel is not None
    assert found.lower_bound is None
    assert plan_dict(found)["mean_sky"] is None


@pytest.mark.usefixtures("middle_banks")
def test_a_bank_that_leaves_below_its_floor_is_brought_up_and_not_let_go_dark():
    """Two days of the loads above and no sun to speak of take what is above flat."""
    low = {"soc_at_departure": 0.48}
    passage = grey_passage(days=4.0, battery=low, panel_W=(20.0,))
    found = plan(passage, members=20, validation_members=40, risk_frac=RISK, step_h=1.0)
    idle = evaluate_policies(passage.boat, validation_of(passage), [never_charge(passage.boat)])
    assert idle.dark_h.all()
    assert found.found.holds
    assert found.rule.by_engine
    assert found.limits.counted_from_h == 24.0
    assert not found.found.validated.dark_h.any()
    assert found.lower_bound.bound.feasible
    assert found.lower_bound.bound.lowest_soc >= 0.50
    told = " ".join(plan_text(found).split())
    assert "the bank begins at 48 %" in told
    assert "She leaves below her floor: charge before you go." in told
    assert "before you go" not in plan_text(grey_plan())


@pytest.mark.usefixtures("middle_banks")
def test_a_day_sail_from_below_the_floor_is_judged_by_its_landfall():
    low = {"soc_at_departure": 0.48}
    passage = grey_passage(days=0.5, battery=low)
    found = plan(passage, members=20, validation_members=40, risk_frac=RISK, step_h=1.0)
    assert found.found.holds
    assert (found.found.validated.lowest_soc == found.found.validated.end_soc).all()
    assert found.lower_bound.bound.lowest_soc == found.lower_bound.bound.end_soc


def validation_of(passage):
    prepared = prepare(passage, step_h=1.0)
    return draw_ensemble(passage, prepared, members=60, seed=1).between(0, 40)


def test_progress_grows_to_one():
    told = []
    plan(
        grey_passage(days=3.0), members=20, validation_members=40, step_h=1.0, progress=told.append
    )
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_a_passage_with_an_engine_plan_has_no_rule_to_search():
    with pytest.raises(ValueError, match="engine plan"):
        plan(replace(grey_passage(), engine_plan=()))


def test_simulate_says_of_the_rule_what_plan_says():
    """The first members are those that `simulate` shows: same seed, to the digit."""
    found = grey_plan()
    again = api.simulate(
        found.planned, step_h=0.5, members=VALIDATION_MEMBERS, seed=found.seed, risk_frac=RISK
    )
    told = again.summary["verdict"]
    assert told == found.found.verdict.as_dict()
    assert told["fails"]["frac"] > 0.0


def test_other_seeds_say_the_same_within_the_error_of_counting():
    """A binomial of the share in 400 members of three seeds; scipy's, at one in a thousand."""
    found, members = grey_plan(), 400
    prepared = prepare(found.planned, step_h=0.5)
    fails = 0
    for seed in (31, 32, 33):
        forcing = draw_ensemble(found.planned, prepared, members=members, seed=seed)
        evaluation = evaluate_policies(found.planned.boat, forcing, [found.rule])
        fails += int(failing(evaluation, found.limits).any.sum())
    told = found.found.verdict.fails
    # The share itself is known to Wilson's interval alone.
    low, high = (
        binom.ppf(chance, 3 * members, frac)
        for chance, frac in ((0.001, told.least_frac), (0.999, told.most_frac))
    )
    assert low <= fails <= high


def test_the_weeks_add_up_to_the_passage():
    found = grey_plan()
    weeks, few = found.weeks, found.found.validated.of_first(found.weeks.runs.shape[1])
    assert weeks.runs.sum(axis=0) == pytest.approx(few.charging_runs[0])
    assert weeks.charging_h.sum(axis=0) == pytest.approx(few.charging_h[0])


def test_a_start_a_little_lower_fails_more_often_and_a_little_higher_less():
    found = grey_plan().found
    assert found.moved
    for points, moved in found.moved.items():
        more = moved.fails.frac - found.fails_frac
        assert more <= 0.0 if points > 0 else more >= 0.0
