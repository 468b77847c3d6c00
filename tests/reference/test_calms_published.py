"""Calms in spells: how often, how long, and how measured wind at sea hangs together."""

import math
from itertools import groupby

import numpy as np
import pytest
from published import column, read_published, unix_s
from scipy.optimize import minimize_scalar
from scipy.stats import geom

from powersim.sky.climatology import CALM_BELOW_M_S
from powersim.sky.wind import PERSISTENCE_h, rayleigh_m_s, wind_quantiles

HOURS, MEMBERS = 900, 2000
LAGS_h = np.arange(1, 49)
MEASURED = read_published("ocean_wind_hourly.csv")


@pytest.fixture(scope="module")
def quantile():
    return wind_quantiles(first_hour=496_000, hours=HOURS, seed=1, members=MEMBERS)


@pytest.mark.parametrize("share", [0.15, 0.3, 0.45, 0.6])
def test_the_mean_share_of_calms_is_recovered(quantile, share):
    """By definition: 2 percent is what was asked of it; found 0.8, 0.1, 0.0 and 0.2."""
    assert (quantile < share).mean() == pytest.approx(share, rel=0.02)


def test_the_mean_share_is_recovered_where_the_climate_changes_along_the_way(quantile):
    """By definition: calms of 10 percent at departure grow to 60 at landfall, half are motored."""
    chance = 0.5 * np.linspace(0.1, 0.6, HOURS)
    motored = quantile < chance[:, None]
    assert motored.mean() == pytest.approx(chance.mean(), rel=0.02)
    # Hour by hour, within five standard errors of so many independent members.
    error = np.sqrt(chance * (1.0 - chance) / MEMBERS)
    assert (np.abs(motored.mean(axis=1) - chance) < 5.0 * error).all()


def spells(calm):
    """Lengths of the runs of True in a row of hours."""
    return np.array([len(list(run)) for value, run in groupby(calm) if value])


@pytest.mark.parametrize("share", [0.2, 0.5])
def test_spells_of_calm_are_geometric(quantile, share):
    """scipy.stats.geom: a calm ends when the wind changes, 1 in 24, and the new one is no calm."""
    ends = (1.0 - share) / 24.0
    calm = quantile < share
    # Those that began in the first half; the second half is long enough for them to end.
    began = np.argwhere(calm[1 : HOURS // 2] & ~calm[: HOURS // 2 - 1])
    length = np.array([np.argmin(calm[hour + 1 :, member]) for hour, member in began])
    assert len(length) > 5000
    assert length.min() > 0
    assert length.mean() == pytest.approx(1.0 / ends, rel=0.04)
    for hours in (1, 6, 12, 24, 48, 96):
        assert (length <= hours).mean() == pytest.approx(geom.cdf(hours, ends), abs=0.015)


def test_ratios_of_a_rayleigh_distribution():
    """Deviation and median over the mean: sqrt(4 / pi - 1) = 0.5227 and sqrt(4 ln 2 / pi) = 0.9394,
    as textbooks of wind energy have it (from memory).

    The density is v / s^2 exp(-v^2 / 2 s^2): mean s sqrt(pi / 2), mean square 2 s^2, and half of
    the winds lie below s sqrt(2 ln 2).
    """
    speed_m_s = rayleigh_m_s(8.0, (np.arange(1_000_000) + 0.5) / 1_000_000)
    assert speed_m_s.mean() == pytest.approx(8.0, rel=1e-4)
    assert speed_m_s.std() / 8.0 == pytest.approx(0.5227, abs=2e-4)
    assert float(rayleigh_m_s(8.0, 0.5)) / 8.0 == pytest.approx(0.9394, abs=1e-4)
    # Its 99th percentile, worked out by hand: sqrt(4 ln(100) / pi) = 2.4215.
    assert float(rayleigh_m_s(1.0, 0.99)) == pytest.approx(math.sqrt(18.420681 / math.pi), abs=1e-4)


def correlations(hour, values):
    """Correlation of hourly values with those so many hours later, over gaps."""
    at = dict(zip(hour.tolist(), values.tolist(), strict=True))
    return np.array(
        [
            np.corrcoef(
                [(value, at[h + lag]) for h, value in at.items() if h + lag in at], rowvar=0
            )[0, 1]
            for lag in LAGS_h
        ]
    )


def persistence_h(correlation):
    """The persistence whose correlations, (1 - 1/P)^k, are nearest."""

    def misfit(hours):
        return ((1.0 - 1.0 / hours) ** LAGS_h - correlation) @ (
            (1.0 - 1.0 / hours) ** LAGS_h - correlation
        )

    return minimize_scalar(misfit, bounds=(2.0, 500.0), method="bounded").x


def measured_wind(platform):
    rows = [row for row in MEASURED if row["platform"] == platform]
    hour = np.array([round(unix_s(row["time_utc"]) / 3600.0) for row in rows])
    return hour, np.array(column(rows, "wind_m_s"))


def ranks_about_a_curve(hour, wind_m_s, degree):
    since = hour - hour[0]
    rest = wind_m_s - np.polyval(np.polyfit(since, wind_m_s, degree), since)
    return np.argsort(np.argsort(rest)) / len(rest)


def test_calm_hours_hang_together_as_those_at_a_mooring_do():
    """NOAA/PMEL RAMA 12 N 90 E, 53 days: measured hours below 5 knots."""
    hour, wind_m_s = measured_wind("RAMA 12N 90E")
    found = correlations(hour, (wind_m_s < CALM_BELOW_M_S).astype(float))
    # The constant was fitted to this: 24.1.
    assert persistence_h(found) == pytest.approx(PERSISTENCE_h, abs=0.5)
    # What no such law can follow: too steady within the first hours, too forgetful after two days.
    model = (1.0 - 1.0 / PERSISTENCE_h) ** LAGS_h
    assert found[0] - model[0] == pytest.approx(-0.26, abs=0.01)
    assert found[-1] - model[-1] == pytest.approx(0.24, abs=0.01)


@pytest.mark.parametrize(
    ("platform", "degree", "expected_h"),
    [
        ("RAMA 12N 90E", 0, 98.0),
        ("RAMA 12N 90E", 1, 56.0),
        ("RAMA 12N 90E", 2, 47.0),
        ("NOAA Ship Ronald H. Brown", 0, 74.0),
        ("NOAA Ship Ronald H. Brown", 1, 44.0),
        ("NOAA Ship Ronald H. Brown", 2, 19.0),
    ],
)
def test_measured_ranks_of_the_wind_persist_longer_or_shorter_than_ours(
    platform, degree, expected_h
):
    """NOAA mooring and ship: with slow change left in, a line taken off, a parabola taken off."""
    hour, wind_m_s = measured_wind(platform)
    found = persistence_h(correlations(hour, ranks_about_a_curve(hour, wind_m_s, degree)))
    # As docs/model/wind_and_calms.md has it; ours is near the lower end.
    assert found == pytest.approx(expected_h, abs=1.0)


def test_measured_calms_are_shorter_than_ours_and_come_in_clusters():
    """NOAA/PMEL RAMA 12 N 90 E: 32 percent of hours below 5 knots, in spells of 5 hours."""
    _, wind_m_s = measured_wind("RAMA 12N 90E")
    calm = wind_m_s < CALM_BELOW_M_S
    assert calm.mean() == pytest.approx(0.316, abs=0.001)
    assert spells(calm).mean() == pytest.approx(4.9, abs=0.1)
    ours = wind_quantiles(first_hour=496_000, hours=len(calm), seed=2, members=MEMBERS) < 0.316
    assert np.mean([spells(ours[:, m]).mean() for m in range(200)]) > 25.0
    # What counts for fuel: how much the share differs from day to day, and from week to week.
    for hours, measured, model in ((24, 0.32, 0.39), (72, 0.30, 0.30), (168, 0.26, 0.22)):
        whole = len(calm) // hours * hours
        days = calm[:whole].reshape(-1, hours).mean(axis=1)
        our_days = ours[:whole].reshape(-1, hours, MEMBERS).mean(axis=1)
        assert days.std(ddof=1) == pytest.approx(measured, abs=0.01)
        assert our_days.std(axis=0, ddof=1).mean() == pytest.approx(model, abs=0.02)
