"""A typical year, laid on the years of a passage."""

from __future__ import annotations

import calendar
from array import array
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from powersim.records.irradiance import ANY_YEAR

_DAY_S = 86400.0
_LAST_OF_FEBRUARY = 58.0  # the 28th, days of the year counted from 0
_COLUMNS = ("ghi_W_m2", "dni_W_m2", "dhi_W_m2", "air_C", "wind_m_s")


def on_the_years_of(irradiance, track):
    """Light of a typical year, as if it were measured in the years of a passage.

    Parameters
    ----------
    irradiance : Irradiance
        For any year; another one is handed back as it is.
    track : Track

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
    begins_s, places = [], []
    for year in range(first - 1, last + 2):
        leap = calendar.isleap(year)
        later_s = np.where(leap & (day > _LAST_OF_FEBRUARY), _DAY_S, 0.0)
        begins_s.append(_new_year_s(year) + since_s + later_s)
        places.append(np.arange(since_s.size))
        if leap:
            begins_s.append(_new_year_s(year) + since_s[again] + _DAY_S)
            places.append(again)
    starts_s, rows = np.concatenate(begins_s), np.concatenate(places)
    order = np.argsort(starts_s, kind="stable")
    columns = {name: getattr(irradiance, name) for name in _COLUMNS}
    return replace(
        irradiance,
        start_utc_s=array("d", starts_s[order]),
        any_year=False,
        **{
            name: array("d", np.array(values)[rows[order]])
            for name, values in columns.items()
            if values is not None
        },
    )


def _new_year_s(year):
    return datetime(year, 1, 1, tzinfo=UTC).timestamp()
