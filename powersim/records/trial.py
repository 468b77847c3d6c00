"""A sea trial: what a meter showed as loads were switched on and off, one after the other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from powersim.errors import Problem

#: What a load may be, in the order in which a row of the sheet is read.
SWITCHED = ("off", "idle", "on")


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialReading:
    """One reading of the meter, with what was switched just before it.

    Attributes
    ----------
    file : str
        The sheet as the sailor named it.
    line : int
        Where its row begins in it.
    row : str
        As it stands there.
    column : str
        Which cell of the row: one of SWITCHED.
    places : dict of str to (int, str)
        Number and spreadsheet letter of each column's cell.
    loads : tuple of str
        What is in that state from here on; empty where nothing was switched.
    everything : bool
        Whether all loads of the sheet are, and not some by name.
    shown_A : float
        What the meter showed, as it was read: the sign is the meter's. [A]
    step_A : float
        Its last digit. [A]
    counted : bool
        Whether a counter told it over a time, and not a meter at a glance.
    voltage_V : float or None
        At the bank, at that moment. [V]
    """

    file: str
    line: int
    row: str
    column: str
    places: Mapping[str, tuple[int, str]] = field(default_factory=dict)
    loads: tuple[str, ...] = ()
    everything: bool = False
    shown_A: float
    step_A: float
    counted: bool = False
    voltage_V: float | None = None

    def __post_init__(self) -> None:
        if self.column not in SWITCHED:
            raise ValueError(f"unknown state {self.column!r}")
        if not self.step_A > 0.0:
            raise ValueError(f"step_A must be above 0, got {self.step_A!r}")

    def problem(self, column: str, reason: str, expected: str | None) -> Problem:
        """What is wrong with one cell of its row.

        Parameters
        ----------
        column : str
            Its heading.
        reason, expected : str
            What is wrong, and what would be right.
        """
        number, letter = self.places.get(column, (None, None))
        where = f"{column} (column {letter})" if letter else column
        return Problem(
            file=self.file,
            line=self.line,
            field=number,
            text=f"{where}: {reason}",
            expected=expected,
            row=self.row,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A sheet of readings as far as it can be read.

    Attributes
    ----------
    readings : tuple of TrialReading
        In the order in which they were taken.
    set_aside : tuple of Problem
        Cells, rows and columns that could not be read.
    """

    readings: tuple[TrialReading, ...] = ()
    set_aside: tuple[Problem, ...] = ()
