"""What `compare` writes: a table with units in its headings, and strict JSON of the same."""

import csv
import io
import json

import numpy as np
import pytest
from compared_made import choice_of, compared_of, outcome_made

from powersim.report.compare_files import compare_dict, compare_files, compare_table, file_names
from powersim.report.figure_compare import MOST_ROWS, compare_figure, plot_compare


@pytest.fixture
def found():
    choices = [choice_of(), choice_of(days_later=7, told=("music left off",))]
    first = outcome_made(members=40, failing=2)
    second = outcome_made(members=40, failing=20, burnt=26.0, days=np.linspace(1.0, 4.9, 40))
    return compared_of(first, second, choices=choices)


def test_json_has_what_each_comes_to_and_how_it_differs(found):
    answer = json.loads(json.dumps(compare_dict(found), allow_nan=False))
    assert (answer["members"], answer["risk_frac"], answer["hold"]) == (40, 0.05, 1)
    assert (answer["fail_least"], answer["not_told_apart"]) == ([1], [1])
    first, second = answer["choices"]
    assert second["changed"] == ["music left off"]
    assert second["depart_utc"] == "2026-09-12T09:00:00+00:00"
    assert (first["holds"], second["holds"]) == (True, False)
    assert second["fails"]["frac"] == 0.5
    assert second["burnt_L"] == {"p10": 26.0, "p50": 26.0, "p90": 26.0, "mean": 26.0}
    # 1.0 to 4.9 days, in steps of a tenth.
    assert second["charging_lost"]["days_to_flat"]["mean"] == pytest.approx(2.95)
    difference = second["differences"]["burnt_L"]
    assert (difference["mean"], difference["least"], difference["shows"]) == (6.0, 6.0, True)
    assert second["differences"]["fails_frac"]["mean"] == 18 / 40
    assert second["differences"]["days_to_flat"]["mean"] == pytest.approx(0.95)
    assert not first["differences"]["burnt_L"]["shows"]


def test_csv_is_the_same_line_by_line(found):
    text = compare_files(found, figures=False)["compare.csv"]
    first, second = csv.DictReader(io.StringIO(text))
    assert (second["number"], second["folder"], second["holds"]) == ("2", "made", "no")
    assert second["changed"] == "music left off"
    assert float(second["fails_frac"]) == 0.5
    assert float(second["burnt_L_mean"]) == 26.0
    assert float(second["days_to_flat_p50"]) == pytest.approx(2.95)
    assert float(second["more_burnt_L_mean"]) == 6.0
    assert (first["more_burnt_L_shows"], second["more_burnt_L_shows"]) == ("no", "yes")


def test_what_never_comes_is_empty():
    endless = outcome_made(members=20, days=np.inf)
    table = compare_table(compared_of(endless, endless))
    assert table["days_to_flat_p50"].isna().all()
    assert "more_days_to_flat_mean" not in table
    json.dumps(compare_dict(compared_of(endless, endless)), allow_nan=False)


def test_files_are_those_that_are_told(found):
    assert tuple(compare_files(found)) == file_names()
    assert tuple(compare_files(found, kind="svg")) == file_names(kind="svg")


def test_dates_are_drawn_as_lines():
    """Four departures, of two boats: the chance on top, litres below, each with its band."""
    choices = [
        choice_of(days_later=7 * (at % 4), told=() if at < 4 else ("music left off",))
        for at in range(8)
    ]
    counts = (0, 1, 2, 3, 4, 8, 6, 7)
    made = [outcome_made(members=40, failing=count, burnt=20.0 + count) for count in counts]
    found = compared_of(*made, choices=choices)
    numbers = compare_figure(found)
    assert numbers.lines == {"as she is": (0, 1, 2, 3), "music left off": (4, 5, 6, 7)}
    assert [panel.head for panel in numbers.panels[:2]] == ["fails [%]", "diesel burnt [L]"]
    assert numbers.panels[0].spreads[5].middle == 20.0
    assert numbers.panels[0].limit == 5.0
    ax = plot_compare(found)
    drawn = [line.get_ydata().tolist() for line in ax.lines if len(line.get_xdata()) == 4]
    assert drawn == [[0.0, 2.5, 5.0, 7.5], [10.0, 20.0, 15.0, 17.5]]
    words = [text.get_text() for text in ax.texts]
    assert "your risk, 5 %" in words
    assert "music left off" in words


def test_departures_are_drawn_in_their_order():
    """The files' own leaves between the others, and stands first in the table."""
    choices = [choice_of(days_later=days) for days in (7, 0, 14)]
    found = compared_of(*[outcome_made(members=20)] * 3, choices=choices)
    assert compare_figure(found).lines == {"": (1, 0, 2)}


def test_boats_that_leave_on_days_of_their_own_are_rows():
    choices = [choice_of(days_later=7 * at, name=f"boat {at}") for at in range(4)]
    found = compared_of(*[outcome_made(members=20)] * 4, choices=choices)
    assert compare_figure(found).lines == {}


def test_other_choices_are_rows(found):
    numbers = compare_figure(found)
    assert numbers.lines == {}
    assert numbers.names == ("1  as she is, 5 Sep", "2  music left off, 12 Sep")
    ax = plot_compare(found)
    assert len(ax.figure.axes) == 5
    assert [text.get_text() for text in ax.get_yticklabels()] == [
        "1 as she is, 5 Sep",
        "2 music left off, 12 Sep",
    ]
    faces = [line.get_markerfacecolor() for line in ax.lines if line.get_marker() == "o"]
    # Filled where it holds, hollow where it fails.
    assert faces == ["#9B0F5B", "#FFFFFF"]


def test_more_rows_than_fit_and_days_to_landfall():
    found = compared_of(
        *[outcome_made(members=20, days=np.inf)] * (MOST_ROWS + 2),
        choices=[choice_of(told=(f"a.b {at}",)) for at in range(MOST_ROWS + 2)],
    )
    ax = plot_compare(found)
    assert len(ax.get_yticklabels()) == MOST_ROWS
    assert "2 more in compare.csv" in ax.figure.get_suptitle()
    last = ax.figure.axes[-1]
    assert {text.get_text() for text in last.texts} == {"landfall"}
