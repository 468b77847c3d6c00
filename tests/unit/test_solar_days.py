"""Hours about a track, told apart into days of the sun."""

import numpy as np
import pytest

from powersim.records import Waypoint
from powersim.sky.solar_days import solar_days
from powersim.voyage.track import track_of

# 5 September 2026, 00:00 UTC
DEPART_UTC_S = 1788566400.0


def days_of(*places, speed_kn=5.0, stop_h=0.0, depart_utc_s=DEPART_UTC_S):
    waypoints = [
        Waypoint(name=str(i), lat_deg=lat, lon_deg=lon, speed_kn=speed_kn, stop_h=stop_h)
        for i, (lat, lon) in enumerate(places)
    ]
    track = track_of(waypoints, depart_utc_s=depart_utc_s, step_h=0.25)
    return track, solar_days(track, usual_frac=np.full(track.n_steps, 0.5))


@pytest.mark.parametrize("lon_deg", [-179.0, -37.5, 0.0, 100.0, 180.0])
def test_days_of_a_boat_at_rest_are_whole_and_have_the_sun_in_their_middle(lon_deg):
    track, days = days_of((20.0, lon_deg), (20.0, lon_deg), stop_h=50.0)
    assert all(rows.stop - rows.start == 24 for rows in days.by_day)
    assert days.first_hour <= track.start_utc_s / 3600.0
    assert days.first_hour + days.day.size >= track.edge_utc_s[-1] / 3600.0
    for rows in days.by_day:
        assert days.solar_hour[rows].tolist() == list(range(24))
        # The equation of time is under 20 minutes and an hour's middle within half an hour.
        light = days.extra_W_m2[rows]
        assert (light * (np.arange(24) + 0.5)).sum() / light.sum() == pytest.approx(12.0, abs=0.9)


def test_no_day_is_skipped_or_lived_twice_over_the_date_line():
    for places in ([(-18.0, 177.0), (-18.0, -176.0)], [(-18.0, -176.0), (-18.0, 177.0)]):
        _, days = days_of(*places)
        assert set(np.diff(days.day)) == {0, 1}
        assert {rows.stop - rows.start for rows in days.by_day} <= {23, 24, 25}


def test_the_same_hours_have_the_same_numbers_whenever_the_boat_leaves():
    _, early = days_of((10.0, -30.0), (10.0, -30.0), stop_h=96.0)
    _, late = days_of(
        (10.0, -30.0), (10.0, -30.0), stop_h=96.0, depart_utc_s=DEPART_UTC_S + 86400.0
    )
    shared = slice(late.first_hour - early.first_hour, None)
    n = early.day[shared].size
    assert early.day[shared].tolist() == late.day[:n].tolist()
    assert early.clear_W_m2[shared] == pytest.approx(late.clear_W_m2[:n])


def test_usual_light_is_the_usual_share_of_clear_light():
    _, days = days_of((64.0, -22.0), (60.0, -22.0))
    assert days.usual_W_m2 == pytest.approx(0.5 * days.clear_W_m2)
    assert (days.clear_W_m2 <= days.extra_W_m2 + 10.0).all()
    assert days.clear_W_m2.max() > 500.0


def test_the_cleanest_air_lets_through_more_light_and_most_where_it_is_dry():
    shares = []
    for lat_deg in (0.0, 50.0):
        _, days = days_of((lat_deg, -30.0), (lat_deg, -30.0), stop_h=24.0)
        noon = days.clear_W_m2.argmax()
        shares.append(days.clean_W_m2[noon] / days.extra_W_m2[noon])
        assert days.clear_W_m2[noon] < days.clean_W_m2[noon] < days.extra_W_m2[noon]
        assert days.daily_mean(days.lat_deg) == pytest.approx(lat_deg)
        assert (days.cloud_frac > 0.3).all()
        assert (days.cloud_frac < 0.95).all()
    # The sun is higher at the equator: haze makes up for most of that.
    assert 0.0 < shares[0] - shares[1] < 0.05
