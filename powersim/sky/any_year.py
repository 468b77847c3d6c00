"""A typical year, laid on the years of a passage."""

from __future__ import annotations

import calendar
from array import array
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Irradiance
from powersim.records.irradiance import ANY_YEAR

if TYPE_CHECKING:
    from powersim.voyage.track import Track

_DAY_S = 86400.0
_LAST_OF_FEBRUARY = 58.0  # the 28th, days of the year counted from 0


def on_the_years_of(irradiance: Irradiance, track: Track) -> Irradiance:
    """Light of a typical year, as if it were measured in the years of a passage.

    Parameters
    ----------
    irradiance : Irradiance
        For any year; another one is handed back as it is.
    track : Track
        From its first year to its last.

    Returns
    -------
    Irradiance
        With the dates of the passage's years, one year more at either end.

    Notes
    -----
    Each day and hour is that of the same date. 29 February is 28 February again.
    """
    if not irradiance.any_year:
        return irradiance
    since_s = np.array(irradiance.start_utc_s) - _new_year_s(ANY_YEAR)
    day = np.floor(since_s / _DAY_S)
    again = np.flatnonzero(day == _LAST_OF_FEBRUARY)
    first, last = (datetime.fromtimestamp(track.edge_utc_s[at], tz=UTC).year for at in (0, -1))
    starts_s, rows = [], []
    for year in range(first - 1, last + 2):
        leap = calendar.isleap(year)
        later_s = np.where(leap & (day > _LAST_OF_FEBRUARY), _DAY_S, 0.0)
        starts_s.append(_new_year_s(year) + since_s + later_s)
        rows.append(np.arange(since_s.size))
        if leap:
            starts_s.append(_new_year_s(year) + since_s[again] + _DAY_S)
            rows.append(again)
    order = np.argsort(np.concatenate(starts_s), kind="stable")
    row = np.concatenate(rows)[order]

    def again_of(values: array[float]) -> array[float]:
        return array("d", np.array(values)[row])

    def if_any(values: array[float] | None) -> array[float] | None:
        return None if values is None else again_of(values)

    return replace(
        irradiance,
        start_utc_s=array("d", np.concatenate(starts_s)[order]),
        any_year=False,
        ghi_W_m2=again_of(irradiance.ghi_W_m2),
        dni_W_m2=if_any(irradiance.dni_W_m2),
        dhi_W_m2=if_any(irradiance.dhi_W_m2),
        air_C=if_any(irradiance.air_C),
        wind_m_s=if_any(irradiance.wind_m_s),
    )


def _new_year_s(year: int) -> float:
    return datetime(year, 1, 1, tzinfo=UTC).timestamp()
