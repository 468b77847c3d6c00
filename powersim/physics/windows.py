"""The hours in which a load may be on: how much of each step its window is open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Window

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats
    from powersim.sky.sky import Sky
    from powersim.voyage.track import Track

DAY_H = 24.0  # [h] by definition


def open_frac(window: Window, *, track: Track, sky: Sky) -> Array:
    """Share of each step in which a window is open.

    Parameters
    ----------
    window : Window
        Always, night, day, or clock spans in ship's time or UTC.
    track : Track
        Gives the steps' times and ship's time.
    sky : Sky
        Gives the share of each step between sunset and sunrise at the boat.

    Returns
    -------
    ndarray, shape (n,)
        0 to 1. [-]

    Notes
    -----
    A step has one ship's time, that of its middle. Where the ship's clock is put back or forward
    between two steps, an hour of the clock comes twice or not at all, as it does aboard.
    """
    if window.kind == "night":
        return sky.night_frac
    if window.kind == "day":
        return 1.0 - sky.night_frac
    if window.kind == "always":
        return np.ones_like(sky.night_frac)
    mid_h = track.mid_utc_s % (DAY_H * 3600.0) / 3600.0
    if not window.utc:
        mid_h = mid_h + track.ship_offset_h
    start_h = (mid_h - track.step_h / 2.0) % DAY_H
    open_h = open_until_h(window.spans_h, clock_h=start_h + track.step_h) - open_until_h(
        window.spans_h, clock_h=start_h
    )
    # The difference of two sums can miss 0 and 1 by a rounding.
    return np.clip(open_h / track.step_h, 0.0, 1.0)


def open_h_per_day(window: Window, *, sky: Sky) -> Floats:
    """Hours that a window is open in the day around each step.

    Parameters
    ----------
    window : Window
        Always, night, day, or clock spans.
    sky : Sky
        Gives the length of the night where and when the boat is.

    Returns
    -------
    float or ndarray, shape (n,)
        0 to 24. [h]
    """
    if window.kind == "night":
        return sky.night_h
    if window.kind == "day":
        return DAY_H - sky.night_h
    if window.kind == "always":
        return DAY_H
    return sum(end_h - start_h for start_h, end_h in merged_spans(window.spans_h))


def open_until_h(spans_h: Sequence[tuple[float, float]], *, clock_h: Floats) -> Floats:
    """Hours that clock spans have been open since midnight, by a clock that runs on past 24.

    Parameters
    ----------
    spans_h : tuple of (float, float)
        Start and end in hours of the day; an end before its start spans midnight. [h]
    clock_h : float or ndarray
        Time since midnight, 0 or more; 25 is one o'clock on the next day. [h]

    Returns
    -------
    float or ndarray
        Whole days at their full sum, and the part of the last day. [h]

    Notes
    -----
    The open time inside any step is the difference of two such sums, exact however the step lies
    across midnight or across the ends of the spans.

    Examples
    --------
    >>> spans = ((23.5, 0.5),)
    >>> float(open_until_h(spans, clock_h=24.25) - open_until_h(spans, clock_h=23.25))
    0.75
    """
    knots_h = np.ravel(merged_spans(spans_h))
    lengths_h = np.diff(knots_h)
    lengths_h[1::2] = 0.0  # closed between one span's end and the next one's start
    opened_h = np.concatenate(([0.0], np.cumsum(lengths_h)))
    days = np.floor_divide(clock_h, DAY_H)
    return days * opened_h[-1] + np.interp(clock_h - days * DAY_H, knots_h, opened_h)


def merged_spans(spans_h: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Clock spans cut at midnight, in order, with those that touch or overlap joined.

    Parameters
    ----------
    spans_h : tuple of (float, float)
        As in a Window. [h]

    Returns
    -------
    tuple of (float, float)
        Each with its start before its end. [h]

    Examples
    --------
    >>> merged_spans(((22.0, 2.0), (1.0, 3.0)))
    ((0.0, 3.0), (22.0, 24.0))
    """
    merged: list[tuple[float, float]] = []
    for start_h, end_h in sorted(_cut_at_midnight(spans_h)):
        if merged and start_h <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end_h, merged[-1][1]))
        else:
            merged.append((start_h, end_h))
    return tuple(merged)


def _cut_at_midnight(spans_h: Sequence[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    for start_h, end_h in spans_h:
        pieces = [(start_h, end_h)] if start_h < end_h else [(start_h, DAY_H), (0.0, end_h)]
        yield from (piece for piece in pieces if piece[0] < piece[1])
