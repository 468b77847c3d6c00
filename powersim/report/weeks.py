"""The passage week by week: charge in and out, the charge before dawn, the sky."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from powersim.planning.panel_values import shown_V
from powersim.simulation.bands import quantiles
from powersim.simulation.summary import PART_DAYS

if TYPE_CHECKING:
    from powersim.simulation.result import SimulationResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """One part of the passage, or several that are told together.

    Attributes
    ----------
    place : int or None
        In the summary's list of parts, the first being 0; None for several.
    start : tuple of (datetime, float)
        When it begins, and how far ship's time then is ahead of UTC. [h]
    lats_deg : tuple of (float, float)
        From where to where. [deg]
    days : float
        How long it is.
    lowest_soc : float
        In average weather. [-]
    low_soc : float or None
        Lowest charge that 9 in 10 simulated passages keep above; None in average weather alone. [-]
    means : dict of str to float
        What is told on average over its days, in average weather: all that the summary's part has
        a day (`solar_Ah_per_day` and so on, `charging_min_per_day`); the lowest charge of a whole
        day, `dawn_soc`, and what the voltmeter shows then, `dawn_V`; light on a level surface,
        `light_kWh_m2` a day, and as a share of a clear sky's, `clear_frac`; `night_h` a day;
        `air_C`; true wind, `wind_kn`.
    """

    place: int | None
    start: tuple[datetime, float]
    lats_deg: tuple[float, float]
    days: float
    lowest_soc: float
    low_soc: float | None
    means: dict[str, float]


def weeks_of(result: SimulationResult) -> list[Week]:
    """The passage week by week, as the summary's list of parts has them."""
    per_part = 24 * PART_DAYS
    return [
        _week(result, place, part, result.hourly.iloc[place * per_part : (place + 1) * per_part])
        for place, part in enumerate(result.summary["parts"])
    ]


def few(weeks: Sequence[Week], *, most: int) -> list[Week]:
    """The same passage in no more than so many parts.

    Of equal numbers of weeks, but for the last; the lowest of the lowest, means of the rest.
    """
    together = -(-len(weeks) // most)
    return [_merged(weeks[first : first + together]) for first in range(0, len(weeks), together)]


def _merged(weeks) -> Week:
    if len(weeks) == 1:
        return weeks[0]
    first, last = weeks[0], weeks[-1]
    days = sum(week.days for week in weeks)
    lows = [week.low_soc for week in weeks]
    return Week(
        place=None,
        start=first.start,
        lats_deg=(first.lats_deg[0], last.lats_deg[1]),
        days=days,
        lowest_soc=min(week.lowest_soc for week in weeks),
        low_soc=None if None in lows else min(lows),
        means={
            name: sum(week.means[name] * week.days for week in weeks) / days for name in first.means
        },
    )


def _week(result, place, part, hourly) -> Week:
    import numpy as np

    hours = slice(24 * PART_DAYS * place, 24 * PART_DAYS * place + len(hourly))
    per_hour = round(1.0 / result.prepared.track.step_h)
    steps = slice(hours.start * per_hour, hours.stop * per_hour)
    sky, ensemble = result.prepared.sky, result.ensemble
    lowest = hourly["lowest_soc"].to_numpy()
    whole = lowest[: 24 * max(1, len(lowest) // 24)]
    days = [day.min() for day in np.array_split(whole, max(1, len(whole) // 24))]
    dawn_soc = float(np.mean(days))
    low_soc = None
    if ensemble is not None:
        low = ensemble.hour_soc[hours].min(axis=0)
        if not place:
            low = np.minimum(low, result.passage.boat.battery.soc_at_departure)
        low_soc = float(quantiles(low, (0.1,))[0])
    clear_W_m2 = float(sky.clear_ghi_W_m2[steps].mean())
    light_W_m2 = float(hourly["ghi_W_m2"].mean())
    return Week(
        place=place,
        start=(datetime.fromisoformat(part["start_utc"]), part["ship_offset_h"]),
        lats_deg=(part["lat_from_deg"], part["lat_to_deg"]),
        days=part["days"],
        lowest_soc=part["lowest_soc"],
        low_soc=low_soc,
        means={name: value for name, value in part.items() if name.endswith("_per_day")}
        | {
            "dawn_soc": dawn_soc,
            "dawn_V": shown_V(result.prepared, dawn_soc),
            "light_kWh_m2": light_W_m2 * 24.0 / 1000.0,
            "clear_frac": light_W_m2 / clear_W_m2 if clear_W_m2 > 0.0 else 0.0,
            "night_h": float(hourly["night_h"].mean()) * 24.0,
            "air_C": float(hourly["air_C"].mean()),
            "wind_kn": float(sky.wind_m_s[steps].mean()) * 3600.0 / 1852.0,
        },
    )
