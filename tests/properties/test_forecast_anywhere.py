"""Real forecast files along any track near their days: knowledge that can be, or one message."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import DATA

pytest.importorskip("eccodes")  # the optional extra [forecast]

from powersim.errors import InputError
from powersim.inputs.grib import read_forecast
from powersim.records import Waypoint
from powersim.sky.forecast import known_from_forecast
from powersim.voyage.track import track_of

# NOAA, public domain; tests/reference/data/README.md has their sources.
NAMES = (
    "gfs_20111008_00z_f072_2p5deg_surface.grib2",
    "ncep_flux_20060331_00z_f024_t62.grib1",
)
#: Read once, when a test asks: a decoder started where tests are collected is one for each worker.
forecast_of = cache(read_forecast)


@settings(max_examples=80)
@given(
    name=st.sampled_from(NAMES),
    lat_deg=st.floats(-85.0, 85.0),
    lon_deg=st.floats(-180.0, 180.0),
    after_h=st.floats(-60.0, 30.0),
    step_h=st.sampled_from([0.25, 0.5, 1.0]),
)
def test_wherever_and_whenever(name, lat_deg, lon_deg, after_h, step_h):
    forecast = forecast_of(DATA / name)
    first_s = forecast.cloud[0].from_utc_s
    track = track_of(
        (
            Waypoint(name="here", lat_deg=lat_deg, lon_deg=lon_deg, speed_kn=6.0),
            Waypoint(
                name="there", lat_deg=lat_deg + 2.0, lon_deg=(lon_deg + 185.0) % 360.0 - 180.0
            ),
        ),
        depart_utc_s=60.0 * round((first_s + 3600.0 * after_h) / 60.0),
        step_h=step_h,
    )
    try:
        known = known_from_forecast(forecast, track)
    except InputError as error:
        (problem,) = error.problems
        assert problem.expected
        return
    share = known.clear_frac[np.isfinite(known.clear_frac)]
    assert np.all((share >= 0.0) & (share < 3.0))
    assert np.all((known.weight >= 0.0) & (known.weight <= 1.0))
