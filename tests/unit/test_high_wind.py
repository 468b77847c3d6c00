"""How often it blows hard, by the hour and by the spell, and for how long a sea is left of it."""

import math

import numpy as np
import pytest

from powersim.sky.climatology import monthly_mean
from powersim.sky.high_wind import (
    hard_wind_m_s,
    shape_at,
    share_above,
    share_within,
    strongest_of_late,
)
from powersim.sky.wind import KN_M_S, calm_frac, rayleigh_m_s, wind_quantiles


@pytest.mark.parametrize(
    ("mean_kn", "above_kn", "share"),
    [
        # exp(-pi/4 (34/17)^2) = exp(-3.14159) = 0.0432; at the mean itself exp(-0.7854) = 0.4559.
        (17.0, 34.0, 0.0432),
        (17.0, 17.0, 0.4559),
        (14.0, 28.0, 0.0432),
        (14.0, 34.0, 0.0097),  # (34/14)^2 = 5.898; exp(-4.632) = 0.0097
    ],
)
def test_a_share_of_hours_is_that_of_rayleighs_distribution(mean_kn, above_kn, share):
    found = share_above(mean_kn * KN_M_S, above_kn=above_kn)
    assert found == pytest.approx(share, abs=5e-5)


def test_without_any_wind_it_never_blows():
    """A leg's wind may be written as 0 m/s."""
    assert share_above(np.array([0.0, 5.0]), above_kn=20.0).tolist()[0] == 0.0


def test_what_is_no_more_than_a_strength_is_the_rest():
    """The calms of `calm_frac` are counted from the same distribution."""
    place = {"lat_deg": np.array([50.0]), "lon_deg": np.array([-20.0]), "utc_s": np.array([1.7e9])}
    (mean_m_s,) = monthly_mean("wind_m_s", **place)
    calm = calm_frac(*place.values(), below_kn=34.0)
    assert calm + share_above(mean_m_s, above_kn=34.0) == pytest.approx(1.0, abs=1e-12)


@pytest.fixture(scope="module")
def quantiles():
    return wind_quantiles(first_hour=24 * 15000 + 5, hours=24, seed=3, members=20_000)


@pytest.mark.parametrize("hours", [3, 7, 24])
@pytest.mark.parametrize("share", [0.3, 0.05, 0.02])
def test_a_chance_in_some_hours_is_that_of_the_law_that_members_are_drawn_by(
    quantiles, hours, share
):
    """20,000 draws of it. The slow weather is taken to stand still, which over a day costs 4 %."""
    spells = [quantiles[at : at + hours] > 1.0 - share for at in range(0, 25 - hours, 6)]
    drawn = np.mean([spell.any(axis=0).mean() for spell in spells])
    found = float(share_within(np.array([share]), hours=hours)[0])
    assert found == pytest.approx(drawn, rel=0.06 if hours == 24 else 0.04)
    assert share < found < min(1.0, hours * share)


def test_certainty_stays_certain():
    assert share_within(np.array([0.0, 1.0]), hours=7) == pytest.approx([0.0, 1.0], abs=1e-9)
    known = np.array([0.2, 0.7])
    assert share_within(known, hours=1) is known


def test_a_sea_is_that_of_the_strongest_wind_of_some_hours():
    rng = np.random.default_rng(5)
    wind_m_s = rng.uniform(0.0, 20.0, (40, 3))
    for steps in (0, 1, 6, 13, 60):
        found = strongest_of_late(wind_m_s, steps=steps)
        for at in range(40):
            by_hand = wind_m_s[max(at - steps, 0) : at + 1].max(axis=0)
            assert np.array_equal(found[at], by_hand)


def test_members_have_gales_as_often_as_the_closed_form(quantiles):
    """exp(-pi/4 (v/U)^2), held against the wind that members are drawn: U 8 m/s, 34 kn."""
    wind_m_s = rayleigh_m_s(8.0, quantiles)
    expected = math.exp(-0.25 * math.pi * (34.0 * 1852.0 / 3600.0 / 8.0) ** 2)
    # 20,000 members of 24 hours that hang together; one standard error is about 0.0007.
    assert (wind_m_s > 34.0 * KN_M_S).mean() == pytest.approx(expected, abs=0.002)


def test_a_steadier_wind_by_hand():
    """Shape 3: Gamma(4/3) = 0.8930. At twice the mean exp(-(1.786)^3) = exp(-5.697) = 0.0034.

    Above the mean exp(-0.8930^3) = exp(-0.7121) = 0.4906.
    """
    for above_kn, share in ((28.0, 0.0034), (14.0, 0.4906)):
        found = share_above(14.0 * KN_M_S, above_kn=above_kn, shape=3.0)
        assert found == pytest.approx(share, abs=5e-5)


@pytest.mark.parametrize("shape", [2.0, 2.5, 3.0])
def test_the_speed_is_the_inverse_of_the_share(shape):
    """And its mean is the mean: over a million quantiles."""
    quantiles = (np.arange(1_000_000) + 0.5) / 1_000_000
    speed_m_s = hard_wind_m_s(8.0, quantiles, shape=shape)
    assert speed_m_s.mean() == pytest.approx(8.0, rel=1e-4)
    for place in (100_000, 900_000, 999_000):
        share = share_above(8.0, above_kn=speed_m_s[place] / KN_M_S, shape=shape)
        assert share == pytest.approx(1.0 - quantiles[place], rel=1e-6)
    if shape == 2.0:
        np.testing.assert_allclose(speed_m_s, rayleigh_m_s(8.0, quantiles), rtol=1e-12)


def test_it_blows_more_steadily_near_the_equator_on_either_side():
    assert shape_at(np.array([0.0, 20.0, -20.0, 35.0, -60.0])).tolist() == [3, 3, 3, 2, 2]
