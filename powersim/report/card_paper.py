"""A page of A5 to pin up beside the card: the table to charge by without a computer."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from powersim.records.care import care_in_short
from powersim.report.kinds import say
from powersim.report.names import entitled
from powersim.report.paper import A5_MM, Paper
from powersim.report.paper_tables import set_table
from powersim.report.paper_view import beside_table, how_to_read, runs_table
from powersim.report.rounding import percent

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from matplotlib.figure import Figure

    from powersim.planning.paper import PaperWay

_MARGIN_MM, _GAP_MM = 9.0, 3.0
_TABLE_PT, _TITLE_PT, _PLAIN_PT, _SMALL_PT = 13.0, 12.0, 10.0, 9.0


def draw_paper_card(way: PaperWay) -> list[Figure]:
    """The page, its table in letters to be read by a red light.

    Parameters
    ----------
    way : PaperWay
        One that holds.
    """
    paper = Paper(size_mm=A5_MM, margin_mm=_MARGIN_MM, on_each=lambda paper: None)
    boat = way.passage.boat
    paper.paragraph(
        entitled(way.passage, f"{way.passage.name}: {boat.name}"),
        _TITLE_PT,
        bold=True,
        most_lines=2,
    )
    paper.paragraph(
        str(
            say(
                "How long to run the engine today, without a computer. {} of {} simulated "
                "passages fail by it.",
                percent(way.verdict.fails.frac),
                str(way.verdict.members),
            )
        ),
        _PLAIN_PT,
        bold=True,
    )
    paper.skip(_GAP_MM)
    set_table(paper, runs_table(way), _TABLE_PT)
    paper.skip(_GAP_MM)
    for line in how_to_read(way):
        paper.paragraph(str(line), _PLAIN_PT)
        paper.skip(1.0)
    paper.skip(_GAP_MM)
    set_table(paper, beside_table(way), _SMALL_PT)
    paper.skip(_GAP_MM)
    paper.paragraph(care_in_short(boat), _SMALL_PT)
    paper.number_pages(_SMALL_PT)
    return paper.pages


def paper_file(way: PaperWay) -> Callable[[Path], None]:
    """The page as a file, as `writing.write_all` takes it.

    Parameters
    ----------
    way : PaperWay
        One that holds.
    """
    return partial(_saved, way)


def _saved(way: PaperWay, path: Path) -> None:
    from powersim.report.figures import save_pages

    save_pages(draw_paper_card(way), path)
