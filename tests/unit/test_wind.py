"""The wind's quantile keeps its seed's promises, and a calm is a calm by either road."""

import numpy as np
import pytest

from powersim.sky import streams
from powersim.sky.climatology import CALM_BELOW_M_S, calm_frac, monthly_mean
from powersim.sky.wind import PERSISTENCE_h, rayleigh_m_s, wind_quantiles

FIRST_HOUR = 500_003  # not the first hour of its day


def quantiles(**changed):
    return wind_quantiles(
        **{"first_hour": FIRST_HOUR, "hours": 400, "seed": 7, "members": 50} | changed
    )


def test_the_first_members_do_not_depend_on_how_many_there_are():
    assert np.array_equal(quantiles(members=5), quantiles(members=400)[:, :5])


def test_a_longer_passage_begins_in_the_same_wind():
    assert np.array_equal(quantiles(hours=400), quantiles(hours=401)[:400])


def test_one_hour_is_enough():
    assert np.array_equal(quantiles(hours=1), quantiles()[:1])


def test_another_seed_brings_another_wind():
    assert not np.array_equal(quantiles(seed=7), quantiles(seed=8))


def test_a_later_departure_meets_the_same_wind_once_it_has_changed():
    early, late = quantiles(hours=1000), quantiles(first_hour=FIRST_HOUR + 30, hours=970)
    alike = early[30:] == late
    assert not alike[0].any()
    assert alike[-1].all()
    assert (np.diff(alike.astype(int), axis=0) >= 0).all()  # alike once, alike for good


def test_each_hour_keeps_the_wind_or_takes_the_hours_own_draw():
    found = quantiles(first_hour=48_000, hours=48, members=3)  # two whole days
    draws = np.concatenate(
        [
            streams.uniform(streams.WIND, seed=7, index=day, members=3, per_member=24)
            for day in (2000, 2001)
        ]
    )
    assert np.array_equal(found[0], draws[0])
    for hour in range(1, 48):
        for member in range(3):
            draw = draws[hour, member]
            expected = draw * 24.0 if draw < 1.0 / 24.0 else found[hour - 1, member]
            assert found[hour, member] == expected


def test_hours_before_1970_are_hours_too():
    across = quantiles(first_hour=-30, hours=60)
    assert np.array_equal(across[:40], quantiles(first_hour=-30, hours=40))
    assert ((across > 0.0) & (across < 1.0)).all()


def test_the_largest_draw_that_renews_gives_less_than_one():
    largest = (np.floor(2.0**53 / PERSISTENCE_h) - 0.5) * 2.0**-53
    assert largest < 1.0 / PERSISTENCE_h <= largest + 2.0**-53
    assert largest * PERSISTENCE_h < 1.0


@pytest.mark.parametrize("wrong", [{"hours": 0}, {"members": 0}])
def test_nothing_asked_is_refused(wrong):
    with pytest.raises(ValueError, match=r"^hours and members must be at least 1, got "):
        quantiles(**wrong)


def test_it_is_calm_exactly_where_the_quantile_is_below_the_share_of_calms():
    places = {
        "lat_deg": np.array([38.5, 2.0, 15.0, 62.0]),
        "lon_deg": np.array([-28.6, -25.0, -30.0, -20.0]),
        "utc_s": np.full(4, 1.8e9),
    }
    (mean_m_s,) = monthly_mean("wind_m_s", **places)
    share = calm_frac(**places)
    found = quantiles(hours=4, members=5000)
    calm = rayleigh_m_s(mean_m_s[:, None], found) < CALM_BELOW_M_S
    assert np.array_equal(calm, found < share[:, None])
    assert 0.0 < calm.mean() < 1.0
    assert (rayleigh_m_s(mean_m_s, share * (1.0 - 1e-12)) < CALM_BELOW_M_S).all()
    assert (rayleigh_m_s(mean_m_s, share * (1.0 + 1e-12)) > CALM_BELOW_M_S).all()


def test_wind_blows_harder_at_a_higher_quantile_from_nothing_at_none():
    speed_m_s = rayleigh_m_s(7.0, np.array([0.0, 0.1, 0.5, 0.999]))
    assert speed_m_s[0] == 0.0
    assert (np.diff(speed_m_s) > 0.0).all()
