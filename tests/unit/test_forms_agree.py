"""Screen, page and card say one answer: each figure of a view is on all of them, written alike."""

import html
import re
from dataclasses import replace

import pytest
from hand_worked import boat_of, passage_of, waypoints_of, with_panels

import powersim
from powersim.inputs.cautions import cautions_of
from powersim.inputs.standing_cautions import standing_cautions
from powersim.planning.days_left import days_left
from powersim.planning.endurance import endurance as days_from_departure
from powersim.planning.ladder import ladder_as_simulated
from powersim.records import Load
from powersim.report.card import card_of
from powersim.report.card_ladder import card_ladder
from powersim.report.card_pages import draw_card
from powersim.report.endurance_view import endurance_from_departure
from powersim.report.ensemble_view import ensemble_sections
from powersim.report.files import answer
from powersim.report.kinds import BAND_HEADS, quantities_in
from powersim.report.ladder_view import ladder_sections
from powersim.report.page import report_html
from powersim.report.rule_view import rule_view
from powersim.report.screen_text import screen_text
from powersim.report.simulated import simulated_text
from powersim.report.verdict_view import verdict_view
from powersim.report.view import quantities_of
from powersim.report.weeks import weeks_of
from powersim.report.weeks_view import weeks_table

LOADS = (
    Load(name="vhf", draw_A=0.5, role="vhf"),
    Load(name="music", draw_A=1.0, priority="comfort"),
    Load(name="pilot", draw_A=4.5, priority="essential", role="pilot"),
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
def card(result):
    """Every word that is drawn."""
    pages = draw_card(card_of(result, endurance=days_from_departure(result, members=10)))
    return plain(" ".join(text.get_text() for page in pages for text in page.texts))


@pytest.fixture(scope="module")
def screen(result):
    return plain(simulated_text(result, left=days_left(result, members=10, seed=1)))


@pytest.fixture(scope="module")
def summary(result):
    return answer(result)


def plain(text):
    return " ".join(text.split())


def missing(quantities, form):
    """Those that a form lacks, each as a word of its own."""
    return [
        text
        for text in dict.fromkeys(map(str, quantities))
        if not re.search(rf"(?<!\w)(?<!\d\.){re.escape(plain(text))}(?!\w|\.\d)", form)
    ]


def test_what_is_missing_is_seen():
    assert missing(["2.6 days", "12 h"], "lasts 12.6 days, or 12 h") == ["2.6 days"]


def test_endurance(endurance, page, card):
    told = list(quantities_of(endurance.sections))
    assert len(told) > 60
    assert missing(told, plain(screen_text(endurance.sections))) == []
    assert missing(told, page) == []
    # The card has room for the medians and for the worst tenth of days to flat, with all loads and
    # the essential ones, of what fails before landfall.
    of_sets = {table.columns[0].head: table for table in endurance.lasts}
    for loads in ("all loads", "essential only"):
        shown = of_sets[loads].only(
            column=lambda column, first=loads: (
                column.head in (first, "median")
                or (column.over, column.head) == ("to flat", BAND_HEADS[0])
            )
        )
        short = [row for row in shown.rows[1:] if {*map(str, row[1:])} != {"landfall"}]
        shown = list(quantities_of([replace(shown, rows=tuple(short))]))
        assert len(shown) > 4
        assert missing(shown, card) == []


def test_the_ladder(result):
    """The engine lost: music and pilot are given up, and the card has the figures of the screen."""
    pilot = replace(LOADS[-1], draw_A=2.0, priority="useful")
    passage = replace(result.passage, loads=(*LOADS[:-1], pilot))
    result = powersim.simulate(passage, step_h=1.0, members=10)
    found = ladder_as_simulated(result)
    assert not found.needless
    on_card = card_ladder(found)
    assert on_card.charges is not None
    told = list(quantities_of([on_card.steps, on_card.charges]))
    assert len(told) > 6
    pages = draw_card(
        card_of(result, endurance=days_from_departure(result, members=10), ladder=found)
    )
    card = plain(" ".join(text.get_text() for page in pages for text in page.texts))
    screen = plain(screen_text(ladder_sections(found)))
    assert missing(told, card) == missing(told, screen) == []
    assert plain(str(on_card.how)) in card
    assert plain(str(on_card.how)) in screen
    assert "Switch off in this order" not in card


def test_in_average_weather_there_is_no_ladder(result):
    assert ladder_as_simulated(replace(result, ensemble=None)) is None
    assert card_ladder(None) is None


def test_the_verdict(summary, endurance, screen, page, card):
    verdict = verdict_view(summary, bank=endurance.bank)
    assert "at the worst moment" in str(endurance.bank)
    told = list(quantities_of(verdict.sections))
    assert len(told) > 10
    assert missing(told, screen) == []
    assert missing(told, page) == []
    assert plain(str(verdict.why)) in screen
    assert plain(str(verdict.why)) in page
    # What the passage fails by stands before the rule, on page and card alike.
    assert not verdict.holds
    (warning,) = verdict.warning
    assert str(warning) == "FAILS: of 10 simulated passages, 3 fail."
    assert str(warning) in page
    assert plain(str(verdict.why)) in card


def test_bands_and_risk(summary, screen, page):
    told = list(quantities_of(ensemble_sections(summary)))
    assert len(told) > 15
    assert missing(told, screen) == []
    assert missing(told, page) == []


def test_weeks(result, screen, page):
    """Two weeks, which all forms have room for: what they share, each in its own columns."""
    weeks = weeks_of(result)

    def figures(*names):
        return list(quantities_of([weeks_table(weeks, names, caption="")]))

    assert len(weeks) == 2
    everywhere = figures("low", "runs")
    assert missing(everywhere, screen) == missing(everywhere, page) == []
    flows = figures("solar", "alternator", "loads", "surplus")
    assert missing(flows, screen) == missing(flows, page) == []
    ahead = figures("dawn_soc", "lowest")
    assert missing(ahead, page) == []


def test_the_rule(result, page, card):
    """`plan` prints the same lines: `rule_lines` is all that says them."""
    rule = rule_view(result)
    told = [one for text in (*rule.headline, *rule.lines) for one in quantities_in(text)]
    assert len(told) > 5
    assert missing(told, page) == []
    for text in (*rule.headline, *rule.lines):
        assert plain(str(text)) in page
    # It fails, so page and card have it as what was tried, and not in the place of the one to keep.
    place = page[page.index("What to do FAILS") :]
    assert place.index("THIS RULE FAILS in ") < place.index("Do not sail by it.")
    tried = place.index("What was tried, and fails: ")
    assert place.index("Do not sail by it.") < tried
    assert place.index(plain(str(rule.headline[0]))) > tried
    for text in rule.headline:
        assert plain(str(text)) in card
