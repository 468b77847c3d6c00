"""Forecast files against ecCodes' own command-line print of the same messages.

The files are real ones (NOAA, public domain; see data/README.md). What the tool printed is kept in
data/grib_values_printed.csv, with the commands.
"""

from collections import defaultdict
from datetime import UTC, datetime

import numpy as np
import pytest
from published import DATA, read_published

pytest.importorskip("eccodes")  # the optional extra [forecast]

from powersim.inputs.grib import read_forecast
from powersim.sky.forecast import at_place

GFS = "gfs_20111008_00z_f072_2p5deg_surface.grib2"
NCEP = "ncep_flux_20060331_00z_f024_t62.grib1"
# (file, numbers, step): (kind, is a mean), in our unit from the printed one: (factor, offset)
WHERE = {
    (GFS, "0/4/192", "66-72"): ("light", True, 1.0, 0.0),
    (GFS, "0/6/1", "66-72"): ("cloud", True, 0.01, 0.0),
    (GFS, "0/0/0", "72"): ("air", False, 1.0, -273.15),
    (NCEP, "2/204", "18-24"): ("light", True, 1.0, 0.0),
    (NCEP, "2/204", "24"): ("light", False, 1.0, 0.0),
    (NCEP, "2/71", "18-24"): ("cloud", True, 0.01, 0.0),
    (NCEP, "2/11", "24"): ("air", False, 1.0, -273.15),
}
WIND = {GFS: ("0/2/2", "0/2/3", "72"), NCEP: ("2/33", "2/34", "24")}
PRINTED = defaultdict(list)
for row in read_published("grib_values_printed.csv"):
    values = [float(row[name]) for name in ("lat_deg", "lon_deg", "value")]
    PRINTED[row["file"], row["numbers"], row["step"]].append(values)


@pytest.fixture(scope="module")
def forecasts():
    return {name: read_forecast(DATA / name) for name in (GFS, NCEP)}


def read(forecast, kind, is_mean, places):
    (field,) = (one for one in getattr(forecast, kind) if one.is_mean == is_mean)
    # Printed to a thousandth of a degree; the value there is that of the nearest place of the grid.
    lat_deg, lon_deg = np.array(places).T[:2]
    nearest = np.abs(field.grid.lat_deg[:, None] - lat_deg).argmin(axis=0)
    return at_place(field, field.grid.lat_deg[nearest], lon_deg)


@pytest.mark.parametrize("key", WHERE, ids=lambda key: f"{key[1]} {key[2]}")
def test_values_are_those_that_eccodes_prints(forecasts, key):
    kind, is_mean, factor, offset = WHERE[key]
    places = PRINTED[key]
    assert len(places) >= 12
    found = read(forecasts[key[0]], kind, is_mean, places)
    expected = factor * np.array(places)[:, 2] + offset
    # A thousandth of a degree along a grid of 2 degrees is half a thousandth of the way to the
    # neighbour; GFS's places are exact, so that only our 24 bits are left.
    near = 2e-5 if key[0] == GFS else 5e-4 * np.ptp(expected)
    assert found == pytest.approx(expected, rel=1e-6, abs=near)


@pytest.mark.parametrize("name", [GFS, NCEP])
def test_both_parts_of_the_wind_are_there(forecasts, name):
    """GFS has them in one message, of which the second is easily lost."""
    east, north, step = WIND[name]
    places, others = PRINTED[name, east, step], PRINTED[name, north, step]
    expected = np.hypot(np.array(places)[:, 2], np.array(others)[:, 2])
    assert expected.max() > 5.0
    near = 2e-5 if name == GFS else 5e-4 * np.ptp(expected)
    assert read(forecasts[name], "wind", False, places) == pytest.approx(
        expected, rel=1e-6, abs=near
    )


def test_every_printed_message_is_compared():
    winds = {(name, part, where[2]) for name, where in WIND.items() for part in where[:2]}
    assert set(PRINTED) == set(WHERE) | winds


@pytest.mark.parametrize(
    ("name", "run", "from_h", "to_h"),
    [
        (GFS, datetime(2011, 10, 8, tzinfo=UTC), 66, 72),
        (NCEP, datetime(2006, 3, 31, tzinfo=UTC), 18, 24),
    ],
)
def test_windows_and_moments_are_those_of_the_step_range(forecasts, name, run, from_h, to_h):
    def hours(field):
        return tuple(
            (at_s - run.timestamp()) / 3600.0 for at_s in (field.from_utc_s, field.to_utc_s)
        )

    forecast = forecasts[name]
    assert hours(forecast.light[0]) == hours(forecast.cloud[0]) == (from_h, to_h)
    assert hours(forecast.wind[0]) == hours(forecast.air[0]) == (to_h, to_h)
    assert forecast.light[0].run_utc_s == run.timestamp()


@pytest.mark.parametrize(
    ("lat_deg", "lon_deg", "light_W_m2", "cloud_frac"),
    [(25.0, -40.0, 82.0, 0.73), (60.0, -20.0, 1.0, 0.04), (2.0, -25.0, 34.0, 0.19),
     (-15.0, -80.0, 446.0, 0.97)],
)  # fmt: skip
def test_light_and_cloud_at_four_places(forecasts, lat_deg, lon_deg, light_W_m2, cloud_frac):
    """Decoded apart from us with pygrib 2.1.8; 2 N is read at the nearest row, 2.5 N."""
    lat_deg = 2.5 * round(lat_deg / 2.5)
    for kind, expected, digit in (("light", light_W_m2, 0.5), ("cloud", cloud_frac, 0.005)):
        (found,) = read(forecasts[GFS], kind, True, [(lat_deg, lon_deg)])
        assert found == pytest.approx(expected, abs=digit)
