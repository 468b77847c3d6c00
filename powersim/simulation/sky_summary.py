"""What files knew of the sky, and how often it blows hard, in plain numbers."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.simulation.heavy_summary import heavy_weather, strong_wind
from powersim.sky.weather_files import WeatherFile, span_of

if TYPE_CHECKING:
    from powersim.simulation.result import SimulationResult
    from powersim.sky.sky import Sky
    from powersim.voyage.track import Track


def sky_summary(result: SimulationResult) -> dict[str, Any]:
    """The weather files of a passage, those that were left out, and how often it blows hard.

    Parameters
    ----------
    result : Result or Forecast
        Of which the `prepared` is looked at.

    Returns
    -------
    dict
        Of numbers, strings, lists and dicts only.
    """
    prepared = result.prepared
    return {
        "files": [_file(one, prepared.sun_track, prepared.sun_sky) for one in prepared.files],
        "left_out": [f"{one.file}: {one.text}" for one in prepared.left_out],
        "strong_wind": strong_wind(prepared),
        "heavy_weather": heavy_weather(prepared),
    }


def _file(one: WeatherFile, track: Track, sky: Sky) -> dict[str, Any]:
    counts = np.where(np.isfinite(one.known.clear_frac), one.known.weight, 0.0)
    clear_W_m2 = sky.clear_ghi_W_m2
    span = span_of(one.known, track)
    return {
        "file": one.file,
        "kind": one.kind,
        "from_utc": span and _iso(span[0]),
        "until_utc": span and _iso(span[1]),
        "clock_untried": one.known.clock_untried,
        "light_frac": float((clear_W_m2 * counts).sum() / max(clear_W_m2.sum(), 1.0)),
    }


def _iso(utc_s: float) -> str:
    return None if utc_s is None else datetime.fromtimestamp(utc_s, UTC).isoformat()
