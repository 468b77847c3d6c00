"""Light and air known by the hour or the day, over the steps of a track."""

import numpy as np
import pytest

from powersim.records import Waypoint
from powersim.sky.sky import sky_of
from powersim.sky.spread import MOST_CLEAR_FRAC, at_steps, interval_means, spread_light
from powersim.voyage.track import track_of

START_S = 1789171200.0  # 12 September 2026, 00:00 UTC
HOUR_S, DAY_S = 3600.0, 86400.0


def sailed(lat_deg=30.0, lon_deg=-40.0, *, days=4, step_h=0.25):
    """A boat that sails along a parallel."""
    there_deg = (lon_deg + 2.0 * days + 180.0) % 360.0 - 180.0
    waypoints = (
        Waypoint(name="here", lat_deg=lat_deg, lon_deg=lon_deg, speed_kn=5.0),
        Waypoint(name="there", lat_deg=lat_deg, lon_deg=there_deg, stop_h=24.0 * days),
    )
    track = track_of(waypoints, depart_utc_s=START_S, step_h=step_h)
    assert track.n_steps * step_h >= 24 * days
    return track


def intervals(first_s, count, length_s):
    edges_s = first_s + length_s * np.arange(count + 1)
    return {"from_utc_s": edges_s[:-1], "to_utc_s": edges_s[1:]}


def light_W_m2(track, clear_frac):
    return clear_frac * sky_of(track).clear_ghi_W_m2


@pytest.mark.parametrize("step_h", [1 / 12, 0.25, 1.0])
@pytest.mark.parametrize("length_s", [60.0, 600.0, 5400.0, 21600.0, DAY_S])
def test_the_energy_of_the_days_is_kept(step_h, length_s):
    track = sailed(step_h=step_h)
    rng = np.random.default_rng(1)
    within = intervals(START_S, int(4 * DAY_S / length_s), length_s)
    sun = np.interp(
        0.5 * (within["from_utc_s"] + within["to_utc_s"]),
        track.mid_utc_s,
        sky_of(track).clear_ghi_W_m2,
    )
    given = sun * rng.uniform(0.2, 1.0, sun.size) if length_s < DAY_S else np.full(4, 200.0)
    frac = spread_light(track, **within, ghi_W_m2=given)
    steps = int(96 / step_h)
    assert not np.isnan(frac[:steps]).any()
    ours = light_W_m2(track, frac)[:steps].mean()
    assert ours == pytest.approx(given.mean(), rel=2e-4)


def test_an_interval_of_whole_steps_gets_exactly_its_own_energy():
    track = sailed()
    given = np.linspace(100.0, 300.0, 16)
    noon = intervals(START_S + 11 * HOUR_S, 16, 1800.0)  # about noon at 40 W: no horizon near
    frac = spread_light(track, **noon, ghi_W_m2=given)
    light = light_W_m2(track, frac)[11 * 4 : 19 * 4].reshape(16, 2).mean(axis=1)
    assert light == pytest.approx(given, rel=1e-6)


def test_the_clear_skys_own_light_comes_back_as_one():
    track = sailed(step_h=1 / 12)
    clear = sky_of(track).clear_ghi_W_m2[: 96 * 12]
    for per_interval in (1, 12, 288):
        mean = clear.reshape(-1, per_interval).mean(axis=1)
        within = intervals(START_S, mean.size, per_interval * 300.0)
        frac = spread_light(track, **within, ghi_W_m2=mean)[: clear.size]
        assert frac[clear > 1.0] == pytest.approx(1.0, rel=1e-5)


def test_half_a_step_covered_counts_for_the_whole_and_less_is_unknown():
    track = sailed(step_h=1.0)
    noon_s = START_S + 15 * HOUR_S
    for minutes, known in ((30, True), (29, False)):
        frac = spread_light(
            track,
            from_utc_s=np.array([noon_s]),
            to_utc_s=np.array([noon_s + 60.0 * minutes]),
            ghi_W_m2=np.array([400.0]),
        )
        assert np.isnan(frac).sum() == track.n_steps - known
        if known:
            assert light_W_m2(track, frac)[15] == pytest.approx(400.0)


def test_gaps_and_unknown_values_are_unknown():
    track = sailed(step_h=1.0)
    within = intervals(START_S, 96, HOUR_S)
    given = np.full(96, 100.0)
    given[[14, 40]] = np.nan
    frac = spread_light(track, **within, ghi_W_m2=given)
    assert np.flatnonzero(np.isnan(frac[:96])).tolist() == [14, 40]
    assert np.isnan(frac[96:]).all()


def test_nothing_near_the_passage_is_all_unknown():
    track = sailed()
    frac = spread_light(track, **intervals(0.0, 24, HOUR_S), ghi_W_m2=np.full(24, 100.0))
    assert np.isnan(frac).all()


@pytest.mark.parametrize(
    ("first", "last"), [([0.0, 1800.0], [3600.0, 5400.0]), ([3600.0, 0.0], [7200.0, 3600.0])]
)
def test_intervals_must_be_in_order(first, last):
    with pytest.raises(ValueError, match="in order"):
        spread_light(
            sailed(),
            from_utc_s=START_S + np.array(first),
            to_utc_s=START_S + np.array(last),
            ghi_W_m2=np.ones(2),
        )


def test_noise_at_night_is_dropped_and_a_low_sun_is_not_made_dazzling():
    track = sailed(step_h=0.25)
    clear = sky_of(track).clear_ghi_W_m2[: 96 * 4]
    hourly = clear.reshape(-1, 4).mean(axis=1)
    frac = spread_light(track, **intervals(START_S, 96, HOUR_S), ghi_W_m2=hourly + 2.0)[: 96 * 4]
    assert frac.max() <= MOST_CLEAR_FRAC
    assert (frac[clear == 0.0] == 0.0).all()
    # Kept: the 2 W/m2 of the hours with sun, about half of all, and some beside them.
    kept = (frac * clear).mean() - clear.mean()
    assert 0.9 < kept < 1.2


def test_what_a_step_on_the_horizon_cannot_take_goes_to_the_brighter_neighbour():
    track = sailed(step_h=1.0)
    clear = sky_of(track).clear_ghi_W_m2
    dark = int(np.flatnonzero(clear > 0.0)[0]) - 1  # the last before sunrise
    given = np.zeros(96)
    given[dark] = 20.0
    frac = spread_light(track, **intervals(START_S, 96, HOUR_S), ghi_W_m2=given)
    light = frac * clear
    assert light[dark] == 0.0
    assert frac[dark + 1] == pytest.approx(MOST_CLEAR_FRAC)
    assert light[dark : dark + 3].sum() == pytest.approx(20.0, rel=1e-6)


def test_cloud_that_adds_light_is_kept():
    track = sailed(step_h=0.25)
    noon_s = START_S + 14.75 * HOUR_S
    clear = sky_of(track).clear_ghi_W_m2[59]
    frac = spread_light(track, **intervals(noon_s, 1, 900.0), ghi_W_m2=np.array([1.25 * clear]))
    assert frac[59] == pytest.approx(1.25)


def test_the_date_line_is_no_seam():
    track = sailed(lon_deg=179.0)
    assert track.lon_deg.min() < -170.0 < 170.0 < track.lon_deg.max()
    frac = spread_light(track, **intervals(START_S, 4, DAY_S), ghi_W_m2=np.full(4, 200.0))
    light = light_W_m2(track, frac)[: 96 * 4].reshape(4, 96)
    assert light.mean(axis=1) == pytest.approx(200.0, rel=1e-6)
    # A sun on the wrong side of the line would make a share that differs within a day.
    shares = np.where(light > 0.0, frac[: 96 * 4].reshape(4, 96), np.nan)
    assert np.nanmax(shares, axis=1) == pytest.approx(np.nanmin(shares, axis=1), rel=1e-4)


def test_polar_night_is_dark_but_known():
    track = sailed(lat_deg=-80.0, days=2)  # in September the sun is below the horizon there
    frac = spread_light(track, **intervals(START_S, 1, DAY_S), ghi_W_m2=np.array([0.0]))
    assert (frac[:96] == 0.0).all()


def test_at_steps_is_linear_and_unknown_outside():
    track = sailed(step_h=1.0)
    at_s = START_S + HOUR_S * np.array([2.0, 4.0, 6.0, 8.0])
    got = at_steps(track, utc_s=at_s, values=np.array([10.0, 14.0, np.nan, 20.0]))
    assert got[:4] == pytest.approx([np.nan, np.nan, 11.0, 13.0], nan_ok=True)
    assert np.isnan(got[4:]).all()


def test_interval_means_take_what_lies_within_the_track():
    track = sailed(step_h=1.0)
    values = np.arange(track.n_steps, dtype=float)
    got = interval_means(
        track,
        from_utc_s=START_S + HOUR_S * np.array([-2.0, 1.5, -9.0]),
        to_utc_s=START_S + HOUR_S * np.array([2.0, 3.0, -8.0]),
        values=values,
    )
    assert got == pytest.approx([0.5, (0.5 * 1 + 2.0) / 1.5, np.nan], nan_ok=True)
