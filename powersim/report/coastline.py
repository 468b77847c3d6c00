"""The world's land as rings of positions, and what of it lies in a box."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools

_LAND = Path(__file__).parent / "data" / "land.npz"


@cache
def rings() -> tuple[Array, ...]:
    """Every outline of land, islands and one lake included (`data/PROVENANCE.md`).

    Points of longitude and latitude, the first again at the end; none crosses 180 degrees. [deg]
    """
    import numpy as np

    with np.load(_LAND) as kept:
        points_deg = kept["lonlat_deg_x100"] / 100.0
        return tuple(np.split(points_deg, kept["ring_offsets"][1:-1]))


def land_in(*, west_deg: float, east_deg: float, south_deg: float, north_deg: float) -> list[Array]:
    """Land within a box, cut at its sides: closed rings of longitude and latitude. [deg]

    Both count longitude as the box does: over the date line it may reach from 170 to 190.
    """
    import numpy as np

    found = []
    for turns_deg in (-720.0, -360.0, 0.0, 360.0, 720.0):
        for ring in rings():
            lon_deg, lat_deg = ring[:, 0] + turns_deg, ring[:, 1]
            if lon_deg.max() < west_deg or lon_deg.min() > east_deg:
                continue
            if lat_deg.max() < south_deg or lat_deg.min() > north_deg:
                continue
            cut = _cut(np.add(ring, (turns_deg, 0.0)), west_deg, east_deg, south_deg, north_deg)
            if len(cut) > 3:
                found.append(cut)
    return found


def is_shore(ring: Array) -> Bools:
    """Which sides of a ring are shore, and not a cut along the date line or the south pole."""
    import numpy as np

    on_seam = np.isclose(np.abs(ring[:, 0]) % 360.0, 180.0)
    at_pole = ring[:, 1] <= -90.0
    return ~((on_seam[1:] & on_seam[:-1]) | (at_pole[1:] & at_pole[:-1]))


def _cut(ring, west_deg, east_deg, south_deg, north_deg):
    """Cut a ring at the four sides of a box in turn (Sutherland and Hodgman 1974)."""
    for axis, sign, limit in (
        (0, 1.0, west_deg),
        (0, -1.0, east_deg),
        (1, 1.0, south_deg),
        (1, -1.0, north_deg),
    ):
        inside_by = sign * (ring[:, axis] - limit)
        if (inside_by < 0.0).any():
            ring = _cut_at(ring, inside_by)
        if len(ring) < 4:
            return ring[:0]
    return ring


def _cut_at(ring, inside_by):
    """What of a closed ring lies on the side where `inside_by` is not negative."""
    import numpy as np

    start, end = inside_by[:-1], inside_by[1:]
    inside = start >= 0.0
    crosses = inside != (end >= 0.0)
    share = np.divide(start, start - end, out=np.zeros_like(start), where=crosses)
    crossing = ring[:-1] + share[:, None] * (ring[1:] - ring[:-1])
    # Each side gives its first point if that is inside, and then where it crosses.
    both = np.stack([ring[:-1], crossing], axis=1).reshape(-1, 2)
    kept = both[np.stack([inside, crosses], axis=1).ravel()]
    return np.concatenate([kept, kept[:1]]) if len(kept) else kept
