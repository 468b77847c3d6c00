"""A forecast along a track: values by hand on small grids, fading, and what it does not cover."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from powersim.errors import InputError
from powersim.records import Forecast, ForecastField, Grid, Waypoint
from powersim.sky.cloud import kasten_czeplak_frac
from powersim.sky.forecast import FADE_h, at_place, known_from_forecast, uncovered
from powersim.sky.sky import sky_of
from powersim.voyage.track import track_of

RUN_S = datetime(2026, 7, 1, tzinfo=UTC).timestamp()
ATLANTIC = Grid(lat_deg=np.array([30.0, 40.0, 50.0]), lon_deg=np.array([310.0, 320.0, 330.0]))
WORLD = Grid(lat_deg=np.array([-90.0, 0.0, 90.0]), lon_deg=np.array([0.0, 120.0, 240.0, 360.0]))


def field(values, *, hours, grid=ATLANTIC):
    from_h, to_h = hours if isinstance(hours, tuple) else (hours, hours)
    shape = grid.lat_deg.size, grid.lon_deg.size
    return ForecastField(
        run_utc_s=RUN_S,
        from_utc_s=RUN_S + 3600.0 * from_h,
        to_utc_s=RUN_S + 3600.0 * to_h,
        grid=grid,
        values=np.broadcast_to(np.asarray(values, dtype=np.float32), shape),
    )


def forecast_of(**fields):
    return Forecast(file="made.grib", **fields)


def anchored(lat_deg=40.0, lon_deg=-40.0, *, days=3.0, from_h=0.0):
    here = {"lat_deg": lat_deg, "lon_deg": lon_deg}
    waypoints = (
        Waypoint(name="here", speed_kn=5.0, stop_h=24.0 * days, **here),
        Waypoint(name="next", **here),
    )
    return track_of(waypoints, depart_utc_s=RUN_S + 3600.0 * from_h, step_h=0.25)


def eastward(lon_deg, *, lat_deg=40.0, to_lon_deg, speed_kn=10.0):
    return track_of(
        (
            Waypoint(name="A", lat_deg=lat_deg, lon_deg=lon_deg, speed_kn=speed_kn, track="rhumb"),
            Waypoint(name="B", lat_deg=lat_deg, lon_deg=to_lon_deg),
        ),
        depart_utc_s=RUN_S,
        step_h=0.25,
    )


def hours_of(track):
    return (track.mid_utc_s - RUN_S) / 3600.0


def test_a_value_between_four_places():
    """A quarter of the way east, half of the way north: by hand."""
    values = [[0.0, 4.0, 0.0], [10.0, 18.0, 0.0], [0.0, 0.0, 0.0]]
    (found,) = at_place(field(values, hours=0), np.array([35.0]), np.array([-47.5]))
    assert found == pytest.approx(0.5 * 1.0 + 0.5 * 12.0)


@pytest.mark.parametrize("turn_deg", [-360.0, 0.0, 360.0])
def test_any_turn_of_longitude_and_both_sides_of_the_seam(turn_deg):
    """120 degrees between columns: 300 lies half the way from 240 to 360, which is column 0."""
    values = [0.0, 10.0, 20.0, 0.0]
    places_deg = np.array([-60.0, 0.0, 60.0, 180.0, -179.99999, 179.99999]) + turn_deg
    found = at_place(field(values, hours=0, grid=WORLD), np.zeros(6), places_deg)
    assert found == pytest.approx([10.0, 0.0, 5.0, 15.0, 15.0, 15.0], abs=1e-5)


def test_outside_the_area_and_beside_a_gap_nothing_is_known():
    values = np.ones((3, 3))
    values[2, 2] = np.nan
    lat_deg = np.array([29.9, 40.0, 40.0, 30.0, 49.0])
    lon_deg = np.array([-40.0, -50.1, -29.9, -30.0, -31.0])
    found = at_place(field(values, hours=0), lat_deg, lon_deg)
    assert np.isnan(found).tolist() == [True, True, True, False, True]


def test_the_energy_of_every_window_of_light_is_kept():
    track = anchored()
    means = {(6, 12): 150.0, (12, 18): 520.0, (18, 24): 90.0, (24, 30): 0.0, (30, 36): 120.0}
    light = tuple(field(mean, hours=window) for window, mean in means.items())
    known = known_from_forecast(forecast_of(light=light), track)
    ghi_W_m2 = sky_of(track, known=(known,)).ghi_W_m2
    for (from_h, to_h), mean in means.items():
        within = (hours_of(track) > from_h) & (hours_of(track) < to_h)
        assert ghi_W_m2[within].mean() == pytest.approx(mean, abs=0.5)


def test_mean_light_comes_before_that_of_a_moment_and_light_before_cloud():
    track = anchored()
    mean = field(300.0, hours=(12, 18))
    moments = tuple(field(values, hours=hour) for hour, values in ((12, 800.0), (18, 300.0)))
    cloud = field(1.0, hours=(12, 24))
    with_all = known_from_forecast(forecast_of(light=(mean, *moments), cloud=(cloud,)), track)
    only_mean = known_from_forecast(forecast_of(light=(mean,)), track)
    first, second = ((hours_of(track) > a) & (hours_of(track) < a + 6) for a in (12, 18))
    assert with_all.clear_frac[first].tolist() == only_mean.clear_frac[first].tolist()
    assert with_all.clear_frac[second][1:] == pytest.approx(0.25)  # overcast, Kasten and Czeplak


def test_light_of_moments_is_a_share_of_the_clear_sky_on_straight_lines():
    """Half of the clear sky's light at 13, all of it at 17 UTC: three quarters between them."""
    track = anchored()
    clear_W_m2 = sky_of(track).clear_ghi_W_m2
    at = [float(np.interp(hour, hours_of(track), clear_W_m2)) for hour in (13.0, 17.0)]
    light = (field(0.5 * at[0], hours=13), field(at[1], hours=17), field(0.0, hours=27))
    known = known_from_forecast(forecast_of(light=light), track)
    # The clear sky of a step's middle is read on straight lines here, at the moment there.
    found = np.interp([13.5, 15.0, 16.5], hours_of(track), known.clear_frac)
    assert found == pytest.approx([0.5625, 0.75, 0.9375], abs=0.002)
    assert np.isnan(known.clear_frac[(hours_of(track) > 17.5) & (hours_of(track) < 26.5)]).all()


def test_a_moment_alone_holds_for_three_hours_before_and_after():
    """Half of the clear sky's light at 15 UTC, noon at 40 W: from 12 to 18, fading until 18."""
    track = anchored()
    at_W_m2 = float(np.interp(15.0, hours_of(track), sky_of(track).clear_ghi_W_m2))
    known = known_from_forecast(forecast_of(light=(field(0.5 * at_W_m2, hours=15),)), track)
    hours = hours_of(track)
    full = (hours > 12.0) & (hours < 18.0)
    assert known.clear_frac[full] == pytest.approx(0.5, abs=0.002)
    assert known.clear_frac[hours > 18.0] == pytest.approx(0.5, abs=0.002)
    assert np.isnan(known.clear_frac[hours < 12.0]).all()
    assert known.weight[full].tolist() == [1.0] * int(full.sum())
    assert not known.weight[hours < 12.0].any()
    assert np.interp(30.0, hours, known.weight) == pytest.approx(0.5)
    assert not known.weight[hours > 18.0 + FADE_h].any()


def test_a_moment_alone_in_the_dark_tells_of_air_and_not_of_light():
    light, air = field(0.0, hours=3), field(20.0, hours=3)
    known = known_from_forecast(forecast_of(light=(light,), air=(air,)), anchored())
    assert np.isnan(known.clear_frac).all()
    assert np.flatnonzero(np.isfinite(known.air_C))[[0, -1]].tolist() == [0, 4 * 72 - 1]


def test_light_of_moments_in_the_dark_says_nothing():
    """03 and 27 UTC are the middle of the night at 40 W; the cloud is all that is known."""
    light = (field(0.0, hours=3), field(0.0, hours=27))
    alone = known_from_forecast(forecast_of(cloud=(field(0.5, hours=(0, 30)),)), anchored())
    both = known_from_forecast(
        forecast_of(light=light, cloud=(field(0.5, hours=(0, 30)),)), anchored()
    )
    assert np.array_equal(both.clear_frac, alone.clear_frac, equal_nan=True)


def test_cloud_holds_for_its_window_and_runs_straight_between_moments():
    track = anchored()
    cloud = (field(0.5, hours=(0, 6)), field(0.0, hours=12), field(1.0, hours=24))
    known = known_from_forecast(forecast_of(cloud=cloud), track)
    covered = np.interp([3.0, 15.0, 18.0, 21.0], hours_of(track), known.clear_frac)
    assert covered == pytest.approx(kasten_czeplak_frac(np.array([4.0, 2.0, 4.0, 6.0])), abs=0.002)
    assert np.isnan(known.clear_frac[(hours_of(track) > 6.2) & (hours_of(track) < 11.8)]).all()


def test_wind_and_air_follow_the_boat_over_the_date_line():
    """Ten degrees east in two days; wind 8 at 175 E and 12 at 175 W, air 20 warming by 2 a day."""
    grid = Grid(lat_deg=np.array([-30.0, 0.0]), lon_deg=np.array([175.0, 185.0]))
    track = eastward(175.0, lat_deg=-15.0, to_lon_deg=-175.0, speed_kn=12.0)
    wind = tuple(field([8.0, 12.0], hours=hour, grid=grid) for hour in (0, 72))
    air = tuple(field(20.0 + hour / 12.0, hours=hour, grid=grid) for hour in (0, 72))
    cloud = tuple(field(0.5, hours=hour, grid=grid) for hour in (0, 72))
    known = known_from_forecast(forecast_of(wind=wind, air=air, cloud=cloud), track)
    half = track.n_steps // 2
    assert known.wind_m_s[[0, half, -1]] == pytest.approx([8.0, 10.0, 12.0], abs=0.05)
    assert known.air_C == pytest.approx(20.0 + hours_of(track) / 12.0, abs=1e-5)


def test_it_counts_in_full_to_its_last_hour_and_then_fades():
    track = anchored(days=4.0)
    cloud = (field(0.25, hours=12), field(0.25, hours=36))
    known = known_from_forecast(
        forecast_of(cloud=cloud, wind=(field(7.0, hours=36),), air=(field(21.0, hours=30),)), track
    )
    hours, weight = hours_of(track), known.weight
    assert np.all(weight[hours < 12.0] == 0.0)
    assert np.all(weight[(hours > 12.0) & (hours < 36.0)] == 1.0)
    fading = (hours > 36.0) & (hours < 36.0 + FADE_h)
    assert weight[fading] == pytest.approx(1.0 - (hours[fading] - 36.0) / FADE_h)
    assert np.all(weight[hours > 36.0 + FADE_h] == 0.0)
    assert known.clear_frac[fading] == pytest.approx(kasten_czeplak_frac(2.0))
    assert np.all(known.wind_m_s[fading] == 7.0)
    assert np.all(known.air_C[fading] == 21.0)


def test_what_fades_is_the_share_of_the_whole_last_day_not_that_of_its_last_night():
    track = anchored(days=4.0)
    light = tuple(
        field(mean, hours=(hour, hour + 6))
        for hour, mean in ((0, 20.0), (6, 150.0), (12, 520.0), (18, 90.0), (24, 0.0))
    )
    known = known_from_forecast(forecast_of(light=light), track)
    clear_W_m2 = sky_of(track).clear_ghi_W_m2
    hours = hours_of(track)
    day = (hours > 6.0) & (hours < 30.0)
    share = (known.clear_frac * clear_W_m2)[day].sum() / clear_W_m2[day].sum()
    # By the sine of the sun's height in place of the clear sky's light, which is nearly the same.
    assert known.clear_frac[(hours > 30.0) & (hours < 50.0)] == pytest.approx(share, rel=0.05)


def test_a_boat_that_leaves_the_area_is_covered_until_then():
    track = eastward(-40.0, to_lon_deg=-20.0)  # at 30 W after 46 h
    cloud = (field(0.0, hours=0), field(0.0, hours=96))
    known = known_from_forecast(forecast_of(cloud=cloud), track)
    leaves_h = hours_of(track)[known.weight < 1.0][0]
    assert np.interp(leaves_h, hours_of(track), track.lon_deg) == pytest.approx(-30.0, abs=0.1)
    assert np.all(np.isfinite(known.clear_frac))
    assert known.weight[-1] == 0.0


def test_what_is_not_in_the_file_stays_unknown():
    known = known_from_forecast(forecast_of(cloud=(field(0.5, hours=(0, 24)),)), anchored())
    for name in ("dni_W_m2", "dhi_W_m2", "air_C", "wind_m_s"):
        assert np.isnan(getattr(known, name)).all()


def test_a_file_for_other_days():
    forecast = forecast_of(cloud=(field(0.5, hours=(0, 24)),))
    with pytest.raises(InputError) as caught:
        known_from_forecast(forecast, anchored(from_h=24.0, days=1.0))
    assert str(caught.value) == (
        "made.grib: is for other days: it covers 2026-07-01 00:00 UTC to 2026-07-02 00:00 UTC, "
        "the passage lasts from 2026-07-02 00:00 UTC to 2026-07-03 00:00 UTC\n"
        "  expected  a forecast for the waters and the days of the passage"
    )


def test_a_file_for_other_waters():
    forecast = forecast_of(cloud=(field(0.5, hours=(12, 24)),))
    (problem,) = uncovered(forecast, anchored(lat_deg=-12.0, lon_deg=96.5))
    assert str(problem) == (
        "made.grib: does not cover the boat's place: it covers 30.0 N 50.0 W to 50.0 N 30.0 W; "
        "on 2026-07-01 12:00 UTC the boat is at 12.0 S 96.5 E\n"
        "  expected  a forecast for the waters and the days of the passage"
    )
    assert uncovered(forecast, anchored()) == ()


def test_a_boat_on_the_edge_of_the_area_is_covered():
    for lat_deg, lon_deg in ((30.0, -50.0), (50.0, -30.0)):
        forecast = forecast_of(cloud=(field(0.5, hours=(0, 24)),))
        assert uncovered(forecast, anchored(lat_deg=lat_deg, lon_deg=lon_deg)) == ()


def test_records_are_valid_once_built():
    with pytest.raises(ValueError, match="light or of cloud"):
        forecast_of(wind=(field(5.0, hours=0),))
    with pytest.raises(ValueError, match="before it begins"):
        field(0.5, hours=(6, 0))
    with pytest.raises(ValueError, match="do not fit their grid"):
        replace(field(0.5, hours=0), values=np.zeros((2, 2)))
    with pytest.raises(ValueError, match="lat_deg must be two or more rising values"):
        Grid(lat_deg=np.array([1.0, 1.0]), lon_deg=np.array([0.0, 1.0]))
