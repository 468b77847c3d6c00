"""Sheets for a pencil, on A4: some days of log, and a sea trial with a row for each load."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from powersim.physics.demand import draws_at_bank
from powersim.report import rounding
from powersim.report.card_log import heads_of
from powersim.report.paper import A4_MM, Paper
from powersim.report.paper_tables import set_grid

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from powersim.records import Boat, Load, Passage

_MARGIN_MM, _GAP_MM = 14.0, 3.0
_TITLE_PT, _HEAD_PT, _PLAIN_PT = 14.0, 11.0, 9.5
#: High enough to write in aboard. [mm]
_WRITTEN_MM = 8.5
_WIDE_MM = A4_MM[0] - 2.0 * _MARGIN_MM
#: How wide a column of log.csv must be to be written in by hand; the first holds the words. [mm]
_LOG_MM = {
    "ship_time": 35.0,
    "position": 27.0,
    "soc": 14.0,
    "monitor_Ah": 21.0,
    "voltage": 16.0,
    "current": 15.0,
    "resting_h": 18.0,
    "engine_h": 18.0,
    "dip": 12.0,
    "cans_left": 17.0,
    "solar_Ah": 17.0,
}
_TRIAL_MM = {"load": 78.0, "idle": 20.0, "on": 20.0, "off": 20.0, "voltage": 20.0}
_NOTE = "note"
_TIMES = ("before dawn", "noon", "dusk")
#: Rows of a day for an engine that ran, and for whatever else happens.
_SPARE = 2
#: Rows for what draws most, to be read a second time.
_AGAIN = 2
_REST = (
    "Switch the heavy loads off two hours before dawn, and write into resting_h for how long they "
    "have been off. "
)
_METER = "Read the hour meter whenever the engine stops. "
_LOG_HOW = (
    "{rest}{meter}Write a row for whatever is out of the usual. Leave empty what you did not read. "
    "Type it into log.csv, whose columns these are.{signed}"
)
_SIGNED = " Amperes into the bank are above 0, out of it below 0."
_TRIAL_HOW = (
    "After dark, engine stopped, no charger on. Switch all off, also what switches itself. Close "
    "the clamp over nothing and press zero, then put it round the bank's own cable and leave it "
    "there. First row: nothing on. Then each load by itself: idle, at work, off again. Type it "
    "into trial.csv, whose columns these are. In brackets: about what loads.csv leads to, in "
    "amperes, idle / at work."
)
_CARE = (
    "Take off rings, use insulated tools, leave nothing loose over the battery. Unplug the shore "
    "lead first: shore power is for qualified people. Look out before you switch navigation lights "
    "or the VHF off; leave the bilge pump on its float switch."
)
#: Volts that the expected amperes of a load in watts are by, of a bank of 12 V. [V]
_EXPECTED_V = 12.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What stands on the sheets.

    Attributes
    ----------
    passage : str
        The passage's name.
    log_heads, trial_heads : tuple of str
        Columns of log.csv and of trial.csv, from left to right.
    log_rows, trial_rows : tuple of str
        The first cell of each row.
    log_how : str
        How to keep it.
    """

    passage: str
    log_heads: tuple[str, ...]
    log_rows: tuple[str, ...]
    trial_heads: tuple[str, ...]
    trial_rows: tuple[str, ...]
    log_how: str


def sheet_of(passage: Passage, *, days: int) -> Sheet:
    """The sheets of a passage, which need no simulation.

    Parameters
    ----------
    passage : Passage
        Its boat and its loads.
    days : int
        How many days of log.
    """
    heads = tuple(_log_heads(passage.boat))
    rows = [
        f"day {day + 1}, {time}" if time else ""
        for day in range(days)
        for time in (*_TIMES, *[""] * _SPARE)
    ]
    return Sheet(
        passage=passage.name,
        log_heads=(*heads, _NOTE),
        log_rows=tuple(rows),
        trial_heads=(*_TRIAL_MM, _NOTE),
        trial_rows=("(nothing on)", *_switched(passage), *[""] * _AGAIN, "(nothing on)"),
        log_how=_LOG_HOW.format(
            rest=_REST if "resting_h" in heads else "",
            meter=_METER if "engine_h" in heads else "",
            signed=_SIGNED if "current" in heads else "",
        ),
    )


def _log_heads(boat: Boat) -> Iterator[str]:
    """As on the card, with what two days are too short to do without."""
    for head in heads_of(boat):
        yield head
        if head == "soc":
            yield "monitor_Ah"
        if head == "current":
            yield "resting_h"
    if boat.panels:
        yield "solar_Ah"


def _switched(passage: Passage) -> Iterator[str]:
    """Each load once, in the order of loads.csv, and each supply before the first that hangs on it.

    Lines of one name are one thing.
    """
    told: set[str] = set()
    supplies = {one.name: one for one in passage.boat.supplies}
    volts = _EXPECTED_V * passage.boat.battery.nominal_V / 12.0
    for load in passage.loads:
        supply = supplies.pop(load.supply, None)
        if supply is not None and supply.idle_W > 0.0:
            yield f"{supply.name} ({rounding.number(supply.idle_W / volts, decimals=2)} / -)"
        if load.known_as not in told:
            told.add(load.known_as)
            yield f"{load.name} ({_expected(load, passage, volts)})"


def _expected(load: Load, passage: Passage, volts: float) -> str:
    """Amperes at the bank by loads.csv, idle and at work."""
    shown = []
    supply_of = {one.name: one for one in passage.boat.supplies}
    for current_A, power_W in ((load.standby_A, load.standby_W), (load.draw_A, load.draw_W)):
        at_bank_A, at_bank_W = draws_at_bank(current_A, power_W, load, supply_of)
        draw_A = at_bank_A + at_bank_W / volts
        shown.append(rounding.number(draw_A, decimals=2) if draw_A else "-")
    return " / ".join(shown)


def sheet_file(sheet: Sheet) -> Callable[[Path], None]:
    """The sheets as a file.

    Parameters
    ----------
    sheet : Sheet
        What stands on them.

    Returns
    -------
    callable
        Writes the PDF to a path, as `writing.write_all` takes it.
    """
    return partial(_saved, sheet)


def _saved(sheet: Sheet, path: Path) -> None:
    from powersim.report.figures import save_pages

    save_pages(draw_sheet(sheet), path)


def draw_sheet(sheet: Sheet) -> list[Figure]:
    """The sheets, a figure a page.

    Parameters
    ----------
    sheet : Sheet
        What stands on them.
    """
    paper = Paper(size_mm=A4_MM, margin_mm=_MARGIN_MM)
    _headed(paper, f"Log: {sheet.passage}", sheet.log_how)
    _grid(paper, sheet.log_heads, sheet.log_rows, _LOG_MM, filled_up=True)
    paper.turn()
    _headed(paper, f"Sea trial: {sheet.passage}", _TRIAL_HOW)
    paper.paragraph(_CARE, _PLAIN_PT, bold=True)
    paper.skip(_GAP_MM)
    _grid(paper, sheet.trial_heads, sheet.trial_rows, _TRIAL_MM, filled_up=True)
    paper.number_pages(_PLAIN_PT)
    return paper.pages


def _headed(paper: Paper, title: str, how: str) -> None:
    paper.paragraph(title, _TITLE_PT, bold=True, most_lines=2)
    paper.skip(_GAP_MM)
    paper.paragraph(how, _PLAIN_PT)
    paper.skip(_GAP_MM)


def _grid(paper: Paper, heads, rows, wide_mm, *, filled_up: bool = False) -> None:
    """Columns at least as wide as their heads; what is left goes to the note."""
    widths = [
        max(wide_mm.get(head, 0.0), paper.width_mm(head, _PLAIN_PT, bold=True) + 2.0)
        for head in heads
    ]
    widths[-1] += max(_WIDE_MM - sum(widths), 0.0)
    shares = [width / sum(widths) for width in widths]
    room_mm = shares[0] * _WIDE_MM - 2.0
    fits = [paper.wrapped(row, _PLAIN_PT, room_mm)[0] if row else "" for row in rows]
    set_grid(paper, heads, shares, fits, _PLAIN_PT, high_mm=_WRITTEN_MM, filled_up=filled_up)
