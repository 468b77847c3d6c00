"""The [fuel.tank] table: what a depth on the dip stick means, by shape or by sounding table."""

from __future__ import annotations

from powersim.errors import Problem
from powersim.inputs.beside import file_beside
from powersim.inputs.headings import CsvColumn
from powersim.inputs.table import CsvRow, collect_table, problem_at
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import NAME, key_of, keys_of, kind_of, shown, written
from powersim.inputs.toml_table import Sheet, TomlTable, record_defaults
from powersim.inputs.units import to_float
from powersim.records import TANK_SHAPES, Fuel, Tank, TankPart, declared, sounding_fault
from powersim.records.tank import MOST_M, TANK_L
from powersim.records.units_aboard import aboard

#: How far the shape may be from what the tank is said to hold: hoses, baffles, rounded corners;
#: common practice, no source. [-]
_AGREE_FRAC = 0.10
_DIAMETER = key_of(
    "diameter",
    kind_of(declared(TankPart)["height_m"]),
    "of a lying cylinder",
    "40 cm",
    field="diameter_m",
    without="required for a cylinder",
)
_SHAPE_KEYS = keys_of(TankPart, also={"bottom_m": _DIAMETER})
_TABLE = key_of(
    "table",
    NAME,
    "a CSV file of depth and litres in the passage folder",
    '"tank.csv"',
    without="none; then a shape or parts",
)
_CAPACITY, *_READING = keys_of(Tank)
TANK_KEYS = (_CAPACITY, _TABLE, *_SHAPE_KEYS, *_READING)
#: Of each [[fuel.tank.part]], where a tank has several in line.
PART_KEYS = _SHAPE_KEYS
#: What each shape is measured by.
_MEASURES = {
    "box": ("length", "width", "height"),
    "wedge": ("length", "width", "height"),
    "cylinder": ("length", "diameter"),
}

DEPTH = CsvColumn(
    name="depth",
    meaning="on the stick, rising from row to row",
    example="12 cm",
    required=True,
    units=("cm", "m"),
)
LITRES = CsvColumn(
    name="litres",
    meaning="in the tank at that depth",
    example="31 L",
    required=True,
    units=("L",),
)


def read_tank(sheet: Sheet, data: dict) -> tuple[Tank | None, float | None]:
    """The tank of [fuel.tank], and what it holds."""
    table = TomlTable(sheet=sheet, path=("fuel", "tank"), data=dict(data))
    parts = table.data.pop("part", None)
    given = table.take(TANK_KEYS)
    given_capacity_L = given.pop("capacity_L", None)
    measures = {key.field for key in _SHAPE_KEYS}
    shape = {name: given.pop(name) for name in list(given) if name in measures}
    file = given.pop("table", None)
    ways = [name for name, is_there in _ways(table, file, parts).items() if is_there]
    if len(ways) != 1:
        what = f"has {' and '.join(ways)}" if ways else "does not say its shape"
        table.problem(None, what, "one of: shape, with its measures; table; or [[fuel.tank.part]]")
    elif file is not None:
        given["table"] = _sounding_table(table, file)
    elif parts is not None:
        given["parts"] = _parts(sheet, table, parts)
    else:
        given["parts"] = (_part(table, shape),)
    _fill(table)
    if not table.sound or sheet.problems:
        return None, None
    tank = table.build(Tank, capacity_L=given_capacity_L)
    if tank is None or not _agree(table, tank):
        return None, None
    return tank, tank.full_L


def _ways(table, file, parts) -> dict[str, bool]:
    return {
        "a shape": any(key.name in table.data for key in _SHAPE_KEYS),
        "a table": file is not None or "table" in table.data,
        "parts": parts is not None,
    }


def _fill(table: TomlTable) -> None:
    """Defaults of how it is read, noted under the name of the table."""
    for key in TANK_KEYS:
        value, reason = record_defaults(Tank).get(key.field, (0.0, ""))
        if reason and key.name not in table.data:
            table.given[key.field] = value
            table.sheet.assume(f"fuel.tank.{key.name}", aboard().depth.said(value), reason)


def _parts(sheet: Sheet, table: TomlTable, parts) -> tuple:
    if not isinstance(parts, list) or not all(isinstance(one, dict) for one in parts):
        table.problem(
            "part", f"{shown(parts)} is not a table", "a line [[fuel.tank.part]] before each"
        )
        return ()
    found = []
    for place, data in enumerate(parts):
        one = TomlTable(
            sheet=sheet, path=("fuel", "tank", "part", place), data=data, only=len(parts) == 1
        )
        found.append(_part(one, one.take(PART_KEYS)))
        table.sound &= one.sound
    return tuple(found)


def _part(table: TomlTable, given: dict) -> TankPart | None:
    if "shape" not in table.data:
        table.problem(None, "no shape", f"shape: one of {', '.join(TANK_SHAPES)}")
        return None
    if "shape" not in given:
        return None  # what is wrong with it is told already
    shape = given["shape"]
    wanted = _MEASURES[shape]
    allowed = {*wanted, "above", *(("bottom",) if shape == "wedge" else ())}
    for key in _SHAPE_KEYS[1:]:
        if key.name in table.data and key.name not in allowed:
            table.problem(key.name, f"a {shape} has no {key.name}", "one of " + ", ".join(wanted))
        elif key.name in wanted and key.name not in table.data:
            table.problem(None, f"a {shape} without {key.name}", f"{key.name}: {key.expected}")
    if not table.sound:
        return None
    measured = {name: value for name, value in given.items() if name != "diameter_m"}
    if shape == "cylinder":
        measured |= {"width_m": given["diameter_m"], "height_m": given["diameter_m"]}
    try:
        return TankPart(**measured)
    except ValueError:
        table.problem("bottom", "is wider than the top", "at most as wide as width")
        return None


def _agree(table: TomlTable, tank: Tank) -> bool:
    """Whether its shape holds what a tank can, and what the sailor says of its capacity."""
    by = "the table's last row" if tank.table else "its shape"
    holds = declared(Fuel)["tank_L"]
    if not holds.bounds or tank.full_L not in holds.bounds:
        table.problem(
            None,
            f"by {by} the tank holds {written(tank.full_L, 'L')}",
            f"{kind_of(holds).span}; are the measures those of the inside, each with its unit?",
        )
        return False
    if abs(tank.shape_L - tank.full_L) <= _AGREE_FRAC * tank.full_L:
        return True
    table.problem(
        "capacity",
        f"{written(tank.full_L, 'L')}, but by {by} the tank holds {written(tank.shape_L, 'L')}",
        "figures that agree to a tenth; are the measures those of the inside?",
    )
    return False


def _sounding_table(table: TomlTable, name: str) -> tuple[tuple[float, float], ...]:
    path = file_beside(table, "table", name, example="tank.csv")
    if path is None:
        return ()
    read = collect_table(path, (DEPTH, LITRES))
    problems = list(read.problems)
    rows = [_row(row, problems) for row in read.rows if {"depth", "litres"} <= row.fields.keys()]
    points = [one for one in rows if one is not None]
    if not problems and len(points) < 2:
        problems.append(
            Problem(
                file=str(path),
                line=1,
                text="has fewer than two rows",
                expected="two or more",
            )
        )
    place = sounding_fault(points)
    if not problems and place is not None:
        row = read.rows[place]
        column = "depth" if points[place][0] <= points[place - 1][0] else "litres"
        reason = f"{quoted(row.cells[column])} does not rise above the row before"
        problems.append(problem_at(row, column, reason, "depth and litres that rise together"))
    table.sheet.problems += problems
    table.sound &= not problems
    return tuple(points)


def _row(row: CsvRow, problems: list) -> tuple[float, float] | None:
    values = []
    # The heading litres names its unit itself.
    for column, unit, bare, most in ((DEPTH, "m", None, MOST_M), (LITRES, "L", "L", TANK_L[1])):
        text = row.cells[column.name]
        try:
            value = to_float(row.plain(column.name), unit, bare=row.units.get(column.name) or bare)
            if not 0 <= value <= most:
                raise ReadingError(f"{quoted(text)} is not between 0 and {written(most, unit)}")
            values.append(value)
        except ReadingError as error:
            problems.append(problem_at(row, column.name, error.reason, column.expected))
    return (values[0], values[1]) if len(values) == 2 else None
