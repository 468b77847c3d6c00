"""Kinds and their words, and sections that hold them."""

import math

import pytest

from powersim.report.kinds import (
    DAYS,
    LASTS,
    LITRES,
    SHARE,
    Band,
    Kind,
    count_of,
    joined,
    of_passages,
    quantities_in,
    say,
)
from powersim.report.quoted import html_of, quoted
from powersim.report.screen_text import screen_text
from powersim.report.view import Bullets, Column, KeyValues, Paragraph, Table, Title, quantities_of

LEFT = Table(
    caption="What is left",
    columns=(
        Column("where", words=True),
        Column("of diesel", over="tank"),
        Column("days", over="tank"),
        Column("share"),
    ),
    rows=(
        ("as planned", LITRES(96.1), DAYS(3.0), SHARE(0.5)),
        ("slow", LITRES(8.0), DAYS(1.0), ""),
    ),
)


@pytest.mark.parametrize(
    ("quantity", "text"),
    [
        (LASTS(0.0), "already"),
        (LASTS(2.61), "2.6 days"),
        (LASTS(math.inf), "landfall"),
        (LASTS(None), "–"),
        (Kind(str, zero="–", least=0.02)(0.02), "–"),
        (Kind(str, never="not needed", always="goes dark")(-math.inf), "goes dark"),
        (DAYS(math.inf), "no limit"),
        (SHARE(Band(0.56, 0.41, 0.65)), "56 % (8 in 10 lie between 41 % and 65 %)"),
        (SHARE(Band(0.561, 0.559, 0.563)), "56 %"),
        # Of a band each number has the kind's words.
        (LASTS(Band(2.0, 0.0, math.inf)), "2.0 days (8 in 10 lie between already and landfall)"),
        (count_of(200)(0.325), "65"),
        (count_of(200)(0.0), "none"),
        (count_of(200)(1.0), "all"),
    ],
)
def test_a_kind_has_the_words_for_nothing_never_and_a_band(quantity, text):
    assert str(quantity) == text


def test_how_many_passages():
    told = [str(of_passages(20, count / 20, "fails", "fail")) for count in (0, 1, 2, 20)]
    assert told == [
        f"of 20 simulated passages, {end}" for end in ("none fail", "1 fails", "2 fail", "all fail")
    ]


def test_quantities_are_found_in_words_within_words():
    text = joined([say("{} left", LITRES(8.0)), "", say("after {}", say("{}", DAYS(3.0)))], "; ")
    assert str(text) == "8.0 L left; after 3.0 days"
    assert [one.value for one in quantities_in(text)] == [8.0, 3.0]


def test_braces_of_the_sailor_are_no_places():
    assert str(say("{} left", "{0} {1}")) == "{0} {1} left"
    assert str(html_of(say("{} left", "{0} <b>"))) == "{0} &lt;b&gt; left"


def test_every_section_gives_its_quantities():
    sections = (
        Title("Diesel"),
        Paragraph(say("{} left", LITRES(1.0))),
        Bullets((say("{}", LITRES(2.0)),)),
        KeyValues((("diesel", LITRES(3.0)),)),
        LEFT,
    )
    assert [one.value for one in quantities_of(sections)] == [1, 2, 3, 96.1, 3.0, 0.5, 8.0, 1.0]
    assert screen_text(sections) == (
        "Diesel\n------\n\n1.0 L left\n\n- 2.0 L\n\ndiesel  3.0 L\n\n"
        "                    tank\n"
        "where       of diesel      days  share\n"
        "----------  ---------  --------  -----\n"
        "as planned     96.1 L  3.0 days   50 %\n"
        "slow            8.0 L      24 h"
    )


def test_a_form_with_little_room_shows_a_part_of_a_table():
    small = LEFT.only(
        column=lambda column: column.over == "" and column.head != "share",
        row=lambda row: row[0] == "slow",
    )
    assert (small.rows, small.overs) == ((("slow",),), [])
    assert LEFT.overs == [("", 1), ("tank", 2), ("", 1)]


def test_a_page_quotes_each_number_of_a_band_by_its_place():
    summary = {"charge": {"lowest_soc": {"p10": 0.41, "p50": 0.56, "p90": 0.65}}}
    page = str(html_of(quoted(summary, "charge.lowest_soc", SHARE)))
    assert page.replace("\u00a0", " ") == (
        '<data value="0.56" data-key="charge.lowest_soc.p50">56 %</data> (8 in 10 lie between '
        '<data value="0.41" data-key="charge.lowest_soc.p10">41 %</data> and '
        '<data value="0.65" data-key="charge.lowest_soc.p90">65 %</data>)'
    )
