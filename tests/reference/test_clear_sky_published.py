"""The clear sky against pvlib place by place, and against a measured clear day."""

import numpy as np
import pandas as pd
import pytest
from published import column, read_published, unix_s
from pvlib.atmosphere import get_relative_airmass
from pvlib.clearsky import ineichen, lookup_linke_turbidity

from powersim.sky.clear_sky import clear_ghi_W_m2, linke_turbidity
from powersim.sky.sun import extra_dni_W_m2, sun_at

PLACES = [
    (64.15, -21.95),
    (38.53, -28.63),
    (16.9, -25.0),
    (0.0, 0.0),
    (-17.5, 179.99),
    (-17.5, -179.99),
    (21.3, 180.0),
    (21.3, -180.0),
    (-55.98, -67.27),
    (89.99, 10.0),
    (-89.99, -60.0),
]


# pvlib asks pandas for the day of the year by a name that newer versions of pandas will drop.
@pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear is deprecated")
def test_turbidity_along_a_track_is_pvlibs_at_each_place():
    """pvlib.clearsky.lookup_linke_turbidity, one place at a time, a year and a leap day."""
    times = pd.date_range("2027-12-20", "2029-01-20", freq="5D", tz="UTC")
    times = times.append(pd.DatetimeIndex(["2028-02-29 23:59", "2028-12-31 12:00"], tz="UTC"))
    utc_s = times.as_unit("s").asi8.astype(float)
    lat_deg, lon_deg = (np.repeat(part, utc_s.size) for part in zip(*PLACES, strict=True))
    ours = linke_turbidity(lat_deg, lon_deg, np.tile(utc_s, len(PLACES)))
    by_place = ours.reshape(len(PLACES), utc_s.size)
    for place, found in zip(PLACES, by_place, strict=True):
        # The same table and the same straight line between middles of months: to rounding.
        assert found == pytest.approx(lookup_linke_turbidity(times, *place).to_numpy(), abs=1e-9)


def test_clear_sky_of_arrays_is_pvlibs_for_each_value():
    """pvlib.clearsky.ineichen one value at a time; the library promises no arrays of turbidity."""
    elevation_deg = np.array([-5.0, 0.001, 0.5, 5.0, 30.0, 89.0])
    turbidity = np.array([3.0, 2.0, 4.0, 3.5, 3.0, 5.0])
    extra_W_m2 = np.array([1400.0, 1410.0, 1330.0, 1360.0, 1366.0, 1380.0])
    ours = clear_ghi_W_m2(elevation_deg, turbidity=turbidity, extra_W_m2=extra_W_m2)
    assert ours[0] == 0.0
    for i in range(1, 6):
        zenith_deg = 90.0 - elevation_deg[i]
        airmass = get_relative_airmass(zenith_deg)
        one = ineichen(zenith_deg, airmass, turbidity[i], dni_extra=extra_W_m2[i])
        assert ours[i] == pytest.approx(one["ghi"], abs=1e-9)


def test_clear_sky_matches_a_measured_clear_day():
    """NREL MIDC, Tucson, 18 October 2018, nearly cloudless: light on the horizontal."""
    rows = read_published("station_tucson_20181018_5min.csv")
    utc_s = np.array([unix_s(row["time_mst"]) for row in rows])
    measured_W_m2 = np.array(column(rows, "ghi_wm2"))
    lat_deg, lon_deg = np.full(utc_s.size, 32.2297), np.full(utc_s.size, -110.9553)
    ours_W_m2 = clear_ghi_W_m2(
        sun_at(lat_deg, lon_deg, utc_s).elevation_deg,
        turbidity=linke_turbidity(lat_deg, lon_deg, utc_s),
        extra_W_m2=extra_dni_W_m2(utc_s),
    )
    # The station is 786 m up and inland, our air is that of sea level and of a mean October:
    # found 4.0 percent low, 16 W/m2 rms.
    assert ours_W_m2.mean() / measured_W_m2.mean() == pytest.approx(1.0, abs=0.05)
    assert np.sqrt(np.mean((ours_W_m2 - measured_W_m2) ** 2)) < 20.0
    assert np.corrcoef(ours_W_m2, measured_W_m2)[0, 1] > 0.999
