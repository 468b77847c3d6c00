"""Boats, dates and values side by side, in the same simulated passages."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from powersim.api.asked import passage_of
from powersim.defaults import MEMBERS, RISK_FRAC, SEED, STEP_h
from powersim.planning.compare import Choice, Study, outcomes
from powersim.planning.compare_best import Compared
from powersim.records.units_aboard import printed_in

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from powersim.inputs.departures import Departure
    from powersim.records import Passage

_DEPART = "passage.depart"


class Comparison(Compared):
    """Choices simulated side by side; `powersim.planning.compare_best.Compared` has the rest."""

    def to_dataframe(self) -> pd.DataFrame:
        """Every choice in a row: what it comes to, and how it differs from the first.

        Returns
        -------
        pandas.DataFrame
            With the columns of compare.csv, in the order asked.
        """
        from powersim.report.compare_files import compare_table

        return compare_table(self)

    def plot(self) -> Axes:
        """Draw chance and litres over the departures, or else a row for each choice.

        Returns
        -------
        matplotlib.axes.Axes
            The first of its panels; its figure has the others.
        """
        from powersim.report.figure_compare import plot_compare

        with printed_in(self.choices[0].passage.units):
            return plot_compare(self)


def compare(
    passages: Passage | Sequence[Passage] | Mapping[str, Passage],
    *,
    departs: Iterable[str | datetime] = (),
    members: int = MEMBERS,
    seed: int = SEED,
    risk_frac: float = RISK_FRAC,
    step_h: float = STEP_h,
    jobs: int | None = None,
    backend: str = "local",
    scheduler: str | None = None,
) -> Comparison:
    """Try passages side by side in the same simulated passages, each on every departure.

    Parameters
    ----------
    passages : Passage, or a sequence or mapping of them
        Such as `passage` and `passage.with_("battery.capacity", "300 Ah")`; a mapping gives them
        names. Differences are told against the first.
    departs : iterable of str or datetime
        Dates, and ranges such as "2026-09-01:2026-10-15:7d"; a date without a time leaves at the
        passage's own time of day. Each passage's own departure alone if empty.
    members : int
        How many simulated passages, 2 or more.
    seed : int
        Which ones: one seed draws the same on any machine.
    risk_frac : float
        Share of them that may fail. [-]
    step_h : float
        Step of the simulation. [h]
    jobs : int or None
        Processes at once on this machine; None for one a core.
    backend : str
        "local", or "dask" for a cluster of your own.
    scheduler : str or None
        Of that cluster, such as "tcp://192.168.1.20:8786". Whoever answers there can run code on
        this machine.

    Returns
    -------
    Comparison
        With `.outcomes`, `.differences`, `.holding`, `.not_told_apart`, `.to_dataframe()` and
        `.plot()`. Its first choice is the first passage as it is.

    Raises
    ------
    InputError
        If a departure cannot be read, or a weather file does not cover a choice, unless it may be
        left out.
    ValueError
        If there is no passage, or members is below 2.
    TypeError
        If one of them is no passage.
    PowersimError
        If the cluster cannot be reached, or a process ends before its work.
    """
    from powersim.inputs.departures import departures_of

    if not members >= 2:
        raise ValueError(f"members must be 2 or more, got {members!r}")
    named = _named(passages)
    choices = _choices(named, departures_of(departs))
    study = Study(members=members, seed=seed, step_h=step_h, risk_frac=risk_frac)
    where: dict[str, Any] = {"jobs": jobs, "backend": backend, "scheduler": scheduler}
    found = dict(outcomes(study, choices, **where))
    return Comparison(
        study=study,
        choices=tuple(choices),
        outcomes=tuple(found[at] for at in range(len(choices))),
    )


def _named(passages: Passage | Sequence[Passage] | Mapping[str, Passage]) -> list[Choice]:
    """Each passage with its name, what is changed in it, and what that is warned of."""
    from powersim.inputs.change_cautions import warned

    if isinstance(passages, Mapping):
        pairs = [(str(name), passage_of(one)) for name, one in passages.items()]
    else:
        several = passages if isinstance(passages, Sequence) else [passages]
        pairs = [(passage.name, passage) for passage in map(passage_of, several)]
    if not pairs:
        raise ValueError("there is no passage to compare")
    first = pairs[0][1]
    choices = [
        Choice(passage=one, name=name, told=_told(one), **warned(one, first)._asdict())
        for name, one in pairs
    ]
    # Passages changed by other means than values are told apart by their numbers.
    count = Counter((one.name, one.told) for one in choices)
    return [
        replace(one, name=f"{one.name} {at}") if count[one.name, one.told] > 1 else one
        for at, one in enumerate(choices, 1)
    ]


def _told(passage: Passage) -> tuple[str, ...]:
    return tuple(one.told for one in passage.changed if one.place != _DEPART)


def _choices(named: Sequence[Choice], departures: Sequence[Departure]) -> list[Choice]:
    """The first as it is, and each on every departure, none twice."""
    found: dict[tuple[str, tuple[str, ...], datetime], Choice] = {}
    for one in [named[0], *named]:
        own = one.passage.depart_utc
        # The first of all stands in front on its own departure, whatever others are asked for.
        asked = [own] if not found else [each.of(own) for each in departures] or [own]
        for depart_utc in asked:
            leaves = replace(one, passage=replace(one.passage, depart_utc=depart_utc))
            found.setdefault((one.name, one.told, depart_utc), leaves)
    return list(found.values())
