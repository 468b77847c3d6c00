"""Rules for a sky that is known beforehand, by a bank that is read exactly and at every step.

Nobody can follow them: they are a yardstick, and so may have stop and start as near as they like.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from powersim.planning import daily_bands
from powersim.planning.rule_candidates import at_level, gap_of, least_start
from powersim.records import Boat, ChargingRule, DailyRun
from powersim.records.clock import span_h
from powersim.simulation.first_day import HIGHEST_STOP_SOC

if TYPE_CHECKING:
    from powersim.voyage.track import Track

#: How far the stop lies above the start. A small gap keeps the bank far from full, where it takes
#: the alternator's whole output; a large one gives few long runs, or a full bank. [-]
GAPS_SOC = (0.02, 0.05, 0.10, 0.20)
#: Length of the first part of the allowed hours: early runs leave room for the day's sun. [h]
MORNING_h = 4.0
#: Daily runs that are easy to remember. [h]
DAILY_h = (0.5, 1.0, 1.5, 2.0)
#: Gap of the level rule that backs up a daily run. [-]
BACKUP_GAP_SOC = 0.05
#: Most latitudes on one passage at which a daily run may begin or end.
MOST_BANDS = 4
#: Steps from a good rule to its neighbours. [-], [h]
_NEAR_GAPS, _NEAR_RUN_h = (-0.02, -0.01, 0.01, 0.03, 0.06), (-0.25, 0.25)


def kinds(boat: Boat, track: Track) -> list[ChargingRule]:
    """Kinds of rules to begin the search with, each at the lowest start.

    They charge by level, in all of the allowed hours or in the first of them; or by a daily run,
    everywhere or on one side of a latitude, with levels as a back-up. None asks for full charges.
    """
    charging = boat.charging
    levels = [
        _kind(boat, gap_soc=gap_soc, hours_h=hours_h)
        for hours_h in {charging.hours_h, _morning(charging.hours_h)}
        for gap_soc in GAPS_SOC
    ]
    backup = _kind(boat, gap_soc=BACKUP_GAP_SOC, hours_h=charging.hours_h)
    places = [(-90.0, 90.0), *daily_bands.sides(track, most=MOST_BANDS)]
    lengths_h = [h for h in DAILY_h if charging.shortest_h <= h <= charging.longest_h]
    daily = [
        replace(backup, daily=(_every_day(charging, run_h, *place),))
        for run_h in lengths_h
        if run_h <= span_h(charging.hours_h)
        for place in places
    ]
    return levels + daily


def neighbours(rule: ChargingRule, boat: Boat) -> list[ChargingRule]:
    """Rules that differ from a good one by a small step in one thing."""
    gap_soc = gap_of(rule)
    near = [
        replace(rule, stop_soc=min(rule.start_soc + gap_soc + more, HIGHEST_STOP_SOC))
        for more in _NEAR_GAPS
        if gap_soc + more > 0.009
    ]
    asked = boat.charging
    for run in rule.daily:
        near += [
            replace(rule, daily=(replace(run, run_h=run.run_h + more_h),))
            for more_h in _NEAR_RUN_h
            if asked.shortest_h <= run.run_h + more_h <= asked.longest_h
        ]
        near += [replace(rule, daily=(moved,)) for moved in daily_bands.moved(run)]
        near.append(replace(rule, daily=()))
    return [one for one in near if gap_of(one) > 0.0]


def _kind(boat, *, gap_soc, hours_h):
    start_soc = least_start(boat)
    rule = replace(
        boat.charging,
        by_engine=True,
        daily=(),
        hours_h=hours_h,
        start_soc=0.0,
        stop_soc=gap_soc,
        run_h=None,
        stop_below_A=None,
        read_at_h=(),
        little_sun_Ah=None,
        wait_below_soc=None,
        full_every_days=None,
    )
    return at_level(rule, start_soc)


def _morning(hours_h):
    """The first of some hours, or all if they are few."""
    start_h, _ = hours_h
    if span_h(hours_h) <= MORNING_h + 1.0:
        return hours_h
    return start_h, (start_h + MORNING_h) % 24.0


def _every_day(charging, run_h, south_deg, north_deg):
    return DailyRun(at_h=charging.hours_h[0], run_h=run_h, south_deg=south_deg, north_deg=north_deg)
