"""Tables: rows that know their line, in every form a spreadsheet saves, and every fault."""

import pytest

from powersim.errors import InputError
from powersim.inputs.headings import CsvColumn, letter
from powersim.inputs.table import collect_table, problem_at, read_table

COLUMNS = (
    CsvColumn(name="load", meaning="its name", example="vhf", required=True),
    CsvColumn(
        name="draw",
        meaning="power or current while on",
        example="36 W or 3 A",
        required=True,
        units=("W", "A"),
    ),
    CsvColumn(name="when", meaning="boat states", example="sailing"),
    CsvColumn(name="cabin_temp", meaning="temperature", example="20 degC", units=("degC",)),
)
ALIASES = {"watts": "draw_W if it holds watts"}


def rows(path):
    return read_table(path, COLUMNS, aliases=ALIASES)


def messages(path):
    return [str(problem) for problem in collect_table(path, COLUMNS, aliases=ALIASES).problems]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_every_form_of_csv_reads_alike(write_file, separator, line_end, mark):
    lines = ["load,draw,when", "", "# note", " vhf , 6 W , any", "lamp,2 W,"]
    text = mark + line_end.join(lines).replace(",", separator) + line_end
    first, second = rows(write_file("loads.csv", text))
    assert first.cells == {"load": "vhf", "draw": "6 W", "when": "any"}
    assert second.cells == {"load": "lamp", "draw": "2 W", "when": ""}
    assert (first.line, second.line) == (4, 5)


def test_semicolons_inside_a_cell_do_not_make_it_a_semicolon_file(write_file):
    (row,) = rows(write_file("a.csv", "load,draw,when\nvhf,6 W,sailing;motoring;anchored\n"))
    assert row.cells["when"] == "sailing;motoring;anchored"


def test_a_quoted_cell_may_span_lines_and_hold_anything(write_file):
    text = '# "one\nload,draw\n"a, ""b""\n\n# c",1 W\n\nvhf,6 W\n'
    first, second = rows(write_file("a.csv", text))
    assert first.cells["load"] == 'a, "b"\n\n# c'
    assert (first.line, second.line) == (3, 7)
    assert first.raw == '"a, ""b""  # c",1 W'  # on one line


def test_a_row_knows_its_field_and_its_raw_text(write_file):
    path = write_file("a.csv", "when,load,draw\nany,vhf,3O W\n")
    (row,) = rows(path)
    assert row.field("draw") == (3, "C")
    assert row.raw == "any,vhf,3O W"
    assert str(problem_at(row, "draw", "cannot read '3O W'", COLUMNS[1].expected)) == (
        f"{path}:2:3: draw (column C): cannot read '3O W'\n"
        "  expected  power or current while on, for example 36 W or 3 A\n"
        "  row       any,vhf,3O W"
    )
    assert str(problem_at(row, "role", "is wrong", None)) == (
        f"{path}:2: role: is wrong\n  row       any,vhf,3O W"
    )


def test_letters_are_those_of_a_spreadsheet():
    letters = [letter(number) for number in (1, 26, 27, 52, 53, 702, 703)]
    assert letters == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]


@pytest.mark.parametrize("title", ["draw_W", "draw (W)", "Draw [ watts ]", "DRAW_w", "draw_watts"])
def test_a_heading_may_name_its_unit(write_file, title):
    (row,) = rows(write_file("a.csv", f"load,{title}\nvhf,6\n"))
    assert row.cells["draw"] == "6"
    assert row.units == {"draw": "W"}


@pytest.mark.parametrize(
    ("title", "unit"),
    [("cabin temp", None), ("Cabin-Temp_degC", "degC"), ("cabin_temp (°F)", "degF")],
)
def test_a_columns_name_may_be_written_with_spaces(write_file, title, unit):
    (row,) = rows(write_file("a.csv", f"load,draw,{title}\nvhf,6 W,20\n"))
    assert row.cells["cabin_temp"] == "20"
    assert row.units.get("cabin_temp") == unit


def test_rows_and_columns_that_are_empty_are_passed_over(write_file):
    text = 'load,draw,,\nvhf,6 W,,\n,,,\n"# said in a spreadsheet",,,\nlamp,2 W\n,,,\n'
    assert [row.line for row in rows(write_file("a.csv", text))] == [2, 5]


def test_a_short_row_has_empty_cells(write_file):
    (row,) = rows(write_file("a.csv", "load,draw,when\nvhf\n"))
    assert row.cells == {"load": "vhf", "draw": "", "when": ""}


def test_a_missing_column_and_the_heading_that_was_meant(write_file):
    path = write_file("a.csv", "load,watts,when\ntiller pilot,36,any\n")
    assert messages(path) == [
        f"{path}:1: no column 'draw'; found: load, watts, when\n"
        "  expected  draw, power or current while on; rename 'watts' to draw_W if it holds watts"
    ]


def test_a_missing_column_that_is_misspelled(write_file):
    path = write_file("a.csv", "laod,draw\nvhf,6 W\n")
    assert messages(path) == [
        f"{path}:1: no column 'load'; found: laod, draw\n"
        "  expected  load, its name; rename 'laod' to load"
    ]


def test_all_faults_of_a_table_are_reported_at_once_in_order(write_file):
    path = write_file("a.csv", "# c\nload,draw_V,draw,wen,colour\nvhf,3,6 W,any,,y\n\nx,1,,,,,z\n")
    assert messages(path) == [
        f"{path}:2:2: heading 'draw_V' (column B): 'V' is a voltage\n"
        "  expected  draw, power or current while on",
        f"{path}:2:3: column 'draw' is there twice (columns B and C)\n  expected  one of them",
        f"{path}:2:4: unknown column 'wen' (column D); did you mean 'when'?\n"
        "  expected  columns load, draw, when, cabin_temp",
        f"{path}:2:5: unknown column 'colour' (column E)\n"
        "  expected  columns load, draw, when, cabin_temp",
        f"{path}:3:6: 'y' has no heading above it (column F)\n"
        "  expected  no more cells than headings; a cell with a comma in it goes in quotation "
        'marks, for example "nav, and radio"\n'
        "  row       vhf,3,6 W,any,,y",
        f"{path}:5:7: 'z' has no heading above it (column G)\n"
        "  expected  no more cells than headings; a cell with a comma in it goes in quotation "
        'marks, for example "nav, and radio"\n'
        "  row       x,1,,,,,z",
    ]


def test_a_heading_in_brackets_with_a_unit_that_nobody_knows(write_file):
    path = write_file("a.csv", "load,draw (xyz)\nvhf,6\n")
    assert messages(path) == [
        f"{path}:1:2: heading 'draw (xyz)' (column B): unknown unit 'xyz'\n"
        "  expected  draw, power or current while on"
    ]


@pytest.mark.parametrize("tail", ["", "\n\n# nothing more\n"])
def test_a_table_without_rows(write_file, tail):
    path = write_file("a.csv", "load,draw" + tail)
    assert messages(path) == [f"{path}:1: no rows below the heading\n  expected  one row or more"]


def test_a_table_of_separators_alone(write_file):
    path = write_file("a.csv", ",,,\n,,,\n")
    assert messages(path) == [f"{path}: has no heading\n  expected  a heading and one row"]


@pytest.mark.parametrize("cell", ['"6 W', '"6 W" or so'])
def test_a_quotation_mark_that_is_not_closed_keeps_what_came_before(write_file, cell):
    path = write_file("a.csv", f"load,draw\nlamp,2 W\nvhf,{cell}\nais,3 W\n")
    table = collect_table(path, COLUMNS)
    assert [row.cells["load"] for row in table.rows] == ["lamp"]
    assert [str(problem) for problem in table.problems] == [
        f"{path}:3: a quotation mark is not closed, or text follows the closing one\n"
        '  expected  quotation marks around a whole cell, for example "nav, and radio"\n'
        f"  row       vhf,{cell}"
    ]


def test_read_table_raises_all_of_it(write_file, tmp_path):
    path = write_file("a.csv", "load,wen\nvhf,any\n")
    with pytest.raises(InputError) as caught:
        rows(path)
    assert [str(problem) for problem in caught.value.problems] == messages(path)
    with pytest.raises(InputError, match="no such file"):
        rows(tmp_path / "none.csv")


def test_a_very_long_row_is_cut_in_messages_only(write_file):
    (row,) = rows(write_file("a.csv", "load,draw\n" + "x" * 1000 + ",6 W\n"))
    assert len(row.cells["load"]) == 1000
    assert row.raw == "x" * 197 + "..."


def test_a_table_that_no_hand_has_kept_is_refused(write_file):
    head = "load,draw\n"
    assert len(rows(write_file("a.csv", head + "vhf,6 W\n" * 5000))) == 5000
    path = write_file("b.csv", head + "vhf,6 W\n" * 300_000)
    assert messages(path) == [
        f"{path}:5002: more than 5000 rows\n  expected  a list kept by hand; is it the right file?"
    ]


def test_a_heading_of_endless_columns_is_refused(write_file):
    path = write_file("a.csv", "x," * 1000 + "\nvhf,6 W\n")
    (problem,) = collect_table(path, COLUMNS).problems
    assert problem.text == "more than 100 columns"
    titles = [f"x{number}" for number in range(98)]
    path = write_file("b.csv", ",".join(["load", "draw", *titles]) + "," * 900 + "\nvhf,6 W\n")
    assert len(collect_table(path, COLUMNS).problems) == 98


def test_a_cell_that_runs_on_for_pages(write_file):
    path = write_file("a.csv", 'load,draw\nvhf,"6 W\n' + "lamp,2 W\n" * 20_000)
    assert messages(path) == [
        f"{path}:2: a cell runs on for pages; is a quotation mark not closed?\n"
        '  expected  quotation marks around a whole cell, for example "nav, and radio"\n'
        '  row       vhf,"6 W'
    ]


def test_nothing_in_a_message_can_upset_a_terminal(write_file):
    path = write_file("a.csv", "lo\x1b[31mad,draw\nv\x1b[2Jhf,6 V\n")
    assert all(sign.isprintable() or sign == "\n" for sign in "".join(messages(path)))
    (row,) = collect_table(path, COLUMNS).rows
    assert row.raw == "v [2Jhf,6 V"
