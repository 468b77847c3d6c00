"""The files of results: how numbers and times are written, and that the tables are whole."""

import csv
import io
import json

import pandas as pd
import pytest
from builders import in_average
from hand_worked import passage_of, with_panels

from powersim.report.files import csv_text, result_files


@pytest.fixture(scope="module")
def result():
    return in_average(passage_of(boat=with_panels()))


@pytest.fixture(scope="module")
def files(result):
    return result_files(result, figures=False)


def test_how_cells_are_written():
    table = pd.DataFrame(
        {
            "at": pd.to_datetime(["2026-09-05T09:00:00", "2026-09-05T09:15:00"], utc=True),
            "aboard": pd.to_datetime(["2026-09-05T08:00:00", "2026-09-05T08:15:00"]),
            "day": pd.to_datetime(["2026-09-05", "2026-09-06"]),
            "volts": [12.3456789, float("nan")],
            "count": [3, 4],
            "name": ["pilot, below", 'say "so"'],
        }
    )
    assert csv_text(table, days=("day",)) == (
        "at,aboard,day,volts,count,name\n"
        '2026-09-05T09:00:00Z,2026-09-05T08:00:00,2026-09-05,12.3457,3,"pilot, below"\n'
        '2026-09-05T09:15:00Z,2026-09-05T08:15:00,2026-09-06,,4,"say ""so"""\n'
    )


def test_words_are_no_formula_to_a_spreadsheet_and_numbers_stay_numbers():
    words = ["=cmd|' /C calc'!A0", "+1", "-1+1", "@sum(a1)", "\tx", "plain", "2 x 100 W = 200 W"]
    table = pd.DataFrame({"name": words, "change": [-1.5] * 7, "count": [-3] * 7})
    rows = list(csv.reader(io.StringIO(csv_text(table), newline="")))[1:]
    assert [row[0] for row in rows] == [f"'{word}" for word in words[:5]] + words[5:]
    assert {tuple(row[1:]) for row in rows} == {("-1.5", "-3")}


@pytest.mark.parametrize(("name", "index"), [("hourly", "time_utc"), ("daily", "ship_date")])
def test_tables_can_be_read_back(result, files, name, index):
    """By pandas, a general-purpose reader: six digits are kept."""
    back = pd.read_csv(io.StringIO(files[f"{name}.csv"]), index_col=index, parse_dates=[index])
    table = getattr(result, name)
    assert list(back.index) == list(table.index)
    for column in table.select_dtypes("number").columns:
        assert back[column].to_numpy() == pytest.approx(
            table[column].to_numpy(), rel=1e-5, abs=1e-9
        )


def test_the_runs_of_the_engine(files):
    """Sums in tests/reference/test_hand_worked_passage.py."""
    first, *_ = csv.DictReader(io.StringIO(files["engine.csv"]))
    assert (first["kind"], first["run_h"]) == ("motoring", "3")
    assert first["start_utc"] == "2026-05-01T00:00:00Z"


def test_the_summary_is_strict_json_that_says_all_that_the_result_says(result, files):
    def refuse(word):
        raise AssertionError(word)

    summary = json.loads(files["summary.json"], parse_constant=refuse)
    warnings = summary.pop("warnings")
    assert summary == result.summary
    assert warnings == []


def test_pictures_are_drawn_where_they_are_told(result, tmp_path):
    files = result_files(result)
    for name in ("soc.png", "energy.png"):
        files[name](tmp_path / name)
        # The PNG signature, ISO/IEC 15948:2004, 5.2.
        assert (tmp_path / name).read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"


@pytest.mark.parametrize("name", ["hourly.csv", "daily.csv", "engine.csv", "summary.json"])
def test_no_file_has_a_nan_or_a_line_end_of_another_system(files, name):
    assert "nan" not in files[name].lower().replace("name", "")
    assert "\r" not in files[name]
    assert files[name].endswith("\n")
