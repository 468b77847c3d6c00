"""A boat in one place under a plain sky, made with pvlib alone, for the tests of the panels."""

from __future__ import annotations

import csv
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pvlib

REFERENCE_DATA = Path(__file__).parent / "reference" / "data"


def read_rows(name):
    """Rows of a reference file as dictionaries; lines that start with # are its sources."""
    lines = (REFERENCE_DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def boat_in_one_place(
    *,
    lat_deg=17.0,
    lon_deg=-25.0,
    day="2027-10-15",
    days=1,
    step_min=15,
    course_deg=180.0,
    heel_deg=0.0,
    tack=1,
    clearness=None,
    air_C=26.0,
    wind_m_s=7.0,
):
    """Track and sky with the fields that the panels read, for whole UTC days.

    The sky is Ineichen's clear sky with a Linke turbidity of 4, scaled to a day's clearness index
    where one is given; the beam is split off by Erbs.
    """
    n_steps = days * 24 * 60 // step_min
    start = pd.Timestamp(day, tz="UTC")
    times = pd.date_range(
        start + pd.Timedelta(minutes=step_min / 2), periods=n_steps, freq=f"{step_min}min"
    )
    sun = pvlib.solarposition.get_solarposition(times, lat_deg, lon_deg)
    zenith_deg = sun["apparent_zenith"].to_numpy()
    day_of_year = times.day_of_year.to_numpy()
    extra = pvlib.irradiance.get_extra_radiation(day_of_year)
    airmass = pvlib.atmosphere.get_relative_airmass(zenith_deg)
    with np.errstate(divide="ignore"):  # pvlib divides by the cosine of a sun that is down
        clear = pvlib.clearsky.ineichen(zenith_deg, airmass, 4.0, dni_extra=extra)
    ghi = np.nan_to_num(clear["ghi"])
    if clearness is not None:
        ghi *= clearness / (ghi.sum() / (extra * np.cos(np.radians(zenith_deg)).clip(0)).sum())
    split = pvlib.irradiance.erbs(ghi, zenith_deg, day_of_year)
    constant = lambda value: np.full(n_steps, float(value))  # noqa: E731
    track = SimpleNamespace(
        step_h=step_min / 60,
        n_steps=n_steps,
        mid_utc_s=times.as_unit("s").asi8.astype(float),
        lat_deg=constant(lat_deg),
        lon_deg=constant(lon_deg),
        course_deg=constant(course_deg),
        heel_deg=constant(heel_deg),
        tack=np.full(n_steps, tack, dtype=np.int8),
    )
    sky = SimpleNamespace(
        times=times,
        elevation_deg=90.0 - zenith_deg,
        azimuth_deg=sun["azimuth"].to_numpy(),
        extra_dni_W_m2=extra,
        ghi_W_m2=ghi,
        dni_W_m2=np.asarray(split["dni"]),
        dhi_W_m2=np.asarray(split["dhi"]),
        air_C=constant(air_C),
        wind_m_s=constant(wind_m_s),
    )
    return track, sky
