"""A rule of its own for a choice of sizes: the one that `plan` would find for that boat."""

from dataclasses import replace

import pytest
from builders import boat_of, passage_of
from size_made import point_of_size

from powersim.planning.plan import plan
from powersim.planning.size_choices import Choice, boat_with
from powersim.planning.size_front import compare_choices
from powersim.planning.size_point import Study
from powersim.planning.size_replan import RuleStudy, replan, replanned
from powersim.report.size_rules import rules_dicts, rules_text

BOAT = boat_of(battery={"soc_at_departure": 0.8}, charging={"shortest_h": 0.5})
PASSAGE = passage_of(boat=BOAT, days=2.0)
STUDY = Study(passage=PASSAGE, boats={"flooded": BOAT}, members=30, seed=1, step_h=1.0)
ASKED = RuleStudy(study=STUDY, risk_frac=0.1, validation_members=60)
CHOICE = Choice(chemistry="flooded", battery_Ah=200.0, solar_W=50.0, alternator_A=45.0)


@pytest.fixture(scope="module")
def found():
    return replanned(ASKED, CHOICE)


def test_it_is_the_rule_that_plan_finds_for_that_boat(found):
    passage = replace(PASSAGE, boat=boat_with(STUDY.boats, CHOICE))
    planned = plan(passage, members=30, validation_members=60, seed=1, risk_frac=0.1, step_h=1.0)
    assert found.rule == planned.rule
    assert found.holds == planned.found.holds
    assert found.charging_L == planned.found.validated.charging_L.mean()
    assert found.floor_frac == planned.found.validated.below_floor.mean()
    assert found.panel == planned.panel
    assert found.charging_h > 0.0


def test_it_keeps_the_floor_in_enough_members(found):
    assert found.holds
    assert found.floor_frac <= ASKED.risk_frac
    assert found.fails_frac >= found.floor_frac


@pytest.mark.slow
def test_it_is_the_same_in_another_process(found):
    assert list(replan(ASKED, [CHOICE, CHOICE], jobs=2)) == [found, found]


def test_it_is_told_by_the_mark_of_its_choice(found):
    point = point_of_size(
        battery_Ah=200.0, solar_W=50.0, charging_h=9.0, charging_L=6.0, weight_kg=50.0
    )
    sized = compare_choices([point_of_size(fails_frac=0.5), point], risk_frac=0.1)
    text = rules_text(sized, [found])
    assert max(map(len, text.splitlines())) <= 80
    words = " ".join(text.split())
    assert "checked in 60 other simulated passages" in words
    assert " 1: engine " in words
    assert "(before 9.0 h and 6.0 L)" in words
    assert "run the engine" in words
    (told,) = rules_dicts(sized, [found])
    assert (told["mark"], told["judged_in"], told["holds"]) == (1, 60, True)
    assert told["rule"]["start_soc"] == found.rule.start_soc
    assert rules_text(sized, []) == ""
    missed = replace(found, holds=False, dark_h=3.0, below_floor_h=40.5, counted_from_h=24.0)
    words = " ".join(rules_text(sized, [missed]).split())
    assert (
        "1: No rule holds; the least bad leaves all dark for 3.0 h and charge below its floor for "
        "40.5 h a passage: engine " in words
    )
    assert "% from the second day on. " in words
