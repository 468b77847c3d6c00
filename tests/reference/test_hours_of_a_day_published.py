"""How a day's light falls on its hours: against the published model and hours measured at sea."""

import numpy as np
import pytest
from published import column, read_published, unix_s

from powersim.sky import hourly_clearness
from powersim.sky.clear_sky import clear_ghi_W_m2, linke_turbidity
from powersim.sky.sun import extra_dni_W_m2, sun_at
from powersim.sky.synthetic import LARGEST_CLEAR_FRAC, LEAST_CLEAR_FRAC

EVALUATED = read_published("stochastic_clearness_evaluated.csv")
MEMBERS = 1000
EAST_H = 6  # 90 E by the sun


def place(row):
    return float(row["daily_kt"]), np.sin(np.radians(float(row["solar_elevation_deg"])))


@pytest.mark.parametrize(
    "row", EVALUATED, ids=lambda row: f"{row['daily_kt']} {row['solar_elevation_deg']}"
)
def test_mean_and_spread_of_an_hour_are_as_published(row):
    """Aguiar and Collares-Pereira 1992, their expressions evaluated apart from this project."""
    day_kt, sine = place(row)
    mean_kt = hourly_clearness.mean_kt(day_kt, sine)
    spread_kt = hourly_clearness.spread_kt(day_kt, sine)
    assert mean_kt == pytest.approx(float(row["tag_mean_kt"]), abs=1e-4)
    assert spread_kt == pytest.approx(float(row["tag_sigma"]), abs=1e-4)


@pytest.mark.parametrize("day_kt", [0.2, 0.5, 0.7])
def test_hours_scatter_by_the_published_spread_and_once_only(day_kt, monkeypatch):
    """The same, without the sea: a deviate of variance 1, lag-one 0.38 + 0.06 cos(7.4 Kt - 2.5).

    The public copy that was seen multiplies its random term by the spread a second time; the
    innovation of variance 1 - lag-one squared, and the lag itself, are from memory.
    """
    monkeypatch.setattr(hourly_clearness, "SEA_SPREAD_KT", 0.0)
    row = next(row for row in EVALUATED if place(row)[0] == day_kt)
    _, sine = place(row)
    kt = hourly_clearness.hourly_kt(
        np.full(100_000, day_kt),
        sine=np.full(5, sine),
        deviates=np.random.default_rng(7).standard_normal((5, 100_000)),
    )
    assert kt.std(axis=1) == pytest.approx(float(row["tag_sigma"]), rel=0.01)
    lag_one = 0.38 + 0.06 * np.cos(7.4 * day_kt - 2.5)
    assert np.corrcoef(kt[3], kt[4])[0, 1] == pytest.approx(lag_one, abs=0.01)


@pytest.fixture(scope="module")
def days():
    """Whole days by the sun at RAMA 12 N 90 E, each hour about its stamp; arrays (days, 24)."""
    rows = [row for row in read_published("light_rama_12n90e_hourly.csv") if row["ghi_W_m2"]]
    hour = [round(unix_s(row["time_mid"]) / 3600.0) for row in rows]
    at = dict(zip(hour, column(rows, "ghi_W_m2"), strict=True))
    first, last = (hour[0] + EAST_H) // 24, (hour[-1] + EAST_H) // 24
    of_day = [[24 * day + h - EAST_H for h in range(24)] for day in range(first, last + 1)]
    whole = np.array([hours for hours in of_day if all(h in at for h in hours)])
    utc_s = 3600.0 * (whole[:, :, None] - 0.5 + (np.arange(12) + 0.5) / 12.0)
    sun_s = utc_s.ravel()
    lat_deg, lon_deg = np.full(sun_s.size, 12.0), np.full(sun_s.size, 90.0)
    sun, extra_W_m2 = sun_at(lat_deg, lon_deg, sun_s), extra_dni_W_m2(sun_s)
    clear = clear_ghi_W_m2(
        sun.elevation_deg,
        turbidity=linke_turbidity(lat_deg, lon_deg, sun_s),
        extra_W_m2=extra_W_m2,
    )
    above = extra_W_m2 * np.maximum(np.sin(np.radians(sun.true_elevation_deg)), 0.0)
    by_hour = [light.reshape(utc_s.shape).mean(axis=2) for light in (above, clear, extra_W_m2)]
    return (np.array([[at[h] for h in hours] for hours in whole]), *by_hour)


def drawn_kt(days, sea_spread_kt, monkeypatch):
    """Hours of many members with each measured day's sum, shape (days, 24, members)."""
    monkeypatch.setattr(hourly_clearness, "SEA_SPREAD_KT", sea_spread_kt)
    rng = np.random.default_rng(11)
    kt = np.zeros((*days[0].shape, MEMBERS))
    for day, (measured, above, clear, extra) in enumerate(zip(*days, strict=True)):
        lit = clear > 0.0
        hours = hourly_clearness.hourly_kt(
            np.full(MEMBERS, measured.sum() / above.sum()),
            sine=np.maximum(above[lit] / extra[lit], 1e-3),
            deviates=rng.standard_normal((lit.sum(), MEMBERS)),
        )
        frac = hourly_clearness.adding_up(
            hours * (above[lit] / clear[lit])[:, None],
            weights=clear[lit],
            total=np.full(MEMBERS, measured.sum()),
            least=LEAST_CLEAR_FRAC,
            most=LARGEST_CLEAR_FRAC,
        )
        kt[day, lit] = frac * (clear[lit] / np.maximum(above[lit], 1e-9))[:, None]
    return kt


def changes_and_spread(days, sea_spread_kt, monkeypatch, *, bright=None):
    """Rms change from hour to hour, and about the mean, sun above 15 degrees: measured, ours."""
    measured, above, _, extra = days
    kt = drawn_kt(days, sea_spread_kt, monkeypatch)
    mean = kt.mean(axis=2)
    high = above > np.sin(np.radians(15.0)) * extra
    if bright is not None:
        high &= ((measured.sum(axis=1) / above.sum(axis=1) >= 0.6) == bright)[:, None]
    off = np.where(high, measured / np.maximum(above, 1e-9), 0.0) - mean, kt - mean[:, :, None]
    both = high[:, 1:] & high[:, :-1]
    changes = [np.sqrt((np.diff(one, axis=1)[both] ** 2).mean()) for one in off]
    return changes, [np.sqrt((one[high] ** 2).mean()) for one in off]


@pytest.mark.parametrize(
    ("bright", "measured", "ours"),
    [(None, 0.108, 0.109), (True, 0.088, 0.089), (False, 0.130, 0.128)],
)
def test_light_changes_from_hour_to_hour_as_at_a_mooring(days, monkeypatch, bright, measured, ours):
    """NOAA/PMEL RAMA 12 N 90 E, 51 days of 2025: what SEA_SPREAD_KT was fitted to."""
    assert len(days[0]) == 51
    fitted = hourly_clearness.SEA_SPREAD_KT
    changes, _ = changes_and_spread(days, fitted, monkeypatch, bright=bright)
    assert changes == pytest.approx([measured, ours], abs=0.002)
    assert changes[1] == pytest.approx(changes[0], rel=0.05)


@pytest.mark.parametrize(("bright", "land"), [(None, 0.074), (True, 0.043), (False, 0.101)])
def test_without_the_seas_spread_light_would_be_too_even(days, monkeypatch, bright, land):
    """The same mooring: changes by the land model alone, half the measured ones on bright days."""
    changes, _ = changes_and_spread(days, 0.0, monkeypatch, bright=bright)
    assert changes[1] == pytest.approx(land, abs=0.002)
    assert changes[1] < 0.8 * changes[0]


def test_hours_still_scatter_less_about_the_day_than_measured_ones(days, monkeypatch):
    """The same: grey mornings and bright afternoons are longer than ours."""
    _, spread = changes_and_spread(days, hourly_clearness.SEA_SPREAD_KT, monkeypatch)
    assert spread == pytest.approx([0.109, 0.089], abs=0.002)
