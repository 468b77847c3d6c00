"""Light that was measured, or worked out afterwards, along a track."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from powersim.errors import InputError, Problem
from powersim.records import Irradiance
from powersim.sky.any_year import on_the_years_of
from powersim.sky.clear_sky import clear_ghi_W_m2, linke_turbidity
from powersim.sky.known import Known
from powersim.sky.light_clock import hours_off
from powersim.sky.spread import at_steps, interval_means, spread_light
from powersim.sky.sun import extra_dni_W_m2, sun_at

if TYPE_CHECKING:
    from array import array

    from powersim.records.arrays import Array
    from powersim.voyage.track import Track

# Below this the beam on the horizontal is too faint to be divided by the sun's sine; all is taken
# as diffuse, as split.direct_and_diffuse_W_m2 does. [deg]
LOWEST_BEAM_DEG = 3.0
# A file is refused whose light comes this much before or after the sun over the boat: two hours off
# are found, and light measured up to some 20 degrees to the east or west is taken. Own choice. [h]
OUT_OF_TIME_h = 1.5
# So is one, where its days are too few to tell that, with this much of its light in the boat's
# night and as much of the clear sky's missing from her day: 2.5 hours at 30 degrees, 4 and more at
# 50 degrees in summer, when nights are short. Own choice. [-]
OUT_OF_TIME_FRAC = 0.1
_DAY_S = 86400.0
# Fainter than this the mean day tells nothing: polar twilight. [W/m^2]
_FAINT_MEAN_W_m2 = 20.0
# Darker than this share of a clear sky no overcast makes it for hours. Common practice, no source.
_DARK_FRAC = 0.02
_IN_TIME = (
    "times in UTC, or with their offset, for example 2026-09-05 12:00-03:00, and light measured "
    "near the boat's longitude"
)


def known_from_irradiance(irradiance: Irradiance, track: Track) -> Known:
    """What a file of measured light knows of the sky along a track.

    Parameters
    ----------
    irradiance : Irradiance
        Measured, or of a typical year.
    track : Track
        Where the boat is, and when.

    Returns
    -------
    Known
        Weight 1 where the light is known.

    Raises
    ------
    InputError
        If no hour of the passage is covered, or its light comes more than OUT_OF_TIME_h early or
        late, as far as its days can tell.

    Notes
    -----
    Beam and diffuse add up to the light on the horizontal in every step. What the file has of them
    sets the diffuse share of each interval, with the mean sine of the sun while it is up: diffuse
    over the sum of both; diffuse over light if there is no beam; and the rest of the light if there
    is no diffuse. A beam above the sun's own is counted as diffuse. A typical year is laid on the
    passage's own dates.
    """
    irradiance = on_the_years_of(irradiance, track)
    start_s = np.array(irradiance.start_utc_s)
    within = {"from_utc_s": start_s, "to_utc_s": start_s + irradiance.step_s}
    ghi_W_m2 = np.array(irradiance.ghi_W_m2)
    clear_frac = spread_light(track, **within, ghi_W_m2=ghi_W_m2)
    lit = ~np.isnan(clear_frac)
    if not lit.any():
        raise InputError([_beside_the_passage(irradiance, track)])
    clear_W_m2 = _clear_W_m2(track)
    tried = _refuse_out_of_time(irradiance, track, within, ghi_W_m2, clear_W_m2)
    dni_W_m2, dhi_W_m2 = _split(irradiance, track, within, ghi_W_m2, clear_frac, clear_W_m2)
    return Known(
        clear_frac=clear_frac,
        weight=np.ones(track.n_steps),
        dni_W_m2=dni_W_m2,
        dhi_W_m2=dhi_W_m2,
        air_C=_held(irradiance.air_C, track, within),
        wind_m_s=_held(irradiance.wind_m_s, track, within),
        clock_untried=not tried,
    )


def _clear_W_m2(track: Track) -> Array:
    """Light of the clear sky on the horizontal at the steps' middles."""
    return clear_ghi_W_m2(
        sun_at(track.lat_deg, track.lon_deg, track.mid_utc_s).elevation_deg,
        turbidity=linke_turbidity(track.lat_deg, track.lon_deg, track.mid_utc_s),
        extra_W_m2=extra_dni_W_m2(track.mid_utc_s),
    )


def _refuse_out_of_time(
    irradiance: Irradiance,
    track: Track,
    within: dict[str, Array],
    ghi_W_m2: Array,
    clear_W_m2: Array,
) -> bool:
    """Refuse light of another clock, or of another ocean, and tell whether that could be tried."""
    clear_W_m2 = interval_means(track, **within, values=clear_W_m2)
    whole = (within["from_utc_s"] >= track.edge_utc_s[0]) & ~np.isnan(ghi_W_m2)
    whole &= within["to_utc_s"] <= track.edge_utc_s[-1]
    light_W_m2, clear_W_m2 = ghi_W_m2[whole], clear_W_m2[whole]
    offset_h, days = hours_off(
        track,
        mid_utc_s=within["from_utc_s"][whole] + 0.5 * irradiance.step_s,
        step_s=irradiance.step_s,
        light_W_m2=light_W_m2,
        clear_W_m2=clear_W_m2,
    )
    if offset_h is not None:
        if abs(offset_h) > OUT_OF_TIME_h:
            when = "later" if offset_h > 0.0 else "earlier"
            text = (
                f"its light comes {abs(offset_h):.1f} h {when} than the sun over the boat, by the "
                f"middle of {days} days"
            )
            raise InputError([Problem(file=irradiance.file, text=text, expected=_IN_TIME)])
        return True
    if whole.sum() * irradiance.step_s < _DAY_S or not light_W_m2.mean() > _FAINT_MEAN_W_m2:
        return False
    by_night = light_W_m2[clear_W_m2 == 0.0].sum()
    not_by_day = clear_W_m2[light_W_m2 < _DARK_FRAC * clear_W_m2].sum()
    if (
        by_night > OUT_OF_TIME_FRAC * light_W_m2.sum()
        and not_by_day > OUT_OF_TIME_FRAC * clear_W_m2.sum()
    ):
        text = f"has {100.0 * by_night / light_W_m2.sum():.0f} % of its light in the boat's night"
        raise InputError([Problem(file=irradiance.file, text=text, expected=_IN_TIME)])
    return False


def _split(
    irradiance: Irradiance,
    track: Track,
    within: dict[str, Array],
    ghi_W_m2: Array,
    clear_frac: Array,
    clear_W_m2: Array,
) -> tuple[Array, Array]:
    """Beam and diffuse at every step; nan where the file does not tell them apart."""
    if irradiance.dni_W_m2 is None and irradiance.dhi_W_m2 is None:
        return np.full(track.n_steps, np.nan), np.full(track.n_steps, np.nan)
    sun = sun_at(track.lat_deg, track.lon_deg, track.mid_utc_s)
    sine = np.sin(np.radians(np.maximum(sun.elevation_deg, 0.0)))
    up = (sine > 0.0).astype(float)
    mean_sine, mean_up = (interval_means(track, **within, values=of) for of in (sine, up))
    mean_sine = np.where(mean_up > 0.0, mean_sine / np.where(mean_up > 0.0, mean_up, 1.0), 0.0)
    diffuse_W_m2 = ghi_W_m2 * _diffuse_frac(irradiance, ghi_W_m2, mean_sine)
    light_W_m2 = clear_frac * clear_W_m2
    dhi_W_m2 = clear_W_m2 * spread_light(track, **within, ghi_W_m2=diffuse_W_m2)
    high = sun.elevation_deg > LOWEST_BEAM_DEG
    direct_W_m2 = np.maximum(light_W_m2 - dhi_W_m2, 0.0) / np.where(high, sine, np.inf)
    dni_W_m2 = np.minimum(direct_W_m2, extra_dni_W_m2(track.mid_utc_s))
    return dni_W_m2, np.maximum(light_W_m2 - dni_W_m2 * sine, 0.0)  # rounding


def _diffuse_frac(irradiance: Irradiance, ghi_W_m2: Array, mean_sine: Array) -> Array:
    """Share of each interval's light that is diffuse; nan where the file does not tell."""
    some_W_m2 = np.where(ghi_W_m2 > 0.0, ghi_W_m2, 1.0)
    if irradiance.dni_W_m2 is None:
        frac = np.array(irradiance.dhi_W_m2) / some_W_m2
    elif irradiance.dhi_W_m2 is None:
        frac = 1.0 - np.array(irradiance.dni_W_m2) * mean_sine / some_W_m2
    else:
        dhi_W_m2 = np.array(irradiance.dhi_W_m2)
        both_W_m2 = dhi_W_m2 + np.array(irradiance.dni_W_m2) * mean_sine
        frac = np.where(both_W_m2 > 0.0, dhi_W_m2 / np.where(both_W_m2 > 0.0, both_W_m2, 1.0), 1.0)
        frac = np.where(np.isnan(both_W_m2), np.nan, frac)
    return np.clip(frac, 0.0, 1.0)  # the instruments' noise; nan stays


def _held(values: array[float] | None, track: Track, within: dict[str, Array]) -> Array:
    """Air or wind at the steps: straight lines between the intervals' middles, where covered.

    Beside a gap, and before the first middle and after the last, the interval's own value holds.
    """
    if values is None:
        return np.full(track.n_steps, np.nan)
    known = np.array(values)
    start_s, end_s = within["from_utc_s"], within["to_utc_s"]
    linear = at_steps(track, utc_s=0.5 * (start_s + end_s), values=known)
    now = np.maximum(np.searchsorted(start_s, track.mid_utc_s, side="right") - 1, 0)
    covered = (track.mid_utc_s >= start_s[now]) & (track.mid_utc_s < end_s[now])
    own = np.where(covered, known[now], np.nan)
    return np.where(np.isnan(own) | np.isnan(linear), own, linear)


def _beside_the_passage(irradiance: Irradiance, track: Track) -> Problem:
    spans = (
        (irradiance.start_utc_s[0], irradiance.end_utc_s),
        (track.edge_utc_s[0], track.edge_utc_s[-1]),
    )
    held, wanted = (f"{_shown(first)} to {_shown(last)}" for first, last in spans)
    return Problem(
        file=irradiance.file,
        text=f"has no light for this passage: it runs from {held}",
        expected=f"some hours of {wanted}",
    )


def _shown(utc_s: float) -> str:
    return datetime.fromtimestamp(utc_s, tz=UTC).strftime("%Y-%m-%d %H:%M UTC")
