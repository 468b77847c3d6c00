"""Files of light in formats that others publish, read by pvlib's own readers, to a record."""

from __future__ import annotations

import io
import re
import warnings
from array import array
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from os import PathLike
from pathlib import Path
from typing import Any

from powersim.errors import refused
from powersim.inputs.irradiance_limits import (
    RANGES,
    YEARS,
    FIRST_UTC_s,
    LAST_UTC_s,
    MOST_LIGHT_W_m2,
    NIGHT_NOISE_W_m2,
)
from powersim.records.irradiance import ANY_YEAR, LONGEST_STEP_S, Irradiance

_HEAD_LINES = 40
_NAMES = {
    "ghi": "ghi_W_m2",
    "dni": "dni_W_m2",
    "dhi": "dhi_W_m2",
    "temp_air": "air_C",
    "wind_speed": "wind_m_s",
}
_SHOWN = {
    "ghi_W_m2": "light on the horizontal",
    "dni_W_m2": "beam",
    "dhi_W_m2": "diffuse light",
    "air_C": "air temperature",
    "wind_m_s": "wind",
}
_FLAG_BAD = 1
_DAY_S = 86400.0
_LATE = re.compile(r"(?:Irradiance Time Offset \(h\): *|\"irradiance_time_offset\": *)(-?[\d.]+)")
#: What pvlib's readers let out of themselves on a damaged file.
_READERS_RAISE = (
    ArithmeticError,
    AssertionError,
    AttributeError,
    LookupError,
    OSError,
    RuntimeError,
    StopIteration,
    TypeError,
    ValueError,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """A published format that pvlib reads.

    Attributes
    ----------
    name : str
        For messages, with its article.
    readers : tuple of str
        Names in pvlib.iotools, the first that this pvlib has is taken.
    signature : callable
        Text of the file -> whether it is of this format, by its first lines.
    to_start : float
        From a stamp, as pvlib gives it, to the interval's start, in steps. [-]
    typical : bool
        Whether its months come from several years and stand for any year.
    missing : dict of str to tuple of float
        What stands for a missing value, by pvlib's column.
    flagged : bool
        Whether a column `ghi_flag` beside `ghi`, and so on, says which values are bad.
    by_text : bool
        Whether the reader is given the text, and its kind, in place of the file.
    in_bytes : bool
        Whether that text has to be bytes.
    """

    name: str
    readers: tuple[str, ...]
    signature: Callable[[str], bool]
    to_start: float
    typical: bool = False
    missing: dict[str, tuple[float, ...]]
    flagged: bool = False
    by_text: bool = False
    in_bytes: bool = False


def _starts(pattern, text):
    return re.match(pattern, text) is not None


def _is_pvgis(heading, key, text):
    """CSV by its first line and its heading; JSON by the name of its series."""
    if text.lstrip().startswith("{"):
        return f'"{key}"' in text
    head = text.split("\n", _HEAD_LINES)[:_HEAD_LINES]
    return head[0].startswith("Latitude (decimal degrees):") and any(
        line.startswith(heading) for line in head
    )


_NOTHING: dict[str, tuple[float, ...]] = {}
_EPW_MISSING = {
    **dict.fromkeys(("ghi", "dni", "dhi"), (9999.0, 99999.0)),
    "temp_air": (99.9,),
    "wind_speed": (999.0,),
}
FORMATS = (
    Format(
        name="a PVGIS hourly file",
        readers=("read_pvgis_hourly",),
        signature=partial(_is_pvgis, "time,", "hourly"),
        to_start=-0.5,
        missing=_NOTHING,
        by_text=True,
    ),
    Format(
        name="a PVGIS typical year",
        readers=("read_pvgis_tmy",),
        signature=partial(_is_pvgis, "time(UTC)", "tmy_hourly"),
        to_start=-0.5,
        typical=True,
        missing=_NOTHING,
        by_text=True,
        in_bytes=True,
    ),
    Format(
        name="an NSRDB file",
        readers=("read_nsrdb_psm4", "read_psm3"),
        signature=partial(_starts, r"Source,Location ID,[^\n]*\n[^\n]*\nYear,Month,Day,Hour,"),
        to_start=-0.5,
        missing=_NOTHING,
    ),
    Format(
        name="an EPW file",
        readers=("read_epw",),
        signature=partial(_starts, r"LOCATION,[^\n]*\n[A-Z ]+,"),
        to_start=0.0,
        typical=True,
        missing=_EPW_MISSING,
    ),
    Format(
        name="a TMY3 file",
        readers=("read_tmy3",),
        signature=partial(_starts, r"\d+,[^\n]*\nDate \(MM/DD/YYYY\),Time \(HH:MM\),"),
        to_start=-1.0,
        typical=True,
        missing=dict.fromkeys(_NAMES, (-9900.0,)),
    ),
    Format(
        name="a SURFRAD file",
        readers=("read_surfrad",),
        signature=partial(
            _starts, r"[^\n]*\n\s*-?\d+\.\d+\s+-?\d+\.\d+\s+\d+(\.\d+)?\s+(m\s+)?version\s+\d+\s*\n"
        ),
        to_start=-1.0,
        missing=_NOTHING,
        flagged=True,
    ),
)


def format_of(text: str) -> Format | None:
    """The published format of a file, by its first lines; None for a CSV file of one's own."""
    plain = text.replace("\r\n", "\n")
    return next((each for each in FORMATS if each.signature(plain)), None)


def read_published(form: Format, path: str | PathLike[str], text: str) -> Irradiance:
    """Light from a file in a published format.

    Raises
    ------
    InputError
        If pvlib cannot read it, or it has no light, no regular step or impossible values.

    Notes
    -----
    pvlib is given a whole path or the text itself, never a name that it could take for an address:
    nothing here needs a network.
    """
    file = str(path)
    if form.readers == ("read_pvgis_hourly",):
        _refuse_tilted(file, text)
    data = _by_pvlib(form, path, text)
    try:
        any_year = form.typical or _years_are_mixed(data.index)
        stamps_s = _seconds(data.index, any_year=any_year) + _late_s(form, text)
        columns = _columns(form, data)
    except _READERS_RAISE as error:
        raise _unreadable(form, file, type(error).__name__) from None
    if "ghi_W_m2" not in columns:
        raise refused(file, f"is {form.name} without light on the horizontal")
    if not ((stamps_s >= FIRST_UTC_s) & (stamps_s <= LAST_UTC_s)).all():
        raise refused(file, f"is {form.name} with times outside the years {YEARS}")
    if any_year:
        stamps_s, columns = _in_order(stamps_s, columns)
    step_s = _step_s(form, file, stamps_s)
    _refuse_impossible(file, stamps_s, columns)
    for name in columns.keys() - RANGES.keys():
        columns[name] = columns[name].clip(min=0.0)  # the night's noise; nan stays
    return Irradiance(
        file=file,
        start_utc_s=array("d", stamps_s + form.to_start * step_s),
        step_s=step_s,
        any_year=any_year,
        **{name: array("d", values) for name, values in columns.items()},
    )


def _by_pvlib(form, path, text):
    from pvlib import iotools

    reader = next((getattr(iotools, name) for name in form.readers if hasattr(iotools, name)), None)
    if reader is None:
        raise refused(str(path), f"is {form.name}, and this pvlib has no {form.readers[0]}")
    given: Any = str(Path(path).absolute())
    options = {}
    if form.by_text:
        given = io.BytesIO(text.encode()) if form.in_bytes else io.StringIO(text)
        options = {"pvgis_format": "json" if text.lstrip().startswith("{") else "csv"}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # also of files that a reader leaves open as it fails
        try:
            return reader(given, **options)[0]
        except _READERS_RAISE as error:
            fault = type(error).__name__
    raise _unreadable(form, str(path), fault)


def _unreadable(form, file, fault):
    text = f"is {form.name} by its first lines, but pvlib cannot read it ({fault})"
    return refused(file, text, "the file as it was downloaded, whole and unchanged")


def _refuse_tilted(file, text):
    """PVGIS gives the light on a plane; only a level one has light on the horizontal."""
    found = re.search(r'^Slope:\s*([-\d.]+)|"slope":\s*\{\s*"value":\s*([-\d.]+)', text, re.M)
    said = None if found is None else found[1] or found[2]
    if said is None or said.strip("-0.") != "":
        plane = "a plane that follows the sun" if said is None else f"a plane tilted {said} deg"
        raise refused(
            file, f"has the light on {plane}", "the same from PVGIS for a fixed plane of slope 0"
        )


def _columns(form, data):
    """Arrays by the record's names; nan where missing or flagged as bad."""
    import numpy as np

    if "ghi" not in data and "poa_global" in data:  # PVGIS, a level plane
        data = data.assign(ghi=data["poa_global"])
    if "ghi" not in data and "poa_direct" in data:
        diffuse = data["poa_sky_diffuse"] + data["poa_ground_diffuse"]
        data = data.assign(ghi=data["poa_direct"] + diffuse, dhi=diffuse)
    columns = {}
    for name, ours in _NAMES.items():
        if name not in data:
            continue
        values = data[name].to_numpy(dtype=float, copy=True)
        bad = np.isin(values, form.missing.get(name, ())) | ~np.isfinite(values)
        if form.flagged and f"{name}_flag" in data:
            bad |= data[f"{name}_flag"].to_numpy() == _FLAG_BAD
        values[bad] = np.nan
        columns[ours] = values
    return columns


def _years_are_mixed(index):
    """Whether months of several years follow each other, as in a typical year."""
    return not index.is_monotonic_increasing and len(set(index.year)) > 1


def _seconds(index, *, any_year):
    """Unix time of stamps; if for any year, that of the same dates and hours in ANY_YEAR."""
    import numpy as np

    utc_s = index.tz_convert("UTC").tz_localize(None).as_unit("s").asi8.astype(float)
    if not any_year:
        return utc_s
    local_s = index.tz_localize(None).as_unit("s").asi8.astype(float)
    dates = np.array(
        [
            f"{ANY_YEAR}-{month:02d}-{28 if (month, day) == (2, 29) else day:02d}"
            for month, day in zip(index.month, index.day, strict=True)
        ],
        dtype="datetime64[s]",
    )
    return dates.astype(float) + local_s % _DAY_S + (utc_s - local_s)


def _late_s(form, text):
    """How much later than its stamp the light of a PVGIS typical year is meant. [s]"""
    found = form.typical and form.by_text and _LATE.search(text)
    return 3600.0 * float(found[1]) if found else 0.0


def _in_order(stamps_s, columns):
    """Rows by the calendar; the first where there are two, as on a 29 February."""
    import numpy as np

    stamps_s, rows = np.unique(stamps_s, return_index=True)
    return stamps_s, {name: values[rows] for name, values in columns.items()}


def _step_s(form, file, stamps_s):
    import numpy as np

    gaps_s = np.diff(stamps_s)
    forward_s = gaps_s[gaps_s > 0.0]
    if not forward_s.size:
        raise refused(file, f"is {form.name} with fewer than two times")
    step_s = float(Counter(forward_s.tolist()).most_common(1)[0][0])
    steps = gaps_s / step_s
    wrong = np.flatnonzero((np.rint(steps) < 1.0) | (np.abs(steps - np.rint(steps)) > 0.01))
    if step_s > LONGEST_STEP_S or wrong.size:
        after = stamps_s[wrong[0] + 1] if wrong.size else stamps_s[1]
        text = f"has no regular step: see {_shown(after)}"
        raise refused(file, text, "times in order, as far apart as most are, at most a day")
    return step_s


def _refuse_impossible(file, stamps_s, columns):
    import numpy as np

    for name, values in columns.items():
        least, most = RANGES.get(name, (-NIGHT_NOISE_W_m2, MOST_LIGHT_W_m2))
        wrong = np.flatnonzero((values < least) | (values > most))
        if wrong.size:
            at = wrong[0]
            text = f"its {_SHOWN[name]} is {values[at]:g} at {_shown(stamps_s[at])}"
            more = f", and {wrong.size - 1} more such" if wrong.size > 1 else ""
            raise refused(
                file,
                text + more,
                f"{least:g} to {most:g}, or the format's own mark for what is missing",
            )


def _shown(utc_s):
    return datetime.fromtimestamp(utc_s, tz=UTC).strftime("%Y-%m-%d %H:%M UTC")
