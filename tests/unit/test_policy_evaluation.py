"""Rules tried side by side: each is what a run of its own gives."""

from dataclasses import replace

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of

from powersim.planning.policy_evaluation import evaluate_policies, joined
from powersim.records import ChargingRule, DailyRun
from powersim.simulation.ensemble import run_ensemble
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.mean_sky import MeanSky
from powersim.simulation.prepare import prepare
from powersim.simulation.result import simulate

SPREAD = tuple(replace(load, spread_frac=0.2) for load in LOADS)
GREY = {"panel_W": (40.0,), "battery": {"soc_at_departure": 0.7}}
RULES = (
    ChargingRule(start_soc=0.55, stop_soc=0.60),
    ChargingRule(start_soc=0.65, stop_soc=0.85, hours_h=(8.0, 12.0)),
    ChargingRule(start_soc=0.65, stop_soc=0.85, full_every_days=2.0),
    ChargingRule(
        start_soc=0.60, stop_soc=0.65, daily=(DailyRun(at_h=8.0, run_h=1.0, south_deg=38.0),)
    ),
    ChargingRule(start_soc=0.60, stop_soc=0.65, by_engine=False),
    ChargingRule(start_soc=0.65, run_h=1.5, read_at_h=(6.0,), full_every_days=2.0),
    ChargingRule(
        start_soc=0.70, stop_below_A=20.0, read_at_h=(6.0, 18.0), little_sun_Ah=20.0, longest_h=3.0
    ),
    ChargingRule(start_soc=0.65, stop_soc=0.75, read_at_h=(18.0,), shortest_h=1.0),
    ChargingRule(start_soc=0.60, run_h=1.5, read_at_h=(6.0, 18.0), wait_below_soc=0.70),
)
MEMBERS = 6


@pytest.fixture(scope="module", params=["volts", "monitor"])
def case(request):
    battery = GREY["battery"] | {"reading": request.param}
    passage = passage_of(
        boat=boat_of(**GREY | {"battery": battery}),
        loads=SPREAD,
        leg={"motoring_calm_frac": 0.5},
    )
    prepared = prepare(passage)
    forcing = draw_ensemble(passage, prepared, members=MEMBERS, seed=3)
    return passage, prepared, forcing


def test_who_sleeps_through_every_reading_never_charges_and_through_some_of_them_less_soon(case):
    passage, _, forcing = case
    rule = RULES[5:6]
    all_read, some, none = (
        evaluate_policies(passage.boat, forcing, rule, sleeps_through=every) for every in (0, 2, 1)
    )
    assert all_read.charging_h.any()
    assert not none.charging_h.any()
    assert (some.lowest_soc <= all_read.lowest_soc + 1e-12).all()
    assert (some.lowest_soc < all_read.lowest_soc).any()


def with_rule(passage, rule):
    return replace(passage, boat=replace(passage.boat, charging=rule))


def test_each_rule_in_each_weather_is_what_an_ensemble_of_its_own_gives(case):
    passage, _, forcing = case
    evaluation = evaluate_policies(passage.boat, forcing, RULES)
    for place, rule in enumerate(RULES):
        alone = with_rule(passage, rule)
        ensemble = run_ensemble(alone, prepare(alone), members=MEMBERS, seed=3)
        charging_L = ensemble.charging_L + ensemble.alternator_motoring_L
        assert evaluation.charging_L[place] == pytest.approx(charging_L, abs=1e-9)
        for name in ("lowest_soc", "charging_h", "charging_runs", "fuel_left_L"):
            assert getattr(evaluation, name)[place] == pytest.approx(
                getattr(ensemble, name), abs=1e-9
            )
        assert evaluation.end_soc[place] == pytest.approx(ensemble.hour_soc[-1], abs=1e-12)
        assert evaluation.below_floor[place].tolist() == np.isfinite(ensemble.floor_h).tolist()
        assert evaluation.longest_since_full_h[place] == pytest.approx(
            ensemble.longest_since_full_h
        )


def test_each_rule_in_the_mean_sky_is_what_simulate_gives(case):
    passage, prepared, _ = case
    evaluation = evaluate_policies(passage.boat, MeanSky(prepared=prepared), RULES)
    for place, rule in enumerate(RULES):
        summary = simulate(with_rule(passage, rule)).summary
        burnt = (
            summary["average"]["fuel"]["charging_L"]
            + summary["average"]["fuel"]["alternator_motoring_L"]
        )
        assert evaluation.charging_L[place, 0] == pytest.approx(burnt, abs=1e-9)
        assert evaluation.end_soc[place, 0] == pytest.approx(
            summary["average"]["charge"]["soc_at_landfall"]
        )
        charge = summary["average"]["charge"]
        assert evaluation.below_floor[place, 0] == charge["floor_broken"]
        for name in ("below_floor_h", "dark_h", "lowest_soc"):
            assert getattr(evaluation, name)[place, 0] == pytest.approx(charge[name], abs=1e-9)


def test_a_rule_is_the_same_whatever_is_tried_beside_it(case, monkeypatch):
    passage, _, forcing = case
    together = evaluate_policies(passage.boat, forcing, RULES)
    monkeypatch.setattr("powersim.planning.policy_evaluation.COLUMNS", 2 * MEMBERS)
    apart = evaluate_policies(passage.boat, forcing, RULES)
    for name in ("lowest_soc", "charging_L", "end_soc"):
        assert getattr(together, name) == pytest.approx(getattr(apart, name), abs=1e-9)


def test_progress_counts_whole_passages(case):
    passage, _, forcing = case
    told = []
    evaluate_policies(passage.boat, forcing, RULES[:2], progress=told.append)
    assert sum(told) == pytest.approx(2 * MEMBERS)


def test_rules_are_joined_one_after_the_other(case):
    passage, _, forcing = case
    both = evaluate_policies(passage.boat, forcing, RULES[:2])
    again = joined([both.only(1), both.only(0)])
    assert again.rules == (RULES[1], RULES[0])
    assert again.charging_L.tolist() == both.charging_L[::-1].tolist()


def test_without_a_rule_there_is_nothing_to_try(case):
    passage, _, forcing = case
    with pytest.raises(ValueError, match="there must be a rule"):
        evaluate_policies(passage.boat, forcing, [])
