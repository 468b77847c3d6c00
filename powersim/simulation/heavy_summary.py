"""How often it blows hard on a passage, and what is made of it, in plain numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from powersim.records import GALE_kn, HeavyWeather, NEAR_GALE_kn
from powersim.simulation.coarser import mean_of
from powersim.simulation.heavy_sea import SAILING, at_sea, mean_seas

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

_DAY_h = 24


def strong_wind(prepared: Prepared) -> dict[str, float] | None:
    """How often it blows a gale, and a near gale, while she is at sea.

    Parameters
    ----------
    prepared : Prepared
        Track and sky are looked at, and nothing that the boat makes of the wind.

    Returns
    -------
    dict or None
        `gale_frac` and `near_gale_frac`: the share of the time in which it does. None for a passage
        that is never at sea.
    """
    sea = at_sea(prepared.track)
    if not sea.any():
        return None

    def share(above_kn: float) -> float:
        heavy = HeavyWeather(lie_to_above_kn=above_kn, sea_lasts_h=0.0)
        seas = mean_seas(heavy, track=prepared.track, sky=prepared.sky)
        assert seas is not None, "a strength is given"
        return float(seas.mean(lambda one: one.lies_to)[sea].mean())

    return {"gale_frac": share(GALE_kn), "near_gale_frac": share(NEAR_GALE_kn)}


def heavy_weather(prepared: Prepared) -> dict[str, Any] | None:
    """What is expected of bad weather on average, where the boat minds any.

    Parameters
    ----------
    prepared : Prepared
        In average weather.

    Returns
    -------
    dict or None
        How she lies to, for how many days, and in how many the engine is not run; days are those
        at sea, as expected. None where boat.toml has no strength of wind.
    """
    seas = prepared.seas
    if seas is None:
        return None
    heavy, step_days = prepared.passage.boat.heavy_weather, prepared.track.step_h / _DAY_h

    def days(shares: Any) -> float:
        return float(mean_of(shares, prepared.sun_steps).sum() * step_days)

    return {
        "lies_to": heavy.lying,
        "lain_to_days": days(
            seas.mean(lambda sea: sea.lies_to) * (prepared.sun_track.state == SAILING)
        ),
        "no_engine_days": days(seas.mean(lambda sea: not sea.engine)),
    }
