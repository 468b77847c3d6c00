"""Hours under power at the ends of the whole passage, as boat.toml gives them, put on its legs."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from typing import Any

from powersim.inputs.route_limits import leg_h
from powersim.records import Waypoint

#: The fields of a Waypoint that boat.toml's `motoring` says of the passage and not of each leg.
AT_ENDS = ("motoring_start_h", "motoring_end_h")


def of_each_leg(leg: Mapping[str, Any]) -> dict[str, Any]:
    """What boat.toml's settings say of each leg."""
    return {field: value for field, value in leg.items() if field not in AT_ENDS}


def motored_at_ends(
    waypoints: Iterable[Waypoint], leg: Mapping[str, Any], *, own: Collection[int] = ()
) -> tuple[Waypoint, ...]:
    """The waypoints with boat.toml's hours at start and end, once for the whole passage.

    Hours that the first leg is too short for go on with the next, and those at the end begin in
    the one before; not past a stop, and not into a leg that has its own.

    Parameters
    ----------
    own : collection of int
        Places, from 0, of the legs whose motoring the route itself names.
    """
    found = list(waypoints)
    last = len(found) - 2
    for field, order, step in (
        (AT_ENDS[0], range(last + 1), 1),
        (AT_ENDS[1], range(last, -1, -1), -1),
    ):
        left_h = leg.get(field, 0.0)
        for place in order:
            here = found[place]
            lies = found[place if step > 0 else place + 1].stop_h > 0.0
            first = place == order[0]
            if left_h <= 0.0 or place in own or (lies and not first):
                break
            lasts_h = leg_h(here, found[place + 1])
            # The last of the legs keeps what is too much, for `check` to say so.
            room_h = max(lasts_h - here.motoring_start_h, 0.0) if place != order[-1] else left_h
            taken_h = min(left_h, room_h)
            found[place] = replace(here, **{field: taken_h})
            left_h -= taken_h
    return tuple(found)
