"""What a forecast says of the sky along a track."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from powersim.errors import InputError, Problem
from powersim.records import Forecast, ForecastField, Grid
from powersim.sky import clear_sky
from powersim.sky.cloud import OKTAS, kasten_czeplak_frac
from powersim.sky.known import Known
from powersim.sky.spread import spread_light
from powersim.sky.sun import extra_dni_W_m2, sun_at

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools, Ints
    from powersim.voyage.track import Track

# A forecast fades into the climatology over the day after its last hour; common practice, no
# source. [h]
FADE_h = 24.0
# A single moment, which no other follows, stands for that long before and after it: half of the
# time between the main hours of observation, 00, 06, 12, 18 UTC; common practice, no source. [h]
ALONE_h = 3.0
# Below this height of the sun a moment's light is no measure of the cloud. [deg]
LOW_SUN_DEG = 5.0
# Files give the edges of their areas to a thousandth of a degree. [deg]
_EDGE_DEG = 0.001
_ANOTHER_FILE = "a forecast for the waters and the days of the passage"


def known_from_forecast(forecast: Forecast, track: Track) -> Known:
    """Light, wind and air from a forecast, at the boat's place and time.

    Parameters
    ----------
    forecast : Forecast
        Its fields, over grids of their own.
    track : Track
        Where the boat is, and when.

    Returns
    -------
    Known
        Its weight is 1 from the forecast's first hour to its last, or to the hour in which the
        boat leaves its area, and fades to 0 in the FADE_h hours after it.

    Raises
    ------
    InputError
        If it does not cover the boat, as `uncovered` tells.

    Notes
    -----
    Straight lines between the four places about the boat. Means of light are spread over their
    windows as the clear sky's light; means of cloud, wind and air hold for their windows; values
    of moments lie on straight lines in time. A moment that is the only field of its quantity holds
    for ALONE_h hours before and after. A mean is used before a moment, and light before
    cloud. While the forecast fades, wind and air keep their last value, and light its mean share
    of the clear sky over the last FADE_h hours, weighted by the sine of the sun's height.

    References
    ----------
    .. [1] Cloud to light: Kasten and Czeplak 1980, see `cloud.kasten_czeplak_frac`.
    """
    problems = uncovered(forecast, track)
    if problems:
        raise InputError(problems)
    first_s, last_s = _hours(forecast)
    last_s = min(last_s, _leaving_utc_s(forecast, track, first_s, last_s))
    mid_s = track.mid_utc_s
    clear_frac = _first_known(
        _light_from_means([field for field in forecast.light if field.is_mean], track),
        _light_from_moments(forecast.light, track),
        kasten_czeplak_frac(OKTAS * _in_time(forecast.cloud, track)),
    )
    air_C, wind_m_s = _in_time(forecast.air, track), _in_time(forecast.wind, track)
    return Known(
        clear_frac=np.where(mid_s > last_s, _usual_share(clear_frac, track, last_s), clear_frac),
        weight=np.where(
            mid_s < first_s, 0.0, np.interp(mid_s, [last_s, last_s + 3600.0 * FADE_h], [1.0, 0.0])
        ),
        dni_W_m2=_unknown(track),
        dhi_W_m2=_unknown(track),
        air_C=np.where(mid_s > last_s, _last_value(air_C, track, last_s), air_C),
        wind_m_s=np.where(mid_s > last_s, _last_value(wind_m_s, track, last_s), wind_m_s),
    )


def uncovered(forecast: Forecast, track: Track) -> tuple[Problem, ...]:
    """Why a forecast says nothing for a track.

    Parameters
    ----------
    forecast : Forecast
        Its hours of light or cloud count, and the area of these.
    track : Track
        Where the boat is, and when.

    Returns
    -------
    tuple of Problem
        One if its hours of light or cloud and the passage's have none in common, or if the boat is
        outside its area at the first hour that they have in common; else empty. A boat that
        leaves the area later is covered until then.
    """
    first_s, last_s = _hours(forecast)
    start_s, end_s = track.edge_utc_s[[0, -1]]
    if last_s <= start_s or first_s >= end_s:
        text = (
            f"is for other days: it covers {_moment(first_s)} to {_moment(last_s)}, "
            f"the passage lasts from {_moment(start_s)} to {_moment(end_s)}"
        )
        return (Problem(file=forecast.file, text=text, expected=_ANOTHER_FILE),)
    meets_s = max(first_s, start_s)
    lat_deg, lon_deg = _boat_at(track, np.array([meets_s]))
    if _inside(forecast, lat_deg, lon_deg)[0]:
        return ()
    text = (
        f"does not cover the boat's place: it covers {_area((forecast.light or forecast.cloud)[0])}"
        f"; on {_moment(meets_s)} the boat is at {_position(lat_deg[0], lon_deg[0])}"
    )
    return (Problem(file=forecast.file, text=text, expected=_ANOTHER_FILE),)


def at_place(field: ForecastField, lat_deg: Array, lon_deg: Array) -> Array:
    """A field at given places, on straight lines between the four values about each.

    Parameters
    ----------
    field : ForecastField
        One quantity over a grid, at a moment or over a window.
    lat_deg, lon_deg : ndarray, shape (n,)
        Place; any turn of longitude. [deg]

    Returns
    -------
    ndarray, shape (n,)
        In the field's unit; nan outside its grid and beside a missing value.
    """
    west_deg = field.grid.lon_deg[0] - _EDGE_DEG
    turned_deg = west_deg + (np.asarray(lon_deg) - west_deg) % 360.0
    row, north = _cell(field.grid.lat_deg, np.asarray(lat_deg))
    column, east = _cell(field.grid.lon_deg, turned_deg)
    values = field.values.astype(float)
    south_side = (1.0 - east) * values[row, column] + east * values[row, column + 1]
    north_side = (1.0 - east) * values[row + 1, column] + east * values[row + 1, column + 1]
    return (1.0 - north) * south_side + north * north_side


def _cell(axis_deg: Array, at_deg: Array) -> tuple[Ints, Array]:
    """The line of the grid below, and the share of the way to the next; nan outside."""
    below = np.clip(np.searchsorted(axis_deg, at_deg, side="right") - 1, 0, axis_deg.size - 2)
    held_deg = np.clip(at_deg, axis_deg[0], axis_deg[-1])
    share = (held_deg - axis_deg[below]) / (axis_deg[below + 1] - axis_deg[below])
    return below, np.where(np.abs(held_deg - at_deg) <= _EDGE_DEG, share, np.nan)


def _hours(forecast: Forecast) -> tuple[float, float]:
    """From when to when it tells of light or cloud, as Unix times."""
    spans = [
        (field.from_utc_s - _reach_s(fields), field.to_utc_s + _reach_s(fields))
        for fields in (forecast.light, forecast.cloud)
        for field in fields
    ]
    return min(first_s for first_s, _ in spans), max(last_s for _, last_s in spans)


def _reach_s(fields: Sequence[ForecastField]) -> float:
    """How far all there is of a quantity speaks beyond its own times."""
    alone = len(fields) == 1 and not fields[0].is_mean
    return 3600.0 * ALONE_h if alone else 0.0


def _inside(forecast: Forecast, lat_deg: Array, lon_deg: Array) -> Bools:
    grids = {id(field.grid): field for field in forecast.light + forecast.cloud}.values()
    return np.any([_covers(field.grid, lat_deg, lon_deg) for field in grids], axis=0)


def _covers(grid: Grid, lat_deg: Array, lon_deg: Array) -> Bools:
    west_deg = grid.lon_deg[0] - _EDGE_DEG
    in_width = (lon_deg - west_deg) % 360.0 <= grid.lon_deg[-1] + _EDGE_DEG - west_deg
    above, below = lat_deg >= grid.lat_deg[0] - _EDGE_DEG, lat_deg <= grid.lat_deg[-1] + _EDGE_DEG
    return in_width & above & below


def _leaving_utc_s(forecast: Forecast, track: Track, first_s: float, last_s: float) -> float:
    """The start of the first step in the forecast's hours that lies outside; inf if none does."""
    hours = (track.mid_utc_s >= first_s) & (track.mid_utc_s <= last_s)
    outside = hours & ~_inside(forecast, track.lat_deg, track.lon_deg)
    return track.edge_utc_s[outside.argmax()] if outside.any() else np.inf


def _boat_at(track: Track, utc_s: Array) -> tuple[Array, Array]:
    """The boat's place; before departure and after landfall where it is then."""
    lon_deg = np.unwrap(track.edge_lon_deg, period=360.0)
    return (
        np.interp(utc_s, track.edge_utc_s, track.edge_lat_deg),
        np.interp(utc_s, track.edge_utc_s, lon_deg),
    )


def _light_from_means(fields: Sequence[ForecastField], track: Track) -> Array:
    """Share of the clear sky's light; the boat is where it is in the middle of a window."""
    start_s, end_s = track.edge_utc_s[[0, -1]]
    fields = [one for one in fields if one.from_utc_s < end_s and one.to_utc_s > start_s]
    from_s = np.array([field.from_utc_s for field in fields])
    to_s = np.array([field.to_utc_s for field in fields])
    lat_deg, lon_deg = _boat_at(track, np.clip(0.5 * (from_s + to_s), start_s, end_s))
    ghi_W_m2 = np.array(
        [at_place(field, lat_deg[[i]], lon_deg[[i]])[0] for i, field in enumerate(fields)]
    )
    known = np.isfinite(ghi_W_m2)
    if not known.any():
        return _unknown(track)
    return spread_light(
        track, from_utc_s=from_s[known], to_utc_s=to_s[known], ghi_W_m2=ghi_W_m2[known]
    )


def _light_from_moments(fields: Sequence[ForecastField], track: Track) -> Array:
    """Share of the clear sky's light, on straight lines between moments with the sun well up."""
    moments = [field for field in fields if not field.is_mean]
    if not moments:
        return _unknown(track)
    utc_s = np.array([field.to_utc_s for field in moments])
    lat_deg, lon_deg = _boat_at(track, utc_s)
    sun = sun_at(lat_deg, lon_deg, utc_s)
    high = np.flatnonzero(sun.elevation_deg > LOW_SUN_DEG)
    clear_W_m2 = clear_sky.clear_ghi_W_m2(
        sun.elevation_deg[high],
        turbidity=clear_sky.linke_turbidity(lat_deg[high], lon_deg[high], utc_s[high]),
        extra_W_m2=extra_dni_W_m2(utc_s[high]),
    )
    scale = dict(zip(high.tolist(), 1.0 / clear_W_m2, strict=True))
    return _hats(moments, track, reach_s=_reach_s(fields), scale=scale)


def _in_time(fields: Sequence[ForecastField], track: Track) -> Array:
    """A quantity along the track: means over their windows, elsewhere between moments."""
    values = _unknown(track)
    for field in fields:
        if field.is_mean:
            here = (track.mid_utc_s >= field.from_utc_s) & (track.mid_utc_s < field.to_utc_s)
            values[here] = at_place(field, track.lat_deg[here], track.lon_deg[here])
    moments = [field for field in fields if not field.is_mean]
    return _first_known(values, _hats(moments, track, reach_s=_reach_s(fields)))


def _hats(
    fields: Sequence[ForecastField],
    track: Track,
    *,
    reach_s: float,
    scale: dict[int, float] | None = None,
) -> Array:
    """Values of moments along the track, on straight lines in time.

    Each moment counts in full when it comes and fades to nothing at its neighbours; a step that
    holds the first or the last moment takes it, and so does one that is no farther off than
    `reach_s`. `scale` has the places to use, and a factor each.
    """
    if not fields:
        return _unknown(track)
    scale = dict.fromkeys(range(len(fields)), 1.0) if scale is None else scale
    utc_s = np.array([field.to_utc_s for field in fields])
    near_s = np.clip(track.mid_utc_s, utc_s[0], utc_s[-1])
    within = np.abs(near_s - track.mid_utc_s) <= max(reach_s, 0.5 * 3600.0 * track.step_h)
    values = np.where(within, 0.0, np.nan)
    for place, field in enumerate(fields):
        height = np.interp(near_s, utc_s, np.eye(utc_s.size)[place])
        here = within & (height > 0.0)
        there = at_place(field, track.lat_deg[here], track.lon_deg[here])
        values[here] += height[here] * there * scale.get(place, np.nan)
    return values


def _unknown(track: Track) -> Array:
    return np.full(track.n_steps, np.nan)


def _first_known(*candidates: Array) -> Array:
    """Step by step the first that is a number."""
    values = candidates[0]
    for other in candidates[1:]:
        values = np.where(np.isnan(values), other, values)
    return values


def _usual_share(clear_frac: Array, track: Track, last_s: float) -> float:
    """The light's mean share over the last FADE_h hours; nan if the sun did not shine in them."""
    sun = sun_at(track.lat_deg, track.lon_deg, track.mid_utc_s)
    hours = (track.mid_utc_s <= last_s) & (track.mid_utc_s > last_s - 3600.0 * FADE_h)
    lit = hours & np.isfinite(clear_frac) & (sun.elevation_deg > 0.0)
    if not lit.any():
        return np.nan
    return float(np.average(clear_frac[lit], weights=np.sin(np.radians(sun.elevation_deg[lit]))))


def _last_value(values: Array, track: Track, last_s: float) -> float:
    """The last one known up to a moment, if it is not older than FADE_h hours by then."""
    recent = (track.mid_utc_s <= last_s) & (track.mid_utc_s > last_s - 3600.0 * FADE_h)
    known = values[recent & np.isfinite(values)]
    return known[-1] if known.size else np.nan


def _moment(utc_s: float) -> str:
    return f"{datetime.fromtimestamp(utc_s, UTC):%Y-%m-%d %H:%M} UTC"


def _position(lat_deg: float, lon_deg: float) -> str:
    lon_deg = (lon_deg + 180.0) % 360.0 - 180.0
    return (
        f"{abs(lat_deg):.1f} {'N' if lat_deg >= 0 else 'S'} "
        f"{abs(lon_deg):.1f} {'E' if lon_deg >= 0 else 'W'}"
    )


def _area(field: ForecastField) -> str:
    lat_deg, lon_deg = field.grid.lat_deg, field.grid.lon_deg
    corners = (lat_deg[0], lon_deg[0]), (lat_deg[-1], lon_deg[-1])
    return " to ".join(_position(*corner) for corner in corners)
