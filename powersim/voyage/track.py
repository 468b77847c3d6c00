"""Waypoints to a track: where the boat is in every step, where it heads and what state it is in."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import BOAT_STATES, STATES, Waypoint
from powersim.records.brief import brief
from powersim.voyage.lines import LegLine, line_between
from powersim.voyage.motoring import at_ends, calm_spells
from powersim.voyage.ship_time import ship_offset_h as ship_offset_at

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools, Ints

_SIDES = {"port": -1, "starboard": 1, "both": 0}
_SAILING = BOAT_STATES.index("sailing")
_MOTORING = BOAT_STATES.index("motoring")
#: Whether a boat has heel and tack in each state.
_HEELED = np.array([state.heeled for state in STATES.values()])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """The passage step by step.

    Attributes
    ----------
    start_utc_s : float
        Unix time of the first step's start. [s]
    step_h : float
        Length of a step. [h]
    edge_lat_deg, edge_lon_deg : ndarray, shape (n + 1,)
        Position at the steps' edges; longitude -180 to 180. [deg]
    lat_deg, lon_deg : ndarray, shape (n,)
        Position at the steps' middles. [deg]
    course_deg : ndarray, shape (n,)
        True course, 0 to 360; at a stop that of the leg to come, or of the last. [deg]
    speed_kn : ndarray, shape (n,)
        Made good, 0 at a stop. [kn]
    state : ndarray of int8, shape (n,)
        Index into records.BOAT_STATES.
    leg : ndarray of int, shape (n,)
        Index of the waypoint that the boat last left or is stopped at.
    heel_deg : ndarray, shape (n,)
        To leeward; 0 unless sailing or hove-to. [deg]
    sailing_heel_deg : ndarray, shape (n,)
        As it is, or would be, under sail. [deg]
    tack : ndarray of int8, shape (n,)
        -1 port, +1 starboard, 0 both equally; 0 at a stop unless hove-to.
    calm_frac : ndarray, shape (n,)
        Chance of a calm in which the engine may be in gear; 0 where none is motored. [-]
    calm_share : ndarray, shape (n,)
        Share of those calms that is motored; the state has it as spells. [-]
    wind_m_s, cabin_C, cloud_oktas : ndarray, shape (n,)
        As the sailor gave them for the leg; nan where not. [m/s], [degC], [-]
    ship_offset_h : ndarray, shape (n,)
        Ship's time ahead of UTC. [h]
    sailed_nm : ndarray, shape (n + 1,)
        Distance since departure at the edges. [nm]
    arrival_h : float
        From start to landfall; steps after it lie at the last waypoint. [h]
    """

    start_utc_s: float
    step_h: float
    edge_lat_deg: Array
    edge_lon_deg: Array
    lat_deg: Array
    lon_deg: Array
    course_deg: Array
    speed_kn: Array
    state: Ints
    leg: Ints
    heel_deg: Array
    sailing_heel_deg: Array
    tack: Ints
    calm_frac: Array
    calm_share: Array
    wind_m_s: Array
    cabin_C: Array
    cloud_oktas: Array
    ship_offset_h: Array
    sailed_nm: Array
    arrival_h: float

    __repr__ = brief

    @property
    def n_steps(self) -> int:
        """Number of steps."""
        return self.lat_deg.size

    @property
    def calm_motoring_frac(self) -> Array:
        """Chance that the engine is in gear for want of wind. [-]"""
        return self.calm_frac * self.calm_share

    @property
    def edge_utc_s(self) -> Array:
        """Unix time at the steps' edges. [s]"""
        return self.start_utc_s + 3600.0 * self.step_h * np.arange(self.n_steps + 1)

    @property
    def mid_utc_s(self) -> Array:
        """Unix time at the steps' middles. [s]"""
        return self.start_utc_s + 3600.0 * self.step_h * (np.arange(self.n_steps) + 0.5)


def track_of(
    waypoints: Sequence[Waypoint],
    *,
    depart_utc_s: float,
    step_h: float,
    ship_offset_h: float | None = None,
    hold_h: float = 0.0,
    calm_frac: Callable[..., Array] | None = None,
) -> Track:
    """Sail a route on paper.

    Parameters
    ----------
    waypoints : sequence of Waypoint
        Two or more.
    depart_utc_s : float
        Unix time at which the first waypoint's stop, or the first leg, begins. [s]
    step_h : float
        Length of a step. [h]
    ship_offset_h : float or None
        Fixed ship's time ahead of UTC; None follows zones of longitude. [h]
    hold_h : float
        Time held at the last waypoint, beyond its own stop. [h]
    calm_frac : callable or None
        calm_frac(lat_deg, lon_deg, utc_s, below_kn=...) gives the share of hours with less wind;
        needed where a leg motors through calms.

    Returns
    -------
    Track
        Long enough to cover whole hours.

    Raises
    ------
    ValueError
        If a leg motors through calms and calm_frac is None.

    Notes
    -----
    Speed is the average with calms included, so motoring changes neither track nor arrival. A step
    takes the state and leg of its middle, so that motoring is right to a step a leg.
    """
    lines = _lines(waypoints)
    reach_h, leave_h = _timetable(waypoints, lines)
    # A whisker off, so that rounding in the sum of legs does not add an hour.
    hours = max(1, math.ceil(leave_h[-1] + hold_h - 1e-9))
    half_steps = 2 * math.ceil(hours / step_h - 1e-9)
    half_h = 0.5 * step_h * np.arange(half_steps + 1)  # edges and middles in turn
    lat_deg, lon_deg, course_deg, sailed_nm = _places(waypoints, lines, reach_h, leave_h, half_h)

    mid_h = half_h[1::2]
    leg = _leg_at(reach_h, mid_h)
    under_way = (mid_h >= leave_h[leg]) & (leg < len(lines))
    powered, calms, calm_share = _powered(
        waypoints,
        leg=np.where(under_way, leg, len(lines)),
        since_h=mid_h - leave_h[leg],
        leg_h=reach_h[1:] - leave_h[:-1],
        step_h=step_h,
        calm_frac=calm_frac,
        place=(lat_deg[1::2], lon_deg[1::2], depart_utc_s + 3600.0 * mid_h),
    )
    stopped = np.array([BOAT_STATES.index(waypoint.stop_state) for waypoint in waypoints])[leg]
    state = np.where(under_way, np.where(powered, _MOTORING, _SAILING), stopped)
    tack = np.array([_SIDES[waypoint.tack] for waypoint in waypoints])[leg]
    heel_deg = _by_waypoint(waypoints, "heel_deg")[leg]
    return Track(
        start_utc_s=float(depart_utc_s),
        step_h=float(step_h),
        edge_lat_deg=lat_deg[::2],
        edge_lon_deg=lon_deg[::2],
        lat_deg=lat_deg[1::2],
        lon_deg=lon_deg[1::2],
        course_deg=course_deg[1::2],
        speed_kn=np.where(under_way, _by_waypoint(waypoints, "speed_kn")[leg], 0.0),
        state=state.astype(np.int8),
        leg=leg,
        heel_deg=np.where(_HEELED[state], heel_deg, 0.0),
        sailing_heel_deg=heel_deg,
        tack=np.where(under_way | _HEELED[state], tack, 0).astype(np.int8),
        calm_frac=calms,
        calm_share=calm_share,
        wind_m_s=_by_waypoint(waypoints, "wind_m_s")[leg],
        cabin_C=_by_waypoint(waypoints, "cabin_C")[leg],
        cloud_oktas=_by_waypoint(waypoints, "cloud_oktas")[leg],
        ship_offset_h=ship_offset_at(lon_deg[1::2], fixed_h=ship_offset_h),
        sailed_nm=sailed_nm[::2],
        arrival_h=float(reach_h[-1]),
    )


def timetable(waypoints: Sequence[Waypoint]) -> tuple[Array, Array]:
    """When each waypoint is reached and left.

    Parameters
    ----------
    waypoints : sequence of Waypoint
        Two or more.

    Returns
    -------
    reach_h, leave_h : ndarray, shape (waypoints,)
        Time since departure. [h]
    """
    return _timetable(waypoints, _lines(waypoints))


def in_calms(track: Track, *, motored: bool) -> Track:
    """The same track with the engine in gear in all of its possible calms, or in none.

    Parameters
    ----------
    track : Track
        Its calms are looked at and its places kept.
    motored : bool
        Whether the engine is in gear wherever a calm may be motored.

    Returns
    -------
    Track
        With the state and the heel of those steps changed.
    """
    calm = track.calm_motoring_frac > 0.0
    return replace(
        track,
        state=np.where(calm, _MOTORING if motored else _SAILING, track.state).astype(np.int8),
        heel_deg=np.where(calm, 0.0 if motored else track.sailing_heel_deg, track.heel_deg),
    )


def _by_waypoint(waypoints: Sequence[Waypoint], name: str) -> Array:
    """One optional field of every waypoint, nan where it is None."""
    return np.array([getattr(waypoint, name) for waypoint in waypoints], dtype=float)


def _lines(waypoints: Sequence[Waypoint]) -> list[LegLine]:
    return [line_between(start, end, track=start.track) for start, end in pairwise(waypoints)]


def _timetable(waypoints: Sequence[Waypoint], lines: Sequence[LegLine]) -> tuple[Array, Array]:
    """Hours at which each waypoint is reached and left."""
    length_nm = np.array([line.length_nm for line in lines])
    passage_h = length_nm / _by_waypoint(waypoints[:-1], "speed_kn")
    stop_h = np.array([waypoint.stop_h for waypoint in waypoints])
    reach_h = np.concatenate([[0.0], np.cumsum(stop_h[:-1] + passage_h)])
    return reach_h, reach_h + stop_h


def _leg_at(reach_h: Array, at_h: Array) -> Ints:
    return np.searchsorted(reach_h, at_h, side="right") - 1


def _places(
    waypoints: Sequence[Waypoint],
    lines: Sequence[LegLine],
    reach_h: Array,
    leave_h: Array,
    at_h: Array,
) -> tuple[Array, Array, Array, Array]:
    """Latitude, longitude, course and distance sailed at any hours since departure."""
    # Past the last waypoint the boat lies at the end of the last line.
    leg = np.minimum(_leg_at(reach_h, at_h), len(lines) - 1)
    speed_kn = _by_waypoint(waypoints, "speed_kn")[leg]
    length_nm = np.array([line.length_nm for line in lines])
    on_leg_nm = np.clip((at_h - leave_h[leg]) * speed_kn, 0.0, length_nm[leg])
    places = np.empty((3, at_h.size))
    for index, line in enumerate(lines):
        here = leg == index
        places[:, here] = line.at(on_leg_nm[here])
    before_nm = np.concatenate([[0.0], np.cumsum(length_nm)])
    return *places, before_nm[leg] + on_leg_nm


def _powered(
    waypoints: Sequence[Waypoint],
    *,
    leg: Ints,
    since_h: Array,
    leg_h: Array,
    step_h: float,
    calm_frac: Callable[..., Array] | None,
    place: tuple[Array, Array, Array],
) -> tuple[Bools, Array, Array]:
    """Which steps are under power, the chance of a calm that may be motored, and the share that is.

    `leg` is beyond the last one where the boat is stopped.
    """
    powered, calm, share = np.zeros(leg.size, dtype=bool), np.zeros(leg.size), np.zeros(leg.size)
    for index, waypoint in enumerate(waypoints[:-1]):
        here = np.flatnonzero(leg == index)
        powered[here] = at_ends(
            since_h[here],
            leg_h=leg_h[index],
            start_h=waypoint.motoring_start_h,
            end_h=waypoint.motoring_end_h,
        )
        if waypoint.motoring_calm_frac > 0:
            if calm_frac is None:
                raise ValueError("a leg that motors through calms needs calm_frac")
            free = here[~powered[here]]
            here_and_then = (part[free] for part in place)
            calm[free] = calm_frac(*here_and_then, below_kn=waypoint.calm_kn)
            share[free] = waypoint.motoring_calm_frac
            powered[free] = calm_spells(share[free] * calm[free], step_h=step_h)
    return powered, calm, share
