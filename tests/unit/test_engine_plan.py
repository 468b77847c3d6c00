"""Engine plans edited by hand: what can be read of them, and what is wrong with the rest."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from powersim.errors import InputError, Problem
from powersim.inputs.engine_plan import read_engine_plan
from powersim.records import PlannedRun


def at(*moment):
    return datetime(*moment, tzinfo=UTC).timestamp()


def test_runs_are_read_in_any_order_and_unit(write_file):
    path = write_file(
        "plan.csv",
        "start_utc,run_min,soc_before\n2026-09-08 10:00,60,\n2026-09-07T08:45:00+00:00,75,56\n",
    )
    assert read_engine_plan(path) == (
        PlannedRun(start_utc_s=at(2026, 9, 7, 8, 45), run_h=1.25),
        PlannedRun(start_utc_s=at(2026, 9, 8, 10), run_h=1.0),
    )


def test_runs_may_follow_each_other_at_once(write_file):
    text = "start_utc,run\n2026-09-07 08:00,1 h\n2026-09-07 09:00,30 min\n"
    assert len(read_engine_plan(write_file("plan.csv", text))) == 2


def test_overlapping_runs_are_named_by_their_lines(write_file):
    path = write_file("plan.csv", "start_utc,run\n2026-09-07 09:30,1 h\n2026-09-07 08:45,75 min\n")
    with pytest.raises(InputError) as caught:
        read_engine_plan(path)
    assert str(caught.value) == (
        f"{path}:2:1: start_utc (column A): '2026-09-07 09:30' begins before the run of line 3 "
        "ends\n"
        "  expected  2026-09-07 10:00 UTC or later, or a shorter run there\n"
        "  row       2026-09-07 09:30,1 h"
    )


def test_every_bad_cell_is_reported(write_file):
    path = write_file(
        "plan.csv", "start_utc,run\n2026-09-07,1 h\nnoon,0 h\n2026-09-09 10:00,80 L\n"
    )
    with pytest.raises(InputError) as caught:
        read_engine_plan(path)
    told = [problem.text for problem in caught.value.problems]
    assert told == [
        "start_utc (column A): '2026-09-07' has no time of the day",
        "start_utc (column A): cannot read 'noon' as a date",
        "run (column B): '0 h' is not above 0 and up to 24 h",
        "run (column B): '80 L' is a volume",
    ]


def test_a_plan_without_its_columns_says_which(write_file):
    path = write_file("plan.csv", "start,minutes\n2026-09-07 09:30,60\n")
    with pytest.raises(InputError) as caught:
        read_engine_plan(path)
    assert "no column 'start_utc'; found: start, minutes" in str(caught.value)
    assert "no column 'run'" in str(caught.value)


@given(text=st.text(max_size=200))
def test_nothing_but_a_plan_or_a_message_comes_of_any_text(tmp_path_factory, text):
    path = tmp_path_factory.mktemp("plans") / "plan.csv"
    path.write_text("start_utc,run_min\n" + text, encoding="utf-8", errors="replace")
    try:
        runs = read_engine_plan(path)
    except InputError as error:
        runs = error.problems
    assert isinstance(runs, tuple)
    assert runs or not text.strip(), text
    assert all(isinstance(one, PlannedRun | Problem) for one in runs)
