"""What other chargers give in many members, each as its physics has it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from powersim.physics.chargers import offering_of
from powersim.records import Charger

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.simulation.signals import ControllerSignal


def member_chargers(
    chargers: Sequence[Charger],
    signals: tuple[ControllerSignal, ...],
    *,
    wind_m_s: Array | None,
    speed_kn: Array,
    under_way: Array,
    motoring: Array,
) -> tuple[ControllerSignal, ...]:
    """The signals of other chargers, with what they offer in each of the members.

    Parameters
    ----------
    chargers : list of Charger
        In the order in which they are used.
    signals : tuple of ControllerSignal
        One for each of them, in the mean weather.
    wind_m_s : ndarray, shape (steps, members), or None
        True wind at 10 m, where one of them asks for it. [m/s]
    speed_kn : ndarray, shape (steps, 1)
        The boat's. [kn]
    under_way : ndarray, shape (steps, 1)
        Share of each step under sail or under engine. [-]
    motoring : ndarray, shape (steps, members or 1)
        Share of each step with the engine in gear. [-]

    Returns
    -------
    tuple of ControllerSignal
        In the same order.
    """

    asked = {
        "wind_m_s": wind_m_s,
        "speed_kn": speed_kn,
        "under_way": under_way,
        "motoring": motoring,
    }

    def in_ensemble(charger: Charger, signal: ControllerSignal) -> ControllerSignal:
        in_members = offering_of(charger).in_members
        if in_members is None:
            return signal
        offer: dict[str, Any] = {_offered(charger): in_members(charger, **asked)}
        return replace(signal, **offer)

    return tuple(in_ensemble(*pair) for pair in zip(chargers, signals, strict=True))


def _offered(charger: Charger) -> str:
    """The field of a signal that has its offer."""
    return "first_A" if charger.in_amperes else "power_W"


def ask_for_wind(chargers: Sequence[Charger]) -> bool:
    """Whether any of them lives on the wind.

    Parameters
    ----------
    chargers : list of Charger
        In the order in which they are used.

    Returns
    -------
    bool
        False where no wind need be drawn.
    """
    return any(offering_of(charger).asks_for_wind for charger in chargers)
