"""The card drawn on pages of A5: two of them side by side fill a sheet of A4 at full size.

The smallest letters are of 9 points on A5. What has to be read at a glance is larger.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.report.paper import A5_MM, Paper, leading_mm
from powersim.report.paper_tables import high_mm, set_grid, set_table

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from powersim.report.card import Card
    from powersim.report.card_ladder import CardLadder
    from powersim.report.view import Text

_MARGIN_MM, _GAP_MM = 9.0, 2.5
#: What is given a page of its own, unless what stands before it has only just reached that. [mm]
_MOST_OF_A_PAGE_MM = 0.7 * (A5_MM[1] - 2.0 * _MARGIN_MM)
#: How wide what is written is. [mm]
WIDE_MM = A5_MM[0] - 2.0 * _MARGIN_MM
_LARGEST_PT, _TITLE_PT, _HEAD_PT, _PLAIN_PT, _SMALL_PT = 16.0, 12.0, 10.5, 9.5, 9.0
#: A line of the pencil's table: high enough to write in at sea. [mm]
_WRITTEN_MM = 8.5
_WRITE = (
    "A row every morning, before anything charges; 'powersim underway' takes it from log.csv, "
    "whose columns these are."
)
#: What is never switched off, three lines of it, and what is said under the table of the rest. [mm]
_NEVER_MM = 4.0 * leading_mm(_SMALL_PT)
_GAINS = "gains: how much longer, from departure, until all is dark with all charging lost."
_GAINS_IN_TURN = "gains: how much longer until all is dark, nothing charging, after those above."
_SIGNED = " current: amperes into the bank, below 0 out of it."


def draw_card(card: Card) -> list[Figure]:
    """The card, a figure a page: the rule, what if something fails, and the days to fill in.

    Parameters
    ----------
    card : Card
        What stands on it.
    """
    paper = Paper(
        size_mm=A5_MM,
        margin_mm=_MARGIN_MM,
        on_each=lambda paper: _headed_again(paper, card),
    )
    _first_page(paper, card)
    care_mm = _GAP_MM + len(paper.wrapped(card.care, _SMALL_PT, WIDE_MM)) * leading_mm(_SMALL_PT)
    at_once = paper.y_mm + care_mm <= paper.bottom_mm
    if at_once:
        _care(paper, card)
    paper.need(_MOST_OF_A_PAGE_MM)
    _if_it_fails(paper, card)
    if not at_once:
        _care(paper, card)
    paper.need(_MOST_OF_A_PAGE_MM)
    _to_fill_in(paper, card)
    paper.number_pages(_SMALL_PT)
    return paper.pages


def _first_page(paper: Paper, card: Card) -> None:
    paper.paragraph(card.title, _TITLE_PT, bold=True, most_lines=2)
    paper.paragraph(card.passage, _SMALL_PT, most_lines=2)
    if card.changed:
        paper.skip(_GAP_MM / 2.0)
        paper.paragraph(card.changed, _PLAIN_PT, bold=True)
    paper.skip(_GAP_MM)
    _verdict(paper, card)
    for text in card.limits:
        paper.skip(_GAP_MM / 2.0)
        paper.paragraph(str(text), _PLAIN_PT, bold=True)
    _headed(paper, card.weeks.caption)
    set_table(paper, card.weeks, _SMALL_PT)
    if card.first_week is not None:
        paper.skip(1.0)
        paper.paragraph(str(card.first_week), _PLAIN_PT)
    if card.strip is not None:
        paper.skip(_GAP_MM)
        set_table(paper, card.strip, _SMALL_PT)


def _verdict(paper: Paper, card: Card) -> None:
    """Chance, rule and all its lines; of a rule that fails, that it does and what to do."""
    for text in card.verdict.chance:
        paper.paragraph(str(text), _PLAIN_PT, bold=True)
    paper.skip(_GAP_MM)
    with paper.marked():
        for text in card.verdict.largest:
            paper.paragraph(str(text), _LARGEST_PT, bold=True)
        for text in card.verdict.lines:
            paper.skip(1.0)
            paper.paragraph(str(text), _PLAIN_PT)
    paper.skip(_GAP_MM / 2.0)


def _if_it_fails(paper: Paper, card: Card) -> None:
    told = card.endurance
    _headed(paper, "If something fails, the bank lasts")
    paper.paragraph(str(told.opening), _SMALL_PT)
    for table, stood in told.lasts:
        paper.skip(1.0)
        if table.rows:
            set_table(paper, table, _SMALL_PT)
            paper.skip(0.6)
        if stood:
            paper.paragraph(str(stood), _SMALL_PT)
    if card.ladder is not None:
        _ladder(paper, card.ladder, never=told.never)
        return _messages(paper, told.messages)
    _headed(paper, told.off.caption, with_next_mm=high_mm(paper, told.off, _SMALL_PT) + _NEVER_MM)
    paper.paragraph(str(told.never), _SMALL_PT, bold=True)
    if told.off.rows:
        set_table(paper, told.off, _SMALL_PT)
        paper.skip(0.6)
        paper.paragraph(_GAINS, _SMALL_PT)
    if told.little:
        paper.paragraph(str(told.little), _SMALL_PT)
    _messages(paper, told.messages)


def _messages(paper: Paper, told: Text) -> None:
    """What a message takes: for whoever does the day's sum."""
    if str(told):
        paper.skip(_GAP_MM / 2.0)
        paper.paragraph(str(told), _SMALL_PT)


def _ladder(paper: Paper, ladder: CardLadder, *, never: Text) -> None:
    """What is given up each evening, in place of the order in which loads are switched off.

    Steps and charges are read together, so they stand on one page.
    """
    tables = [one for one in (ladder.steps, ladder.charges) if one is not None]
    tables_mm = sum(high_mm(paper, table, _SMALL_PT) for table in tables)
    words_mm = sum(
        len(paper.wrapped(str(text), size_pt, WIDE_MM)) * leading_mm(size_pt)
        for text, size_pt in (
            (never, _SMALL_PT),
            (ladder.told, _SMALL_PT),
            (_GAINS_IN_TURN, _SMALL_PT),
            (ladder.how, _PLAIN_PT),
        )
    )
    room_mm = tables_mm + words_mm + leading_mm(_HEAD_PT) + 3.0 * _GAP_MM
    if room_mm < A5_MM[1] - 3.0 * _MARGIN_MM:
        paper.need(room_mm)
    _headed(paper, ladder.heading)
    paper.paragraph(str(never), _SMALL_PT, bold=True)
    paper.paragraph(str(ladder.told), _SMALL_PT)
    paper.skip(1.0)
    set_table(paper, ladder.steps, _SMALL_PT)
    paper.skip(0.6)
    paper.paragraph(_GAINS_IN_TURN, _SMALL_PT)
    paper.skip(_GAP_MM / 2.0)
    paper.paragraph(str(ladder.how), _PLAIN_PT, bold=True)
    if ladder.charges is not None:
        paper.skip(1.0)
        set_table(paper, ladder.charges, _SMALL_PT)


def _to_fill_in(paper: Paper, card: Card) -> None:
    """A row for each day, and what is left of the last page for days that nobody counted on."""
    log = card.log
    paper.skip(_GAP_MM)
    signed = _SIGNED if "current" in log.heads else ""
    paper.paragraph(f"{_WRITE}{signed}", _SMALL_PT)
    paper.skip(1.0)
    set_grid(paper, log.heads, log.shares, log.days, _SMALL_PT, high_mm=_WRITTEN_MM, filled_up=True)


def _care(paper: Paper, card: Card) -> None:
    """The cautions: on the rule's page where that leaves room, or else after what is to be read."""
    paper.skip(_GAP_MM)
    paper.paragraph(card.care, _SMALL_PT)


def _headed_again(paper: Paper, card: Card) -> None:
    paper.paragraph(card.title, _SMALL_PT, bold=True, most_lines=1)
    paper.skip(1.0)


def _headed(paper: Paper, words: str, *, with_next_mm: float = 0.0) -> None:
    """A heading, on the page of what stands under it."""
    paper.skip(_GAP_MM)
    least_mm = 4.0 * leading_mm(_SMALL_PT)
    paper.paragraph(words, _HEAD_PT, bold=True, with_next_mm=max(least_mm, with_next_mm))
