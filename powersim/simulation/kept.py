"""What one passage may take over from another that has been worked out: all that is the same."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from powersim.records import Boat, Passage

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

_TRACK = ("waypoints", "depart_utc", "ship_offset_h")
_SKY = ("cloud_model", "forecast", "irradiance", "or_climatology", "left_out")
_PANELS = ("panels", "controllers")
#: What of [heavy_weather] loads, panels and other chargers hang on.
_LYING = ("lie_to_above_kn", "lie_to", "sea_lasts_h")
_STEERED = (
    *(*_LYING, "rough_above_kn", "rough_pilot_frac"),
    *("very_rough_above_kn", "very_rough_pilot_frac"),
)
_SPRAYED = (*_LYING, "spray_above_kn", "spray_yield_frac")


class Kept(NamedTuple):
    """Whether the parts of a passage are those of the other one.

    Attributes
    ----------
    track : bool
        Places, times and states.
    sky : bool
        Sun, light, air and the bank's warmth, along the same track.
    demand : bool
        What a load asks for that is the same in both.
    panels, others : bool
        What panels and other chargers offer.
    """

    track: bool = False
    sky: bool = False
    demand: bool = False
    panels: bool = False
    others: bool = False


def kept_of(like: Prepared | None, passage: Passage, *, step_h: float, hold_h: float) -> Kept:
    """What a passage may take over.

    Parameters
    ----------
    like : Prepared or None
        Another one, worked out; None for none.
    passage : Passage
        The one to be worked out.
    step_h, hold_h : float
        As for `prepare`. [h], [h]

    Returns
    -------
    Kept
        All False where there is no other.
    """
    if like is None or (like.track.step_h, like.hold_h) != (step_h, hold_h):
        return Kept()
    before, boat = like.passage, passage.boat
    track = _alike(before, passage, _TRACK)
    sky = track and _alike(before, passage, _SKY)
    sky = sky and before.boat.battery.place == boat.battery.place

    def in_heavy_weather(names: tuple[str, ...]) -> bool:
        return _alike(before.boat.heavy_weather, boat.heavy_weather, names)

    return Kept(
        track=track,
        sky=sky,
        demand=sky and before.boat.supplies == boat.supplies and in_heavy_weather(_STEERED),
        panels=sky and same_panels(before.boat, boat) and in_heavy_weather(_SPRAYED),
        others=sky and before.boat.chargers == boat.chargers and in_heavy_weather(_LYING),
    )


def same_panels(boat: Boat, other: Boat) -> bool:
    """Whether two boats have the same panels on the same controllers.

    Parameters
    ----------
    boat, other : Boat
        Panels, controllers and the voltage of the bank are compared.

    Returns
    -------
    bool
        Batteries of 12 and of 24 V draw other currents from them.
    """
    return _alike(boat, other, _PANELS) and boat.battery.nominal_V == other.battery.nominal_V


def _alike(one: object, other: object, names: tuple[str, ...]) -> bool:
    return all(getattr(one, name) == getattr(other, name) for name in names)
