"""The card for the chart table: what a passage asks of her crew, without a computer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import TYPE_CHECKING

from powersim.records.care import care_in_short
from powersim.records.units_aboard import aboard
from powersim.report import rounding, when_where
from powersim.report.card_endurance import CardEndurance, card_endurance
from powersim.report.card_ladder import CardLadder, card_ladder
from powersim.report.card_limits import limits
from powersim.report.card_log import LogSheet, log_sheet
from powersim.report.card_pages import WIDE_MM, draw_card
from powersim.report.card_verdict import CardVerdict, card_verdict
from powersim.report.card_weeks import card_weeks, first_week
from powersim.report.changed_told import changed_told
from powersim.report.names import between, entitled, named_by_ends
from powersim.report.sounding_text import strip_rows
from powersim.report.view import Column, Table, Text

if TYPE_CHECKING:
    from pathlib import Path

    from powersim.planning.endurance_table import EnduranceTable
    from powersim.planning.ladder import Ladder
    from powersim.simulation.result import SimulationResult

_MOST_MARKS = 14
_ALWAYS = "A forecast is no promise."


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """What stands on the card.

    Attributes
    ----------
    title, passage : str
        Two lines at the top, the second with the date that the card was made on.
    changed : str
        What differs from the files, in one sentence; empty where nothing does.
    verdict : CardVerdict
        Whether the passage holds, and the rule only if it does.
    limits : tuple of Text
        Floor and reserve.
    weeks : Table
        What to expect.
    first_week : Text or None
        What the first week asks of the engine.
    strip : Table or None
        The dip stick in litres, marks side by side; None without a tank whose shape is known.
    endurance : CardEndurance
        How long the bank lasts if something fails, and what to switch off.
    ladder : CardLadder or None
        What to give up each evening, if the engine is lost; None where there is no use for it.
    log : LogSheet
        What is written down each day.
    care : str
        The cautions.
    """

    title: str
    passage: str
    changed: str
    verdict: CardVerdict
    limits: tuple[Text, ...]
    weeks: Table
    first_week: Text | None
    strip: Table | None
    endurance: CardEndurance
    ladder: CardLadder | None
    log: LogSheet
    care: str


def card_of(
    result: SimulationResult,
    *,
    endurance: EnduranceTable,
    ladder: Ladder | None = None,
    made: date | None = None,
) -> Card:
    """What stands on the card of a simulated passage.

    Parameters
    ----------
    result : Result
        Of the simulation.
    endurance : EnduranceTable
        From departure, with what each load costs.
    ladder : Ladder, optional
        From departure, with the engine lost.
    made : date, optional
        When the card is made, for what is forecast grows old; today if left out.
    """
    passage = result.summary["passage"]
    ends = (passage["from"], passage["to"])
    ahead_h = float(result.prepared.track.ship_offset_h[0])
    whence = "" if named_by_ends(passage["name"], *ends) else f"{between(*ends)}, "
    return Card(
        title=entitled(result.passage, f"{passage['name']}: {passage['boat']}"),
        passage=(
            f"{whence}{rounding.days(passage['days'])}, from "
            f"{when_where.date(result.passage.depart_utc, ship_offset_h=ahead_h)}. "
            f"Made {when_where.calendar(made or date.today())}."
        ),
        changed=" ".join(
            (changed_told(result.passage.changed), *result.passage.change_warnings)
        ).strip(),
        verdict=card_verdict(result),
        limits=limits(result),
        weeks=card_weeks(result),
        first_week=first_week(result),
        strip=_strip(result.passage.boat),
        endurance=card_endurance(result, endurance, worst=endurance.beside),
        ladder=card_ladder(ladder),
        log=log_sheet(result, wide_mm=WIDE_MM),
        care=f"{_ALWAYS} {care_in_short(result.passage.boat)}",
    )


def _strip(boat) -> Table | None:
    if boat.fuel is None or boat.fuel.shape is None:
        return None
    rows = strip_rows(boat, most=_MOST_MARKS, form=rounding.whole_litres)
    marks, tank, above = zip(*reversed(rows), strict=True)
    units = aboard()
    stick = units.depth.symbol
    return Table(
        columns=(
            Column(f"stick, {stick}", words=True),
            *(Column(mark.removesuffix(f" {stick}")) for mark in marks),
        ),
        rows=((f"in the tank, {units.volume.symbol}", *tank), ("above the pick-up", *above)),
    )


def card_file(
    result: SimulationResult,
    *,
    endurance: EnduranceTable,
    ladder: Ladder | None = None,
    made: date | None = None,
) -> Callable[[Path], None]:
    """The card as a file.

    Parameters
    ----------
    result : Result
        Of the simulation.
    endurance : EnduranceTable
        From departure, with what each load costs.
    ladder : Ladder, optional
        From departure, with the engine lost.
    made : date, optional
        When it is made; today if left out.

    Returns
    -------
    callable
        Writes the PDF to a path, as `writing.write_all` takes it.
    """
    return partial(_saved, card_of(result, endurance=endurance, ladder=ladder, made=made))


def _saved(card: Card, path: Path) -> None:
    from powersim.report.figures import save_pages

    save_pages(draw_card(card), path)
