"""How a day's light falls on its hours: against hours measured at sea."""

import numpy as np
import pytest
from published import column, read_published, unix_s

from powersim.sky.clear_sky import clear_ghi_W_m2, linke_turbidity
from powersim.sky.hourly_clearness import (
    BRIGHTEST_HOUR,
    DARKEST_HOUR,
    adding_up,
    hourly_frac,
)
from powersim.sky.sun import extra_dni_W_m2, sun_at
from powersim.sky.synthetic import LARGEST_CLEAR_FRAC, LEAST_CLEAR_FRAC

MEMBERS = 300
EAST_H = 6  # 90 E by the sun
# Below this the sun is left out: there a stamp that is a minute off is worth more than cloud.
HIGH_SINE = np.sin(np.radians(15.0))


def lights(lat_deg, lon_deg, utc_s):
    """Light above the atmosphere and of a clear sky, and the sine of the sun's height."""
    sun, extra_W_m2 = sun_at(lat_deg, lon_deg, utc_s), extra_dni_W_m2(utc_s)
    clear = clear_ghi_W_m2(
        sun.elevation_deg,
        turbidity=linke_turbidity(lat_deg, lon_deg, utc_s),
        extra_W_m2=extra_W_m2,
    )
    sine = np.maximum(np.sin(np.radians(sun.true_elevation_deg)), 0.0)
    return extra_W_m2 * sine, clear, sine


@pytest.fixture(scope="module")
def mooring():
    """Whole days by the sun at RAMA 12 N 90 E, each hour about its stamp; arrays (days, 24)."""
    rows = [row for row in read_published("light_rama_12n90e_hourly.csv") if row["ghi_W_m2"]]
    hour = [round(unix_s(row["time_mid"]) / 3600.0) for row in rows]
    at = dict(zip(hour, column(rows, "ghi_W_m2"), strict=True))
    first, last = (hour[0] + EAST_H) // 24, (hour[-1] + EAST_H) // 24
    of_day = [[24 * day + h - EAST_H for h in range(24)] for day in range(first, last + 1)]
    whole = np.array([hours for hours in of_day if all(h in at for h in hours)])
    utc_s = 3600.0 * (whole[:, :, None] - 0.5 + (np.arange(12) + 0.5) / 12.0)
    places = np.full(utc_s.size, 12.0), np.full(utc_s.size, 90.0)
    by_hour = [one.reshape(utc_s.shape).mean(axis=2) for one in lights(*places, utc_s.ravel())]
    return (np.array([[at[h] for h in hours] for hours in whole]), *by_hour)


@pytest.fixture(scope="module")
def ship():
    """Days off Barbados of which most was measured: hours, padded with night; arrays (days, 24)."""
    rows = [row for row in read_published("light_rhbrown_10min.csv") if row["ghi_W_m2"].strip()]
    utc_s = np.array([unix_s(row["time"]) + 300.0 for row in rows])
    lat_deg, lon_deg = np.array(column(rows, "lat")), np.array(column(rows, "lon"))
    every = np.array(column(rows, "ghi_W_m2")), *lights(lat_deg, lon_deg, utc_s)
    hour = np.floor(utc_s / 3600.0).astype(int)
    solar = np.floor(hour + 0.5 + lon_deg / 15.0).astype(int)
    found = {}
    for one in np.unique(hour):
        of_hour = hour == one
        if of_hour.sum() >= 5 and every[2][of_hour].mean() > 20.0:
            day, within = divmod(int(solar[of_hour][0]), 24)
            found.setdefault(day, {})[within] = [value[of_hour].mean() for value in every]
    days = np.zeros((4, len(found), 24))
    for row, hours in enumerate(found.values()):
        for within, values in hours.items():
            days[:, row, within] = values
    return tuple(days[:, (days[2] > 0.0).sum(axis=1) >= 8])


def drawn_frac(days):
    """Hours of many members with each measured day's sum, shape (days, 24, members)."""
    rng = np.random.default_rng(11)
    frac = np.zeros((*days[0].shape, MEMBERS))
    for day, (measured, _, clear, _) in enumerate(zip(*days, strict=True)):
        lit = clear > 0.0
        hours = hourly_frac(
            np.full(MEMBERS, measured.sum() / clear.sum()),
            fronts_share=0.0,
            deviates=rng.standard_normal((lit.sum(), MEMBERS)),
        )
        frac[day, lit] = adding_up(
            hours,
            weights=clear[lit],
            total=np.full(MEMBERS, measured.sum()),
            least=LEAST_CLEAR_FRAC,
            most=LARGEST_CLEAR_FRAC,
        )
    return frac


def likeness(days, *, bright=None):
    """Measured and ours, of clearness: rms change from hour to hour, rms about the day's share of
    the clear sky, and correlation of that with one and two hours later."""
    measured, above, clear, sine = days
    day_frac = measured.sum(axis=1) / clear.sum(axis=1)
    clearness = np.where(above > 0.0, clear / np.where(above > 0.0, above, 1.0), 0.0)
    high = sine > HIGH_SINE
    if bright is not None:
        high &= ((day_frac >= 0.8) == bright)[:, None]
    with np.errstate(invalid="ignore", divide="ignore"):
        of_clear = np.where(clear > 0.0, measured / clear, 0.0)
    found = []
    for frac in (of_clear[:, :, None], drawn_frac(days)):
        kt = frac * clearness[:, :, None]
        off = kt - (day_frac[:, None] * clearness)[:, :, None]
        scatter = np.sqrt((off[high] ** 2).mean())
        one, two = high[:, 1:] & high[:, :-1], high[:, 2:] & high[:, :-2]
        alike = [
            (off[:, lag:][both] * off[:, :-lag][both]).mean() / scatter**2
            for lag, both in ((1, one), (2, two))
        ]
        found.append([np.sqrt((np.diff(kt, axis=1)[one] ** 2).mean()), scatter, *alike])
    return np.array(found)


@pytest.mark.parametrize(
    ("bright", "measured", "ours"),
    [
        (None, (0.119, 0.107, 0.46, 0.04), (0.119, 0.105, 0.43, 0.06)),
        (True, (0.112, 0.092, 0.35, 0.02), (0.112, 0.095, 0.42, 0.04)),
        (False, (0.133, 0.135, 0.56, 0.06), (0.132, 0.125, 0.46, 0.08)),
    ],
)
def test_hours_change_scatter_and_hang_together_as_at_a_mooring(mooring, bright, measured, ours):
    """NOAA/PMEL RAMA 12 N 90 E, 51 days of 2025: what TROPICS_SPREAD and HOUR_LAG are fitted to."""
    assert len(mooring[0]) == 51
    found = likeness(mooring, bright=bright)
    assert found[:, :2] == pytest.approx(np.array([measured[:2], ours[:2]]), abs=0.0015)
    assert found[:, 2:] == pytest.approx(np.array([measured[2:], ours[2:]]), abs=0.015)
    assert found[1, :2] == pytest.approx(found[0, :2], rel=0.10)


def test_hours_in_the_trades_change_a_little_more_than_a_ship_measured(ship):
    """NOAA ship off Barbados, 11 days of 2020: not fitted to. Ours err to the unsteady side."""
    assert len(ship[0]) == 11
    measured, ours = likeness(ship)
    assert measured == pytest.approx([0.111, 0.077, 0.04, -0.05], abs=0.006)
    assert ours == pytest.approx([0.123, 0.106, 0.33, -0.05], abs=0.015)


def test_one_spread_does_for_bright_days_and_dark_ones(mooring):
    """The same mooring: variance within a day, of the largest there could be, by its brightness."""
    measured, _, clear, sine = mooring
    day_frac = measured.sum(axis=1) / clear.sum(axis=1)
    mean = np.clip((day_frac - DARKEST_HOUR) / (BRIGHTEST_HOUR - DARKEST_HOUR), 0.0, 1.0)
    off = np.where(sine > 0.2, measured / np.maximum(clear, 1.0) - day_frac[:, None], 0.0)
    within = (off**2).sum(axis=1) / (sine > 0.2).sum(axis=1) / (BRIGHTEST_HOUR - DARKEST_HOUR) ** 2
    shares = []
    for low, high in ((0.0, 0.5), (0.5, 0.75), (0.75, 0.9), (0.9, 1.1)):
        these = (day_frac > low) & (day_frac <= high)
        shares.append(within[these].sum() / (mean * (1.0 - mean))[these].sum())
    # About the day's own mean, of a dozen hours that hang together: less than the spread itself.
    assert shares == pytest.approx([0.177, 0.177, 0.136, 0.142], abs=0.006)
