"""What `plan` prints and writes."""

import csv
import io
import json

import pytest
from planned import grey_plan, hopeless_plan, sunny_plan

from powersim.inputs.engine_plan import read_engine_plan
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


def test_figures_on_the_page_are_those_of_the_plan():
    found = grey_plan()
    text = plan_text(found)
    for litres in figures(found.yardstick):
        assert f" {litres:.1f} L" in text
    assert f"{len(found.runs)} runs" in text


def test_a_plan_that_fails_says_so_and_what_is_in_the_way():
    text = plan_text(hopeless_plan())
    assert "FAILS   no rule that was tried keeps within your risk of 10 %" in text
    assert "In the way: charge falls below its floor too often." in text
    assert f"- {hopeless_plan().help.more_W:.0f} W more panel" in text


def test_a_plan_without_the_engine_says_so():
    text = plan_text(sunny_plan())
    assert "Leave the engine alone" in text
    assert "Expected timetable" not in text
    assert "How good it is" not in text


def test_brief_is_verdict_and_rule():
    text = plan_text(grey_plan(), brief=True)
    assert "HOLDS" in text
    assert "timetable" not in text


def test_the_file_is_read_back_as_it_was_planned(tmp_path):
    found = grey_plan()
    path = tmp_path / "plan.csv"
    path.write_text(plan_csv(found), encoding="utf-8")
    runs = read_engine_plan(path)
    assert [run.start_utc_s for run in runs] == [
        start.timestamp() for start in found.runs["start_utc"]
    ]
    assert [run.run_h for run in runs] == pytest.approx(found.runs["run_h"].tolist(), abs=1e-6)


def test_the_file_has_its_columns_even_without_runs():
    rows = list(csv.reader(io.StringIO(plan_csv(sunny_plan()))))
    assert rows == [list(COLUMNS)]


@pytest.mark.parametrize("made", ALL)
def test_json_is_strict(made):
    answer = plan_dict(made())
    again = json.loads(json.dumps(answer, allow_nan=False))
    assert again["holds"] == made().found.holds
    assert len(again["runs"]) == len(made().runs)
