"""The rest of a passage, sailed more slowly."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from powersim.records import Passage
from powersim.voyage.track import timetable

if TYPE_CHECKING:
    from powersim.voyage.track import Track

#: Waypoints nearer in time than this count as reached. [h]
_AT_HAND_h = 1e-6


def slowed(passage: Passage, track: Track, *, step: int, factor: float) -> Passage:
    """The rest of a passage from a step on, with every leg `factor` times as long in time.

    It departs from where the boat is then. Stops, and spells under engine at the ends of a leg,
    last as long as before, less what of them is over; motoring in calms grows with the leg. Weather
    files that do not reach far enough are left out.
    """
    now_h = step * track.step_h
    reach_h, leave_h = timetable(passage.waypoints)
    last = int((reach_h <= now_h + _AT_HAND_h).nonzero()[0][-1])
    here = passage.waypoints[last]
    if now_h <= leave_h[last] + _AT_HAND_h:
        here = replace(here, stop_h=max(0.0, float(leave_h[last] - now_h)))
    else:
        motored_h = float(now_h - leave_h[last])
        here = replace(
            here,
            lat_deg=float(track.edge_lat_deg[step]),
            lon_deg=float(track.edge_lon_deg[step]),
            stop_h=0.0,
            motoring_start_h=max(0.0, here.motoring_start_h - motored_h),
        )
    waypoints = (here, *passage.waypoints[last + 1 :])
    under_way, landfall = waypoints[:-1], waypoints[-1]
    return replace(
        passage,
        depart_utc=passage.depart_utc + timedelta(hours=now_h),
        waypoints=(
            # Each of them has a speed: the record Passage sees to that.
            *(replace(one, speed_kn=(one.speed_kn or 0.0) / factor) for one in under_way),
            landfall,
        ),
        or_climatology=True,
    )
