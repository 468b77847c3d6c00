"""Pictures drawn anew for a phone, where a wide one would have to be scrolled sideways."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from powersim.report.axes import ship_dates_along
from powersim.report.figure_budget import plot_budget
from powersim.report.figure_energy import plot_energy
from powersim.report.figure_fuel import plot_fuel

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.simulation.result import SimulationResult

#: As wide as a phone of 360 dots shows at about the size of its own words. [inch]
_WIDE_IN, _FONT_POINTS = 4.0, 9.0
#: Dates along the bottom, at most.
_MOST_DATES = 3
#: The words beside bars take more of a small picture's width. [-]
_WORDS_BESIDE = 1.5
#: Pictures that have such a look: how each is drawn, how high, and whether dates run along it.
LOOKS: dict[str, tuple[Callable[..., Axes], float, bool]] = {
    "fuel": (plot_fuel, 4.6, True),
    "energy": (plot_energy, 5.6, True),
    "budget": (plot_budget, 4.6, False),
}


def plot_for_phone(result: SimulationResult, name: str) -> Axes:
    """One of LOOKS in small; what it is, the page says beside it.

    Parameters
    ----------
    result : Result
        Of the simulation.
    name : str
        A key of LOOKS.
    """
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    plot, high_in, dated = LOOKS[name]
    with rc_context({"font.size": _FONT_POINTS}):
        figure = Figure(figsize=(_WIDE_IN, high_in), layout="constrained")
        ax = plot(result, ax=figure.subplots())
        ax.set_title("", loc="left")
        if dated and name != "energy":
            ship_dates_along(ax, result, most=_MOST_DATES)
        elif dated:
            # Its bars stand on the ship's days, whose dates they are.
            ax.set_xticks(ax.get_xticks()[:: max(1, -(-len(ax.get_xticks()) // _MOST_DATES))])
        else:
            ax.set_xlim(right=_WORDS_BESIDE * ax.get_xlim()[1])
    return ax
