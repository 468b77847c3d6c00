"""The records of the endurance table: numbers only, for screen, page and JSON."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from powersim.planning.dropping import Dropping
from powersim.planning.fuel_lasts import FuelCourse
from powersim.planning.sessions_left import SessionTable
from powersim.planning.worst_moment import WorstMoment
from powersim.records.brief import brief


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Endurance:
    """One line of the endurance table.

    Attributes
    ----------
    loss : str
        What is lost: `failures.WORKING`, a name of `failures.FAILURES`, or "without" and what the
        sailor listed.
    loads : str
        Which loads are on, a key of `cases.LOAD_SETS`.
    days_to_floor, days_to_flat : float or ndarray, shape (members,)
        Days until then; infinite where landfall, or the end of the time held after it, comes
        first. [days]
    at_once : bool
        Whether everything goes dark at the very moment of the loss.
    """

    loss: str
    loads: str
    days_to_floor: float | np.ndarray
    days_to_flat: float | np.ndarray
    at_once: bool = False

    __repr__ = brief


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DaysFrom:
    """How long the bank lasts from one moment of the passage on.

    Attributes
    ----------
    from_h : float
        The moment, in hours after departure, at a step's edge. [h]
    soc : float or ndarray, shape (members,)
        State of charge at that moment in the simulated passage. [-]
    days_to_landfall : float
        Days from that moment to landfall. [days]
    lines : tuple of Endurance
        The losses in order, and within each the sets of loads.
    worst : WorstMoment or None
        How the moment was found, where it is the worst; None for departure.
    """

    from_h: float
    soc: float | np.ndarray
    days_to_landfall: float
    lines: tuple[Endurance, ...]
    worst: WorstMoment | None = None

    __repr__ = brief

    def line(self, loss: str, loads: str) -> Endurance:
        """The line of a loss with a set of loads on."""
        return next(one for one in self.lines if (one.loss, one.loads) == (loss, loads))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EnduranceTable:
    """The moment that days are counted from, all lines, what loads cost, and what the diesel does.

    Attributes
    ----------
    from_h : float
        The moment, in hours after departure, at a step's edge. [h]
    soc : float or ndarray, shape (members,)
        State of charge at that moment in the simulated passage. [-]
    days_to_landfall : float
        Days from that moment to landfall. [days]
    held_days : float
        Days for which the boat is held at her last position after landfall, if any. [days]
    lines : tuple of Endurance
        The losses in order, and within each the sets of loads.
    notes : tuple of str
        What is meant by a loss whose name does not say it, one sentence each.
    dropping : Dropping or None
        What leaving each load off would gain; None where it was not asked for.
    fuel : tuple of FuelCourse
        The diesel as planned, and with every leg half as long again; empty without an engine, or
        where it was not asked for.
    sessions : SessionTable
        What a message costs and how many the bank still has in it at that moment; empty where
        nothing is sent, or where it was not asked for.
    worst : WorstMoment or None
        How the moment was found, where the worst was asked for.
    beside : DaysFrom or None
        From the worst moment, or from departure where the worst was asked for: every loss with all
        loads and with the essential ones alone, that of all charging without comfort loads too.
        None where costs were not asked for.
    seed : int or None
        Seed of the members; None for the mean sky.
    """

    from_h: float
    soc: float | np.ndarray
    days_to_landfall: float
    held_days: float = 0.0
    lines: tuple[Endurance, ...]
    notes: tuple[str, ...] = ()
    dropping: Dropping | None = None
    fuel: tuple[FuelCourse, ...] = ()
    sessions: SessionTable = field(default_factory=SessionTable)
    worst: WorstMoment | None = None
    beside: DaysFrom | None = None
    seed: int | None = None

    __repr__ = brief

    @property
    def counted(self) -> DaysFrom:
        """The lines with the moment that they are counted from."""
        return DaysFrom(
            from_h=self.from_h,
            soc=self.soc,
            days_to_landfall=self.days_to_landfall,
            lines=self.lines,
            worst=self.worst,
        )

    @property
    def passages(self) -> int:
        """How many were simulated; 1 in average weather."""
        return 1 if isinstance(self.soc, float) else len(self.soc)
