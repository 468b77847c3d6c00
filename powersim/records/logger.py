"""What a logger wrote: volts and amperes at many moments."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.errors import Problem
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Ints


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoggerSeries:
    """A time series in order of time; nan where a cell is missing, None where a column is.

    Attributes
    ----------
    file : str
        The file as the sailor named it.
    times_s : ndarray, shape (n,)
        Rising, Unix time of the logger's clock taken as UTC. [s]
    lines : ndarray of int, shape (n,)
        Line of each row in the file.
    volts_V : ndarray, shape (n,), or None
        At the bank. [V]
    amps_A : ndarray, shape (n,), or None
        At the bank, with the logger's own sign. [A]
    solar_A : ndarray, shape (n,), or None
        What the panels give. [A]
    soc : ndarray, shape (n,), or None
        State of charge. [-]
    taken : tuple of str
        What was taken for what, a sentence each.
    broken : int
        Rows that were set aside.
    set_aside : tuple of Problem
        The first of them.
    in_utc : bool
        Whether the file says that its clock shows UTC, or has offsets.
    """

    file: str
    times_s: Array
    lines: Ints
    volts_V: Array | None = None
    amps_A: Array | None = None
    solar_A: Array | None = None
    soc: Array | None = None
    taken: tuple[str, ...] = ()
    broken: int = 0
    set_aside: tuple[Problem, ...] = ()
    in_utc: bool = False

    __repr__ = brief
