"""Which parameters of a GRIB message tell of the sky, and a message as a field on a grid.

Parameters are known by their numbers: short names and units belong to tables that change.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import NamedTuple

from powersim.records import ForecastField, Grid

# A grid larger than this is none that a boat receives: 0.1 degrees over the whole world is half
# of it. [values]
MOST_VALUES = 13_000_000
_KELVIN = 273.15  # of 0 degC, exact by definition [K]
_NCEP, _ECMWF = 7, 98  # WMO common code table C-1
_SURFACE = ((1, None),)
# Ground, entire atmosphere as levels or as one layer: the sky seen from below.
_WHOLE_SKY = ((1, None), (10, None), (200, None))
_AT_10_M = {1: ((105, 10),), 2: ((103, 10),)}
_AT_2_M = {1: ((105, 2),), 2: ((103, 2),)}


class Parameter(NamedTuple):
    """How to take one parameter.

    Attributes
    ----------
    kind : str
        "light" [W/m^2], "cloud" [-], "east" and "north" wind [m/s], or "air" [degC].
    levels : tuple of (int, int or None)
        Kinds of level that count, and the level where it matters.
    factor, offset : float
        What makes the kind's unit of the message's; a sum is divided by its seconds beside that.
    centre : int or None
        Whose number it is; None for everybody's.
    since_run : bool
        Added up since the run's start, though the message may give a moment.
    """

    kind: str
    levels: tuple[tuple[int, int | None], ...]
    factor: float = 1.0
    offset: float = 0.0
    centre: int | None = None
    since_run: bool = False


# Edition 2 by (discipline, category, number): WMO FM 92 GRIB, code table 4.2; numbers from 192 on
# are local to a centre. Edition 1 by (table, number): WMO table 2 (1 to 3 share these numbers),
# where numbers from 128 on are local, and ECMWF's local table 128.
PARAMETERS: dict[tuple[int | None, ...], Parameter] = {
    (2, 0, 6, 1): Parameter("cloud", _WHOLE_SKY, factor=0.01),
    (2, 0, 6, 192): Parameter("cloud", _WHOLE_SKY, centre=_ECMWF),
    (2, 0, 4, 7): Parameter("light", _SURFACE),
    (2, 0, 4, 192): Parameter("light", _SURFACE, centre=_NCEP),
    (2, 0, 2, 2): Parameter("east", _AT_10_M[2]),
    (2, 0, 2, 3): Parameter("north", _AT_10_M[2]),
    (2, 0, 0, 0): Parameter("air", _AT_2_M[2], offset=-_KELVIN),
    **{
        (1, table, number): parameter
        for table in (1, 2, 3)
        for number, parameter in {
            71: Parameter("cloud", _WHOLE_SKY, factor=0.01),
            204: Parameter("light", _SURFACE, centre=_NCEP),
            33: Parameter("east", _AT_10_M[1]),
            34: Parameter("north", _AT_10_M[1]),
            11: Parameter("air", _AT_2_M[1], offset=-_KELVIN),
        }.items()
    },
    (1, 128, 164): Parameter("cloud", _SURFACE, centre=_ECMWF),
    (1, 128, 169): Parameter("light", _SURFACE, centre=_ECMWF, since_run=True),
    (1, 128, 165): Parameter("east", _SURFACE, centre=_ECMWF),
    (1, 128, 166): Parameter("north", _SURFACE, centre=_ECMWF),
    (1, 128, 167): Parameter("air", _SURFACE, centre=_ECMWF, offset=-_KELVIN),
}
# Of every edition and centre: what numbers make a parameter, and what makes its level.
_NUMBER_KEYS: dict[int, tuple[str, ...]] = {
    1: ("table2Version", "indicatorOfParameter"),
    2: ("discipline", "parameterCategory", "parameterNumber"),
}
_LEVEL_KEY = {1: "indicatorOfTypeOfLevel", 2: "typeOfFirstFixedSurface"}
# One forecast at a moment, or over a window; others are of ensembles, quantiles, satellites.
_SINGLE_FORECAST = (0, 8)


class UnfitError(ValueError):
    """A wanted field that cannot be used; the text ends the sentence "its cloud ..."."""


def wanted(handle: int) -> Parameter | None:
    """How to take this message, from its head alone; None if it says nothing that is asked."""
    edition = _integer(handle, "edition")
    if edition not in _NUMBER_KEYS:
        return None
    numbers = (_integer(handle, key) for key in _NUMBER_KEYS[edition])
    parameter = PARAMETERS.get((edition, *numbers))
    if parameter is None or parameter.centre not in (None, _integer(handle, "centre")):
        return None
    if edition == 2 and _integer(handle, "productDefinitionTemplateNumber") not in _SINGLE_FORECAST:
        return None
    kind, level = _integer(handle, _LEVEL_KEY[edition]), _integer(handle, "level")
    return parameter if {(kind, None), (kind, level)} & set(parameter.levels) else None


def field_of(handle: int, parameter: Parameter, grids: dict[tuple, Grid]) -> ForecastField | None:
    """A message's field in the unit of its kind; None for extremes and differences.

    Raises
    ------
    UnfitError
        If its grid is of a kind that is not read, too large, or without order.
    """
    import eccodes
    import numpy as np

    statistic = eccodes.codes_get_string(handle, "stepType")
    if statistic not in ("instant", "avg", "accum"):
        return None
    run_s, from_s, to_s = _window(handle, parameter, statistic)
    if parameter.kind == "light" and (statistic == "accum" or parameter.since_run):
        if to_s == from_s:
            return None  # nothing has been added up when the run starts
        parameter = parameter._replace(factor=parameter.factor / (to_s - from_s))
    grid, order = _grid(handle, grids)
    values = eccodes.codes_get_values(handle)
    if values.size != eccodes.codes_get_long(handle, "numberOfDataPoints"):
        raise UnfitError("has not as many values as places")
    if eccodes.codes_get_long(handle, "bitmapPresent"):
        missing = eccodes.codes_get_double(handle, "missingValue")
        values = np.where(values == missing, np.nan, values)
    values = order(values * parameter.factor + parameter.offset)
    if values.shape[1] < len(grid.lon_deg):  # round the world: the first column again
        values = np.concatenate([values, values[:, :1]], axis=1)
    return ForecastField(
        run_utc_s=run_s,
        from_utc_s=run_s + from_s,
        to_utc_s=run_s + to_s,
        grid=grid,
        # 24 bits; the files themselves mostly hold 8 to 16
        values=values.astype(np.float32),
    )


def _integer(handle, key: str) -> int | None:
    import eccodes

    try:
        return eccodes.codes_get_long(handle, key)
    except eccodes.KeyValueNotFoundError:
        return None


def _window(handle, parameter: Parameter, statistic: str) -> tuple[float, float, float]:
    """The run's start, and the window's ends as seconds after it."""
    import eccodes

    date, clock = (eccodes.codes_get_long(handle, key) for key in ("dataDate", "dataTime"))
    try:
        start = datetime.strptime(f"{date:08d} {clock:04d}", "%Y%m%d %H%M").replace(tzinfo=UTC)
    except ValueError:
        raise UnfitError(f"has a date that is not in the calendar: {date} {clock:04d}") from None
    eccodes.codes_set(handle, "stepUnits", "s")
    from_s, to_s = (eccodes.codes_get_long(handle, key) for key in ("startStep", "endStep"))
    if statistic == "instant":
        from_s = 0 if parameter.since_run else to_s
    if to_s < from_s:
        raise UnfitError("ends before it begins")
    return start.timestamp(), float(from_s), float(to_s)


def _grid(handle, grids: dict[tuple, Grid]):
    """The message's grid, and what puts its values in order: south to north, west to east."""
    import eccodes
    import numpy as np

    kind = eccodes.codes_get_string(handle, "gridType")
    if kind not in ("regular_ll", "regular_gg"):
        raise UnfitError(f"is on a grid of the kind {kind!r}")
    columns, rows = (eccodes.codes_get_long(handle, key) for key in ("Ni", "Nj"))
    if not (columns >= 2 and rows >= 2 and columns * rows <= MOST_VALUES):
        raise UnfitError(f"is on a grid of {columns} by {rows} places")
    west_deg, east_deg = (
        eccodes.codes_get_double(handle, f"longitudeOf{end}GridPointInDegrees")
        for end in ("First", "Last")
    )
    westward, northward, column_by_column, back_and_forth = (
        eccodes.codes_get_long(handle, key)
        for key in (
            "iScansNegatively",
            "jScansPositively",
            "jPointsAreConsecutive",
            "alternativeRowScanning",
        )
    )
    if westward:
        west_deg, east_deg = east_deg, west_deg

    def order(values):
        table = values.reshape((columns, rows) if column_by_column else (rows, columns))
        if back_and_forth:
            table = table.copy()
            table[1::2] = table[1::2, ::-1]
        table = table.T if column_by_column else table
        return table[:: 1 if northward else -1, :: -1 if westward else 1]

    lat_deg = np.sort(eccodes.codes_get_array(handle, "distinctLatitudes"))
    if lat_deg.size != rows:
        raise UnfitError("is on a grid with more or fewer rows than it says")
    key = (columns, west_deg, east_deg, lat_deg.tobytes())
    if key not in grids:
        try:
            grids[key] = Grid(lat_deg=lat_deg, lon_deg=_columns_deg(west_deg, east_deg, columns))
        except ValueError:
            raise UnfitError("is on a grid whose rows do not follow one another") from None
    return grids[key], order


def _columns_deg(west_deg: float, east_deg: float, columns: int):
    """Longitudes from the first column eastward; all round, the first once more."""
    import numpy as np

    width_deg = (east_deg - west_deg) % 360.0 or 360.0
    step_deg = width_deg / (columns - 1)
    # The edges are given to a thousandth of a degree at worst, a gap is a whole step.
    round_the_world = abs(width_deg + step_deg - 360.0) < 0.5 * step_deg
    return west_deg + step_deg * np.arange(columns + round_the_world)
