"""The distribution of days and their order."""

import numpy as np
import pytest

from powersim.sky.daily_clearness import (
    DARKEST_OF_BRIGHTEST,
    SPELL_LAG,
    daily_kt,
    fronts_share,
    kind_shares,
    winter_share,
)

JANUARY, JULY = 20833, 21014  # 2027-01-15 and 2027-07-15, in days since 1970
CLEAN_KT = 0.75


def drawn(mean_kt, *, lat_deg, cloud_frac=0.7, first=JULY, days=30, members=4000, seed=1):
    """Days of many members, shape (days, members)."""
    mean_kt = np.broadcast_to(mean_kt, (days, np.size(mean_kt)))
    kts = daily_kt(
        np.arange(first, first + days),
        mean_kt=mean_kt,
        clean_kt=np.full(days, CLEAN_KT),
        lat_deg=np.full(days, lat_deg),
        cloud_frac=np.full(days, cloud_frac),
        seed=seed,
        members=members,
    )
    return np.array(list(kts))


def lagged(kt, days):
    return np.corrcoef(kt[days:].ravel(), kt[:-days].ravel())[0, 1]


@pytest.mark.parametrize(("lat_deg", "cloud_frac"), [(0.0, 0.5), (25.0, 0.5), (-53.0, 0.83)])
@pytest.mark.parametrize("mean_kt", [0.1, 0.35, 0.6, 0.72])
def test_the_mean_over_members_is_the_mean_asked_for(mean_kt, lat_deg, cloud_frac):
    kt = drawn(mean_kt, lat_deg=lat_deg, cloud_frac=cloud_frac)
    # 4,000 members of 30 days that remember each other some days: good to 0.0006 of Kt.
    assert kt.mean() == pytest.approx(mean_kt, abs=0.002)


@pytest.mark.parametrize("lat_deg", [0.0, 53.0])
def test_each_member_has_its_own_mean(lat_deg):
    own = np.repeat([0.3, 0.45, 0.6], 1500)
    kt = drawn(own, lat_deg=lat_deg, members=own.size)
    for mean_kt in (0.3, 0.45, 0.6):
        assert kt[:, own == mean_kt].mean() == pytest.approx(mean_kt, abs=0.003)


def test_days_lie_between_rain_cloud_and_the_cleanest_clear_sky():
    kt = drawn(0.45, lat_deg=53.0)
    assert kt.min() >= DARKEST_OF_BRIGHTEST * CLEAN_KT - 1e-12
    assert kt.max() <= CLEAN_KT * 1.001


def test_where_the_usual_sky_is_nearly_clear_the_mean_comes_first():
    kt = drawn(0.745, lat_deg=0.0)
    assert kt.mean() == pytest.approx(0.745, abs=0.002)
    assert kt.max() > CLEAN_KT


def test_a_polar_night_has_no_light_and_no_trouble():
    kt = list(
        daily_kt(
            np.arange(3),
            mean_kt=np.zeros((3, 1)),
            clean_kt=np.zeros(3),
            lat_deg=np.full(3, 80.0),
            cloud_frac=np.full(3, 0.8),
            seed=1,
            members=4,
        )
    )
    assert np.abs(kt).max() < 1e-8


def test_days_differ_more_where_fronts_pass_than_among_trade_cumulus_and_most_in_winter():
    trades, between, summer, winter = (
        drawn(0.6, lat_deg=lat_deg, first=first).std()
        for lat_deg, first in ((10.0, JULY), (25.0, JULY), (45.0, JULY), (45.0, JANUARY))
    )
    assert trades < between < summer < winter
    assert drawn(0.6, lat_deg=-45.0, first=JULY).std() == pytest.approx(winter, rel=0.02)


def test_days_differ_less_under_a_sheet_of_cloud_and_one_says_little_of_the_next():
    broken, sheet = (drawn(0.45, lat_deg=50.0, cloud_frac=cloud) for cloud in (0.6, 0.9))
    assert sheet.std() < 0.85 * broken.std()
    assert lagged(sheet, 1) < 0.08 < 0.2 < lagged(broken, 1)


def test_the_kinds_of_weather_by_place_and_season():
    lat_deg = np.array([10.0, -15.0, 20.0, -35.0, 60.0])
    assert fronts_share(lat_deg) == pytest.approx([0.0, 0.0, 0.25, 1.0, 1.0])
    shares = kind_shares(lat_deg, np.array([0.9, 0.5, 0.75, 0.95, 0.5]))
    assert shares == pytest.approx(
        np.array([[0, 0, 1], [0, 0, 1], [0.125, 0.125, 0.75], [0, 1, 0], [1, 0, 0]])
    )
    north, south = (winter_share(np.array([JANUARY, JULY]), np.array(lat)) for lat in (50.0, -50.0))
    assert north[0] > 0.95
    assert north[1] < 0.05
    assert south == pytest.approx(1.0 - north)


@pytest.mark.parametrize(("lat_deg", "mean_kt"), [(53.0, 0.35), (53.0, 0.55), (0.0, 0.60)])
def test_spells_are_forgotten_day_by_day(lat_deg, mean_kt):
    kt = drawn(mean_kt, lat_deg=lat_deg)
    one, two = lagged(kt, 1), lagged(kt, 2)
    assert one > 0.04
    # A skewed spell is a little less like itself than the normal deviate that it is made from.
    assert two / one == pytest.approx(SPELL_LAG, abs=0.2)
    assert abs(lagged(kt, 12)) < 0.02


def test_after_a_bright_day_the_next_is_bright_more_than_after_a_dark_one_dark():
    kt = drawn(0.5, lat_deg=53.0, cloud_frac=0.6)
    ranked = kt.ravel().argsort().argsort().reshape(kt.shape) / kt.size - 0.5
    next_day = ranked[1:]
    after_bright = next_day[ranked[:-1] > 0.4].mean()
    after_dark = next_day[ranked[:-1] < -0.4].mean()
    assert after_bright > -1.5 * after_dark > 0.0


def test_every_day_has_the_same_odds():
    kt = drawn(0.45, lat_deg=53.0, first=JULY, days=12)
    # In mid-July the spread of days hardly changes within a fortnight.
    assert kt.std(axis=1) == pytest.approx(kt.std(), rel=0.05)
    assert kt.mean(axis=1) == pytest.approx(0.45, abs=0.01)


def test_the_same_day_draws_the_same_whatever_the_departure():
    """Beyond the first days, whose memory differs, by less than SPELL_LAG to the power of days."""
    run = {"lat_deg": 50.0, "members": 50, "seed": 1}
    early = drawn(0.5, first=JULY, days=32, **run)
    late = drawn(0.5, first=JULY + 1, days=32, **run)
    assert np.abs(early[21:] - late[20:-1]).max() < 1e-3


@pytest.mark.parametrize("members", [1, 7])
def test_a_member_is_the_same_for_any_number_of_them(members):
    many = drawn(0.5, lat_deg=25.0, members=50)
    assert drawn(0.5, lat_deg=25.0, members=members).tobytes() == many[:, :members].tobytes()
