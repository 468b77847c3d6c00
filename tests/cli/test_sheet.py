"""`powersim sheet`: what stands on the sheets, and that it is written whole."""

import pytest
from logged import write_logged

from powersim.inputs.folder import load_folder
from powersim.inputs.log import log_columns
from powersim.inputs.trial import TRIAL_COLUMNS
from powersim.report.sheet import draw_sheet, sheet_of


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return write_logged(tmp_path / "short")


def test_it_is_written_and_not_over_another_of_its_name(call, folder):
    outcome = call("sheet", "short")
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out.split() == ["Wrote", "short/results/sheet.pdf"]
    assert (folder / "results" / "sheet.pdf").read_bytes().startswith(b"%PDF")
    (folder / "results" / "sheet.pdf").write_text("mine", encoding="utf-8")
    assert call("sheet", "short").code != 0
    assert (folder / "results" / "sheet.pdf").read_text(encoding="utf-8") == "mine"
    assert call("sheet", "short", "--days", "99").code == 2


def test_columns_are_those_of_the_files_and_of_this_boat(folder):
    """A monitor and no volts; a tank, cans and panels."""
    passage = load_folder(folder)
    sheet = sheet_of(passage, days=2)
    assert set(sheet.log_heads) < {each.column.name for each in log_columns()}
    assert set(sheet.trial_heads) < {column.name for column in TRIAL_COLUMNS}
    assert sheet.log_heads == (
        *("ship_time", "position", "soc", "monitor_Ah", "engine_h", "dip", "cans_left"),
        *("solar_Ah", "note"),
    )
    assert [row for row in sheet.log_rows if row][::3] == [
        "day 1, before dawn",
        "day 2, before dawn",
    ]


def test_by_volts_rest_and_current_are_asked_and_no_tank_without_one(folder):
    text = (folder / "boat.toml").read_text(encoding="utf-8").replace('reading = "monitor"', "")
    (folder / "boat.toml").write_text(text, encoding="utf-8")
    sheet = sheet_of(load_folder(folder), days=1)
    assert sheet.log_heads[2:5] == ("voltage", "current", "resting_h")
    assert "resting_h" in sheet.log_how


def test_every_load_has_a_row_with_what_it_should_draw(folder):
    """At 12.5 V: 32 W behind 88 % are 2.91 A; two lights of 3 W 0.48 A; amperes as they are."""
    rows = sheet_of(load_folder(folder), days=2).trial_rows
    assert "vhf radio (0.25 / 5.00)" in rows
    assert "navigation laptop (- / 2.91)" in rows
    assert "cabin lights (- / 0.48)" in rows
    assert rows.index("laptop supply (0.08 / -)") < rows.index("navigation laptop (- / 2.91)")
    assert (rows[0], rows[-1]) == ("(nothing on)", "(nothing on)")


def test_it_is_in_black_within_the_page_with_the_cautions(folder):
    pages = draw_sheet(sheet_of(load_folder(folder), days=2))
    assert {tuple(page.get_size_inches().round(2)) for page in pages} == {(8.27, 11.69)}
    texts = [text for page in pages for text in page.texts]
    assert {text.get_color() for text in texts} <= {"#000000", "black"}
    assert all(0.0 < text.get_position()[0] < 1.0 for text in texts)
    assert "shore power is for qualified people" in " ".join(text.get_text() for text in texts)
