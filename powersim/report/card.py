"""The card for the chart table: one page that needs no computer, with a table for a pencil."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from powersim.planning.failures import WORKING
from powersim.records.care import care_in_short
from powersim.report import rounding, when_where
from powersim.report.kinds import LANDFALL
from powersim.report.names import named_by_ends
from powersim.report.page_tables import shedding_rows
from powersim.report.paper import Paper, leading_mm
from powersim.report.rule_view import rule_view
from powersim.report.sounding_text import strip_rows
from powersim.report.view import Column, Table, Text
from powersim.report.weeks import few, weeks_of
from powersim.report.weeks_view import weeks_table

if TYPE_CHECKING:
    from pathlib import Path

    from matplotlib.figure import Figure

    from powersim.report.endurance_view import EnduranceView
    from powersim.simulation.result import SimulationResult

_MARGIN_MM, _GAP_MM = 11.0, 3.0
_LARGE_PT, _TITLE_PT, _HEAD_PT, _PLAIN_PT, _SMALL_PT = 18.0, 13.0, 11.0, 10.0, 9.0
_MOST_WEEKS, _MOST_LINES = 8, 4
_MOST_MARKS = 14
#: Lines of the rule in full, fewer where too few are left for the pencil; the report has them all.
_MOST_RULE_LINES, _LEAST_WRITTEN = (8, 5, 3, 1), 5
#: Width of the table of endurance; what to switch off stands beside it. [mm]
_ENDURANCE_MM = 116.0
#: A line of the pencil's table: high enough to write in at sea. [mm]
_WRITTEN_MM = 7.5
_EMPTY_HEADS = ("date", "position", "volts before dawn", "engine hours", "dip", "litres")
_EMPTY_SHARES = (0.12, 0.26, 0.23, 0.16, 0.10, 0.13)
#: The same on a boat without an engine.
_ENGINELESS_HEADS = ("date", "position", "volts before dawn", "what was switched off")
_ENGINELESS_SHARES = (0.12, 0.26, 0.23, 0.39)
_ALWAYS = "A forecast is no promise. Lights, AIS or radar, VHF, bilge pump stay on."


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """What stands on the card.

    Attributes
    ----------
    title, passage : str
        Two lines at the top.
    headline : tuple of Text
        The engine rule, in large type, after what is in its way.
    lines : tuple of Text
        The whole of it.
    weeks : Table
        What to expect.
    strip : Table or None
        The dip stick in litres, marks side by side; None without a tank whose shape is known.
    shedding : tuple of (str, str)
        What is switched off when, first to last, and the loads.
    endurance : Table
        How long the bank lasts if something fails that it does not stand to landfall.
    stands : str
        What it does stand, in one sentence.
    written_heads : tuple of str
        What is written down each day: of the bank, volts or the counter.
    written_shares : tuple of float
        How much of the width each of them has. [-]
    care : str
        The cautions at the foot.
    """

    title: str
    passage: str
    headline: tuple[Text, ...]
    lines: tuple[Text, ...]
    weeks: Table
    strip: Table | None
    shedding: tuple[tuple[str, str], ...]
    endurance: Table
    stands: str
    written_heads: tuple[str, ...]
    written_shares: tuple[float, ...]
    care: str


def card_of(result: SimulationResult, *, endurance: EnduranceView) -> Card:
    """What stands on the card of a simulated passage."""
    summary, rule = result.summary, rule_view(result)
    lasts, stands = _endurance(endurance)
    passage, battery = summary["passage"], result.passage.boat.battery
    ends, has_engine = (passage["from"], passage["to"]), result.passage.boat.engine is not None
    whence = "" if named_by_ends(passage["name"], *ends) else f"{' to '.join(ends)}, "
    return Card(
        title=f"{passage['name']}: {passage['boat']}",
        passage=(
            f"{whence}{rounding.days(passage['days'])}, from "
            f"{when_where.date(result.passage.depart_utc)}; floor {rounding.soc(battery.floor_soc)}"
        ),
        headline=(*rule.warnings, *rule.headline),
        lines=rule.lines,
        weeks=_weeks(result, by_volts=rule.by_volts),
        strip=_strip(result.passage.boat),
        shedding=tuple(map(_shed, shedding_rows(result, endurance.order))),
        endurance=lasts,
        stands=stands,
        written_heads=tuple(
            head if rule.by_volts else head.replace("volts", "counter")
            for head in (_EMPTY_HEADS if has_engine else _ENGINELESS_HEADS)
        ),
        written_shares=_EMPTY_SHARES if has_engine else _ENGINELESS_SHARES,
        care=f"{_ALWAYS} {care_in_short(result.passage.boat)}",
    )


def _strip(boat) -> Table | None:
    if boat.fuel is None or boat.fuel.shape is None:
        return None
    rows = strip_rows(boat, most=_MOST_MARKS, form=rounding.number)
    marks, tank, above = zip(*reversed(rows), strict=True)
    return Table(
        columns=(
            Column("stick, cm", words=True),
            *(Column(mark.removesuffix(" cm")) for mark in marks),
        ),
        rows=(("in the tank, L", *tank), ("above the pick-up", *above)),
    )


def _shed(row) -> tuple[str, str]:
    group, when, names = row
    return ("never" if group == "protected" else f"{group}, {when}"), names


def _weeks(result, *, by_volts) -> Table:
    engine = result.passage.boat.engine is not None
    names = ["dawn_soc", *(["dawn_V"] if by_volts else []), "lowest"]
    names += [
        *(["low"] if result.ensemble is not None else []),
        *(["charging_min_per_day"] if engine else []),
    ]
    weeks = few(weeks_of(result), most=_MOST_WEEKS)
    return weeks_table(weeks, names, caption="What to expect, week by week")


def _endurance(found) -> tuple[Table, str]:
    """Failures that end before landfall, with all loads and with as few as may be; the rest."""
    (table,) = found.lasts
    sets = [over for over, _ in table.overs if over]
    told = [row for row in table.rows if row[0] != WORKING]
    short = [row for row in told if any(str(cell) != LANDFALL for cell in row[1:3])]
    rest = ", ".join(row[0] for row in told if row not in short)
    shown = table.only(
        column=lambda column: column.over in ("", sets[0], sets[-1]), row=lambda row: row in short
    )
    return shown, f"To landfall with all loads on: {rest}." if rest else ""


def draw_card(card: Card) -> Figure:
    """The card on one A4 page."""
    for most_lines in _MOST_RULE_LINES:
        figure, written = _drawn(card, most_lines=most_lines)
        if written >= _LEAST_WRITTEN:
            break
    return figure


def _drawn(card, *, most_lines):
    """The page with the rule in so many lines, and how many lines it leaves for the pencil."""
    paper = Paper(margin_mm=_MARGIN_MM)
    left, right = paper.left_mm, paper.right_mm
    wide = right - left
    y = paper.paragraph(
        left, _MARGIN_MM, card.title, _TITLE_PT, wide_mm=wide, bold=True, most_lines=1
    )
    y = paper.paragraph(left, y, card.passage, _PLAIN_PT, wide_mm=wide, most_lines=1)
    y = _rule(paper, y + _GAP_MM / 2, card, wide=wide, most_lines=most_lines)
    y = _headed(paper, y + _GAP_MM, "What to expect, in average weather")
    y = paper.table(left, y, card.weeks, _PLAIN_PT, wide_mm=wide)
    beside = y + _GAP_MM
    y = _headed(paper, beside, "If it fails on the first day, the bank lasts")
    y = _failures(paper, y, card)
    y = max(y, _shedding(paper, beside, card))
    if card.strip is not None:
        y = paper.table(left, y + _GAP_MM, card.strip, _SMALL_PT, wide_mm=wide)
    y = _headed(paper, y + _GAP_MM, "Written down every morning")
    return paper.figure, _empty(paper, y, card)


def card_file(result: SimulationResult, *, endurance: EnduranceView) -> Callable[[Path], None]:
    """The card as a file.

    Parameters
    ----------
    result : Result
        Of the simulation.
    endurance : EnduranceView
        From departure.

    Returns
    -------
    callable
        Writes the PDF to a path, as `writing.write_all` takes it.
    """
    return partial(_saved, card_of(result, endurance=endurance))


def _saved(card: Card, path: Path) -> None:
    from powersim.report.figures import save

    save(draw_card(card), path, kind="pdf")


def _rule(paper, y, card, *, wide, most_lines) -> float:
    top, inner = y, wide - 8.0
    y += 3.0
    for sentence in card.headline:
        y = paper.paragraph(
            paper.left_mm + 4.0, y, str(sentence), _LARGE_PT, wide_mm=inner, bold=True
        )
    if card.lines:
        y = paper.paragraph(
            paper.left_mm + 4.0,
            y + 1.0,
            " ".join(map(str, card.lines)),
            _PLAIN_PT,
            wide_mm=inner,
            most_lines=most_lines,
        )
    paper.box(paper.left_mm, top, paper.right_mm, y + 1.5, points=2.0)
    return y + 1.5


def _failures(paper, y, card) -> float:
    x, wide = paper.left_mm, _ENDURANCE_MM
    if card.endurance.rows:
        y = paper.table(x, y, card.endurance, _SMALL_PT, wide_mm=wide) + 1.0
    return paper.paragraph(x, y, card.stands, _SMALL_PT, wide_mm=wide, most_lines=_MOST_LINES)


def _shedding(paper, y, card) -> float:
    x = paper.left_mm + _ENDURANCE_MM + _GAP_MM
    y = _headed(paper, y, "Switch off in this order", x=x)
    for number, (what, names) in enumerate(card.shedding, start=1):
        text = f"{number}. {what}: {names}"
        wide = paper.right_mm - x
        y = paper.paragraph(x, y, text, _SMALL_PT, wide_mm=wide, most_lines=_MOST_LINES) + 1.0
    return y


def _headed(paper, y, words, *, x=None) -> float:
    paper.words(paper.left_mm if x is None else x, y, words, _HEAD_PT, bold=True)
    return y + leading_mm(_HEAD_PT)


def _empty(paper, y, card) -> int:
    """Lines to be filled in, down to the cautions at the foot of the page; how many."""
    care = paper.wrapped(card.care, _SMALL_PT, paper.right_mm - paper.left_mm)
    foot = paper.bottom_mm - len(care) * leading_mm(_SMALL_PT)
    edges = [paper.left_mm]
    for share in card.written_shares:
        edges.append(edges[-1] + share * (paper.right_mm - paper.left_mm))
    for edge, head in zip(edges[:-1], card.written_heads, strict=True):
        paper.words(edge + 1.0, y + 0.8, head, _SMALL_PT, bold=True)
    levels = [y, y + leading_mm(_SMALL_PT) + 1.2]
    while levels[-1] + _WRITTEN_MM <= foot - 1.5:
        levels.append(levels[-1] + _WRITTEN_MM)
    for level in levels:
        paper.line(paper.left_mm, level, paper.right_mm, level)
    for edge in edges:
        paper.line(edge, levels[0], edge, levels[-1])
    for number, line in enumerate(care):
        paper.words(paper.left_mm, foot + number * leading_mm(_SMALL_PT), line, _SMALL_PT)
    return len(levels) - 2
