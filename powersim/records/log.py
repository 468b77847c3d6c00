"""What was written down at sea: one entry of the log, and the log as far as it can be read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from powersim.errors import Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class LogEntry:
    """One entry; None for what it does not tell.

    Attributes
    ----------
    file : str
        The log as the sailor named it.
    line : int
        Where the entry begins in it.
    row : str
        As it stands there.
    places : dict of str to (int, str)
        Number and spreadsheet letter of each column's cell.
    clock_s : float
        Its time as Unix time; if `in_ship_time`, of a clock that shows ship's time. [s]
    in_ship_time : bool
        Whether ship's offset has still to be taken off.
    lat_deg, lon_deg : float or None
        The fix; both or none. [deg]
    soc : float or None
        What the battery monitor says. [-]
    voltage_V : float or None
        At the bank. [V]
    resting_h : float or None
        How long no current to speak of had flowed by then. [h]
    current_A : float or None
        Above 0 into the bank, below 0 out of it, as monitors show it. [A]
    engine_h : float or None
        The hour meter. [h]
    gear_h : float or None
        Hours in gear, as a count that goes up: since departure, or as a meter shows them. [h]
    dip_m, dip_L : float or None
        The stick in the tank, as a depth or as read off a table; one of them at most. [m], [L]
    needle_frac : float or None
        The needle of the tank's gauge, 0 at E and 1 at F. [-]
    cans_L : float or None
        Left in jerrycans. [L]
    absorb_A : float or None
        Into the bank at absorption voltage. [A]
    fuel_added_L : float or None
        Bought since the entry before. [L]
    solar_Ah : float or None
        The controller's counter. [Ah]
    monitor_Ah : float or None
        The battery monitor's own count since it last took the bank to be full: 0 then, and below 0
        by what has left the bank since. [Ah]
    cloud_oktas : float or None
        Since the entry before, or now. [-]
    note : str
        Free text.
    """

    file: str
    line: int
    row: str
    places: Mapping[str, tuple[int, str]] = field(default_factory=dict)
    clock_s: float
    in_ship_time: bool = False
    lat_deg: float | None = None
    lon_deg: float | None = None
    soc: float | None = None
    voltage_V: float | None = None
    resting_h: float | None = None
    current_A: float | None = None
    engine_h: float | None = None
    gear_h: float | None = None
    dip_m: float | None = None
    dip_L: float | None = None
    needle_frac: float | None = None
    cans_L: float | None = None
    absorb_A: float | None = None
    fuel_added_L: float | None = None
    solar_Ah: float | None = None
    monitor_Ah: float | None = None
    cloud_oktas: float | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if (self.lat_deg is None) != (self.lon_deg is None):
            raise ValueError("a fix has both lat_deg and lon_deg")
        if self.dip_m is not None and self.dip_L is not None:
            raise ValueError("a dip is a depth or litres, not both")
        if self.soc is not None and not 0 <= self.soc <= 1:
            raise ValueError(f"soc must be 0 to 1, got {self.soc!r}")
        if self.monitor_Ah is not None and not self.monitor_Ah <= 0:
            raise ValueError(f"monitor_Ah must be 0 or below, got {self.monitor_Ah!r}")

    def problem(self, column: str, reason: str, expected: str | None) -> Problem:
        """What is wrong with one of its cells.

        Parameters
        ----------
        column : str
            Its heading.
        reason, expected : str
            What is wrong, and what would be right.

        Returns
        -------
        Problem
            With file, line and column.
        """
        number, letter = self.places.get(column, (None, None))
        where = f"{column} (column {letter})" if letter else column
        return Problem(
            file=self.file,
            line=self.line,
            field=number,
            text=f"{where}: {reason}",
            expected=expected,
            row=self.row or None,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """A log as far as it can be read.

    Attributes
    ----------
    entries : tuple of LogEntry
        In the order of the file.
    set_aside : tuple of Problem
        Cells, rows and columns that could not be read.
    taken : tuple of str
        How cells were taken that could have been taken otherwise, each said once.
    """

    entries: tuple[LogEntry, ...] = ()
    set_aside: tuple[Problem, ...] = ()
    taken: tuple[str, ...] = ()

    def with_more(self, other: Log) -> Log:
        """The same with what another log holds behind it.

        Parameters
        ----------
        other : Log
            Of the same passage.

        Returns
        -------
        Log
            With what was set aside and taken of both.
        """
        return Log(
            entries=self.entries + other.entries,
            set_aside=self.set_aside + other.set_aside,
            taken=tuple(dict.fromkeys(self.taken + other.taken)),
        )
