"""The wind's quantile keeps its seed's promises, and a calm is a calm by either road."""

import math

import numpy as np
import pytest
from scipy.special import ndtr, ndtri
from scipy.stats import kstest

from powersim.sky import streams, wind
from powersim.sky.climatology import monthly_mean
from powersim.sky.wind import (
    SLOW_SHARE,
    FAST_h,
    SLOW_h,
    calm_frac,
    calm_turns,
    rayleigh_m_s,
    wind_quantiles,
)

FIRST_HOUR = 500_003  # not the first hour of its day
DRAWN = pytest.mark.parametrize("drawn", [wind_quantiles, calm_turns])


def draws(drawn=wind_quantiles, **changed):
    return drawn(**{"first_hour": FIRST_HOUR, "hours": 400, "seed": 7, "members": 50} | changed)


@DRAWN
def test_the_first_members_do_not_depend_on_how_many_there_are(drawn):
    assert np.array_equal(draws(drawn, members=5), draws(drawn, members=400)[:, :5])


@DRAWN
def test_a_longer_passage_begins_in_the_same_wind(drawn):
    assert np.array_equal(draws(drawn, hours=400), draws(drawn, hours=401)[:400])


@DRAWN
@pytest.mark.parametrize("later", [1, 23, 24, 30])
def test_a_later_departure_meets_the_same_wind(drawn, later):
    late = draws(drawn, first_hour=FIRST_HOUR + later, hours=400 - later)
    assert np.array_equal(draws(drawn)[later:], late)


@DRAWN
def test_one_hour_is_enough(drawn):
    assert np.array_equal(draws(drawn, hours=1), draws(drawn)[:1])


@DRAWN
def test_another_seed_brings_another_wind(drawn):
    assert not (draws(drawn, seed=7) == draws(drawn, seed=8)).any()


@DRAWN
def test_hours_before_1970_are_hours_too(drawn):
    across = draws(drawn, first_hour=-30, hours=60)
    assert np.array_equal(across[:40], draws(drawn, first_hour=-30, hours=40))
    assert ((across >= 0.0) & (across < 1.0)).all()


@DRAWN
@pytest.mark.parametrize("wrong", [{"hours": 0}, {"members": 0}])
def test_nothing_asked_is_refused(drawn, wrong):
    with pytest.raises(ValueError, match=r"^hours and members must be at least 1, got "):
        draws(drawn, **wrong)


@DRAWN
@pytest.mark.parametrize("hour", [0, 11, 23])
def test_in_every_hour_any_quantile_is_as_likely(drawn, hour):
    """By definition, for 20,000 members; at noon, between two draws of the slow weather, too."""
    found = draws(drawn, first_hour=480_000 + hour, hours=1, members=20_000)[0]
    assert kstest(found, "uniform").pvalue > 0.01


def test_an_hour_by_the_sums_of_the_docstring():
    """42 days of draws for the weather of days, and the day before and this one for its lulls."""
    day, hour, one = 20_000, 17, {"seed": 7, "members": 3}
    midnights = []
    for midnight in (day, day + 1):
        weights = np.exp(-np.arange(42) / 7.0)
        back = [
            streams.normal(streams.WIND_SLOW, index=midnight - age, **one)[0, 2]
            for age in range(42)
        ]
        midnights.append(float(weights @ back) / math.sqrt(weights @ weights))
    after = 17.5 / 24.0
    next_day = float(weights[1:] @ weights[:-1]) / float(weights @ weights)
    spread = math.sqrt((1 - after) ** 2 + after**2 + 2 * after * (1 - after) * next_day)
    slow = ((1 - after) * midnights[0] + after * midnights[1]) / spread
    new = np.concatenate(
        [streams.normal(streams.WIND, index=d, per_member=24, **one)[:, 2] for d in (day - 1, day)]
    )
    fast = new[0]
    for draw in new[1 : 24 + hour + 1]:
        fast = math.exp(-0.4) * fast + math.sqrt(1.0 - math.exp(-0.8)) * draw
    expected = ndtr(math.sqrt(0.7) * slow + math.sqrt(0.3) * fast)
    found = wind_quantiles(first_hour=24 * day + hour, hours=1, **one)[0, 2]
    assert found == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("apart_h", [1, 3, 6, 24, 48, 168])
def test_hours_correlate_by_the_two_time_scales(apart_h):
    """0.7 exp(-k / 168 h) + 0.3 exp(-k / 2.5 h), of normal scores; straight lines between
    midnights, and six weeks for all time, are worth 0.02.
    """
    first = 480_000
    where = {"first_hour": first, "hours": apart_h + 1, "seed": 3, "members": 20_000}
    scores = ndtri(wind_quantiles(**where))
    expected = SLOW_SHARE * math.exp(-apart_h / SLOW_h)
    expected += (1.0 - SLOW_SHARE) * math.exp(-apart_h / FAST_h)
    assert np.corrcoef(scores[0], scores[-1])[0, 1] == pytest.approx(expected, abs=0.03)


def test_over_midnight_the_wind_goes_on_as_over_any_hour():
    """The day's lulls begin with those of the day before."""
    scores = ndtri(draws(first_hour=480_000, hours=48, members=20_000))
    over = [np.corrcoef(scores[hour], scores[hour + 1])[0, 1] for hour in range(47)]
    assert max(over) - min(over) < 0.01


def test_the_turn_goes_round_with_the_clock_and_is_new_every_day():
    turn = draws(calm_turns, first_hour=480_000, hours=48)
    ahead = (turn[1:] - turn[:-1]) % 1.0
    assert np.delete(ahead, 23, axis=0) == pytest.approx(1.0 / 24.0)
    assert abs(np.corrcoef(turn[0], turn[24])[0, 1]) < 0.5


def test_wind_and_turn_know_nothing_of_each_other():
    quantile, turn = (
        draws(drawn, first_hour=480_012, hours=1, members=20_000)[0]
        for drawn in (wind_quantiles, calm_turns)
    )
    # Five standard errors of 20,000 pairs.
    assert abs(np.corrcoef(quantile, turn)[0, 1]) < 5.0 / math.sqrt(20_000)


def test_the_highest_quantile_has_a_wind():
    assert np.isfinite(rayleigh_m_s(7.0, wind._BELOW_ONE))


@pytest.mark.parametrize("below_kn", [5.0, 7.0])
def test_it_is_calm_exactly_where_the_quantile_is_below_the_share_of_calms(below_kn):
    places = {
        "lat_deg": np.array([38.5, 2.0, 15.0, 62.0]),
        "lon_deg": np.array([-28.6, -25.0, -30.0, -20.0]),
        "utc_s": np.full(4, 1.8e9),
    }
    (mean_m_s,) = monthly_mean("wind_m_s", **places)
    share = calm_frac(**places, below_kn=below_kn)
    found = draws(hours=4, members=5000)
    below_m_s = below_kn * 1852.0 / 3600.0
    calm = rayleigh_m_s(mean_m_s[:, None], found) < below_m_s
    assert np.array_equal(calm, found < share[:, None])
    assert 0.0 < calm.mean() < 1.0
    assert (rayleigh_m_s(mean_m_s, share * (1.0 - 1e-12)) < below_m_s).all()
    assert (rayleigh_m_s(mean_m_s, share * (1.0 + 1e-12)) > below_m_s).all()


def test_calms_grow_as_the_mean_wind_falls():
    places = {
        "lat_deg": np.linspace(-60.0, 60.0, 200),
        "lon_deg": np.full(200, -30.0),
        "utc_s": np.full(200, 1.8e9),
    }
    calm = calm_frac(**places, below_kn=5.0)
    (wind_m_s,) = monthly_mean("wind_m_s", **places)
    assert np.all(np.diff(calm[np.argsort(wind_m_s)]) <= 0.0)
    assert 0.0 < calm.min() < calm.max() < 1.0


@pytest.mark.parametrize(
    ("mean_kn", "below_kn", "calm"),
    [
        *[(5.0, 5.0, 0.5441), (10.0, 5.0, 0.1783), (20.0, 5.0, 0.0479), (10.0, 7.0, 0.3194)],
        # As docs/model/wind_and_calms.md and docs/reference/files.md have them of 14 knots.
        *[(14.0, 5.0, 0.0953), (14.0, 7.0, 0.1783), (14.0, 10.0, 0.3302)],
    ],
)
def test_calms_by_hand(monkeypatch, mean_kn, below_kn, calm):
    """By Rayleigh's distribution: 1 - exp(-pi/4 (5 / mean)^2), at twice that mean
    1 - exp(-0.19635) = 0.1783; below 7 knots 1 - exp(-0.38485) = 0.3194.
    """
    monkeypatch.setattr(wind, "monthly_mean", lambda *names, **place: (mean_kn * 1852.0 / 3600.0,))
    assert calm_frac(30.0, -40.0, 0.0, below_kn=below_kn) == pytest.approx(calm, abs=5e-5)


def test_wind_blows_harder_at_a_higher_quantile_from_nothing_at_none():
    speed_m_s = rayleigh_m_s(7.0, np.array([0.0, 0.1, 0.5, 0.999]))
    assert speed_m_s[0] == 0.0
    assert (np.diff(speed_m_s) > 0.0).all()
