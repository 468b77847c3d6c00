"""A generator's power curve from a CSV file: power against apparent wind or speed in the water."""

from __future__ import annotations

from dataclasses import dataclass
from os import PathLike
from pathlib import Path

from powersim.errors import Problem
from powersim.inputs import units
from powersim.inputs.headings import CsvColumn
from powersim.inputs.table import CsvRow, collect_table, problem_at
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import written
from powersim.records.chargers import CHARGERS, RECORD_OF_KIND
from powersim.records.chargers.power_curve import MOST_W, Stream, curve_fault

_FOLDER = Path(__file__).with_name("curves")
#: Rotors for which the invented curves of the package are drawn, by kind. [m]
GENERIC_DIAMETER_M = {
    kind: diameter_m for record in CHARGERS for kind, diameter_m in record.usual_diameter_m.items()
}

POWER = CsvColumn(
    name="power",
    meaning="what it gives the bank at that speed, 0 in the first row",
    example="60 W",
    required=True,
    units=("W",),
)
#: Headings that people write, and what to rename them to.
_ALIASES = {
    "watts": "power_W",
    "w": "power_W",
    "output": "power_W if it holds watts",
    **dict.fromkeys(
        ("current", "current_a", "amps", "amperes", "a"),
        "power_W after multiplying by the volts it was measured at",
    ),
}


def column_of(stream: Stream) -> CsvColumn:
    """The column of a power curve that has the speeds."""
    return CsvColumn(
        name=stream.name,
        meaning=stream.meaning,
        example=stream.example,
        required=True,
        units=(stream.unit,),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Points of a power curve, or what is wrong with its file.

    Attributes
    ----------
    speeds : tuple of float
        Rising, in the stream's unit.
    powers_W : tuple of float
        What comes out at each of the speeds. [W]
    problems : tuple of Problem
        Everything wrong; the points are then of no use.
    """

    speeds: tuple[float, ...] = ()
    powers_W: tuple[float, ...] = ()
    problems: tuple[Problem, ...] = ()


def generic_curve(kind: str, *, diameter_m: float) -> Curve:
    """The invented curve that stands in where the sailor has none.

    Parameters
    ----------
    diameter_m : float
        Of the sailor's rotor: power goes with its area. [m]

    Examples
    --------
    >>> generic_curve("towed", diameter_m=0.15).powers_W[-1]
    50.0
    """
    stream = RECORD_OF_KIND[kind].stream
    assert stream is not None
    curve = read_curve(_FOLDER / f"{kind}.csv", stream)
    area_ratio = (diameter_m / GENERIC_DIAMETER_M[kind]) ** 2
    return Curve(
        speeds=curve.speeds, powers_W=tuple(area_ratio * power_W for power_W in curve.powers_W)
    )


def read_curve(
    path: str | PathLike[str], stream: Stream, *, diameter_m: float | None = None
) -> Curve:
    """A power curve with everything that is wrong with it.

    Parameters
    ----------
    diameter_m : float or None
        Of the rotor; None if unknown, and then any power is believed. [m]
    """
    speeds = column_of(stream)
    table = collect_table(path, (speeds, POWER), aliases=_ALIASES | stream.aliases)
    problems = list(table.problems)
    if not {speeds.name, POWER.name} <= table.columns.keys():
        return Curve(problems=tuple(problems))
    points = []
    for row in table.rows:
        speed = _cell(row, speeds, stream.unit, stream.most, problems)
        power_W = _cell(row, POWER, "W", MOST_W, problems)
        if speed is not None and power_W is not None:
            points.append((row, speed, power_W))
    if len(table.rows) == 1:
        problems.append(
            Problem(
                file=str(path),
                line=table.rows[0].line,
                text="a curve of one point",
                expected="two rows or more, the first with a power of 0",
                row=table.rows[0].raw,
            )
        )
    elif points and points[0][0] is table.rows[0]:
        problems += _faults(points, stream, diameter_m)
    return Curve(
        speeds=tuple(speed for _, speed, _ in points),
        powers_W=tuple(power_W for *_, power_W in points),
        problems=tuple(sorted(problems, key=lambda problem: problem.line or 0)),
    )


def _cell(row: CsvRow, column: CsvColumn, unit: str, most: float, problems: list) -> float | None:
    text = row.cells[column.name]
    try:
        value = units.to_float(row.plain(column.name), unit, bare=row.units.get(column.name))
        if value > most:
            raise ReadingError(f"{quoted(text)} is more than {written(most, unit)}")
        return value
    except ReadingError as error:
        problems.append(problem_at(row, column.name, error.reason, column.expected))
        return None


def _faults(points: list, stream: Stream, diameter_m: float | None):
    """What cannot be about readable points: each is taken out, or put right, to find the next."""
    points, sound = list(points), True
    while len(points) > 1:
        fault = curve_fault(
            [speed for _, speed, _ in points],
            [power_W for *_, power_W in points],
            density_kg_m3=stream.density_kg_m3,
            m_s_per_unit=stream.m_s_per_unit,
            diameter_m=diameter_m,
        )
        if fault is None:
            return
        place, what, wrong = fault
        row, speed, power_W = points[place]
        column = column_of(stream) if what == "speed" else POWER
        expected = column.expected
        if what == "speed":
            del points[place]
        elif place > 0 and power_W > 0:  # beyond physics, as mostly all after it are too
            expected = "less; is the unit of the speeds right, and diameter in boat.toml?"
            diameter_m = None
        elif power_W == 0:  # all are 0, for what was wrong with others if anything was
            if not sound:
                return
            points = []
        else:
            points[place] = (row, speed, 0.0)
        sound = False
        yield problem_at(row, column.name, f"{quoted(row.cells[column.name])} {wrong}", expected)
