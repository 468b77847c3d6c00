"""The day's demand: what loads take from the bank on chosen days, and in each boat state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import fsum

import numpy as np

from powersim.physics.demand import GROUPS, Demand, demand_of
from powersim.planning.hour_in_gear import EngineHour, engine_hours
from powersim.planning.sessions_left import SessionTable, sessions_from_departure
from powersim.records import BOAT_STATES, Boat, Passage
from powersim.records.brief import brief
from powersim.simulation.prepared import Prepared
from powersim.voyage.track import Track

#: Days shown along the route when none is named, and how far apart they are at least. [days]
MOST_DAYS = 5
DAYS_APART = 7.0
#: The name under which solar controllers and the bank's own protection stand.
OWN_DRAW = "controllers and bank"
OWN_GROUP = "essential"


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadDay:
    """What one load takes in a day.

    Attributes
    ----------
    load : str
        The load's name.
    group : str
        One of physics.demand.GROUPS.
    charge_Ah, energy_Wh : float
        Taken at the bank, with the losses of its supply. [Ah], [Wh]
    """

    load: str
    group: str
    charge_Ah: float
    energy_Wh: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """What all loads take in one day.

    Attributes
    ----------
    title : str
        Empty for a day of the passage, else the boat state that lasts all day.
    start_utc_s : float
        Unix time at which a day of the passage begins. [s]
    ship_offset_h : float
        Ship's time ahead of UTC. [h]
    lat_deg : float
        Latitude in the middle of the day. [deg]
    night_h : float
        Length of the night, sunset to sunrise. [h]
    rows : tuple of LoadDay
        One for each load, in the order of the load list.
    """

    title: str = ""
    start_utc_s: float
    ship_offset_h: float
    lat_deg: float
    night_h: float
    rows: tuple[LoadDay, ...]

    __repr__ = brief

    def total_Ah(self, *groups: str) -> float:
        """Sum over the rows, or over those of some groups. [Ah]"""
        return fsum(row.charge_Ah for row in self.rows if not groups or row.group in groups)

    def total_Wh(self, *groups: str) -> float:
        """Sum over the rows, or over those of some groups. [Wh]"""
        return fsum(row.energy_Wh for row in self.rows if not groups or row.group in groups)


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """The day's demand along the route and in each boat state.

    Attributes
    ----------
    nominal_V : float
        Voltage that turns power into current, and current into energy. [V]
    days : tuple of Day
        Days of the passage, in order.
    states : tuple of Day
        A whole day in each boat state, with the mean of the route's nights.
    engine_hours : tuple of EngineHour
        What an hour in gear puts into the bank, and one at rest.
    sessions : SessionTable
        What a message costs, and how many the bank has in it at departure.
    """

    nominal_V: float
    days: tuple[Day, ...]
    states: tuple[Day, ...]
    engine_hours: tuple[EngineHour, ...]
    sessions: SessionTable = field(default_factory=SessionTable)

    __repr__ = brief


def _states(boat: Boat) -> tuple[str, ...]:
    """States that the boat can be in: without an engine, all but motoring."""
    return tuple(one for one in BOAT_STATES if one != "motoring" or boat.engine is not None)


def budget_of(passage: Passage, prepared: Prepared, *, dates_utc_s: Sequence[float] = ()) -> Budget:
    """The day's demand along the route, or on chosen days.

    Parameters
    ----------
    passage : Passage
        Its loads, boat and route.
    prepared : Prepared
        The same passage, prepared.
    dates_utc_s : sequence of float
        Moments whose ship's days are asked for; none for a choice along the route. [s]

    Raises
    ------
    ValueError
        If a moment lies outside the passage.

    Notes
    -----
    A day is 24 hours of the passage with the boat states that they bring. It is the ship's day of
    the moment asked for, moved so that it lies within the passage. A passage shorter than a day is
    scaled up to a day.
    """
    track = prepared.track
    starts = [_day_start(track, moment_s) for moment_s in dates_utc_s] or _along(track)
    draws = _Draws(passage, prepared)
    hours = engine_hours(passage, prepared)
    return Budget(
        nominal_V=passage.boat.battery.nominal_V,
        days=tuple(draws.day(prepared.demand, first) for first in starts),
        states=tuple(draws.in_state(state) for state in _states(passage.boat)),
        engine_hours=hours,
        sessions=sessions_from_departure(prepared, hours),
    )


class _Draws:
    """The demand of a passage, averaged to days."""

    def __init__(self, passage: Passage, prepared: Prepared) -> None:
        self.passage, self.track, self.sky = passage, prepared.track, prepared.sky
        self.own_A = prepared.plant.idle_A + prepared.plant.standby_A
        self.nominal_V = passage.boat.battery.nominal_V
        # Whole days, so that every hour of the clock counts alike.
        self.whole = _per_day(self.track) * max(1, self.track.n_steps // _per_day(self.track))

    def day(self, demand: Demand, first: int) -> Day:
        """What 24 hours take, from a step on."""
        return self._averaged(demand, slice(first, first + _per_day(self.track)))

    def in_state(self, state: str) -> Day:
        """A day in one boat state, averaged over the whole passage."""
        states = np.full_like(self.track.state, BOAT_STATES.index(state))
        demand = demand_of(
            self.passage.drawn,
            self.passage.boat.supplies,
            track=replace(self.track, state=states),
            sky=self.sky,
        )
        return replace(self._averaged(demand, slice(0, self.whole)), title=state)

    def _averaged(self, demand: Demand, steps: slice) -> Day:
        current_A, power_W = (
            array[:, steps].mean(axis=1) for array in (demand.current_A, demand.power_W)
        )
        charge_Ah = 24.0 * (current_A + power_W / self.nominal_V)
        rows = [
            LoadDay(
                load=name, group=group, charge_Ah=float(ah), energy_Wh=float(ah * self.nominal_V)
            )
            for name, group, ah in zip(demand.names, demand.groups, charge_Ah, strict=True)
        ]
        if self.own_A > 0:
            own_Ah = 24.0 * self.own_A
            rows.append(
                LoadDay(
                    load=OWN_DRAW,
                    group=OWN_GROUP,
                    charge_Ah=own_Ah,
                    energy_Wh=own_Ah * self.nominal_V,
                )
            )
        middle = (steps.start + min(steps.stop, self.track.n_steps)) // 2
        return Day(
            start_utc_s=float(self.track.edge_utc_s[steps.start]),
            ship_offset_h=float(self.track.ship_offset_h[middle]),
            lat_deg=float(self.track.lat_deg[middle]),
            night_h=float(self.sky.night_h[steps].mean()),
            rows=tuple(rows),
        )


def by_group(day: Day) -> dict[str, float]:
    """A day's charge by group, in the order of GROUPS. [Ah]

    Parameters
    ----------
    day : Day
        One day of a budget.
    """
    return {group: day.total_Ah(group) for group in GROUPS}


def _per_day(track: Track) -> int:
    return round(24.0 / track.step_h)


def _last_start(track: Track) -> int:
    """Step at which the last whole day begins, 0 for a passage shorter than a day."""
    return max(track.n_steps - _per_day(track), 0)


def _along(track: Track) -> list[int]:
    """Steps at which days begin: at departure, about every week, and before landfall."""
    last = _last_start(track)
    count = min(MOST_DAYS, 1 + int(np.ceil(last * track.step_h / 24.0 / DAYS_APART)))
    return [round(first) for first in np.linspace(0, last, count)]


def _day_start(track: Track, moment_utc_s: float) -> int:
    """Step at which the ship's day of a moment begins, moved into the passage."""
    step = (moment_utc_s - track.start_utc_s) / 3600.0 / track.step_h
    if not 0 <= step <= track.n_steps:
        raise ValueError(f"{moment_utc_s!r} lies outside the passage")
    offset_h = track.ship_offset_h[min(int(step), track.n_steps - 1)]
    since_midnight_h = (moment_utc_s / 3600.0 + offset_h) % 24.0
    return int(np.clip(round(step - since_midnight_h / track.step_h), 0, _last_start(track)))
