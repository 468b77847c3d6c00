"""The rule for what is left of a passage: by other boats' files, by plan's own search, by trial."""

from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of
from logged import NOW, write_logged
from planned import MEMBERS, RISK, VALIDATION_MEMBERS, grey_passage, grey_plan

from powersim.api.log_read import checked_log
from powersim.inputs.folder import load_folder
from powersim.logbook.forecast import forecast_forcing, forecast_of
from powersim.logbook.posterior import posterior_of
from powersim.planning.new_rule import new_rule
from powersim.planning.policy_evaluation import evaluate_policies
from powersim.planning.rule_limits import failing, fails_frac
from powersim.report.new_rule_text import NO_ALTERNATOR, new_rule_text
from powersim.report.plan_files import rule_dict
from powersim.simulation.aboard import Aboard, ForcingAboard, aboard_of
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.factors import Factors
from powersim.simulation.prepare import prepare

FIRST, MORE_DRAWN = 0.8, 1.3  # charge as it begins, and what the loads really draw [-]
MUCH_MORE, LARGER = 1.5, 1.1  # what another boat's loads draw and her bank really holds [-]


def sea_of(passage, *, members, seed=1, step_h=0.5, **factors):
    """Members met by boats of these factors, with the charge that the files have."""
    prepared = prepare(passage, step_h=step_h)
    ones = np.ones(members)
    aboard = Aboard(
        soc=passage.boat.battery.soc_at_departure * ones,
        factors=Factors(*(factors.get(name, 1.0) * ones for name in Factors._fields)),
        burnt_L=0.0 * ones,
    )
    forcing = draw_ensemble(passage, prepared, members=members, seed=seed)
    return ForcingAboard(forcing=forcing, aboard=aboard)


def found_for(passage, progress=None, **factors):
    forcing = sea_of(passage, members=MEMBERS + VALIDATION_MEMBERS, **factors)
    few, validation_members = (
        forcing.between(VALIDATION_MEMBERS, MEMBERS + VALIDATION_MEMBERS),
        forcing.between(0, VALIDATION_MEMBERS),
    )
    return new_rule(passage, few, validation_members, risk_frac=RISK, progress=progress)


@cache
def drawn_more():
    return found_for(grey_passage(), demand=MUCH_MORE, capacity=LARGER)


def test_boats_as_their_files_have_them_get_the_rule_of_the_plan():
    told = []
    new, plan = found_for(grey_passage(), told.append), grey_plan()
    assert new.rule == plan.rule
    assert new.found.fails_frac == plan.found.fails_frac
    assert new.own.charging_L.tolist() == plan.own.charging_L.tolist()
    assert new.panel == plan.panel
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert len(told) > 30


def test_factors_on_members_are_the_same_as_another_boats_files():
    """Capacity 0.9, alternator 0.8, burn 1.2 and draw 1.3, written into the files or given."""
    less = {"battery": {"soc_at_departure": FIRST, "health_frac": 0.9 * 0.85}}
    less |= {"alternator": {"charging_A": 36.0, "motoring_A": 40.0}}
    less |= {"engine": {"charging_L_per_h": 0.6, "slope_L_per_kWh": 0.246 * 1.2}}
    drawn = tuple(
        replace(load, draw_A=MORE_DRAWN * load.draw_A, draw_W=MORE_DRAWN * load.draw_W)
        for load in LOADS
    )
    passage = passage_of(boat=boat_of(battery={"soc_at_departure": FIRST}))
    other = passage_of(boat=boat_of(**less), loads=drawn)
    factors = {"capacity": 0.9, "alternator": 0.8, "burn": 1.2, "demand": MORE_DRAWN}
    rules = [passage.boat.charging, replace(passage.boat.charging, start_soc=0.7)]
    given = evaluate_policies(passage.boat, sea_of(passage, members=5, **factors), rules)
    written = evaluate_policies(other.boat, sea_of(other, members=5), rules)
    for name in ("lowest_soc", "end_soc", "charging_h", "charging_L", "fuel_left_L"):
        assert getattr(given, name) == pytest.approx(getattr(written, name), rel=1e-9)


def test_a_bank_that_is_smaller_than_its_label_keeps_what_it_says_of_faster_discharges(monkeypatch):
    """15 % less of 220 Ah and of 200 Ah; and 45 A times 1.4 are more than twice a plate of 30 A."""
    own = SimpleNamespace(rule=boat_of().charging)
    monkeypatch.setattr("powersim.planning.new_rule.search", lambda *given, **more: own)
    boat = boat_of(battery={"capacity_10h_Ah": 200.0}, alternator={"nameplate_A": 30.0})
    passage = passage_of(boat=boat, days=1.0)
    sea = sea_of(passage, members=3, step_h=1.0, capacity=0.85, alternator=1.4)
    found = new_rule(passage, sea, sea, risk_frac=RISK).passage.boat
    assert found.battery.capacity_Ah == pytest.approx(187.0)
    assert found.battery.capacity_10h_Ah == pytest.approx(170.0)
    assert found.alternator.charging_A == pytest.approx(63.0)


def test_charge_and_litres_are_each_members_own():
    passage = passage_of(boat=boat_of(charging={"by_engine": False}), days=1.0)
    forcing = sea_of(passage, members=3)
    aboard = replace(
        forcing.aboard, soc=np.array([0.9, 0.7, 0.6]), burnt_L=np.array([0.0, 10.0, -5.0])
    )
    evaluation = evaluate_policies(
        passage.boat, replace(forcing, aboard=aboard), [passage.boat.charging] * 2
    )
    assert (np.diff(evaluation.end_soc, axis=1) < 0.0).all()
    assert np.diff(evaluation.fuel_left_L, axis=1) == pytest.approx(np.array([[-10.0, 15.0]] * 2))
    last = replace(forcing, aboard=aboard).between(2, 3)
    alone = evaluate_policies(passage.boat, last, [passage.boat.charging])
    assert alone.end_soc[0, 0] == pytest.approx(evaluation.end_soc[0, 2], abs=1e-12)


def test_a_boat_that_draws_more_gets_a_rule_that_holds_where_the_old_one_does_not():
    passage, old, new = grey_passage(), grey_plan().rule, drawn_more()
    fresh = sea_of(passage, members=200, seed=23, demand=MUCH_MORE, capacity=LARGER)
    evaluation = evaluate_policies(passage.boat, fresh, [old, new.rule])
    failed_frac = fails_frac(evaluation, new.limits)
    assert new.found.holds
    # Two standard deviations of the difference between shares of 100 and of 200 members.
    assert failed_frac[1] <= RISK + 2.0 * np.sqrt(
        RISK * (1.0 - RISK) * (1 / VALIDATION_MEMBERS + 1 / 200)
    )
    assert failed_frac[0] > 2.0 * RISK


def test_the_text_has_the_rule_its_price_and_the_lines_to_keep_it():
    new = drawn_more()
    text = new_rule_text(new, keep="[charging]")
    assert max(map(len, text.splitlines())) <= 80
    for words in (f"in {MEMBERS} simulated passages", "HOLDS", "engine", "own rule", "[charging]"):
        assert words in " ".join(text.split())
    assert rule_dict(new)["rule"]["start_soc"] == new.rule.start_soc


def test_the_text_says_whether_to_change():
    new = drawn_more()
    more_L = new.found.validated.charging_L + 3.0
    cases = {
        "Keep the rule of boat.toml": new.found.validated,
        "holds too, for 3.0 L more": replace(new.found.validated, charging_L=more_L),
        "Change to it: the rule of boat.toml fails in": replace(
            new.found.validated, floor_h=np.ones((1, VALIDATION_MEMBERS))
        ),
    }
    for words, own in cases.items():
        assert words in " ".join(new_rule_text(replace(new, own=own)).split())


def test_where_nothing_holds_her_own_rule_is_told_and_not_to_leave_the_engine_alone():
    passage = grey_passage(days=4.0, alternator={"charging_A": 3.0}, panel_W=(20.0,))
    new = found_for(passage, demand=2.0)
    assert not new.found.holds
    assert new.found.fails_frac > RISK
    assert new.rule.by_engine
    text = " ".join(new_rule_text(new, keep="[charging]").split())
    assert "FAILS" in text
    assert f"NO RULE HOLDS: by the nearest, of {VALIDATION_MEMBERS} simulated passages" in text
    assert "comes nearest" in text
    assert "[charging]" not in text


def test_a_bank_that_is_below_its_floor_has_a_day_to_come_up():
    passage = grey_passage(days=3.0, battery={"soc_at_departure": 0.45})
    new = found_for(passage)
    assert new.limits.counted_from_h == 24.0
    assert new.found.holds
    # What it held as it began, and until the engine had run for a while, does not count.
    assert (new.found.validated.lowest_soc > 0.45).mean() > 1.0 - RISK
    assert "the floor counts from the second day on" in " ".join(new_rule_text(new).split())


def test_the_panel_shows_what_the_real_bank_and_loads_make_of_it():
    panel, files = drawn_more().panel, grey_plan().panel
    assert panel.counter_Ah == pytest.approx(LARGER * files.counter_Ah)
    assert panel.usual_A == pytest.approx(MUCH_MORE * files.usual_A)


def test_without_an_alternator_there_is_nothing_to_search():
    passage = grey_passage(engine=None)
    forcing = sea_of(passage, members=3)
    with pytest.raises(ValueError, match="no alternator"):
        new_rule(passage, forcing, forcing, risk_frac=RISK)
    assert NO_ALTERNATOR in " ".join(new_rule_text(None).split())


def test_members_without_boats_of_their_own_begin_as_the_files_have_it():
    passage = grey_passage()
    forcing = sea_of(passage, members=3)
    plain = aboard_of(forcing.forcing, passage.boat.battery)
    assert plain.soc == passage.boat.battery.soc_at_departure
    assert plain.factors == Factors()
    assert aboard_of(forcing, passage.boat.battery) is forcing.aboard
    rule = [passage.boat.charging]
    with_boats, without = (
        evaluate_policies(passage.boat, one, rule) for one in (forcing, forcing.forcing)
    )
    assert with_boats.charging_L == pytest.approx(without.charging_L)
    limits = drawn_more().limits
    there = failing(without, limits).any.tolist()
    assert failing(with_boats, limits).any.tolist() == there


def test_her_own_rule_comes_to_what_the_forecast_has(tmp_path):
    folder = write_logged(tmp_path / "passage")
    passage = load_folder(folder)
    log, sounding = checked_log(passage, now=NOW)
    posterior = posterior_of(passage, log, members=20, seed=1, sounding=sounding)
    to_come = forecast_of(posterior, seed=1, step_h=1.0)
    own = evaluate_policies(to_come.passage.boat, to_come.forcing, [to_come.passage.boat.charging])
    assert own.charging_L[0] == pytest.approx(to_come.charging_L, abs=1e-9)
    assert own.lowest_soc[0] == pytest.approx(to_come.lowest_soc, abs=1e-12)
    assert np.maximum(own.fuel_left_L[0], 0.0) == pytest.approx(to_come.left_L, abs=1e-9)
    others = forecast_forcing(
        to_come.passage, posterior.now, members=5, first=20, seed=1, step_h=1.0
    )
    assert others.aboard.soc.tolist() == posterior.now.soc[:5].tolist()
    first_days = slice(0, 24)
    assert not np.array_equal(
        others.forcing.light(first_days), to_come.forcing.forcing.light(first_days)[:, :5]
    )
    # Of the capacity the log has told; else no two banks are alike.
    bank, middle = to_come.forcing.plant.bank, to_come.prepared.plant.bank
    assert bank.capacity_Ah == pytest.approx(np.full(20, middle.capacity_Ah), rel=1e-12)
    assert len(set(bank.discharge_ohm)) == len(set(bank.emf_knots_V[0])) == 20
