"""What a notebook uses: load a folder, simulate it, look at tables and pictures, lose something."""

from __future__ import annotations

from powersim.simulation.ensemble_summary import RISK_FRAC as _RISK_FRAC
from powersim.simulation.prepared_passage import PreparedPassage
from powersim.simulation.prepared_passage import prepared_passage as _prepared_passage
from powersim.simulation.result import Result as _Result


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

    def plot_fuel(self, ax=None):
        """Draw the diesel that is left, and where the rest went.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure if left out.

        Returns
        -------
        matplotlib.axes.Axes

        Raises
        ------
        ValueError
            If the boat carries no fuel.
        """
        from powersim.report.figures import plot_fuel

        return plot_fuel(self, ax=ax)

    def plot_budget(self, ax=None):
        """Draw what each load takes a day, on average over the passage.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure if left out.

        Returns
        -------
        matplotlib.axes.Axes
        """
        from powersim.report.figures import plot_budget

        return plot_budget(self, ax=ax)

    def plot_map(self, ax=None):
        """Draw the route on a map, with the state of charge along it.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure if left out.

        Returns
        -------
        matplotlib.axes.Axes
        """
        from powersim.report.figures import plot_map

        return plot_map(self, ax=ax)

    def plot_fan(self, ax=None):
        """Draw the state of charge in many weathers: median, 8 of 10, and the lowest.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure if left out.

        Returns
        -------
        matplotlib.axes.Axes

        Raises
        ------
        ValueError
            If the passage was simulated in the mean sky alone.
        """
        from powersim.report.figures import plot_fan

        if self.ensemble is None:
            raise ValueError("simulated in the mean sky alone; give simulate some members")
        return plot_fan(self, ax=ax)


def load(
    folder,
    *,
    depart=None,
    forecast=None,
    irradiance=None,
    or_climatology=False,
    engine_plan=None,
):
    """Read a passage folder, and the weather files that go with it.

    What a command that died there while it wrote has left is put right first; a warning says so.

    Parameters
    ----------
    folder : str or path
        With boat.toml, loads.csv and route.csv or route.gpx.
    depart : str, optional
        Leave then and not as boat.toml says, for example "2026-09-05 09:00 UTC".
    forecast : str or path, optional
        A GRIB file, which goes before the month's mean for the days that it covers.
    irradiance : str or path, optional
        A file of measured light, the same.
    or_climatology : bool
        Do without a weather file that cannot be read or does not cover the boat; the summary then
        tells why.
    engine_plan : str or path, optional
        A file of charging runs that take the place of boat.toml's rule.

    Returns
    -------
    Passage

    Raises
    ------
    InputError
        With everything that is wrong with the files.
    """
    import warnings

    from powersim.inputs.folder import load_folder
    from powersim.report.mending import mend

    for sentence in mend(folder):
        warnings.warn(sentence, stacklevel=2)
    return load_folder(
        folder,
        depart=depart,
        forecast=forecast,
        irradiance=irradiance,
        or_climatology=or_climatology,
        engine_plan=engine_plan,
    )


def simulate(
    passage, *, step_h=0.25, members=1, seed=1, risk_frac=_RISK_FRAC, progress=None
) -> Result:
    """Simulate a passage hour by hour with everything working.

    Parameters
    ----------
    passage : Passage
        From `load`, or built by hand.
    step_h : float
        Step of the simulation; a whole number of them makes an hour. [h]
    members : int
        How many weathers are tried beside the month's mean sky; 1 for none.
    seed : int
        Which weathers: one seed draws the same ones on any machine.
    risk_frac : float
        Share of the weathers that may break the floor or the reserve. [-]
    progress : callable, optional
        Called now and then with the share of the weathers' work that is done.

    Returns
    -------
    Result
        With `.hourly`, `.daily`, `.engine`, `.loads`, `.summary`, `.plot_soc()`, `.plot_energy()`;
        where weathers were tried, with `.ensemble` and `.plot_fan()` too.

    Raises
    ------
    ValueError
        If members is below 1.
    InputError
        If a weather file does not cover the boat, unless it may be left out.
    """
    ready = prepare(passage, step_h=step_h, members=members, seed=seed)
    return ready.simulate(risk_frac=risk_frac, progress=progress)


def prepare(passage, *, step_h=0.25, members=1, seed=1) -> PreparedPassage:
    """Work out all of a passage that comes before its first step, once for many answers.

    Parameters
    ----------
    passage : Passage
        From `load`, or built by hand.
    step_h, members, seed
        As for `simulate`.

    Returns
    -------
    PreparedPassage
        `.simulate()` gives what `simulate` gives. `.with_loads(loads)`, `.with_boat(boat)`,
        `.with_rule(rule)` and `.changed(passage)` are the passage as it then is, and keep all that
        the change leaves as it was: track, sky, weathers, what panels give. So an answer to
        another draw comes in a fraction of the time.

    Raises
    ------
    ValueError
        If members is below 1.
    InputError
        If a weather file does not cover the boat, unless it may be left out.
    """
    return _prepared_passage(passage, step_h=step_h, members=members, seed=seed, kind=Result)


def __getattr__(name):
    # What simulates needs none of it: it is imported when it is asked for.
    if name == "endurance":
        from powersim.planning.endurance import endurance

        return endurance
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def size(
    passage,
    *,
    batteries_Ah=(),
    solars_W=(),
    alternators_A=(),
    chemistries=(),
    members=200,
    seed=1,
    risk_frac=_RISK_FRAC,
    step_h=0.25,
    jobs=1,
):
    """Try other sizes of bank, panels and alternator on the same weathers.

    Parameters
    ----------
    passage : Passage
        From `load`.
    batteries_Ah, solars_W, alternators_A : sequence of float
        Sizes to try, every combination; the boat's own where empty. [Ah], [W], [A]
    chemistries : sequence of str
        Of the bank: "flooded", "gel", "agm", "lifepo4"; the boat's own if empty.
    members : int
        How many weathers.
    seed : int
        Which weathers.
    risk_frac : float
        Share of the weathers in which a choice may fail. [-]
    step_h : float
        Step of the simulation. [h]
    jobs : int or None
        Processes at once; None for one a core.

    Returns
    -------
    Sized
        `.points` has every choice, the boat as she is first; `.front` the cheapest adequate ones,
        lightest first.

    Raises
    ------
    ValueError
        If there are no panels, or is no alternator, that could be scaled.
    InputError
        If what boat.toml says does not go with a chemistry.
    """
    from powersim.inputs.other_chemistry import boats_of
    from powersim.planning.size import points
    from powersim.planning.size_choices import choice_of, grid
    from powersim.planning.size_front import judged
    from powersim.planning.size_point import Study

    boats, _ = boats_of(passage, chemistries)
    study = Study(passage=passage, boats=boats, members=members, seed=seed, step_h=step_h)
    choices = grid(
        boats,
        choice_of(passage.boat),
        chemistries=chemistries,
        batteries_Ah=batteries_Ah,
        solars_W=solars_W,
        alternators_A=alternators_A,
    )
    found = {point.choice: point for point in points(study, choices, jobs=jobs)}
    return judged([found[choice] for choice in choices], risk_frac=risk_frac)
