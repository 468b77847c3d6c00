"""A GRIB file as a forecast. It runs in a process of its own, since damage can kill the decoder.

ecCodes is written in C: a few bytes turned over in the head of a message can end its process.
"""

from __future__ import annotations

import os
import pickle
import sys
from collections import defaultdict
from dataclasses import replace
from itertools import islice
from os import PathLike
from pathlib import Path

from powersim.errors import InputError, Problem, refused
from powersim.inputs.grib_fields import UnfitError, field_of, wanted
from powersim.inputs.grib_windows import apart
from powersim.processes import end_with
from powersim.records import Forecast, ForecastField, Grid

# More than this many values of all wanted fields would fill an old laptop: 400 MB. [values]
MOST_VALUES_IN_ALL = 100_000_000
WHOLE_FILE = "a whole file; ask for it again"
SMALLER_FILE = "a file cut out for the waters and the days of the passage"
_A_LIBRARY = (
    'its library, which python -m pip install --force-reinstall "powersim[forecast]" brings; '
    "where it does not, your system's own, for example Debian's libeccodes-dev"
)
_A_GRIB_FILE = "a GRIB file, edition 1 or 2, as forecast services send it"
_LIGHT_FIELDS = (
    "total cloud cover or downward shortwave at the surface, of a single run and not of an ensemble"
)
_SIMPLE_GRID = "a grid regular in latitude and longitude, or a regular Gaussian one"
# Line ends and the control characters that bulletins are wrapped in may follow the last message.
_TRAILING = b"\r\n\x03\x1a\0 "
# kind: (lowest, highest, and how much farther packing may carry a value, which then is set to
# the bound). A difference of means repeats the packing's error up to 11 times (5 and 6 hours of a
# mean that begins every 6 hours); cloud is packed to 1 per cent, light to 1 W/m2 or better: common
# practice, no source. Lightest sun above the atmosphere 1412 W/m2; records of wind and air are
# 113 m/s, -89 and 57 degC (WMO).
_BOUNDS = {
    "light": (0.0, 1412.0, 10.0),
    "cloud": (0.0, 1.0, 0.1),
    "wind": (0.0, 120.0, 0.0),
    "air": (-95.0, 70.0, 0.0),
}
_NAMES = {"light": "shortwave [W/m2]", "cloud": "cloud", "wind": "wind [m/s]", "air": "air [degC]"}


def decode(path: str | PathLike[str], *, file: str) -> Forecast:
    """Every field that tells of the sky, with windows apart.

    Raises
    ------
    InputError
        If ecCodes cannot be loaded; if the file is no GRIB, cut short or damaged, has no field that
        tells of light, has a wanted field on a grid that is not read, or values that cannot be.
    """
    try:
        import eccodes
    except (ImportError, AttributeError, OSError, RuntimeError) as error:
        # Its Python part is here, since we got so far; the library behind it is written in C.
        text = f"needs ecCodes to be read, which is installed but cannot be loaded ({error})"
        raise refused(file, text, _A_LIBRARY) from None
    eccodes.codes_grib_multi_support_on()  # or the second field of a message is lost
    kinds = defaultdict(list)
    grids: dict[tuple, Grid] = {}
    count = values = 0
    with Path(path).open("rb") as stream:
        try:
            for count, handle in enumerate(_handles(stream), start=1):
                kind, field = _taken(handle, grids, place=f"{file}: field {count}")
                if field is None:
                    continue
                kinds[kind].append(field)
                values += field.values.size
                if values > MOST_VALUES_IN_ALL:
                    raise refused(file, "holds more than can be kept in memory", SMALLER_FILE)
        except eccodes.PrematureEndOfFileError:
            raise _cut_short(file, count) from None
        except (eccodes.CodesInternalError, ValueError, MemoryError) as error:
            text = f"is damaged: its field {count + 1} cannot be decoded ({error})"
            raise refused(file, text, WHOLE_FILE) from None
        if count == 0:
            raise refused(file, "is not GRIB", _A_GRIB_FILE)
        if not _ends_whole(stream):
            raise _cut_short(file, count)
    return _forecast(file, kinds, count)


def _handles(stream):
    """ecCodes' handle of each field in turn, released when the next is asked for."""
    import eccodes

    while (handle := eccodes.codes_grib_new_from_file(stream)) is not None:
        try:
            yield handle
        finally:
            eccodes.codes_release(handle)


def _taken(handle, grids, *, place: str) -> tuple[str, ForecastField | None]:
    parameter = wanted(handle)
    if parameter is None:
        return "", None
    try:
        return parameter.kind, field_of(handle, parameter, grids)
    except UnfitError as error:
        raise refused(place, f"its {parameter.kind} {error}", _SIMPLE_GRID) from None


def _cut_short(file: str, count: int) -> InputError:
    return refused(
        file, f"is cut short: it ends within a message, after {count} whole fields", WHOLE_FILE
    )


def _ends_whole(stream) -> bool:
    size = stream.seek(0, os.SEEK_END)
    stream.seek(max(0, size - 4096))
    return stream.read().rstrip(_TRAILING).endswith(b"7777")  # FM 92: the end of a message


def _forecast(file: str, kinds, count: int) -> Forecast:
    kinds["wind"] = list(_speeds(kinds.pop("east", []), kinds.pop("north", [])))
    fields = {
        kind: tuple(_within_bounds(file, kind, field) for field in apart(kinds[kind]))
        for kind in _BOUNDS
    }
    if not (fields["light"] or fields["cloud"]):
        text = f"none of its {count} fields has light or cloud"
        raise refused(file, text, _LIGHT_FIELDS)
    return Forecast(file=file, **fields)


def _speeds(east: list[ForecastField], north: list[ForecastField]):
    """Wind where both its parts are known; the speed is taken before any interpolation."""
    import numpy as np

    def key(field):
        return field.run_utc_s, field.from_utc_s, field.to_utc_s, id(field.grid)

    partner = {key(field): field for field in north}
    for field in east:
        other = partner.get(key(field))
        if other is not None:
            yield replace(field, values=np.hypot(field.values, other.values))


def _within_bounds(file: str, kind: str, field: ForecastField) -> ForecastField:
    """The field with the packing's error beyond a bound taken off."""
    import numpy as np

    lowest, highest, slack = _BOUNDS[kind]
    off = np.maximum(lowest - field.values, field.values - highest)
    off = np.where(np.isnan(off), -np.inf, off)
    if off.max() > slack:
        row, column = np.unravel_index(off.argmax(), off.shape)
        lat_deg, lon_deg = field.grid.lat_deg[row], field.grid.lon_deg[column]
        text = (
            f"cannot be right: {_NAMES[kind]} {field.values[row, column]:.6g} "
            f"at latitude {lat_deg:.3f}, longitude {lon_deg:.3f}"
        )
        raise refused(file, text, f"{lowest:g} to {highest:g}; is the file damaged?")
    return replace(field, values=np.clip(field.values, lowest, highest))


def main(path: str, file: str, parent: str) -> None:
    """Decode a file and hand over a Forecast, or a tuple of Problem, pickled to standard output."""
    end_with(int(parent))
    answer: Forecast | tuple[Problem, ...]
    try:
        answer = decode(path, file=file)
    except InputError as error:
        answer = error.problems
    pickle.dump(answer, sys.stdout.buffer, protocol=pickle.HIGHEST_PROTOCOL)


if __name__ == "__main__":
    main(*islice(sys.argv, 1, 4))
