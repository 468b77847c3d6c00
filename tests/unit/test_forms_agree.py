"""Screen, page and card say one answer: each figure of a view is on all of them, written alike."""

import html
import re

import pytest
from hand_worked import boat_of, passage_of, waypoints_of, with_panels

import powersim
from powersim.inputs.cautions import cautions_of
from powersim.inputs.standing_cautions import standing_cautions
from powersim.records import Load
from powersim.report.card import card_of, draw_card
from powersim.report.endurance_view import endurance_from_departure
from powersim.report.page import report_html
from powersim.report.screen_text import screen_text
from powersim.report.view import quantities_of

LOADS = (
    Load(name="vhf", draw_A=0.5, role="vhf"),
    Load(name="music", draw_A=1.0, priority="comfort"),
    Load(name="pilot", draw_A=4.0, priority="essential", role="pilot"),
)


@pytest.fixture(scope="module")
def result():
    """Nine days with sun and engine, in ten members."""
    boat = with_panels(battery=boat_of().battery, charging=boat_of().charging)
    passage = passage_of(boat=boat, loads=LOADS, waypoints=waypoints_of(days=9))
    return powersim.simulate(passage, step_h=1.0, members=10)


@pytest.fixture(scope="module")
def endurance(result):
    return endurance_from_departure(result)


@pytest.fixture(scope="module")
def page(result, endurance):
    text = report_html(
        result,
        endurance=endurance,
        cautions=cautions_of(result.passage),
        standing=standing_cautions(result.passage),
        version="0",
    )
    text = re.sub(r"<(style|svg)\b.*?</\1>", " ", text, flags=re.DOTALL)
    ended = re.sub(r"</(td|th|p|li|dt|dd)>", " ", text)
    return plain(html.unescape(re.sub(r"<[^>]+>", "", ended)))


@pytest.fixture(scope="module")
def card(result, endurance):
    """Every word that is drawn."""
    drawn = draw_card(card_of(result, endurance=endurance))
    return plain(" ".join(text.get_text() for text in drawn.texts))


def plain(text):
    return " ".join(text.split())


def missing(quantities, form):
    """Those that a form lacks, each as a word of its own."""
    return [
        text
        for text in dict.fromkeys(map(str, quantities))
        if not re.search(rf"(?<![\w.]){re.escape(plain(text))}(?![\w.])", form)
    ]


def test_what_is_missing_is_seen():
    assert missing(["2.6 days", "12 h"], "lasts 12.6 days, or 12 h") == ["2.6 days"]


def test_endurance(endurance, page, card):
    told = list(quantities_of(endurance.sections))
    assert len(told) > 60
    assert missing(told, plain(screen_text(endurance.sections))) == []
    assert missing(told, page) == []
    (lasts,) = endurance.lasts
    # The card has room for all loads and the essential ones, of what fails before landfall.
    shown = lasts.only(
        column=lambda column: column.over in ("", "all loads", "essential only"),
        row=lambda row: {str(cell) for cell in row[1:3]} != {"landfall"},
    )
    shown = list(quantities_of([shown]))
    assert len(shown) > 8
    assert missing(shown, card) == []
