"""The next port on the way: where she lies at anchor or alongside, or makes her landfall."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from powersim.records import BOAT_STATES, STATES

if TYPE_CHECKING:
    from powersim.voyage.track import Track

#: A port is near that is no further than so many days: till then the bank mostly lasts, and
#: whatever is broken is mended there (our judgement). [days]
NEAR_DAYS = 3.0
_IN_PORT = [place for place, name in enumerate(BOAT_STATES) if not STATES[name].under_way]


class NextPort(NamedTuple):
    """Where she puts in next.

    Attributes
    ----------
    waypoint : int
        Which of the passage's waypoints it is.
    days : float
        Until she is there; 0 where she lies there. [days]
    """

    waypoint: int
    days: float


def next_port(track: Track, *, first: int) -> NextPort:
    """The first stop in port from a step on, or landfall.

    Parameters
    ----------
    track : Track
        Of the passage.
    first : int
        The step.
    """
    away = ((track.state[first:, None] == _IN_PORT).any(axis=1)).nonzero()[0]
    landfall_days = (track.arrival_h - first * track.step_h) / 24.0
    last = int(track.leg.max()) + 1
    if not away.size or away[0] * track.step_h / 24.0 >= landfall_days:
        return NextPort(last, landfall_days)
    return NextPort(int(track.leg[first + away[0]]), float(away[0]) * track.step_h / 24.0)
