"""The passage week by week: charge in and out, the charge before dawn, the sky."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from powersim.planning.panel_values import shown_V
from powersim.simulation.summary import PART_DAYS

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.simulation.result import SimulationResult

_HOUR = timedelta(hours=1)


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
        The median of the simulated passages, or that of average weather where it is alone. [-]
    low_soc : float or None
        Lowest charge that 9 in 10 simulated passages keep above; None in average weather alone. [-]
    runs, charging_h : ndarray, shape (members,)
        How often the engine was started to charge, and for how long it did. [h]
    means : dict of str to float
        What is told on average over its days, and over the simulated passages where there are some:
        all that the summary's part has a day (`solar_Ah_per_day` and so on,
        `charging_min_per_day`); the lowest charge of a whole day, `dawn_soc`, and what the
        voltmeter shows then, `dawn_V`. In average weather in any case: light on a level surface,
        `light_kWh_m2` a day, and as a share of a clear sky's, `clear_frac`; `night_h` a day;
        `air_C`; true wind, `wind_kn`.
    of : str
        Where the summary has its part: "parts", or "ensemble.weeks".
    """

    place: int | None
    start: tuple[datetime, float]
    lats_deg: tuple[float, float]
    days: float
    lowest_soc: float
    low_soc: float | None
    runs: Array
    charging_h: Array
    means: dict[str, float]
    of: str = "parts"


def weeks_of(result: SimulationResult) -> list[Week]:
    """The passage week by week, as the summary's list of parts has it, or that of the ensemble."""
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
        runs=sum(week.runs for week in weeks),
        charging_h=sum(week.charging_h for week in weeks),
        means={
            name: sum(week.means[name] * week.days for week in weeks) / days for name in first.means
        },
        of=first.of,
    )


def _week(result, place, part, hourly) -> Week:
    hours = slice(24 * PART_DAYS * place, 24 * PART_DAYS * place + len(hourly))
    per_hour = round(1.0 / result.prepared.track.step_h)
    steps = slice(hours.start * per_hour, hours.stop * per_hour)
    sky = result.prepared.sky
    clear_W_m2 = float(sky.clear_ghi_W_m2[steps].mean())
    light_W_m2 = float(hourly["ghi_W_m2"].mean())
    if result.ensemble is None:
        told = _in_average(result, part, hourly)
    else:
        told = _in_members(result, place, hours)
    means = told.pop("means")
    return Week(
        place=place,
        start=(datetime.fromisoformat(part["start_utc"]), part["ship_offset_h"]),
        lats_deg=(part["lat_from_deg"], part["lat_to_deg"]),
        days=part["days"],
        **told,
        means=means
        | {
            "dawn_V": shown_V(result.prepared, means["dawn_soc"]),
            "light_kWh_m2": light_W_m2 * 24.0 / 1000.0,
            "clear_frac": light_W_m2 / clear_W_m2 if clear_W_m2 > 0.0 else 0.0,
            "night_h": float(hourly["night_h"].mean()) * 24.0,
            "air_C": float(hourly["air_C"].mean()),
            "wind_kn": float(sky.wind_m_s[steps].mean()) * 3600.0 / 1852.0,
        },
    )


def _in_average(result, part, hourly) -> dict[str, Any]:
    import numpy as np

    runs = result.engine[result.engine["kind"] == "charging"]
    begun = runs["start_utc"].between(hourly.index[0], hourly.index[-1] + _HOUR, inclusive="left")
    return {
        "lowest_soc": part["lowest_soc"],
        "low_soc": None,
        "runs": np.array([float(begun.sum())]),
        "charging_h": np.array([float(hourly["charging_h"].sum())]),
        "means": {name: value for name, value in part.items() if name.endswith("_per_day")}
        | {"dawn_soc": _dawn_soc(hourly["lowest_soc"].to_numpy()[:, None])},
    }


def _in_members(result, place, hours) -> dict[str, Any]:
    part, ensemble = result.summary["ensemble"]["weeks"][place], result.ensemble
    lowest = part["lowest_soc"]
    return {
        "lowest_soc": lowest["p50"],
        "low_soc": lowest["p10"],
        "runs": ensemble.weeks.runs[place],
        "charging_h": ensemble.weeks.charging_h[place],
        "means": {name: value for name, value in part.items() if name.endswith("_per_day")}
        | {"dawn_soc": _dawn_soc(ensemble.hour_soc[hours])},
        "of": "ensemble.weeks",
    }


def _dawn_soc(soc: Array) -> float:
    """Lowest charge of a whole day, on average over days and members; soc (hours, members)."""
    import numpy as np

    whole = soc[: 24 * max(1, len(soc) // 24)]
    days = np.array_split(whole, max(1, len(whole) // 24))
    return float(np.mean([day.min(axis=0) for day in days]))
