"""What the sailor's own weather files know of the sky along a track, the best of them first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.errors import InputError, Problem
from powersim.records import Passage
from powersim.sky.forecast import known_from_forecast
from powersim.sky.known import Known
from powersim.sky.measured import known_from_irradiance

if TYPE_CHECKING:
    from powersim.voyage.track import Track

#: Field of a passage: how to lay what it holds along a track. A forecast goes before a measurement.
_KNOW: dict[str, Callable[[Any, Track], Known]] = {
    "forecast": known_from_forecast,
    "irradiance": known_from_irradiance,
}


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
        Step by step.
    """

    file: str
    kind: str
    known: Known


def weather_files(
    passage: Passage, track: Track
) -> tuple[tuple[WeatherFile, ...], tuple[Problem, ...]]:
    """What the files of a passage know along its track.

    Parameters
    ----------
    passage : Passage
        Its forecast and its measured light, as they were read.
    track : Track
        Where the boat is, and when.

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


def span_of(known: Known, track: Track) -> tuple[float, float] | None:
    """From when to when a file counts in full.

    Parameters
    ----------
    known : Known
        Of one file.
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
