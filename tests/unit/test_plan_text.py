"""What `plan` prints and writes."""

import csv
import io
import json
from dataclasses import replace

import numpy as np
import pytest
from planned import VALIDATION_MEMBERS, grey_passage, grey_plan, hopeless_plan, planned, sunny_plan

from powersim.inputs.engine_plan import read_engine_plan
from powersim.inputs.positions import parse_position
from powersim.planning.rule_offers import COST, DIESEL, RUNS, Offer, verdict_on
from powersim.records import Assumption
from powersim.report import rounding
from powersim.report.plan_files import COLUMNS, plan_csv, plan_dict
from powersim.report.plan_text import figures, plan_text
from powersim.report.text import WIDTH

ALL = [grey_plan, hopeless_plan, sunny_plan]


@pytest.mark.parametrize("made", ALL)
def test_nothing_is_wider_than_the_page(made):
    text = plan_text(made(), keep="[charging]", written="Timetable in plan.csv.")
    assert max(map(len, text.splitlines())) <= WIDTH


def test_what_is_looked_for_first_comes_first():
    text = plan_text(grey_plan())
    places = [
        text.index(words)
        for words in ("HOLDS", "The rule", "engine, charging", "How good", "Expected timetable")
    ]
    assert places == sorted(places)


def test_it_is_told_how_often_the_rule_fails_for_who_sleeps_through_readings():
    """Taken as often as where none is slept through; not told of a bank that is always known."""
    made = grey_plan()
    assert "sleep" not in plan_text(made)
    missed = round(made.found.fails_frac * VALIDATION_MEMBERS)
    slept = replace(made, found=replace(made.found, slept_through=made.found.verdict))
    told = " ".join(plan_text(slept).split())
    assert f"{missed} if you sleep through one reading in 7" in told


def test_figures_on_the_page_are_those_of_the_plan():
    found = grey_plan()
    text = plan_text(found)
    for litres in figures(found.lower_bound):
        assert f" {litres:.1f} L" in text
    assert f"{len(found.runs)} runs" in text


def test_a_plan_that_fails_says_so_and_what_is_in_the_way():
    text = plan_text(hopeless_plan())
    told = " ".join(text.split())
    # Some go dark by their voltage without having been below the floor by their charge.
    validated, limits = hopeless_plan().found.validated, hopeless_plan().limits
    dark = np.isfinite(validated.flat_h[0]).sum()
    below = (validated.lowest_soc[0] < limits.floor_soc - 1e-9).sum()
    assert (
        "FAILS NO RULE HOLDS: by the nearest, of 100 simulated passages 100 fail (96.3 to 100.0 % "
        f"of ever more): {dark} go dark, {below} go below the floor of 50 %. Your risk is 10 %"
    ) in told
    dark_h, below_h = validated.dark_h.mean(), validated.below_floor_h.mean()
    assert f"it leaves dark for {dark_h:.1f} h a passage (1 in 10 above" in told
    assert f"below the floor for {below_h:.1f} h a passage" in told
    assert "No rule holds; the nearest, which fails, in ship's time" in text
    assert "How good it is" not in text
    assert "In the way: all goes dark, or charge falls below its floor, too often." in told
    assert "run 'powersim plan' again with the change" in told
    assert f"- {hopeless_plan().help.more_W:.0f} W more panel" in text


def test_a_bank_that_goes_dark_far_above_its_floor_is_not_said_to_be_below_it():
    """A small bank's voltage sags under load: 3 of 100 dark, and charge above the floor in all."""
    found = grey_plan()
    validated = found.found.validated
    dark = np.zeros(validated.dark_h.shape)
    dark[:, :3] = 2.0
    flat_h = np.where(dark > 0.0, 1.0, np.inf)
    validated = replace(
        validated, dark_h=dark, flat_h=flat_h, floor_h=flat_h, lowest_soc=dark * 0.0 + 0.6
    )
    verdict = verdict_on(validated, 0, found.limits, seed=1)
    told = plan_text(
        replace(found, found=replace(found.found, validated=validated, verdict=verdict))
    )
    assert (
        "HOLDS of 100 simulated passages 3 fail (1.0 to 8.5 % of ever more): 3 go dark"
        in " ".join(told.split())
    )


def test_a_plan_without_the_engine_says_so():
    text = plan_text(sunny_plan())
    alone = "Leave the engine alone while charge is above 50 %, its floor; at 50 %, charge."
    assert alone in " ".join(text.split())
    assert "Expected timetable" not in text
    assert "How good it is" not in text


def test_the_floor_of_an_engine_left_alone_is_told_in_volts_where_they_are_read():
    """The voltmeter at 50 % with nothing charging, between full (12.7 V) and flat (11.9 V) at rest,
    less what the loads take: from memory, and common to all tables of lead-acid.
    """
    found = sunny_plan()
    assert 11.9 < found.keep_V < 12.7
    told = " ".join(plan_text(found, brief=True).split())
    assert f"On the voltmeter 50 % is {found.keep_V:.2f} V or less before dawn" in told
    assert plan_dict(found)["keep_V"] == found.keep_V


@pytest.mark.parametrize("turned", [{"engine": None}, {"alternator": {"charging_A": 0.0}}])
def test_a_boat_that_nothing_charges_by_engine_is_given_no_rule_to_go_by(turned):
    """Whether she has no engine or one that charges nothing: no rule, and no use for diesel."""
    found = planned(grey_passage(days=4.0, panel_W=(20.0,), **turned))
    assert not found.found.holds
    told = " ".join(plan_text(found).split())
    for words in ("rule holds", "least bad", "another rule", "more diesel", "charging by engine"):
        assert words not in told
    assert "What is left to you" in told
    assert "On grey days switch loads off early, the least needed first" in told


def test_a_bank_that_begins_too_low_to_start_its_engine_is_told_what_is_left_to_do():
    shared = {"start_battery": "shared", "shared_start_soc": 0.85}
    passage = grey_passage(engine=shared)
    told = " ".join(plan_text(replace(grey_plan(), passage=passage)).split())
    assert (
        "start the bank begins at 80 % and starts the engine from 85 % on: no run can begin before "
        "sun, wind or water has brought it there; switch off all that can be spared, or start by a "
        "crank or another battery"
    ) in told
    assert "no run can begin" not in plan_text(grey_plan())


def test_brief_is_verdict_and_rule():
    text = plan_text(grey_plan(), brief=True)
    assert "HOLDS" in text
    assert "timetable" not in text


def test_the_file_is_read_back_as_it_was_planned(tmp_path):
    found = grey_plan()
    path = tmp_path / "plan.csv"
    path.write_text(plan_csv(found), encoding="utf-8")
    runs = read_engine_plan(path)
    # Times are written to the second; a run may start within one.
    starts_s = [start.timestamp() for start in found.runs["start_utc"]]
    assert [run.start_utc_s for run in runs] == pytest.approx(starts_s, rel=0.0, abs=1.0)
    assert [run.run_h for run in runs] == pytest.approx(found.runs["run_h"].tolist(), abs=1e-6)


def test_a_place_in_the_timetable_survives_any_spreadsheet():
    """Plain ASCII, the same in every encoding, and a position as route.csv takes it."""
    found = grey_plan()
    text = plan_csv(found)
    assert text.isascii()
    rows = list(csv.DictReader(io.StringIO(text)))
    for row, run in zip(rows, found.runs.itertuples(), strict=True):
        # To the minute of arc.
        assert parse_position(row["place"]) == pytest.approx((run.lat_deg, run.lon_deg), abs=0.01)
    assert rows


def test_the_file_has_its_columns_even_without_runs():
    rows = list(csv.reader(io.StringIO(plan_csv(sunny_plan()))))
    assert rows == [list(COLUMNS)]


def test_the_file_of_a_plan_that_fails_says_so_and_is_read_back(tmp_path):
    found = hopeless_plan()
    path = tmp_path / "plan.csv"
    path.write_text(plan_csv(found), encoding="utf-8")
    first, heading, *_ = path.read_text(encoding="utf-8").splitlines()
    assert first == "# NO RULE HOLDS: these are the runs of the nearest, which fails."
    assert heading == ",".join(COLUMNS)
    assert len(read_engine_plan(path)) == len(found.runs) > 0


@pytest.mark.parametrize("made", ALL)
def test_json_is_strict(made):
    answer = plan_dict(made())
    again = json.loads(json.dumps(answer, allow_nan=False))
    assert again["holds"] == made().found.holds
    assert len(again["runs"]) == len(made().runs)


def test_the_margin_and_what_simulate_shows_stand_beside_the_verdict():
    found = grey_plan()
    told = " ".join(plan_text(found).split())
    for points, moved in found.found.moved.items():
        way = "lower" if points < 0 else "higher"
        fails = round(100 * moved.fails.frac)
        assert f"{fails} if you start {abs(points)} points {way}" in told


def two_rules():
    """A plan of two rules: the second one burns a litre less and is started five times more."""
    found = grey_plan()
    first = found.found.validated
    less = replace(
        first,
        charging_L=first.charging_L - 1.0,
        charging_runs=first.charging_runs + 5.0,
        cost_L=first.cost_L + 0.5,
    )
    verdict = found.found.verdict
    offers = (
        Offer(merits=(COST, RUNS), validated=first, verdict=verdict),
        Offer(merits=(DIESEL,), validated=less, verdict=verdict),
    )
    return replace(found, found=replace(found.found, offers=offers))


def test_rules_that_differ_stand_side_by_side_and_one_is_recommended():
    found = two_rules()
    text = plan_text(found, keep="[charging]")
    assert max(map(len, text.splitlines())) <= WIDTH
    told = " ".join(text.split())
    first, second = (offer.validated for offer in found.found.offers)
    assert "1. Least cost, fewest runs: " in told
    assert "2. Least diesel: " in told
    for one in (first, second):
        assert f" {one.charging_L.mean():.1f} L" in told
        assert f" {7.0 * one.charging_runs.mean() / 6.0:.1f} " in told
    assert "1 is recommended: " in told
    assert "2 saves 1.0 L of diesel for 0.5 L more in all." in told
    # One rule alone is no choice.
    alone = replace(found, found=replace(found.found, offers=found.found.offers[:1]))
    assert "recommended" not in plan_text(alone)


def test_what_a_rule_is_printed_as_is_what_is_offered_in_json():
    answer = plan_dict(two_rules())
    assert [one["merits"] for one in answer["offers"]] == [
        ["least cost", "fewest runs"],
        ["least fuel"],
    ]
    assert answer["offers"][0]["rule"] == answer["rule"]


def test_a_rule_that_just_holds_is_called_too_close_to_call():
    found = grey_plan()
    flat_h = np.full((1, 100), np.inf)
    flat_h[:, :9] = 1.0
    validated = replace(found.found.validated, flat_h=flat_h, floor_h=flat_h)
    verdict = verdict_on(validated, 0, found.limits, seed=1)
    told = plan_text(
        replace(found, found=replace(found.found, validated=validated, verdict=verdict))
    )
    assert "too close to call" in " ".join(told.split())
    assert "too close to call" not in plan_text(hopeless_plan())


def test_a_bank_that_no_run_fills_is_told_with_why():
    """Lead-acid suffers by it whether or not anybody asks."""
    told = " ".join(plan_text(grey_plan()).split())
    days = grey_plan().found.validated.longest_since_full_h[0].mean() / 24.0
    assert (
        f"full charge longest time without a full charge {rounding.days(days)} on average" in told
    )
    assert "; no run asks for one: full_every in boat.toml is 'never'" in told
    why = Assumption(
        place="boat.toml charging.full_every", value="never", reason="the regulator cannot fill it"
    )
    regulated = replace(grey_plan(), passage=replace(grey_plan().passage, assumptions=(why,)))
    assert "no run asks for one: the regulator cannot" in " ".join(plan_text(regulated).split())


def test_a_full_charge_that_comes_too_late_is_told_with_why():
    found = grey_plan()
    asked = replace(found.limits, full_every_days=10.0)
    late = replace(found.found.validated, longest_since_full_h=np.full((1, 100), 24.0 * 20.0))
    filled = replace(
        late,
        longest_since_full_h=np.full((1, 100), 24.0 * 11.0),
        charging_L=late.charging_L + 3.0,
        charging_h=late.charging_h + 5.0,
    )

    def told(fullest):
        here = replace(found.found, validated=late, fullest=fullest)
        return " ".join(plan_text(replace(found, limits=asked, found=here)).split())

    why = "a rule that keeps to it takes 3.0 L more diesel and 5.0 h more of engine, and"
    assert why in told(filled)
    assert "of the rules that hold none fills the bank sooner" in told(late)
    nearer = replace(
        filled,
        rules=(replace(found.rule, full_every_days=7.0),),
        longest_since_full_h=np.full((1, 100), 24.0 * 15.0),
    )
    why = "no rule that holds comes nearer than 15 days; that takes 3.0 L more diesel and 5.0 h"
    assert why in told(nearer)
    assert "Not kept" not in told(None)
