"""A log that was kept before leaving: the passage begins where it begins, with a stay."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from powersim.logbook.charge_readings import REST_AFTER_DISCHARGE_h
from powersim.simulation.calibration import rested_volts
from powersim.voyage.ship_time import ship_offset_h

if TYPE_CHECKING:
    from powersim.records import Battery, Log, LogEntry, Passage

#: A log that begins earlier is of something else; judgement. [days]
MOST_DAYS_BEFORE = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysBefore:
    """A passage that begins with the days of a log kept before leaving.

    Attributes
    ----------
    passage : Passage
        With a stay at its first waypoint, from the first entry until the departure.
    since_utc : datetime
        The first entry.
    state : str
        What the boat did until then: that of a stop named there, or at anchor.
    begin_soc : float
        State of charge that it begins with. [-]
    told_by : str
        What that is from, in words.
    """

    passage: Passage
    since_utc: datetime
    state: str
    begin_soc: float
    told_by: str


def days_before(passage: Passage, log: Log) -> DaysBefore | None:
    """The passage with the days of a log before it; None unless all of the log is before departure.

    Parameters
    ----------
    passage : Passage
        As it was planned.
    log : Log
        As it was read.
    """
    first = passage.waypoints[0]
    ahead_h = float(ship_offset_h(np.array([first.lon_deg]), fixed_h=passage.ship_offset_h)[0])
    timed = sorted(
        (entry.clock_s - (3600.0 * ahead_h if entry.in_ship_time else 0.0), entry.line, entry)
        for entry in log.entries
    )
    depart_s = passage.depart_utc.timestamp()
    if not timed or timed[-1][0] >= depart_s:
        return None
    since_s, _, entry = timed[0]
    if depart_s - since_s > 86_400.0 * MOST_DAYS_BEFORE:
        return None
    battery = passage.boat.battery
    begin_soc, told_by = _charge(entry, battery)
    since_utc = datetime.fromtimestamp(since_s, UTC)
    stay_h = (passage.depart_utc - since_utc) / timedelta(hours=1)
    begun = replace(
        passage,
        depart_utc=since_utc,
        waypoints=(replace(first, stop_h=first.stop_h + stay_h), *passage.waypoints[1:]),
        boat=replace(passage.boat, battery=replace(battery, soc_at_departure=begin_soc)),
    )
    return DaysBefore(
        passage=begun,
        since_utc=since_utc,
        state=first.stop_state,
        begin_soc=begin_soc,
        told_by=told_by,
    )


def _charge(entry: LogEntry, battery: Battery) -> tuple[float, str]:
    """The charge at the first entry, and what it is from."""
    if entry.soc is not None:
        return entry.soc, "the monitor at the first entry"
    if entry.monitor_Ah is not None:
        left_frac = 1.0 + entry.monitor_Ah / battery.real_capacity_Ah
        return min(max(left_frac, 0.0), 1.0), "the monitor's count at the first entry"
    rested = (entry.resting_h or 0.0) >= REST_AFTER_DISCHARGE_h
    if entry.voltage_V is not None and rested and battery.traits.mute_soc is None:
        known = rested_volts(battery)
        socs = [soc for soc, _ in known.knots]
        shown_V = [known.shown_V(soc) * battery.nominal_V / 12.0 for soc in socs]
        return float(np.interp(entry.voltage_V, shown_V, socs)), "the volts of the first entry"
    return battery.soc_at_departure, "boat.toml, since the first entry has no reading that tells it"
