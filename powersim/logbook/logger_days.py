"""A logger's series day by day: what went out and in, the night's load, volts before dawn.

A day runs from dawn to dawn, by the sun where the boat was as planned. Sums are by trapezoids; a
gap adds nothing, and a day that lacks much is told as such and not summed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from powersim.logbook.charge_readings import REST_SHARE_OF_RATED
from powersim.physics.ratings import RATED_H
from powersim.records.brief import brief
from powersim.sky.sun import SET_ELEVATION_DEG, sun_at

if TYPE_CHECKING:
    from powersim.records import Battery, LoggerSeries
    from powersim.records.arrays import Array, Bools
    from powersim.voyage.track import Track

#: Two rows farther apart than so many of the usual steps, and than so long, have a gap between
#: them. [-], [s]
_GAP_STEPS, _GAP_s = 5.0, 600.0
#: A day or a night of which less than this was logged is not summed; judgement. [-]
LEAST_COVERED_FRAC = 0.9
#: The sun's height is looked at so often. [s]
_SUN_STEP_s = 300.0
#: After dusk the last light and the day's heavy loads are over; judgement. [h]
AFTER_DUSK_h = 1.0
#: The volts before dawn are the middle ones of so long; a load counts as on by its mean over half
#: of that. [s]
_BEFORE_DAWN_s, _MEAN_s = 1200.0, 600.0
#: In at least this share of the night's rows the current flows one way, or its sign is not told.
#: [-]
_ONE_WAY_FRAC = 0.8
#: Below this share of what went out, what came in by night is no charge; judgement. [-]
_NO_CHARGE_FRAC = 0.02
#: The middle of the panels' charge lies no farther from the sun's noon; judgement. [h]
MOST_OFF_NOON_h = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerWindow:
    """Some hours of a series, summed.

    Attributes
    ----------
    start_s, end_s : float
        Unix time. [s]
    covered_frac : float
        Share of them that was logged. [-]
    out_Ah, in_Ah, solar_Ah : float
        Out of the bank, into it, and from the panels, made up for what was not logged; nan where
        the file has no such column. [Ah]
    """

    start_s: float
    end_s: float
    covered_frac: float
    out_Ah: float
    in_Ah: float
    solar_Ah: float

    @property
    def whole(self) -> bool:
        """Whether enough of it was logged."""
        return self.covered_frac >= LEAST_COVERED_FRAC


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerDay:
    """One day from dawn to dawn.

    Attributes
    ----------
    day : LoggerWindow
        From dawn until an hour after dusk, or until a charge ends that goes on into the night.
    night : LoggerWindow
        From then to the next dawn.
    night_A : float
        Median current out of the bank in that night; nan without amperes. [A]
    dawn_V, dawn_A : float
        Volts and amperes at the bank just before the next dawn, out of the bank below 0; nan where
        they were not logged. [V], [A]
    resting_h : float
        For how long next to nothing had flowed by then. [h]
    line : int
        Line of the last row before that dawn.
    """

    day: LoggerWindow
    night: LoggerWindow
    night_A: float
    dawn_V: float
    dawn_A: float
    resting_h: float
    line: int

    @property
    def whole(self) -> bool:
        """Whether enough of it was logged, by day and by night."""
        return self.day.whole and self.night.whole

    @property
    def together(self) -> LoggerWindow:
        """Day and night as one."""
        hours = [part.end_s - part.start_s for part in (self.day, self.night)]
        covered = self.day.covered_frac * hours[0] + self.night.covered_frac * hours[1]
        return LoggerWindow(
            start_s=self.day.start_s,
            end_s=self.night.end_s,
            covered_frac=covered / sum(hours),
            out_Ah=self.day.out_Ah + self.night.out_Ah,
            in_Ah=self.day.in_Ah + self.night.in_Ah,
            solar_Ah=self.day.solar_Ah + self.night.solar_Ah,
        )

    @property
    def night_is_quiet(self) -> bool:
        """Whether nothing charged in its night."""
        return self.night.in_Ah <= _NO_CHARGE_FRAC * max(self.night.out_Ah, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoggerDays:
    """A series day by day.

    Attributes
    ----------
    days : tuple of LoggerDay
        In order; the last one may lack its night.
    outward_above_0 : bool or None
        Whether the logger shows what flows out of the bank as above 0, by its nights; None if that
        cannot be told, and then no current is used.
    off_noon_h : float
        By how much the middle of the panels' charge lies after the sun's noon, the median of all
        days; nan where that is not known. [h]
    step_s : float
        Usual time between two rows. [s]
    """

    days: tuple[LoggerDay, ...]
    outward_above_0: bool | None
    off_noon_h: float
    step_s: float

    __repr__ = brief

    @property
    def clock_is_off(self) -> bool:
        """Whether the logger's clock cannot be as it was taken."""
        return abs(self.off_noon_h) > MOST_OFF_NOON_h


def logger_days(
    series: LoggerSeries, battery: Battery, track: Track, *, ahead_h: float | None = 0.0
) -> LoggerDays:
    """Sum a series day by day.

    Parameters
    ----------
    series : LoggerSeries
        What was read.
    battery : Battery
        Says how little counts as rest.
    track : Track
        Where the boat was, as planned; before it begins at its start.
    ahead_h : float or None
        How far the logger's clock is ahead of UTC; None where it shows ship's time. [h]

    Returns
    -------
    LoggerDays
        Without days where the sun does not rise.
    """
    utc_s = series.times_s - 3600.0 * (_ship_h(series, track) if ahead_h is None else ahead_h)
    dawns_s, dusks_s, noons_s = sun_times(utc_s[0], utc_s[-1], track)
    step_s = float(np.median(np.diff(utc_s)))
    sums = _Sums(utc_s, max(_GAP_s, _GAP_STEPS * step_s))
    dark = _is_dark(utc_s, dawns_s, dusks_s)
    outward_above_0 = None if series.amps_A is None else _outward_above_0(series.amps_A[dark])
    amps_A = None
    if series.amps_A is not None and outward_above_0 is not None:
        amps_A = -series.amps_A if outward_above_0 else series.amps_A
    parts = {
        "out_Ah": None if amps_A is None else np.maximum(-amps_A, 0.0),
        "in_Ah": None if amps_A is None else np.maximum(amps_A, 0.0),
        "solar_Ah": None if series.solar_A is None else np.maximum(series.solar_A, 0.0),
    }
    added = {name: None if part is None else sums.of(part) for name, part in parts.items()}

    def window(start_s: float, end_s: float) -> LoggerWindow:
        covered = sums.between(sums.logged_h, start_s, end_s) / max(
            (end_s - start_s) / 3600.0, 1e-9
        )
        told = {
            name: math.nan
            if each is None or covered <= 0.0
            else sums.between(each, start_s, end_s) / covered
            for name, each in added.items()
        }
        return LoggerWindow(start_s=start_s, end_s=end_s, covered_frac=covered, **told)

    net_Ah = None if amps_A is None else sums.of(amps_A)
    rest_A = REST_SHARE_OF_RATED * battery.capacity_Ah / RATED_H
    days = []
    for dawn_s, next_s in pairwise(dawns_s.tolist()):
        dusk_s = next((one for one in dusks_s.tolist() if dawn_s < one < next_s), None)
        if dusk_s is None:
            continue
        evening_s = min(dusk_s + 3600.0 * AFTER_DUSK_h, next_s)
        evening_s = _after_charge_s(net_Ah, evening_s, next_s, sums)
        in_night = (utc_s >= evening_s) & (utc_s < next_s)
        late = (utc_s >= next_s - _BEFORE_DAWN_s) & (utc_s < next_s)
        last = int(np.searchsorted(utc_s, next_s)) - 1
        days.append(
            LoggerDay(
                day=window(dawn_s, evening_s),
                night=window(evening_s, next_s),
                night_A=-_median(amps_A, in_night),
                dawn_V=_median(series.volts_V, late),
                dawn_A=_median(amps_A, late),
                resting_h=_resting_h(net_Ah, next_s, rest_A, sums),
                line=int(series.lines[max(last, 0)]),
            )
        )
    return LoggerDays(
        days=tuple(days),
        outward_above_0=outward_above_0,
        off_noon_h=_off_noon_h(series.solar_A, utc_s, dawns_s, noons_s),
        step_s=step_s,
    )


def _ship_h(series: LoggerSeries, track: Track) -> Array:
    """How far ship's time is ahead of UTC at each row, by the place as planned. [h]"""
    mid_s = track.mid_utc_s
    places = np.clip(np.searchsorted(mid_s, series.times_s), 0, len(mid_s) - 1)
    return track.ship_offset_h[places]


class _Sums:
    """Integrals over time that leave gaps out."""

    def __init__(self, utc_s: Array, gap_s: float):
        self.utc_s = utc_s
        steps_s = np.diff(utc_s)
        self.steps_h = np.where(steps_s <= gap_s, steps_s, 0.0) / 3600.0
        self.logged_h = np.append(0.0, np.cumsum(self.steps_h))

    def of(self, values: Array) -> Array:
        """The integral from the first row to each; what is missing adds nothing."""
        known = np.nan_to_num(values)
        return np.append(0.0, np.cumsum(0.5 * (known[1:] + known[:-1]) * self.steps_h))

    def between(self, added: Array, start_s: float, end_s: float) -> float:
        """The part of an integral that lies between two moments."""
        first, last = np.interp([start_s, end_s], self.utc_s, added)
        return float(last - first)


def sun_times(first_s: float, last_s: float, track: Track) -> tuple[Array, Array, Array]:
    """Dawns, dusks and the sun's noons where the boat is, as planned.

    Parameters
    ----------
    first_s, last_s : float
        Unix time; a day more is looked at on either side. [s]
    track : Track
        The planned track.

    Returns
    -------
    tuple of ndarray
        Unix time. [s]
    """
    at_s = np.arange(first_s - 86_400.0, last_s + 86_400.0, _SUN_STEP_s)
    edge_lon_deg = np.unwrap(track.edge_lon_deg, period=360.0)
    lat_deg = np.interp(at_s, track.edge_utc_s, track.edge_lat_deg)
    lon_deg = np.interp(at_s, track.edge_utc_s, edge_lon_deg)
    height_deg = sun_at(lat_deg, lon_deg, at_s).true_elevation_deg
    above = height_deg - SET_ELEVATION_DEG
    turns = np.flatnonzero(np.sign(above[1:]) != np.sign(above[:-1]))
    at_turn_s = at_s[turns] + _SUN_STEP_s * above[turns] / (above[turns] - above[turns + 1])
    rising = above[turns + 1] > above[turns]
    top = np.flatnonzero(
        (height_deg[1:-1] >= height_deg[:-2]) & (height_deg[1:-1] > height_deg[2:])
    )
    return at_turn_s[rising], at_turn_s[~rising], at_s[1 + top]


def _is_dark(utc_s: Array, dawns_s: Array, dusks_s: Array) -> Bools:
    """Whether the last of dawn and of an hour after dusk was the latter."""
    evenings_s = dusks_s + 3600.0 * AFTER_DUSK_h
    turns_s = np.concatenate([dawns_s, evenings_s])
    darkens = np.concatenate([np.zeros(len(dawns_s)), np.ones(len(evenings_s))])
    order = np.argsort(turns_s)
    place = np.searchsorted(turns_s[order], utc_s, side="right") - 1
    return (place >= 0) & (darkens[order][np.maximum(place, 0)] > 0.0) if len(order) else place > 0


def _outward_above_0(by_night_A: Array) -> bool | None:
    """The sign of what flows in most of the rows of the nights; None where there is none such."""
    known = by_night_A[np.isfinite(by_night_A)]
    if not known.size:
        return None
    above, below = (float((known > 0.0).mean()), float((known < 0.0).mean()))
    if max(above, below) < _ONE_WAY_FRAC:
        return None
    return above > below


def _median(values: Array | None, some: Bools) -> float:
    if values is None:
        return math.nan
    known = values[some & np.isfinite(values)]
    return float(np.median(known)) if known.size else math.nan


def _resting_h(net_Ah: Array | None, until_s: float, rest_A: float, sums: _Sums) -> float:
    """For how long no ten minutes had a mean current to speak of. [h]"""
    if net_Ah is None:
        return 0.0
    rest_s = 0.0
    while rest_s < 86_400.0:
        start_s = until_s - rest_s - _MEAN_s
        logged_h = sums.between(sums.logged_h, start_s, start_s + _MEAN_s)
        if logged_h < 0.5 * _MEAN_s / 3600.0:
            break
        if abs(sums.between(net_Ah, start_s, start_s + _MEAN_s)) / logged_h >= rest_A:
            break
        rest_s += _MEAN_s
    return rest_s / 3600.0


def _after_charge_s(net_Ah: Array | None, evening_s: float, dawn_s: float, sums: _Sums) -> float:
    """When a night's charge ends, if that is in its first half; its beginning if there is none.

    So an engine that runs into the evening belongs to the day, and the night tells the loads alone.
    """
    until_s = evening_s
    if net_Ah is not None:
        for start_s in np.arange(evening_s, evening_s + 0.5 * (dawn_s - evening_s), _MEAN_s):
            if sums.between(net_Ah, start_s, start_s + _MEAN_s) > 0.0:
                until_s = float(start_s) + _MEAN_s
    return until_s


def _off_noon_h(solar_A: Array | None, utc_s: Array, dawns_s: Array, noons_s: Array) -> float:
    """By how much the middle of the panels' charge lies after the sun's noon. [h]"""
    if solar_A is None:
        return math.nan
    charge = np.nan_to_num(np.maximum(solar_A, 0.0))
    off_h = []
    for noon_s in noons_s:
        day = np.abs(utc_s - noon_s) < 43_200.0
        whole = charge[day].sum()
        if day.sum() < 10 or whole <= 0.0 or np.ptp(utc_s[day]) < 64_800.0:
            continue
        off_h.append((float((charge[day] * utc_s[day]).sum() / whole) - noon_s) / 3600.0)
    return float(np.median(off_h)) if off_h else math.nan
