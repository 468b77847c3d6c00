"""A simulated passage with its pictures, and a passage prepared for many answers."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from powersim.api.asked import passage_of
from powersim.defaults import MEMBERS, RISK_FRAC, SEED, STEP_h
from powersim.records import Passage
from powersim.records.units_aboard import printed_in
from powersim.simulation.prepared_passage import PreparedPassage, prepared_passage
from powersim.simulation.result import SimulationResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes


class Result(SimulationResult):
    """A simulated passage with its pictures; `SimulationResult` has the rest."""

    def plot_soc(self, ax: Axes | None = None) -> Axes:
        """Draw the state of charge, with nights shaded and the engine's hours below.

        Where many members were tried: the median, what 8 in 10 lie between, what all stay above
        but as many as may fail, and how many have failed by then.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure if left out.

        Returns
        -------
        matplotlib.axes.Axes
            That it was drawn on.
        """
        from powersim.report.figures import plot_soc

        return plot_soc(self, ax=ax)

    def plot_energy(self, ax: Axes | None = None) -> Axes:
        """Draw each day's energy in and out, stacked.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure if left out.

        Returns
        -------
        matplotlib.axes.Axes
            That it was drawn on.
        """
        from powersim.report.figures import plot_energy

        return plot_energy(self, ax=ax)

    def plot_fuel(self, ax: Axes | None = None) -> Axes:
        """Draw the diesel that is left, with the reserve.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure if left out.

        Returns
        -------
        matplotlib.axes.Axes
            That it was drawn on.

        Raises
        ------
        ValueError
            If the boat carries no fuel.
        """
        from powersim.report.figures import plot_fuel

        with printed_in(self.passage.units):
            return plot_fuel(self, ax=ax)

    def plot_budget(self, ax: Axes | None = None) -> Axes:
        """Draw what each load takes a day, on average over the passage.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure if left out.

        Returns
        -------
        matplotlib.axes.Axes
            That it was drawn on.
        """
        from powersim.report.figures import plot_budget

        return plot_budget(self, ax=ax)

    def plot_map(self, ax: Axes | None = None) -> Axes:
        """Draw the route on a map, with each day's lowest charge.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure if left out.

        Returns
        -------
        matplotlib.axes.Axes
            That it was drawn on.
        """
        from powersim.report.figures import plot_map

        return plot_map(self, ax=ax)


def simulate(
    passage: Passage,
    *,
    step_h: float = STEP_h,
    members: int = MEMBERS,
    seed: int = SEED,
    risk_frac: float = RISK_FRAC,
    progress: Callable[[float], object] | None = None,
) -> Result:
    """Simulate a passage hour by hour with everything working.

    Parameters
    ----------
    passage : Passage
        From `load`, or built by hand.
    step_h : float
        Step of the simulation; a whole number of them makes an hour. [h]
    members : int
        How many members are tried beside average weather; 1 for none, average weather alone.
    seed : int
        Which members: one seed draws the same ones on any machine.
    risk_frac : float
        Share of the members that may fail: floor, darkness or reserve. [-]
    progress : callable, optional
        Called now and then with the share of the members' work that is done.

    Returns
    -------
    Result
        With `.hourly`, `.daily`, `.engine`, `.loads`, `.summary`, `.plot_soc()`, `.plot_energy()`;
        where members were tried, with `.ensemble` too.

    Raises
    ------
    ValueError
        If members is below 1.
    InputError
        If a weather file does not cover the boat, unless it may be left out.
    """
    ready = prepare(passage, step_h=step_h, members=members, seed=seed)
    return ready.simulate(risk_frac=risk_frac, progress=progress)


def prepare(
    passage: Passage, *, step_h: float = STEP_h, members: int = MEMBERS, seed: int = SEED
) -> PreparedPassage[Result]:
    """Work out all of a passage that comes before its first step, once for many answers.

    Parameters
    ----------
    passage : Passage
        From `load`, or built by hand.
    step_h : float
        As for `simulate`. [h]
    members, seed : int
        As for `simulate`.

    Returns
    -------
    PreparedPassage
        `.simulate()` gives what `simulate` gives. `.with_loads(loads)`, `.with_boat(boat)`,
        `.with_rule(rule)` and `.changed(passage)` are the passage as it then is, and keep all that
        the change leaves as it was: track, sky, members, what panels give. So an answer to
        another draw comes in a fraction of the time.

    Raises
    ------
    ValueError
        If members is below 1.
    InputError
        If a weather file does not cover the boat, unless it may be left out.
    """
    asked = passage_of(passage)
    return prepared_passage(asked, step_h=step_h, members=members, seed=seed, kind=Result)
