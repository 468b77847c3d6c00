"""What the physics of a source comes to: what it offers, and in which it differs by member."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from powersim.records.arrays import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Offering:
    """How to work out what a charger offers, in amperes or watts as its record has it.

    Attributes
    ----------
    along : callable
        along(charger, track=, sky=) is its offer at each step of a track, shaped (n,).
    in_members : callable or None
        in_members(charger, wind_m_s=, speed_kn=, under_way=, motoring=) is that of each member,
        shaped (steps, members): true wind at 10 m, the boat's speed, the share of each step under
        sail or engine, and that under engine. None where all members have the same.
    asks_for_wind : bool
        Whether `in_members` needs the members' own wind, which is drawn for it then.
    """

    along: Callable[..., Array]
    in_members: Callable[..., Array] | None = None
    asks_for_wind: bool = False
