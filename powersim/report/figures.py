"""The pictures of a simulated passage, under one roof: what there is, and how it is saved."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from powersim.report.axes import any_script
from powersim.report.charge_look import WIDE, Look
from powersim.report.figure_budget import budget_figure, plot_budget
from powersim.report.figure_charge import charge_figure, plot_alone
from powersim.report.figure_energy import energy_figure, plot_energy
from powersim.report.figure_fan import fan_figure, plot_fan
from powersim.report.figure_fuel import fuel_figure, plot_fuel
from powersim.report.figure_map import map_figure, plot_map

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path
    from typing import IO

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure, SubFigure

    from powersim.simulation.result import SimulationResult

__all__ = [
    "budget_figure",
    "charge_figure",
    "energy_figure",
    "fan_figure",
    "figure_files",
    "fuel_figure",
    "map_figure",
    "plot_budget",
    "plot_energy",
    "plot_fan",
    "plot_fuel",
    "plot_map",
    "plot_soc",
    "save",
    "save_pages",
]


def plot_soc(result: SimulationResult, ax: Axes | None = None, *, look: Look = WIDE) -> Axes:
    """Draw the state of charge: a fan where many members were tried, else the one curve.

    Parameters
    ----------
    result : Result
        Of the simulation.
    ax : matplotlib.axes.Axes, optional
        Where to draw, strips and all; a new figure if left out.
    look : Look
        How large, and what there is room for.

    Returns
    -------
    matplotlib.axes.Axes
        Those of the charge; the strips below have axes of their own in the same figure.
    """
    draw = plot_alone if result.ensemble is None else plot_fan
    return draw(result, ax=ax, look=look)


#: Every picture by its file's name, in the order of the report.
PLOTS = {
    "soc": plot_soc,
    "energy": plot_energy,
    "fuel": plot_fuel,
    "budget": plot_budget,
    "map": plot_map,
}
FORMATS = ("png", "svg", "pdf")
#: Dots an inch of a PNG: large enough for a screen, small enough to send. [1/inch]
FIGURE_DPI = 110
#: Of a page that is printed from a picture: fine enough for letters of nine points. [1/inch]
PAPER_DPI = 200
#: No date in a file, so that the same passage gives the same file.
_METADATA = {"svg": {"Date": None}, "pdf": {"CreationDate": None}, "png": None}


def names_for(result: SimulationResult) -> tuple[str, ...]:
    """Which of PLOTS a passage has: no ledger without an engine."""
    none = set() if result.passage.boat.fuel is not None else {"fuel"}
    return tuple(name for name in PLOTS if name not in none)


def figure_files(
    result: SimulationResult, *, names: Iterable[str], kind: str = "png"
) -> dict[str, Callable[[Path], None]]:
    """Pictures as files.

    Parameters
    ----------
    result : Result
        Of the simulation.
    names : sequence of str
        Keys of PLOTS.
    kind : str
        One of FORMATS.

    Returns
    -------
    dict
        By file name, as `writing.write_all` takes it.
    """
    return {
        f"{name}.{kind}": partial(_drawn, PLOTS[name], result, kind=kind)
        for name in names_for(result)
        if name in names
    }


def _drawn(
    plot: Callable[[SimulationResult], Axes], result: SimulationResult, path: Path, *, kind: str
) -> None:
    save(plot(result).figure, path, kind=kind)


def save(
    figure: Figure | SubFigure, where: Path | IO[str], *, kind: str, salt: str = "powersim"
) -> None:
    """Save a figure, the same bytes every time."""
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    assert isinstance(figure, Figure), "a part of a figure is not saved by itself"
    # Letters stay letters: they can be searched and read aloud, and the file is smaller.
    with (
        any_script(),
        rc_context({"svg.fonttype": "none", "svg.hashsalt": salt, "pdf.fonttype": 42}),
    ):
        figure.savefig(where, format=kind, dpi=FIGURE_DPI, metadata=_METADATA[kind])


def save_pages(pages: Sequence[Figure], where: Path) -> None:
    """Save figures as the pages of one PDF, the same bytes every time."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import PdfPages

    with (
        any_script(),
        rc_context({"pdf.fonttype": 42}),
        PdfPages(where, metadata=_METADATA["pdf"]) as file,
    ):
        for page in pages:
            file.savefig(page)


def page_pictures(pages: Sequence[Figure]) -> list[bytes]:
    """Figures as the pages that they would be on paper, each a PNG.

    Parameters
    ----------
    pages : sequence of matplotlib.figure.Figure
        As `card_pages.draw_card` gives them.
    """
    from io import BytesIO

    from matplotlib import rc_context

    found = []
    with any_script(), rc_context({"savefig.facecolor": "white"}):
        for page in pages:
            picture = BytesIO()
            page.savefig(picture, format="png", dpi=PAPER_DPI, metadata=_METADATA["png"])
            found.append(picture.getvalue())
    return found
