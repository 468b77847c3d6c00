"""What a notebook uses: load a folder, simulate it, look at tables and pictures."""

from __future__ import annotations

from powersim.simulation.result import Result as _Result
from powersim.simulation.result import simulate as _simulate


class Result(_Result):
    """A simulated passage with its pictures (`powersim.simulation.result.Result` has the rest)."""

    def plot_soc(self, ax=None):
        """Draw the state of charge, with nights shaded and engine runs marked.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure if left out.

        Returns
        -------
        matplotlib.axes.Axes
        """
        from powersim.report.figures import plot_soc

        return plot_soc(self, ax=ax)

    def plot_energy(self, ax=None):
        """Draw each day's energy in and out, stacked.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure if left out.

        Returns
        -------
        matplotlib.axes.Axes
        """
        from powersim.report.figures import plot_energy

        return plot_energy(self, ax=ax)


def load(folder, *, depart=None):
    """Read a passage folder.

    Parameters
    ----------
    folder : str or path
        With boat.toml, loads.csv and route.csv or route.gpx.
    depart : str, optional
        Leave then and not as boat.toml says, for example "2026-09-05 09:00 UTC".

    Returns
    -------
    Passage

    Raises
    ------
    InputError
        With everything that is wrong with the files.
    """
    from powersim.inputs.folder import load_folder

    return load_folder(folder, depart=depart)


def simulate(passage, *, step_h=0.25) -> Result:
    """Simulate a passage hour by hour with everything working.

    Parameters
    ----------
    passage : Passage
        From `load`, or built by hand.
    step_h : float
        Step of the simulation; a whole number of them makes an hour. [h]

    Returns
    -------
    Result
        With `.hourly`, `.daily`, `.engine`, `.loads`, `.summary`, `.plot_soc()`, `.plot_energy()`.
    """
    return _simulate(passage, step_h=step_h, kind=Result)
