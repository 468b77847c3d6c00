"""What is known by the hour or the day, laid over the steps of a track."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.sky.clear_sky import clear_ghi_W_m2, linke_turbidity
from powersim.sky.sun import extra_dni_W_m2, sun_at

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.voyage.track import Track

# More of the clear sky's light than this is a matter of the horizon, not of the weather: under
# broken cloud single minutes reach 1.5 (common knowledge, no source), and hours less. [-]
MOST_CLEAR_FRAC = 2.0
# So faint a light all night through has an interval in the dark spread evenly over its time; it
# takes less than a millionth from the day. [W/m^2]
FAINT_W_m2 = 1e-6
# How far light is handed on from the horizon; in an hour the sun is well above it. [h]
REACH_H = 1.0


def spread_light(track: Track, *, from_utc_s: Array, to_utc_s: Array, ghi_W_m2: Array) -> Array:
    """Mean light over intervals, as a share of the clear sky's light in every step.

    Parameters
    ----------
    track : Track
        Where the boat is, and when.
    from_utc_s, to_utc_s : ndarray, shape (k,)
        Start and end of each interval, in order and without overlap; any length, any gap. [s]
    ghi_W_m2 : ndarray, shape (k,)
        Mean light on the horizontal in each, nan where unknown. [W/m^2]

    Returns
    -------
    ndarray, shape (n,)
        0 where the sun is down at the step's middle; nan where less than half of the step is
        covered. [-]

    Raises
    ------
    ValueError
        If the intervals are out of order or overlap.

    Notes
    -----
    Within an interval the light goes as the clear sky's at the boat, which every step takes at its
    middle, so that share times clear light gives each interval's energy back. A step that is
    covered for half or more takes the mean of what is covered for the whole. Before the first step
    and after the last the boat is taken to lie where it is then.

    A step whose middle is just below the horizon, or so low that it would need more than
    MOST_CLEAR_FRAC, hands what is too much to the step on its brighter side, and that one to the
    next, for REACH_H. What is still too much is dropped, and so is all light of steps with no sun
    in the next one either: the instrument's noise, and twilight.
    """
    known = ~np.isnan(ghi_W_m2)
    start_s, end_s, light_W_m2 = (
        np.asarray(part, dtype=float)[known] for part in (from_utc_s, to_utc_s, ghi_W_m2)
    )
    if np.any(end_s <= start_s) or np.any(start_s[1:] < end_s[:-1]):
        raise ValueError("intervals must be in order, have a length, and not overlap")
    touching = (end_s > track.edge_utc_s[0]) & (start_s < track.edge_utc_s[-1])
    if not touching.any():
        return np.full(track.n_steps, np.nan)
    start_s, end_s, light_W_m2 = start_s[touching], end_s[touching], light_W_m2[touching]

    before, edge_s, clear_W_m2 = _clear_light_around(track, start_s[0], end_s[-1])
    # Energy under a sky that is never wholly dark; every interval takes its own multiple of it.
    ideal = _accumulated(clear_W_m2 + FAINT_W_m2, edge_s)
    ideal_from, ideal_to = (np.interp(at_s, edge_s, ideal) for at_s in (start_s, end_s))
    multiple = light_W_m2 * (end_s - start_s) / (ideal_to - ideal_from)
    energy = _within_intervals(ideal, ideal_from, ideal_to, multiple)
    covered_s = _within_intervals(edge_s, start_s, end_s, np.ones_like(start_s))

    half_covered = covered_s >= 0.5 * np.diff(edge_s)
    mean_W_m2 = np.where(half_covered, energy / np.where(half_covered, covered_s, 1.0), np.nan)
    mean_W_m2 = _off_the_horizon(
        mean_W_m2, clear_W_m2, passes=1 + int(np.ceil(REACH_H / track.step_h))
    )
    up = clear_W_m2 > 0.0
    clear_frac = mean_W_m2 / np.where(up, clear_W_m2, 1.0)
    return clear_frac[before : before + track.n_steps]


def at_steps(track: Track, *, utc_s: Array, values: Array) -> Array:
    """Values at moments, as they are at the steps' middles.

    Parameters
    ----------
    track : Track
        Where the boat is, and when.
    utc_s : ndarray, shape (k,)
        Unix time, rising. [s]
    values : ndarray, shape (k,)
        nan where unknown.

    Returns
    -------
    ndarray, shape (n,)
        On straight lines in time; nan outside, and beside what is unknown.
    """
    return np.interp(track.mid_utc_s, utc_s, values, left=np.nan, right=np.nan)


def interval_means(track: Track, *, from_utc_s: Array, to_utc_s: Array, values: Array) -> Array:
    """Mean over intervals of what is known step by step.

    Parameters
    ----------
    track : Track
        Where the boat is, and when.
    from_utc_s, to_utc_s : ndarray, shape (k,)
        Start and end of each interval. [s]
    values : ndarray, shape (n,)
        One for each step.

    Returns
    -------
    ndarray, shape (k,)
        Over the part of each interval that lies within the track; nan where none does.
    """
    total = _accumulated(values, track.edge_utc_s)
    ends_s = np.clip([from_utc_s, to_utc_s], track.edge_utc_s[0], track.edge_utc_s[-1])
    gained, within_s = (
        np.diff(parts, axis=0)[0] for parts in (np.interp(ends_s, track.edge_utc_s, total), ends_s)
    )
    return np.where(within_s > 0.0, gained / np.where(within_s > 0.0, within_s, 1.0), np.nan)


def _clear_light_around(
    track: Track, from_utc_s: float, to_utc_s: float
) -> tuple[int, Array, Array]:
    """Steps put before the track's own; edges of all; clear light at their middles.

    As sky_of has it, and far enough out to hold the intervals whole, one step at least either way.
    """
    step_s = 3600.0 * track.step_h
    before = 1 + max(0, int(np.ceil((track.edge_utc_s[0] - from_utc_s) / step_s)))
    after = 1 + max(0, int(np.ceil((to_utc_s - track.edge_utc_s[-1]) / step_s)))
    lat_deg, lon_deg = (
        np.pad(place, (before, after), mode="edge") for place in (track.lat_deg, track.lon_deg)
    )
    edge_s = track.start_utc_s + step_s * np.arange(-before, track.n_steps + after + 1)
    mid_s = edge_s[:-1] + 0.5 * step_s
    clear_W_m2 = clear_ghi_W_m2(
        sun_at(lat_deg, lon_deg, mid_s).elevation_deg,
        turbidity=linke_turbidity(lat_deg, lon_deg, mid_s),
        extra_W_m2=extra_dni_W_m2(mid_s),
    )
    return before, edge_s, clear_W_m2


def _accumulated(values: Array, edge_s: Array) -> Array:
    return np.concatenate([[0.0], np.cumsum(values * np.diff(edge_s))])


def _within_intervals(at: Array, start: Array, end: Array, multiple: Array) -> Array:
    """What each step gets of a quantity that grows only within intervals, `multiple` times as fast.

    `at` is the quantity at the steps' edges, `start` and `end` at the intervals' edges.
    """
    whole = np.concatenate([[0.0], np.cumsum(multiple * (end - start))])
    last = np.searchsorted(start, at, side="right") - 1  # the interval begun last; -1 for none
    began = np.maximum(last, 0)
    part = multiple[began] * (np.minimum(at, end[began]) - start[began])
    return np.diff(np.where(last < 0, 0.0, whole[began] + part))


def _off_the_horizon(mean_W_m2: Array, clear_W_m2: Array, passes: int) -> Array:
    """What a low sun cannot have given, handed on towards the brighter side step by step."""
    most_W_m2 = MOST_CLEAR_FRAC * clear_W_m2
    later, earlier = np.append(clear_W_m2[1:], 0.0), np.append(0.0, clear_W_m2[:-1])
    to_later, to_earlier = later > earlier, earlier > later
    for _ in range(passes):
        excess_W_m2 = np.nan_to_num(mean_W_m2 - np.minimum(mean_W_m2, most_W_m2))
        mean_W_m2 = np.minimum(mean_W_m2, most_W_m2)
        mean_W_m2[1:] += np.where(to_later, excess_W_m2, 0.0)[:-1]
        mean_W_m2[:-1] += np.where(to_earlier, excess_W_m2, 0.0)[1:]
    return np.minimum(mean_W_m2, most_W_m2)
