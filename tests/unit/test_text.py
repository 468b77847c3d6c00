"""The layout of plain text. What is right here is what reads well: exact text throughout."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from powersim.report import text


def test_a_table_with_a_header_wraps_its_words_and_keeps_its_numbers():
    rows = [
        ("tiller pilot", "36.0 Ah", "works hard in a quartering sea, so " + "measure it " * 5),
        ("masthead light", "1.8 Ah", "night"),
    ]
    header = ("load", "a day", "note")
    assert text.table(rows, aligns="lrl", header=header) == (
        "load              a day  note\n"
        "--------------  -------  -------------------------------------------------------\n"
        "tiller pilot    36.0 Ah  works hard in a quartering sea, so measure it measure\n"
        "                         it measure it measure it measure it\n"
        "masthead light   1.8 Ah  night"
    )


def test_a_word_too_long_for_its_column_is_broken():
    table = text.table([("a" * 100, "1 Ah")], aligns="lr")
    assert table == "a" * 74 + "  1 Ah\n" + "a" * 26


def test_an_empty_table_and_a_ragged_one():
    assert text.table([], aligns="lr", header=("load", "Ah")) == ""
    with pytest.raises(ValueError, match="every row needs 2 cells"):
        text.table([("pilot", "1", "2")], aligns="lr")


def test_numbers_that_cannot_fit_are_refused():
    with pytest.raises(ValueError, match="does not fit 80"):
        text.table([("1" * 50, "2" * 50)], aligns="rr")


def test_a_long_unit_stands_below_its_number_where_nothing_else_fits():
    cells = ("diesel left at landfall", *["12.34 imp gal"] * 5)
    lines = text.table([cells], aligns="lrrrrr", header=("", *"abcde")).splitlines()
    assert max(map(len, lines)) <= 80
    words = " ".join(" ".join(lines[2:]).split())
    assert (words.count("12.34"), words.count("imp gal")) == (5, 5)
    assert "12.34 imp" not in words.replace("12.34 imp gal", "")


def test_key_values_wrap_under_their_value():
    assert text.key_values([("boat", "sloop"), ("what was understood", "word " * 15)]) == (
        "boat                 sloop\n"
        "what was understood  word word word word word word word word word word word word\n"
        "                     word word word"
    )
    assert text.key_values([]) == ""


def test_a_paragraph_with_a_bullet_hangs():
    assert text.bullets(["ventilate: " + "hydrogen " * 9, "fuse"], indent=2) == (
        "  - ventilate: hydrogen hydrogen hydrogen hydrogen hydrogen hydrogen hydrogen\n"
        "    hydrogen hydrogen\n"
        "  - fuse"
    )


def test_a_number_and_its_unit_stay_on_one_line():
    assert text.paragraph("x" * 77 + " 50 % of 7.5 L/h").split("\n") == [
        "x" * 77,
        "50 % of 7.5 L/h",
    ]
    assert text.paragraph("x" * 77 + " 50 Ahoy").split("\n") == ["x" * 77 + " 50", "Ahoy"]


def test_blocks_are_joined_by_one_empty_line():
    assert text.join(text.title("Fuel"), "", "31 L") == "Fuel\n----\n\n31 L"


def test_a_title_of_nothing_and_one_longer_than_the_page():
    assert text.title("") == ""
    long = text.title("word " * 20)
    assert long.splitlines()[-1] == "-" * 79


def test_control_characters_of_a_file_do_not_reach_the_terminal():
    assert text.printable("a\x1b[2Jb\x00\u202ec\ud800\td\n") == "a?[2Jb??c?\td\n"
    assert text.printable("Måløy 38°N – éclair\u00a0日本") == "Måløy 38°N – éclair\u00a0日本"


WORDS = st.text(max_size=120)


@given(st.lists(st.tuples(WORDS, st.floats(width=16), WORDS), min_size=1, max_size=5))
def test_nothing_is_wider_than_the_page_and_no_word_is_lost(rows):
    cells = [(a, f"{b:.2f}", c) for a, b, c in rows]
    table = text.table(cells, aligns="lrl", header=("load", "Ah", "note"), indent=3)
    assert max(map(len, table.split("\n"))) <= text.WIDTH
    for _, middle, _ in cells:
        assert middle in table
    # Wrapping may break a long word and drops white space, nothing else.
    kept = "".join(table.split())
    assert all(sorted_in(cell, kept) for row in cells for cell in row)


def sorted_in(cell, kept):
    """Whether each character of a cell stands in the table at least as often as in the cell."""
    wanted = "".join(text.printable(cell).split())
    return all(kept.count(char) >= wanted.count(char) for char in set(wanted))


@given(WORDS)
def test_paragraphs_and_titles_stay_within_the_page(words):
    for block in (text.paragraph(words, indent=4, bullet="- "), text.title(words)):
        assert all(len(line) <= text.WIDTH for line in block.split("\n"))


def test_a_word_stays_whole_as_long_as_another_column_has_room():
    rows = [("battery_sensing", "not on a plain alternator; " * 4, "x " * 40)]
    lines = text.table(rows, aligns="lll").split("\n")
    assert lines[0].startswith("battery_sensing  ")
    assert max(map(len, lines)) <= 80


def test_heads_over_heads_stand_above_the_middle_of_their_columns():
    lines = text.table(
        [("vhf", "1", "2"), ("pilot", "30", "4")],
        aligns="lrr",
        header=("", "a", "b"),
        overs=[("", 1), ("days", 2)],
    )
    assert lines.split("\n") == [
        "        days",
        "        a  b",
        "-----  --  -",
        "vhf     1  2",
        "pilot  30  4",
    ]
    assert text.table([], aligns="l", header=("a",), overs=[("b", 1)]) == ""


def test_a_head_that_is_wider_than_its_columns_widens_the_last_of_them():
    """Under 17 letters stand 3 and 3 with a gap of 2, so the last gets 9 more; words give way."""
    told = text.table(
        [("a load whose name is long " * 3, "1 h", "2 h")],
        aligns="lrr",
        overs=[("", 1), ("all charging lost", 2)],
    )
    over, *lines = told.splitlines()
    assert over.strip() == "all charging lost"
    assert max(map(len, lines)) == text.WIDTH
    assert lines[0].endswith("  1 h           2 h")
    assert over.index("all") == lines[0].index("1 h")
