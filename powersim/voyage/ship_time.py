"""Ship's time: zone time by longitude, or a fixed offset from UTC; hours of the ship's day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools
    from powersim.voyage.track import Track

ZONE_DEG = 15.0  # one hour of the earth's turn; zone time at sea, common practice, no source [deg]


def ship_offset_h(lon_deg: Array, *, fixed_h: float | None = None) -> Array:
    """How far ship's time is ahead of UTC.

    Parameters
    ----------
    lon_deg : ndarray
        Longitude, -180 to 180. [deg]
    fixed_h : float or None
        A fixed offset in place of the zones. [h]

    Returns
    -------
    ndarray
        Whole hours by zones, or the fixed offset. [h]

    Notes
    -----
    A zone reaches 7.5 degrees to either side of its meridian; a position exactly on a border keeps
    the time of the zone to its east. The date line halves zone 12: +12 to its west, -12 to its
    east; the date changes there and the clock does not.

    Examples
    --------
    >>> ship_offset_h(np.array([-22.0, -7.5, 7.4, 7.5, -179.0])).tolist()
    [-1.0, 0.0, 0.0, 1.0, -12.0]
    """
    lon_deg = np.asarray(lon_deg, dtype=float)
    if fixed_h is not None:
        return np.full(lon_deg.shape, float(fixed_h))
    return np.floor(lon_deg / ZONE_DEG + 0.5)


def in_hours(track: Track, hours_h: tuple[float, float]) -> Bools:
    """Steps whose middle lies within some hours of the ship's day.

    Parameters
    ----------
    track : Track
        Its moments and its ship's time are looked at.
    hours_h : tuple of (float, float)
        First and last hour; an end before its start spans midnight. [h]

    Returns
    -------
    ndarray of bool, shape (n,)
        True within the hours.
    """
    start_h, end_h = hours_h
    # The middle of the step decides, so that a step is not split by an hour's edge.
    clock_h = (track.mid_utc_s / 3600.0 + track.ship_offset_h) % 24.0
    if start_h < end_h:
        return (clock_h >= start_h) & (clock_h < end_h)
    return (clock_h >= start_h) | (clock_h < end_h)
