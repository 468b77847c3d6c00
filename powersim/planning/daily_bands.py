"""Where on a passage a daily run is worth trying: sides of latitudes that are easy to remember."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from powersim.records import DailyRun

if TYPE_CHECKING:
    from powersim.voyage.track import Track

#: A daily run may begin or end at latitudes that are multiples of it. [deg]
BAND_DEG = 5.0
#: By how much its latitude is moved in a neighbour. [deg]
_NEAR_DEG = (-2.5, 2.5)


def sides(track: Track, *, most: int) -> list[tuple[float, float]]:
    """Bands north and south of some latitudes that the passage crosses.

    Parameters
    ----------
    track : Track
        Of the passage.
    most : int
        Most such latitudes.

    Returns
    -------
    list of tuple of float
        South and north edge of each. [deg]
    """
    first = math.floor(track.lat_deg.min() / BAND_DEG) + 1
    last = math.ceil(track.lat_deg.max() / BAND_DEG) - 1
    crossed = [BAND_DEG * number for number in range(first, last + 1)]
    few = _spread_out(crossed, most)
    return [side for lat_deg in few for side in ((lat_deg, 90.0), (-90.0, lat_deg))]


def moved(run: DailyRun) -> Iterator[DailyRun]:
    """A daily run whose latitude is moved a little.

    Parameters
    ----------
    run : DailyRun
        One that is kept on a side of some latitude; of one kept everywhere there is none.
    """
    for more_deg in _NEAR_DEG:
        south_deg = run.south_deg if run.south_deg == -90.0 else run.south_deg + more_deg
        north_deg = run.north_deg if run.north_deg == 90.0 else run.north_deg + more_deg
        if (south_deg, north_deg) != (run.south_deg, run.north_deg) and (
            -90.0 <= south_deg < north_deg <= 90.0
        ):
            yield replace(run, south_deg=south_deg, north_deg=north_deg)


def _spread_out(values: Sequence[float], most: int) -> list[float]:
    if len(values) <= most:
        return list(values)
    return [values[round(place * (len(values) - 1) / (most - 1))] for place in range(most)]
