"""The passage week by week for report and card: what the panel will show, and the sky."""

from __future__ import annotations

from dataclasses import dataclass, replace

from powersim.planning.panel_values import shown_V
from powersim.report import rounding
from powersim.report.parts_text import week_date, week_latitudes
from powersim.simulation.bands import quantiles
from powersim.simulation.summary import PART_DAYS

#: What is averaged where weeks are told together.
_AVERAGED = (
    *("charging_min_per_day", "dawn_soc", "dawn_V", "light_kWh_m2", "clear_frac", "night_h"),
    *("air_C", "wind_kn"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """One part of the passage.

    Attributes
    ----------
    place : int
        In the summary's list of parts, the first being 0.
    date : str
        The ship's date on which it begins.
    latitudes : str
        From where to where.
    days : float
        How long it is.
    lowest_soc : float
        In the mean sky. [-]
    charging_min_per_day : float
        Engine at rest, in the mean sky.
    dawn_soc : float
        Lowest charge of a day, mean over the part's whole days, in the mean sky. [-]
    dawn_V : float
        What the panel shows then. [V]
    low_soc : float or None
        Lowest charge of the part that 9 of 10 members keep above; None without members. [-]
    light_kWh_m2 : float
        Light a day on a level surface.
    clear_frac : float
        That as a share of a clear sky's. [-]
    night_h : float
        Of a day. [h]
    air_C : float
        [degC]
    wind_kn : float
        Mean true wind. [kn]
    """

    place: int
    date: str
    latitudes: str
    days: float
    lowest_soc: float
    charging_min_per_day: float
    dawn_soc: float
    dawn_V: float
    low_soc: float | None
    light_kWh_m2: float
    clear_frac: float
    night_h: float
    air_C: float
    wind_kn: float


def weeks_of(result) -> list[Week]:
    """The passage week by week.

    Parameters
    ----------
    result : Result
        Of the simulation.

    Returns
    -------
    list of Week
        As long as the summary's list of parts.
    """
    parts, hourly = result.summary["parts"], result.hourly
    per_part = 24 * PART_DAYS
    return [
        _week(result, place, part, hourly.iloc[place * per_part : (place + 1) * per_part])
        for place, part in enumerate(parts)
    ]


def few(weeks, *, most: int) -> list[Week]:
    """The same passage in no more than so many parts.

    Parameters
    ----------
    weeks : sequence of Week
        In order.
    most : int
        Of the answer.

    Returns
    -------
    list of Week
        Of equal numbers of weeks, but for the last; the lowest of the lowest, means of the rest.
    """
    together = -(-len(weeks) // most)
    return [_merged(weeks[first : first + together]) for first in range(0, len(weeks), together)]


def _merged(weeks) -> Week:
    if len(weeks) == 1:
        return weeks[0]
    days = sum(week.days for week in weeks)
    means = {
        name: sum(getattr(week, name) * week.days for week in weeks) / days for name in _AVERAGED
    }
    ends = weeks[0].latitudes.partition(" to ")[0], weeks[-1].latitudes.rpartition(" to ")[2]
    lows = [week.low_soc for week in weeks]
    return replace(
        weeks[0],
        days=days,
        latitudes=rounding.span(*ends, str),
        lowest_soc=min(week.lowest_soc for week in weeks),
        low_soc=None if None in lows else min(lows),
        **means,
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
        date=week_date(part),
        latitudes=week_latitudes(part),
        days=part["days"],
        lowest_soc=part["lowest_soc"],
        charging_min_per_day=part["charging_min_per_day"],
        dawn_soc=dawn_soc,
        dawn_V=shown_V(result.prepared, dawn_soc),
        low_soc=low_soc,
        light_kWh_m2=light_W_m2 * 24.0 / 1000.0,
        clear_frac=light_W_m2 / clear_W_m2 if clear_W_m2 > 0.0 else 0.0,
        night_h=float(hourly["night_h"].mean()) * 24.0,
        air_C=float(hourly["air_C"].mean()),
        wind_kn=float(sky.wind_m_s[steps].mean()) * 3600.0 / 1852.0,
    )
