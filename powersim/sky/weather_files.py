"""What the sailor's own weather files know of the sky along a track, the best of them first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from powersim.errors import InputError, Problem
from powersim.sky.forecast import known_from_forecast
from powersim.sky.known import Known
from powersim.sky.measured import known_from_irradiance

#: Field of a passage: how to lay it along a track. A forecast goes before a measurement.
_KNOW = {"forecast": known_from_forecast, "irradiance": known_from_irradiance}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeatherFile:
    """A file, and what it knows.

    Attributes
    ----------
    file : str
        As the sailor named it.
    kind : str
        The field of the passage that holds it: "forecast" or "irradiance".
    known : Known
    """

    file: str
    kind: str
    known: Known


def weather_files(passage, track):
    """What the files of a passage know along its track.

    Parameters
    ----------
    passage : Passage
    track : Track

    Returns
    -------
    files : tuple of WeatherFile
        The best first.
    left_out : tuple of Problem
        Why others are left out, where the passage says that they may be.

    Raises
    ------
    InputError
        With every file that does not cover the boat, unless it may be left out.
    """
    files: list[WeatherFile] = []
    problems: list[Problem] = []
    for kind, know in _KNOW.items():
        read = getattr(passage, kind)
        if read is None:
            continue
        try:
            files.append(WeatherFile(file=read.file, kind=kind, known=know(read, track)))
        except InputError as error:
            problems += error.problems
    if problems and not passage.or_climatology:
        raise InputError(problems, or_climatology=True)
    return tuple(files), tuple(problems)


def span_of(known, track):
    """From when to when a file counts in full.

    Parameters
    ----------
    known : Known
    track : Track
        Along which it was laid.

    Returns
    -------
    tuple of (float, float) or None
        As Unix times; there may be gaps between them. None where it counts nowhere in full. [s]
    """
    full = np.flatnonzero(np.isfinite(known.clear_frac) & (known.weight == 1.0))
    if not full.size:
        return None
    return float(track.edge_utc_s[full[0]]), float(track.edge_utc_s[full[-1] + 1])
