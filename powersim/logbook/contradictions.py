"""Where entries of a log contradict each other, the passage, or the calendar.

A cell or an entry that contradicts is set aside and named with its line; the rest counts.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from powersim.errors import Problem
from powersim.logbook.counters import in_gear_within_engine, only_rising
from powersim.logbook.readings import CheckedLog, Reading, without
from powersim.physics.tank import above_tank
from powersim.records import Log, LogEntry, Passage
from powersim.records.units_aboard import aboard
from powersim.voyage.ship_time import ship_offset_h

if TYPE_CHECKING:
    from powersim.voyage.track import Track

#: A fix farther from the route than this is a slip of the pen, not a detour (judgement). [nm]
FARTHEST_NM = 500.0
#: A dip may read over the brim by this share when she rolls. [-]
_BRIM_SLACK_FRAC = 0.02
#: An entry so long after the planned landfall is of another passage (judgement). [h]
LATEST_h = 60.0 * 24.0
_FIX_EXPECTED = "a fix within {} of the route; are N, S, E and W right?"
#: Shares of its nominal voltage between which any bank reads: 9 V to 16.5 V of 12 V, from flat
#: under load to equalizing (judgement). [-]
_VOLTAGE_FRAC = (0.75, 1.375)
#: Share of the bank's capacity on its label that a monitor may have counted out of it (judgement).
_MOST_OUT_FRAC = 1.2


def checked(
    log: Log, *, passage: Passage, track: Track, now_utc: datetime, sounding: Callable | None = None
) -> CheckedLog:
    """Put a log in order of time, and set aside all that contradicts.

    Parameters
    ----------
    log : Log
        The log as read.
    passage : Passage
        Its departure, ship's time, bank and tank count.
    track : Track
        The planned track.
    now_utc : datetime
        Later entries are in the future.
    sounding : callable, optional
        sounding(depth_m) gives litres and their standard deviation; without it a depth says
        nothing.
    """
    problems = list(log.set_aside)
    timed = [(_utc_s(entry, passage, track), entry) for entry in log.entries]
    timed = _within_time(timed, passage, track, now_utc, problems)
    timed = _one_a_moment(timed, problems)
    readings = [
        Reading(at_h=(utc_s - passage.depart_utc.timestamp()) / 3600.0, entry=entry)
        for utc_s, entry in timed
    ]
    readings = [_on_route(one, track, problems) for one in readings]
    readings = only_rising(readings, "engine_h", problems, pace=1.0)
    readings = only_rising(readings, "gear_h", problems, pace=1.0)
    readings = in_gear_within_engine(readings, problems)
    readings = only_rising(readings, "solar_Ah", problems, pace=None)
    readings = [_of_the_bank(one, passage.boat.battery, problems) for one in readings]
    readings = [_within_tank(one, passage.boat, problems) for one in readings]
    readings = [_room_for_fuel(one, passage.boat.fuel, problems) for one in readings]
    readings = _within_cans(readings, passage.boat.fuel, problems)
    _say_if_depths_tell_nothing(readings, passage.boat, sounding, problems)
    _say_if_needle_tells_nothing(readings, passage.boat, problems)
    in_order = sorted(problems, key=lambda problem: (problem.line or 0, problem.field or 0))
    return CheckedLog(readings=tuple(readings), set_aside=tuple(in_order), taken=log.taken)


def latest_utc(track: Track) -> datetime:
    """The latest that an entry of a passage may be.

    Parameters
    ----------
    track : Track
        The planned track.

    Returns
    -------
    datetime
        Long after landfall as planned.
    """
    return datetime.fromtimestamp(float(track.edge_utc_s[-1]) + 3600.0 * LATEST_h, UTC)


def _utc_s(entry: LogEntry, passage, track) -> float:
    """Unix time of an entry, with ship's time by its own fix or the plan's longitude. [s]"""
    if not entry.in_ship_time:
        return entry.clock_s
    lon_deg = entry.lon_deg
    if lon_deg is None:
        lon_deg = float(np.interp(entry.clock_s, track.mid_utc_s, track.lon_deg))
    offset_h = ship_offset_h(np.array([lon_deg]), fixed_h=passage.ship_offset_h)[0]
    return entry.clock_s - 3600.0 * float(offset_h)


def _time_column(entry: LogEntry) -> str:
    return "ship_time" if "ship_time" in entry.places else "time"


def _within_time(timed, passage, track, now_utc, problems):
    """Entries from departure until now, and not of another year, in order of time."""
    depart_s, now_s = passage.depart_utc.timestamp(), now_utc.timestamp()
    kept, ahead = [], []
    for utc_s, entry in sorted(timed, key=lambda one: (one[0], one[1].line)):
        moment = datetime.fromtimestamp(utc_s, UTC)
        is_late = utc_s > latest_utc(track).timestamp()
        if utc_s > now_s + 60.0 and not is_late:
            ahead.append((moment, entry))
            continue
        if utc_s < depart_s:
            reason = f"{moment:%Y-%m-%d %H:%M} UTC is before departure"
            expected = f"from {passage.depart_utc:%Y-%m-%d %H:%M} UTC on, or another --depart"
        elif is_late:
            landfall = datetime.fromtimestamp(float(track.edge_utc_s[-1]), UTC)
            reason = f"{moment:%Y-%m-%d %H:%M} UTC is long after landfall"
            expected = (
                f"no later than {LATEST_h / 24.0:.0f} days after landfall as planned, "
                f"{landfall:%Y-%m-%d}; is the year right?"
            )
        else:
            kept.append((utc_s, entry))
            continue
        problems.append(entry.problem(_time_column(entry), reason, expected))
    if ahead:
        problems.append(_in_the_future(ahead, now_utc))
    return kept


def _in_the_future(ahead: list[tuple[datetime, LogEntry]], now_utc: datetime) -> Problem:
    """One line for all entries that a slow clock puts into the future, or a slip of the pen.

    The time to type is a minute after the last of them: the clock has shown less than that.
    """
    (_, first), (last_utc, _) = ahead[0], ahead[-1]
    others = len(ahead) - 1
    more = f", and so {'is' if others == 1 else 'are'} {others} more" if others else ""
    typed = last_utc + timedelta(minutes=1)
    reason = f"{ahead[0][0]:%Y-%m-%d %H:%M} UTC is in the future{more}"
    expected = (
        f"no later than this computer's clock, {now_utc:%Y-%m-%d %H:%M} UTC. If the clock is slow, "
        f'give the right time, such as --now "{typed:%Y-%m-%d %H:%M}"'
    )
    return first.problem(_time_column(first), reason, expected)


def _one_a_moment(timed, problems):
    """Entries without those at the time of another; the first in the file stays."""
    kept: list[tuple[float, LogEntry]] = []
    for utc_s, entry in timed:
        if kept and utc_s - kept[-1][0] < 30.0:
            other = kept[-1][1]
            reason = f"the entry of line {other.line} is of the same time"
            problems.append(
                entry.problem(_time_column(entry), reason, "one entry a time; join the two")
            )
        else:
            kept.append((utc_s, entry))
    return kept


def _on_route(reading: Reading, track, problems) -> Reading:
    entry = reading.entry
    if entry.lat_deg is None or entry.lon_deg is None:
        return reading
    away_nm = distance_off_nm(entry.lat_deg, entry.lon_deg, track)
    if away_nm <= FARTHEST_NM:
        return reading
    miles = aboard().distance.text
    reason = f"lies {miles(away_nm)} off the route"
    problems.append(entry.problem("position", reason, _FIX_EXPECTED.format(miles(FARTHEST_NM))))
    return without(reading, "lat_deg", "lon_deg")


def distance_off_nm(lat_deg: float, lon_deg: float, track: Track) -> float:
    """How far a place lies from the planned track; on a sphere, so not for navigation. [nm]"""
    return float(distances_nm(lat_deg, lon_deg, track.edge_lat_deg, track.edge_lon_deg).min())


def distances_nm(
    lat_deg: float, lon_deg: float, to_lat_deg: np.ndarray, to_lon_deg: np.ndarray
) -> np.ndarray:
    """Distances on a sphere, by the haversine formula. [nm]

    Examples
    --------
    >>> distances_nm(50.0, -30.0, np.array([51.0]), np.array([-30.0])).round(1).tolist()
    [60.0]
    """
    from_rad, to_rad = np.radians(lat_deg), np.radians(to_lat_deg)
    half_lat = 0.5 * (to_rad - from_rad)
    half_lon = 0.5 * np.radians(np.asarray(to_lon_deg) - lon_deg)
    square = np.sin(half_lat) ** 2 + np.cos(from_rad) * np.cos(to_rad) * np.sin(half_lon) ** 2
    return 60.0 * np.degrees(2.0 * np.arcsin(np.sqrt(np.clip(square, 0.0, 1.0))))


def _of_the_bank(reading: Reading, battery, problems) -> Reading:
    """The reading without its voltage and its count where no such bank can have them."""
    entry, most_Ah = reading.entry, _MOST_OUT_FRAC * battery.capacity_Ah
    if entry.monitor_Ah is not None and entry.monitor_Ah < -most_Ah:
        reason = f"{entry.monitor_Ah:g} Ah is more than a bank of {battery.capacity_Ah:g} Ah gives"
        expected = f"-{most_Ah:g} Ah to 0 Ah; was the monitor set to 0 at a full bank?"
        problems.append(entry.problem("monitor_Ah", reason, expected))
        reading = without(reading, "monitor_Ah")
    least_V, most_V = (share * battery.nominal_V for share in _VOLTAGE_FRAC)
    if entry.voltage_V is None or least_V <= entry.voltage_V <= most_V:
        return reading
    reason = f"{entry.voltage_V:g} V cannot be the voltage of a bank of {battery.nominal_V:g} V"
    problems.append(entry.problem("voltage", reason, f"{least_V:g} V to {most_V:g} V"))
    return without(reading, "voltage_V")


def _within_cans(readings, fuel, problems):
    """Readings without counts of more cans than there were and came aboard."""
    if fuel is None:
        return readings
    kept, most_L = [], fuel.jerrycans_L
    litres = aboard().volume.said
    for one in readings:
        entry = one.entry
        most_L += entry.fuel_added_L or 0.0
        if entry.cans_L is not None and entry.cans_L > most_L + 0.5:
            said = litres(entry.cans_L)
            reason = f"{said} are more than the cans of boat.toml and what came aboard"
            expected = f"{litres(0.0)} to {litres(most_L)}; what is bought goes into fuel_added"
            problems.append(entry.problem("cans_left", reason, expected))
            one = without(one, "cans_L")
        kept.append(one)
    return kept


def _room_for_fuel(reading: Reading, fuel, problems) -> Reading:
    """The reading without fuel added where tank and cans together cannot hold it."""
    entry = reading.entry
    if fuel is None or entry.fuel_added_L is None:
        return reading
    holds_L = fuel.tank_L * (1.0 + _BRIM_SLACK_FRAC) + fuel.jerrycans_L
    if entry.fuel_added_L <= holds_L:
        return reading
    litres = aboard().volume.said
    most = litres(fuel.tank_L + fuel.jerrycans_L)
    reason = f"{litres(entry.fuel_added_L)} is more than tank and cans of boat.toml hold"
    expected = f"{litres(0.0)} to {most}; more cans go into boat.toml first"
    problems.append(entry.problem("fuel_added", reason, expected))
    return without(reading, "fuel_added_L")


def _within_tank(reading: Reading, boat, problems) -> Reading:
    """The reading without a dip that lies above the tank."""
    entry, fuel = reading.entry, boat.fuel
    if fuel is None:
        return without(reading, "dip_m", "dip_L", "needle_frac", "cans_L")
    if entry.dip_L is not None and entry.dip_L > fuel.tank_L * (1.0 + _BRIM_SLACK_FRAC):
        litres = aboard().volume.said
        holds = litres(fuel.tank_L)
        reason = f"{litres(entry.dip_L)} is more than the tank of {holds} holds"
        problems.append(entry.problem("dip", reason, f"{litres(0.0)} to {holds}"))
        return without(reading, "dip_L")
    if entry.dip_m is not None and fuel.shape is not None and above_tank(fuel.shape, entry.dip_m):
        depth = aboard().depth.said
        full = depth(fuel.shape.top_m)
        reason = f"{depth(entry.dip_m)} is over the brim of a tank that is full at {full}"
        problems.append(entry.problem("dip", reason, f"{depth(0.0)} to {full}"))
        return without(reading, "dip_m")
    return reading


def _say_if_depths_tell_nothing(readings, boat, sounding, problems):
    """Say once, at the first depth, that the tank's shape is missing: it is no fault of a row."""
    depths = [one for one in readings if one.entry.dip_m is not None]
    if not depths or boat.fuel is None or sounding is not None:
        return
    others = f", nor do {len(depths) - 1} after it" if len(depths) > 1 else ""
    reason = f"a depth says nothing{others}: boat.toml does not say what shape the tank has"
    expected = "[fuel.tank] with its shape or a table, or the dip in litres"
    problems.append(depths[0].entry.problem("dip", reason, expected))


def _say_if_needle_tells_nothing(readings, boat, problems):
    """The same of the needle, whose marks boat.toml does not have."""
    needles = [one for one in readings if one.entry.needle_frac is not None]
    if not needles or boat.fuel is None or boat.fuel.needle:
        return
    others = f", nor do {len(needles) - 1} after it" if len(needles) > 1 else ""
    reason = f"the needle says nothing{others}: boat.toml does not say what its marks mean"
    expected = 'needle in [fuel], for example "4 L at E; 41 L at 1/2; 85 L at F"'
    problems.append(needles[0].entry.problem("needle", reason, expected))
