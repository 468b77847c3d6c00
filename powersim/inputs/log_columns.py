"""The columns of log.csv: what each may hold, and how its cells are read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from powersim.inputs.boat_passage import FIRST_YEAR, LAST_YEAR
from powersim.inputs.date_columns import ORDERS
from powersim.inputs.decimals import POSITION
from powersim.inputs.depths import read_depth
from powersim.inputs.headings import CsvColumn
from powersim.inputs.legs import read_cloud
from powersim.inputs.needle_marks import read_mark
from powersim.inputs.positions import parse_position
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import cans_L
from powersim.inputs.units import split, to_float

#: Columns that tell when: time or ship_time, and date where those have the time of the day alone.
TIME, SHIP_TIME, DATE = "time", "ship_time", "date"
_LONGEST_NOTE = 2_000
_MOST_OUT_Ah = 10_000.0  # as large as banks may be
_YEARS = f"the years {FIRST_YEAR} to {LAST_YEAR}"

Fields = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class LogColumn:
    """A column of log.csv and how its cells are read.

    Attributes
    ----------
    column : CsvColumn
        Its name and what it holds.
    read : callable or None
        From a cell's text and the heading's unit to fields of LogEntry; None of those that tell
        when, which are read together.
    span : str
        What it may be, for the reference page.
    taken : str or None
        The one unit that a number without any can have here, of a heading without any.
    taken_as : str
        What is said of it then.
    """

    column: CsvColumn
    read: Callable[[str, str | None], Fields] | None
    span: str = ""
    taken: str | None = None
    taken_as: str = ""


def _read_position(text: str, bare: str | None) -> Fields:
    lat_deg, lon_deg = parse_position(text)
    return {"lat_deg": lat_deg, "lon_deg": lon_deg}


def _quantity(name: str, unit: str, least: float, most: float):
    """A reader of one quantity between two bounds, and the bounds in words."""
    shown = "%" if unit == "frac" else unit
    scale = 100.0 if unit == "frac" else 1.0
    span = f"{scale * least:.0f} {shown} to {scale * most:.0f} {shown}"

    def read(text: str, bare: str | None) -> Fields:
        number = to_float(text, unit, bare=bare)
        if not least <= number <= most:
            raise ReadingError(f"{quoted(text)} is not between {span.replace(' to ', ' and ')}")
        return {name: number}

    return {"read": read, "span": span}


def _read_dip(text: str, bare: str | None) -> Fields:
    number, unit = read_depth(text, or_litres=True, bare=bare)
    most = {"m": 5.0, "L": 10_000.0}[unit]
    if not 0 <= number <= most:
        raise ReadingError(f"{quoted(text)} is not between 0 and {most:g} {unit}")
    return {f"dip_{unit}": number}


def _read_monitor(text: str, bare: str | None) -> Fields:
    number_Ah = to_float(text, "Ah", bare=bare)
    if not -_MOST_OUT_Ah <= number_Ah <= 0:
        reason = f"{quoted(text)} is not between -{_MOST_OUT_Ah:.0f} Ah and 0 Ah"
        if number_Ah > 0:  # nobody can tell which of the two
            reason += ": is its minus left out, or is it what is left of the bank?"
        raise ReadingError(reason)
    return {"monitor_Ah": number_Ah + 0.0}  # no minus zero


def _read_needle(text: str, bare: str | None) -> Fields:
    return {"needle_frac": read_mark(text)}


def _cans_reader(can_L: float | None):
    """A reader of what is left in cans: a count of full ones, `2 x 20 L`, or litres."""

    def read(text: str, bare: str | None) -> Fields:
        if "x" in text.lower().replace("×", "x").replace("*", "x"):
            return {"cans_L": cans_L(text)}
        number, unit = split(text)
        if unit is not None or bare is not None:
            left_L = to_float(text, "L", bare=bare)
        elif number == 0:
            left_L = 0.0
        elif can_L is None:
            raise ReadingError(
                f"{quoted(text)} is a count, and boat.toml does not say how large a can is"
            )
        else:
            left_L = number * can_L
        if not 0 <= left_L <= 10_000:
            raise ReadingError(f"{quoted(text)} is not between 0 L and 10000 L")
        return {"cans_L": left_L}

    return read


def _read_cloud(text: str, bare: str | None) -> Fields:
    return {"cloud_oktas": read_cloud(text, bare)["cloud_oktas"]}


def _read_note(text: str, bare: str | None) -> Fields:
    return {"note": text[:_LONGEST_NOTE]}


def log_columns(can_L: float | None = None) -> tuple[LogColumn, ...]:
    """The columns of log.csv.

    Parameters
    ----------
    can_L : float or None
        What one jerrycan holds, so that a count of them can be read. [L]
    """

    def column(name, meaning, example, units=(), **more):
        return CsvColumn(name=name, meaning=meaning, example=example, units=units, **more)

    return (
        LogColumn(
            column=column(
                TIME,
                "when, UTC unless 'ship' stands behind it",
                "2026-09-12 08:00",
                forms=tuple(ORDERS),
            ),
            read=None,
            span=_YEARS,
        ),
        LogColumn(
            column=column(
                SHIP_TIME,
                "when, in ship's time, in place of time",
                "2026-09-12 06:00",
                forms=tuple(ORDERS),
            ),
            read=None,
            span=_YEARS,
        ),
        LogColumn(
            column=column(
                DATE,
                "the date, where time or ship_time has the time of the day alone",
                "2026-09-12",
                forms=tuple(ORDERS),
            ),
            read=None,
            span=_YEARS,
        ),
        LogColumn(
            column=column("position", "the fix", "52 10.5 N 27 31 W", holds=POSITION),
            read=_read_position,
        ),
        LogColumn(
            column=column("soc", "charge, as the monitor shows it", "72 %", ("frac",)),
            **_quantity("soc", "frac", 0.0, 1.0),
            taken="%",
            taken_as="percent",
        ),
        LogColumn(
            column=column("voltage", "volts at the bank", "12.45 V", ("V",)),
            **_quantity("voltage_V", "V", 0.0, 100.0),
            taken="V",
            taken_as="volts",
        ),
        LogColumn(
            column=column(
                "resting_h",
                "for how long next to no current had flowed, in or out",
                "3 h; a bare number is hours",
                ("h",),
            ),
            **_with_bare(_quantity("resting_h", "h", 0.0, 1_000.0), "h"),
        ),
        LogColumn(
            column=column("current", "amperes into the bank, below 0 out of it", "-3.2 A", ("A",)),
            **_quantity("current_A", "A", -2_000.0, 2_000.0),
            taken="A",
            taken_as="amperes, below 0 out of the bank",
        ),
        LogColumn(
            column=column("engine_h", "the hour meter", "1234.5 h; a bare number is hours", ("h",)),
            **_with_bare(_quantity("engine_h", "h", 0.0, 100_000.0), "h"),
        ),
        LogColumn(
            column=column(
                "gear_h",
                "hours in gear: a meter's, or all since departure; a count that only goes up",
                "31.5 h; a bare number is hours",
                ("h",),
            ),
            **_with_bare(_quantity("gear_h", "h", 0.0, 100_000.0), "h"),
        ),
        LogColumn(
            column=column("dip", "the stick in the tank, depth or litres", "23.5 cm", ("cm", "L")),
            read=_read_dip,
            span="0 cm to 500 cm, or 0 L to 10000 L",
        ),
        LogColumn(
            column=column("needle", "the tank's gauge, where no stick is read", "1/4, E or 30 %"),
            read=_read_needle,
            span="0 % to 100 %",
        ),
        LogColumn(
            column=column("cans_left", "full jerrycans left", "2, 2 x 20 L or 40 L", ("L",)),
            read=_cans_reader(can_L),
            span="0 L to 10000 L",
        ),
        LogColumn(
            column=column(
                "absorb_A", "amperes into the bank at absorption voltage", "4.2 A", ("A",)
            ),
            **_with_bare(_quantity("absorb_A", "A", 0.0, 2_000.0), "A"),
        ),
        LogColumn(
            column=column("fuel_added", "fuel bought since the entry before", "20 L", ("L",)),
            **_quantity("fuel_added_L", "L", 0.0, 10_000.0),
        ),
        LogColumn(
            column=column("solar_Ah", "the controller's counter", "182 Ah", ("Ah",)),
            **_with_bare(_quantity("solar_Ah", "Ah", 0.0, 10_000_000.0), "Ah"),
        ),
        LogColumn(
            column=column(
                "monitor_Ah",
                "the battery monitor's own count, 0 when full and below 0 by what has left since",
                "-35.2 Ah; a bare number is Ah",
                ("Ah",),
            ),
            **_with_bare({"read": _read_monitor, "span": f"-{_MOST_OUT_Ah:.0f} Ah to 0 Ah"}, "Ah"),
        ),
        LogColumn(
            column=column("cloud", "cloud of the day, in eighths", "6 oktas", ("okta",)),
            read=_read_cloud,
            span="0 oktas to 8 oktas",
        ),
        LogColumn(column=column("note", "free text", "reefed at noon"), read=_read_note),
    )


def _with_bare(reader: dict, unit: str) -> dict:
    """The same for a column whose very name has the unit of a bare number."""
    read = reader["read"]
    return reader | {"read": lambda text, bare: read(text, bare or unit)}


def bare_unit(each: LogColumn, text: str, *, separator: str) -> str | None:
    """The unit of a number that stands in a column without any, where only one can be meant.

    Parameters
    ----------
    each : LogColumn
        The column, whose heading names no unit.
    text : str
        The cell, with decimals behind a point.
    separator : str
        Between the cells of the table.

    Returns
    -------
    str or None
        None where the cell has a unit of its own, or the column takes none for granted.

    Raises
    ------
    ReadingError
        With a `reason`, if it may be something else: a share, or half of a number whose comma has
        been taken for the end of a cell.
    """
    if each.taken is None or split(text)[1] is not None:
        return None
    number = split(text)[0]
    if each.taken == "%" and 0 < abs(number) <= 1:
        raise ReadingError(f"{quoted(text)} may be a share or percent")
    if each.taken != "%" and separator == "," and "." not in text and number:
        raise ReadingError(f"{quoted(text)} has no unit, and may be half of a number with a comma")
    return each.taken
