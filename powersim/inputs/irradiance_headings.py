"""The heading of a file of light: which column holds what, and in which unit."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from powersim.errors import Problem
from powersim.inputs.headings import letter
from powersim.inputs.text import did_you_mean, printable, quoted

_LONGEST_LIST = 200
#: Steps from the stamp to the start of its interval. [-]
STAMPS = {"time": 0.0, "time_end": -1.0, "time_mid": -0.5}
#: What a unit of power is in W/m2, and one of energy in J/m2.
POWERS = {"W_m2": 1.0, "kW_m2": 1e3}
ENERGIES = {"Wh_m2": 3600.0, "kWh_m2": 3.6e6, "J_m2": 1.0, "kJ_m2": 1e3, "MJ_m2": 1e6}
_LIGHTS = (*POWERS, *ENERGIES)
#: First word of a heading -> units that may follow it.
UNITS = {
    "ghi": _LIGHTS,
    "dni": _LIGHTS,
    "dhi": _LIGHTS,
    "air": ("C", "degF", "K"),
    "wind": ("m_s", "kn", "km_h"),
}
#: Quantity of the record -> the first word of its headings.
WORDS = {
    "ghi_W_m2": "ghi",
    "dni_W_m2": "dni",
    "dhi_W_m2": "dhi",
    "air_C": "air",
    "wind_m_s": "wind",
}
TITLES = (*STAMPS, *(f"{word}_{unit}" for word, units in UNITS.items() for unit in units))
_LIGHT_EXPECTED = "{0}_W_m2 for a mean, {0}_Wh_m2 or {0}_MJ_m2 for the energy of an interval"
#: Headings that people write for times, in letters alone.
_TIMES = ("date", "datetime", "timestamp", "utc", "timeutc", "utctime", "datetimeutc", "dateutc")
_TIME_EXPECTED = "rename {} to time if it marks an interval's start, else to time_end or time_mid"
_KNOWN = (
    "columns time, ghi and perhaps dni, dhi, air and wind, each with its unit as in ghi_W_m2; "
    "take other columns out"
)


@dataclass(slots=True)
class LightHeading:
    """The heading as it was understood.

    Attributes
    ----------
    file : str
        Its name, for messages.
    line : int
        In the file.
    cells : list of str
        As they stand there.
    fields : dict of str to int
        Number of each column's cell, the first being 1, by one of TITLES.
    stamp : str or None
        The title of the column of times.
    title_of : dict of str to str
        Quantity of the record -> title of its column, for those that are there.
    problems : list of Problem
        In the order of the columns.
    """

    file: str
    line: int
    cells: list[str]
    fields: dict[str, int] = field(default_factory=dict)
    stamp: str | None = None
    title_of: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


def read_heading(file: str, cells: list[str], *, line: int) -> LightHeading:
    """Understand the heading of a file of light.

    Returns
    -------
    LightHeading
        With everything that is wrong with it.
    """
    heading = LightHeading(file=file, line=line, cells=cells)
    for number, cell in enumerate(cells, start=1):
        if cell:
            _take(heading, number, cell)
    misread = {_word(cells[problem.field - 1]) for problem in heading.problems if problem.field}
    misread |= {"time"} if any(map(_is_time, cells)) else set()
    heading.stamp = _only_one(heading, STAMPS, missing=None if "time" in misread else "time")
    for quantity, word in WORDS.items():
        missing = "ghi_W_m2" if word == "ghi" and word not in misread else None
        title = _only_one(heading, [f"{word}_{unit}" for unit in UNITS[word]], missing=missing)
        if title is not None:
            heading.title_of[quantity] = title
    return heading


def _take(heading, number, cell):
    title = _plain(cell)
    place = f"(column {letter(number)})"
    if title in heading.fields:
        first = letter(heading.fields[title])
        text = f"column {title!r} is there twice (columns {first} and {letter(number)})"
        _report(heading, text, "one of them", at=number)
    elif title in TITLES:
        heading.fields[title] = number
    elif (word := _word(cell)) in UNITS:
        unit = cell.strip()[len(word) :].strip("_()[] ")
        what = f"unknown unit {quoted(unit)}" if unit else "it names no unit"
        _report(heading, f"heading {quoted(cell)} {place}: {what}", _units_of(word), at=number)
    elif _is_time(cell) and not any(_plain(each) in STAMPS for each in heading.cells):
        text = f"no column 'time'; column {letter(number)} is {quoted(cell)}"
        _report(heading, text, _TIME_EXPECTED.format(quoted(cell)), at=number)
    else:
        text = f"unknown column {quoted(cell)} {place}" + did_you_mean(cell, TITLES)
        _report(heading, text, _KNOWN, at=number)


def _units_of(word) -> str:
    if UNITS[word] is _LIGHTS:
        return _LIGHT_EXPECTED.format(word)
    return "one of " + ", ".join(f"{word}_{unit}" for unit in UNITS[word])


def _word(cell) -> str:
    """The first word of a heading, in small letters."""
    return re.split(r"[^a-z]", cell.strip().casefold(), maxsplit=1)[0]


def _is_time(cell) -> bool:
    return re.sub(r"[^a-z]", "", cell.casefold()) in _TIMES


def _plain(cell) -> str:
    """The title that a heading means: "GHI [W/m^2]" and "ghi (W m-2)" are ghi_W_m2."""
    text = re.sub(r"[\s_/·*()\[\]\-^⁻]+", "_", cell.strip().replace("²", "2")).strip("_")
    for spelled, ours in (
        ("m_2", "m2"),
        ("deg_C", "C"),
        ("degC", "C"),
        ("°C", "C"),
        ("°F", "degF"),
    ):
        text = text.replace(spelled, ours)
    known = {title.casefold(): title for title in TITLES}
    return known.get(text.casefold(), text)


def _only_one(heading, names, *, missing):
    """The one of several titles for the same thing that the file has, or None."""
    found = [name for name in names if name in heading.fields]
    if len(found) > 1:
        _report(heading, "columns " + " and ".join(found) + " say the same", "one of them")
    elif not found and missing is not None:
        titles = printable(", ".join(heading.cells), longest=_LONGEST_LIST)
        word = _word(missing)
        expected = _units_of(word) if word in UNITS else "one of " + ", ".join(names)
        _report(heading, f"no column {missing!r}; found: {titles}", expected)
    return found[0] if found else None


def _report(heading, text, expected, *, at=None):
    heading.problems.append(
        Problem(file=heading.file, line=heading.line, field=at, text=text, expected=expected)
    )
