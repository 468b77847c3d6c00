"""Every member its own weather."""

import numpy as np
import pytest

from powersim.records import Waypoint
from powersim.sky.sky import sky_of
from powersim.sky.solar_days import solar_days
from powersim.sky.synthetic import LARGEST_CLEAR_FRAC, synthetic_light
from powersim.voyage.track import track_of

DEPART_UTC_S = 1788566400.0  # 5 September 2026
SOUTH = ((64.1, -22.0), (38.5, -28.6), (16.9, -25.0))


def a_track(*places, depart_utc_s=DEPART_UTC_S, stop_h=0.0):
    waypoints = [
        Waypoint(name=str(i), lat_deg=lat, lon_deg=lon, speed_kn=5.0, stop_h=stop_h)
        for i, (lat, lon) in enumerate(places)
    ]
    return track_of(waypoints, depart_utc_s=depart_utc_s, step_h=0.25)


@pytest.fixture(scope="module")
def south():
    track = a_track(*SOUTH)
    usual_frac = sky_of(track).usual_frac
    return track, usual_frac, synthetic_light(track, usual_frac=usual_frac, seed=4, members=2000)


@pytest.mark.parametrize("members", [1, 2, 7])
def test_a_member_is_the_same_to_the_bit_for_any_number_of_members(south, members):
    track, usual_frac, many = south
    few = synthetic_light(track, usual_frac=usual_frac, seed=4, members=members)
    assert few.clear_frac.tobytes() == many.clear_frac[:, :members].copy().tobytes()


def test_another_seed_is_another_weather(south):
    track, usual_frac, many = south
    other = synthetic_light(track, usual_frac=usual_frac, seed=5, members=3)
    by_day = other.clear_frac.max(axis=1) > 0.0
    assert not np.isclose(other.clear_frac[by_day], many.clear_frac[by_day, :3]).any(axis=1).all()


def test_hours_cover_every_step_and_nights_are_dark(south):
    track, usual_frac, light = south
    days = solar_days(track, usual_frac=usual_frac)
    assert light.first_hour == days.first_hour
    rows = (track.mid_utc_s // 3600.0).astype(int) - light.first_hour
    assert rows.min() >= 0
    assert rows.max() < len(light.clear_frac)
    dark = days.clear_W_m2 == 0.0
    assert dark.any()
    assert (light.clear_frac[dark] == 0.0).all()
    assert (light.clear_frac[~dark] > 0.0).all()
    # Under a low sun the cleanest air lets through more than that.
    most = np.maximum(LARGEST_CLEAR_FRAC, days.clean_W_m2[~dark] / days.clear_W_m2[~dark])
    assert (light.clear_frac[~dark] <= most[:, None] * (1.0 + 1e-12)).all()


def test_the_mean_of_many_members_is_the_usual_light(south):
    track, usual_frac, light = south
    days = solar_days(track, usual_frac=usual_frac)
    mean = light.clear_frac.mean(axis=1) * days.clear_W_m2
    ratios = np.array([mean[rows].sum() / days.usual_W_m2[rows].sum() for rows in days.by_day])
    # A day's light varies by up to 40 percent: 2,000 members give its mean to 0.9 percent, and all
    # days together to 0.3, since some of it is the same year for all of them.
    assert ratios == pytest.approx(1.0, abs=0.035)
    assert ratios.mean() == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize(
    ("lat_deg", "lon_deg", "month"),
    [(53.0, -20.0, 1), (0.0, -140.0, 10), (-57.0, -60.0, 6), (35.0, 18.0, 7), (64.0, -23.0, 12)],
)
def test_months_of_their_own_leave_the_mean_where_it_is(lat_deg, lon_deg, month):
    """Dark winters and bright summers, where the bounds of a day are near."""
    start_s = np.datetime64(f"2027-{month:02d}-15", "s").astype(float)
    place = (lat_deg, lon_deg)
    track = a_track(place, place, depart_utc_s=start_s, stop_h=120.0)
    sky = sky_of(track)
    fracs = {"usual_frac": sky.usual_frac, "apart_frac": sky.apart_frac}
    light = synthetic_light(track, **fracs, seed=2, members=6000).clear_frac
    days = solar_days(track, usual_frac=sky.usual_frac)
    mean = (light.mean(axis=1) * days.clear_W_m2).sum()
    # Five days vary by up to 29 %: 6,000 members give their mean to 0.4.
    assert mean == pytest.approx(days.usual_W_m2.sum(), rel=0.01)


def test_a_day_later_the_same_weather_waits():
    stay = ((30.0, -40.0), (30.0, -40.0))
    lights = []
    for days in (0, 1):
        track = a_track(*stay, depart_utc_s=DEPART_UTC_S + 86400.0 * days, stop_h=720.0)
        usual_frac = np.full(track.n_steps, 0.8)
        lights.append(synthetic_light(track, usual_frac=usual_frac, seed=1, members=20))
    early, late = lights
    shared = late.first_hour - early.first_hour
    later = shared + 24 * 20  # spells are forgotten by then
    apart = early.clear_frac[later:] - late.clear_frac[24 * 20 : len(early.clear_frac) - shared]
    assert np.abs(apart).max() < 1e-3


@pytest.mark.parametrize("places", [((80.0, 0.0), (79.0, 0.0)), ((-18.0, 178.0), (-18.0, -178.0))])
def test_polar_night_and_date_line_are_no_trouble(places):
    depart_utc_s = DEPART_UTC_S + 100 * 86400.0
    track = a_track(*places, depart_utc_s=depart_utc_s)
    light = synthetic_light(track, usual_frac=np.full(track.n_steps, 0.7), seed=1, members=5)
    assert np.isfinite(light.clear_frac).all()
    assert light.clear_frac.any() == (places[0][0] < 60.0)


def test_memory_is_little_beyond_the_result(south):
    import tracemalloc

    track, usual_frac, _ = south
    synthetic_light(track, usual_frac=usual_frac, seed=1, members=10)
    tracemalloc.start()
    light = synthetic_light(track, usual_frac=usual_frac, seed=1, members=2000)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    # Each member's own months and a day in the making: found 1.32.
    assert peak < 1.35 * light.clear_frac.nbytes


@pytest.mark.parametrize("lat_deg", [66.5, 66.6, 66.9, 67.1, 67.3])
def test_days_on_which_the_sun_is_seen_by_refraction_alone_are_dark(lat_deg):
    """At the winter solstice the sun's middle stands 0.1 to 0.8 degrees below the horizon at noon
    here, and refraction lifts it by half a degree (U.S. Naval Observatory, from memory: 34 minutes
    of arc at the horizon)."""
    solstice_utc_s = 1797811200.0 - 43200.0  # 21 December 2026
    track = a_track((lat_deg, 0.0), (lat_deg, 0.2), depart_utc_s=solstice_utc_s)
    usual_frac = sky_of(track).usual_frac
    light = synthetic_light(track, usual_frac=usual_frac, seed=1, members=20).clear_frac
    assert np.isfinite(light).all()
    clear_W_m2 = solar_days(track, usual_frac=usual_frac).clear_W_m2
    assert (light * clear_W_m2[:, None]).max() < 1.0
