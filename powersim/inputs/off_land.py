"""Whether a place lies in the open sea, by a coarse map of what is near land."""

from __future__ import annotations

import zlib
from functools import cache
from pathlib import Path

_MAP = Path(__file__).parent / "data" / "near_land.zlib"
_CELL_DEG = 0.25
_ROWS, _COLUMNS = 720, 1440
#: Where the map has no land near, any land that it knows is farther off. [nm]
OFF_LAND_NM = 30.0


@cache
def _near_land() -> bytes:
    """A bit a cell, rows from the south pole, columns from 180 degrees (`data/PROVENANCE.md`)."""
    return zlib.decompress(_MAP.read_bytes())


def is_off_land(*, lat_deg: float, lon_deg: float) -> bool:
    """Whether no land is known within OFF_LAND_NM.

    Parameters
    ----------
    lat_deg, lon_deg : float
        North and east positive; any count of longitude. [deg]

    Returns
    -------
    bool
        False also where land may be as far as 51 nm off. The map knows small islands, and hardly
        any reef that covers.

    Examples
    --------
    >>> is_off_land(lat_deg=45.0, lon_deg=-30.0), is_off_land(lat_deg=38.53, lon_deg=-28.63)
    (True, False)
    """
    row = min(int((lat_deg + 90.0) / _CELL_DEG), _ROWS - 1)
    column = min(int((lon_deg + 180.0) % 360.0 / _CELL_DEG), _COLUMNS - 1)
    place = row * _COLUMNS + column
    return not _near_land()[place // 8] >> (7 - place % 8) & 1
