"""The clear sky against pvlib place by place, and against a measured clear day."""

import numpy as np
import pandas as pd
import pytest
from published import column, read_published, unix_s
from pvlib.atmosphere import get_relative_airmass
from pvlib.clearsky import ineichen, lookup_linke_turbidity

from powersim.sky.clear_sky import clear_ghi_W_m2, clear_light, linke_turbidity
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
    """pvlib.clearsky.ineichen one value at a time; the library promises no arrays of turbidity.

    With the enhancement of Perez et al., Solar Energy 73 (2002) 307-317, which beyond an air mass
    of 8 is what it is there, exp(0.01 8^1.8) = exp(0.42224) = 1.52538.
    """
    elevation_deg = np.array([-5.0, 0.001, 0.5, 5.0, 7.0, 30.0, 89.0])
    turbidity = np.array([3.0, 2.0, 4.0, 3.5, 2.5, 3.0, 5.0])
    extra_W_m2 = np.array([1400.0, 1410.0, 1330.0, 1360.0, 1350.0, 1366.0, 1380.0])
    ours = clear_light(elevation_deg, turbidity=turbidity, extra_W_m2=extra_W_m2)
    assert ours.ghi_W_m2[0] == ours.dni_W_m2[0] == 0.0
    for i in range(1, 7):
        zenith_deg = 90.0 - elevation_deg[i]
        airmass = get_relative_airmass(zenith_deg)
        high = airmass < 8.0
        one = ineichen(
            zenith_deg, airmass, turbidity[i], dni_extra=extra_W_m2[i], perez_enhancement=high
        )
        held = 1.0 if high else 1.525378
        assert ours.ghi_W_m2[i] == pytest.approx(one["ghi"] * held, rel=1e-6)
        # Near the horizon the plain sky cuts a beam that would bring more light than there is.
        if high:
            assert ours.dni_W_m2[i] == pytest.approx(one["dni"], abs=1e-9)


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
    # found 0.4 percent low, 8 W/m2 rms.
    assert ours_W_m2.mean() / measured_W_m2.mean() == pytest.approx(1.0, abs=0.01)
    assert np.sqrt(np.mean((ours_W_m2 - measured_W_m2) ** 2)) < 10.0
    assert np.corrcoef(ours_W_m2, measured_W_m2)[0, 1] > 0.999


def without_perez_W_m2(elevation_deg, utc_s, lat_deg, lon_deg):
    """The same clear sky as its first paper has it, from pvlib."""
    up = elevation_deg > 0.0
    zenith_deg = 90.0 - elevation_deg[up]
    plain = np.zeros(elevation_deg.shape)
    plain[up] = ineichen(
        zenith_deg,
        get_relative_airmass(zenith_deg),
        linke_turbidity(lat_deg, lon_deg, utc_s)[up],
        dni_extra=extra_dni_W_m2(utc_s)[up],
    )["ghi"]
    return plain


def both_skies(lat_deg, lon_deg, utc_s):
    elevation_deg = sun_at(lat_deg, lon_deg, utc_s).elevation_deg
    ours = clear_ghi_W_m2(
        elevation_deg,
        turbidity=linke_turbidity(lat_deg, lon_deg, utc_s),
        extra_W_m2=extra_dni_W_m2(utc_s),
    )
    return elevation_deg, ours, without_perez_W_m2(elevation_deg, utc_s, lat_deg, lon_deg)


# Month: the day's light that one day in twenty passes, as a share of the clear sky's: ours, and the
# clear sky without Perez's factor. Real clear air is now cleaner and now hazier than its month's.
BRIGHT_DAYS = {12: (0.99, 1.22), 1: (1.05, 1.27), 3: (1.06, 1.12), 6: (1.04, 1.06)}


@pytest.mark.parametrize("month", BRIGHT_DAYS)
def test_bright_winter_days_are_as_bright_as_the_clear_sky(month):
    """Mace Head, 53.3 N on the Atlantic, Met Eireann, 24 years: one day in twenty is brighter."""
    rows = read_published("light_ireland_coast_daily_2000_2024.csv")
    rows = [row for row in rows if int(row["date"][5:7]) == month and row["mace_head"]]
    day_s = np.array([unix_s(row["date"]) for row in rows])
    assert day_s.size > 600
    # The middle of each month stands for its days, in steps of a quarter of an hour.
    steps_s = 900.0 * (np.arange(96) + 0.5)
    utc_s = (np.unique(day_s)[:, None] + steps_s).ravel()
    _, ours, plain = both_skies(np.full(utc_s.size, 53.326), np.full(utc_s.size, -9.901), utc_s)
    measured = np.array(column(rows, "mace_head"))
    found = [np.percentile(measured / of.reshape(-1, 96).mean(axis=1), 95) for of in (ours, plain)]
    assert found == pytest.approx(BRIGHT_DAYS[month], abs=0.02)


# Sun between: light that one in ten of ten minutes passes, as shares of the two skies.
BRIGHT_MINUTES = {(8, 15): (0.94, 1.11), (15, 30): (0.98, 1.05), (30, 60): (1.02, 1.05)}


@pytest.mark.parametrize("between_deg", BRIGHT_MINUTES)
def test_the_brightest_light_at_sea_is_as_near_to_the_clear_sky_under_any_sun(between_deg):
    """NOAA Ship Ronald H. Brown, 13 to 16 N, means over ten minutes along her own track."""
    rows = read_published("light_rhbrown_10min.csv")
    mid_s = np.array([unix_s(row["time"]) for row in rows]) + 300.0
    elevation_deg, ours, plain = both_skies(
        np.array(column(rows, "lat")), np.array(column(rows, "lon")), mid_s
    )
    there = (elevation_deg > between_deg[0]) & (elevation_deg < between_deg[1])
    assert there.sum() > 80
    measured = np.array(column(rows, "ghi_W_m2"))[there]
    found = [np.percentile(measured / of[there], 90) for of in (ours, plain)]
    assert found == pytest.approx(BRIGHT_MINUTES[between_deg], abs=0.02)


# Sun between, at Tucson: light measured there as a share of the two skies, forenoon and afternoon.
TUCSON_BY_HEIGHT = {
    (5, 8): (0.91, 1.36),
    (8, 12): (0.93, 1.17),
    (12, 20): (0.97, 1.08),
    (20, 30): (1.00, 1.05),
    (30, 50): (1.02, 1.04),
}


@pytest.mark.parametrize("between_deg", TUCSON_BY_HEIGHT)
def test_the_clear_sky_matches_a_clear_day_under_a_low_sun(between_deg):
    """NREL MIDC, Tucson, 18 October 2018, a clear day 786 m up; ours is the sea's air."""
    rows = read_published("station_tucson_20181018_5min.csv")
    utc_s = np.array([unix_s(row["time_mst"]) for row in rows])
    lat_deg, lon_deg = np.full(utc_s.size, 32.2297), np.full(utc_s.size, -110.9553)
    elevation_deg, ours, plain = both_skies(lat_deg, lon_deg, utc_s)
    there = (elevation_deg > between_deg[0]) & (elevation_deg < between_deg[1])
    measured = np.array(column(rows, "ghi_wm2"))[there]
    found = [measured.mean() / of[there].mean() for of in (ours, plain)]
    assert found == pytest.approx(TUCSON_BY_HEIGHT[between_deg], abs=0.01)
