"""The sky over a track: which source each value comes from, and the places where days run out."""

from dataclasses import fields, replace

import numpy as np
import pytest

from powersim.records import Waypoint
from powersim.sky.climatology import monthly_mean
from powersim.sky.sky import sky_of
from powersim.voyage.track import track_of

JUNE_S = 1813276800.0  # 18 June 2027 00:00 UTC
DECEMBER_S = 1829174400.0  # 19 December 2027 00:00 UTC


def anchored(lat_deg, lon_deg, *, from_utc_s=JUNE_S, days=2, step_h=0.25, **given):
    here = {"lat_deg": lat_deg, "lon_deg": lon_deg}
    stay = Waypoint(name="here", speed_kn=5.0, stop_h=24.0 * days, **here, **given)
    track = track_of(
        (stay, Waypoint(name="next", **here, **given)), depart_utc_s=from_utc_s, step_h=step_h
    )
    return track


def pacific(**given):
    """From 5 degrees short of the date line in the south to 5 beyond it in the north."""
    waypoints = (
        Waypoint(name="Tonga", lat_deg=-12.0, lon_deg=175.0, speed_kn=6.0, **given),
        Waypoint(name="Palmyra", lat_deg=3.0, lon_deg=-175.0, **given),
    )
    return track_of(waypoints, depart_utc_s=DECEMBER_S + 10 * 86400.0, step_h=0.25)


def arrays(sky):
    return {field.name: getattr(sky, field.name) for field in fields(sky)}


def test_every_value_is_a_finite_number_for_every_step():
    track = pacific()
    for name, values in arrays(sky_of(track)).items():
        assert values.shape == (track.n_steps,), name
        assert np.all(np.isfinite(values)), name


def test_a_full_turn_of_longitude_changes_nothing():
    track = pacific()
    turned = replace(track, lon_deg=track.lon_deg % 360.0, edge_lon_deg=track.edge_lon_deg % 360.0)
    assert not np.array_equal(turned.lon_deg, track.lon_deg)
    here, there = arrays(sky_of(track)), arrays(sky_of(turned))
    for name, values in here.items():
        assert there[name] == pytest.approx(values, abs=1e-6), name


def test_nothing_jumps_at_the_date_line():
    """Ten miles to either side of it the sky is the same but for two minutes of sun."""
    west, east = (sky_of(anchored(-12.0, lon_deg)) for lon_deg in (179.92, -179.92))
    for name in ("air_C", "wind_m_s", "night_h"):
        assert arrays(east)[name] == pytest.approx(arrays(west)[name], abs=0.05)
    assert east.ghi_W_m2.mean() == pytest.approx(west.ghi_W_m2.mean(), rel=0.01)


def test_polar_night_is_dark_and_midnight_sun_is_not():
    dark = sky_of(anchored(80.0, 10.0, from_utc_s=DECEMBER_S))
    assert np.all(dark.ghi_W_m2 == 0.0)
    assert np.all(dark.dni_W_m2 == 0.0)
    assert np.all(dark.night_frac == 1.0)
    assert np.all(dark.night_h == 24.0)
    light = sky_of(anchored(80.0, 10.0, from_utc_s=JUNE_S))
    assert light.ghi_W_m2.min() > 0.0
    assert np.all(light.night_frac == 0.0)
    assert np.all(light.night_h == 0.0)


@pytest.mark.parametrize("lat_deg", [90.0, -90.0])
def test_the_poles_have_a_sky(lat_deg):
    for start_s in (JUNE_S, DECEMBER_S):
        sky = sky_of(anchored(lat_deg, 0.0, from_utc_s=start_s))
        summer = (lat_deg > 0) == (start_s == JUNE_S)
        assert np.all(sky.night_h == (0.0 if summer else 24.0))
        assert np.all((sky.ghi_W_m2 > 0) == summer)
        assert np.all(np.isfinite(sky.azimuth_deg))


@pytest.mark.parametrize(("lat_deg", "bearing"), [(40.0, -1.0), (-40.0, 1.0)])
def test_the_noon_sun_stands_towards_the_equator(lat_deg, bearing):
    sky = sky_of(anchored(lat_deg, -20.0, days=1))
    highest = sky.elevation_deg.argmax()
    assert np.cos(np.radians(sky.azimuth_deg[highest])) == pytest.approx(bearing, abs=0.01)


def test_oktas_dim_the_clear_sky_by_kasten_and_czeplak():
    """6 oktas: 0.718 of the clear sky (table in tests/reference)."""
    sky = sky_of(anchored(30.0, -40.0, cloud_oktas=6.0))
    assert sky.ghi_W_m2 == pytest.approx(0.718 * sky.clear_ghi_W_m2, rel=1e-3)


def test_oktas_dim_the_clear_sky_by_reed_on_demand():
    """6 oktas at 30 N on 18 June, noon at 90 - 30 + 23.4: 1 - 0.465 + 0.158 = 0.693."""
    sky = sky_of(anchored(30.0, -40.0, cloud_oktas=6.0), cloud_model="reed")
    assert sky.ghi_W_m2 == pytest.approx(0.6935 * sky.clear_ghi_W_m2, rel=2e-3)


@pytest.mark.parametrize("cloud_model", ["kasten", "reed"])
def test_under_oktas_the_two_formulas_are_as_far_apart_whichever_is_taken(cloud_model):
    """6 oktas at 30 N on 18 June, by hand above: 0.718 by the one and 0.693 by the other."""
    sky = sky_of(anchored(30.0, -40.0, cloud_oktas=6.0), cloud_model=cloud_model)
    assert sky.apart_frac == pytest.approx(0.718 - 0.693, abs=1e-3)


def test_without_oktas_the_two_tables_are_as_far_apart_as_in_clearness():
    """At the middle of a cell and of a month, as both files have it: winter, 53.75 N 28.75 W."""
    middle_s = np.datetime64("2027-12-16", "s").astype(float)
    sky = sky_of(anchored(53.75, -28.75, from_utc_s=middle_s, days=1))
    place = {
        "lat_deg": np.array([53.75]),
        "lon_deg": np.array([-28.75]),
        "utc_s": np.array([middle_s]),
    }
    first, second, mean = monthly_mean("kt_first", "kt_second", "kt", **place)
    assert second > 1.2 * first
    assert mean == pytest.approx(0.5 * (first + second))
    apart = sky.apart_frac / sky.usual_frac
    assert apart == pytest.approx(float(((second - first) / mean)[0]), rel=2e-2)


def test_without_oktas_a_day_has_the_climatologys_clearness():
    sky = sky_of(anchored(30.0, -40.0, days=3))
    track = anchored(30.0, -40.0, days=3)
    (kt,) = monthly_mean("kt", lat_deg=track.lat_deg, lon_deg=track.lon_deg, utc_s=track.mid_utc_s)
    sine = np.maximum(np.sin(np.radians(sky.elevation_deg)), 0.0)
    above_W_m2 = (sky.extra_dni_W_m2 * sine)[:288].reshape(3, 96).sum(axis=1)
    day_kt = sky.ghi_W_m2[:288].reshape(3, 96).sum(axis=1) / above_W_m2
    # The climatology counts with 1361, the sky with 1366.1 W/m2; and refraction lifts the sun.
    assert day_kt == pytest.approx(kt[48::96][:3] * 1361.0 / 1366.1, rel=3e-3)


def test_a_passage_of_one_hour_has_the_light_of_its_day():
    """The day's clearness is that of the 24 hours around, also beyond both ends."""
    noon_s = JUNE_S + 14.5 * 3600.0
    short = sky_of(anchored(30.0, -40.0, from_utc_s=noon_s, days=1.0 / 24.0, step_h=0.25))
    longer = sky_of(anchored(30.0, -40.0, from_utc_s=noon_s - 43200.0, days=2))
    assert short.ghi_W_m2 == pytest.approx(longer.ghi_W_m2[48:52], rel=1e-9)
    one = sky_of(anchored(30.0, -40.0, from_utc_s=noon_s, days=1.0 / 24.0, step_h=1.0))
    assert one.ghi_W_m2 == pytest.approx([short.ghi_W_m2.mean()], rel=0.02)


def test_beyond_its_ends_a_passage_lies_where_it_is():
    """A day at anchor before and after changes nothing for a fast boat's hours in between."""
    ends = ({"lat_deg": 30.0, "lon_deg": -40.0}, {"lat_deg": 30.0, "lon_deg": -32.0})
    hop = tuple(Waypoint(name="w", speed_kn=35.0, **end) for end in ends)
    padded = tuple(replace(waypoint, stop_h=24.0) for waypoint in hop)
    bare = sky_of(track_of(hop, depart_utc_s=JUNE_S, step_h=0.25))
    held = sky_of(track_of(padded, depart_utc_s=JUNE_S - 86400.0, step_h=0.25))
    steps = bare.ghi_W_m2.size
    # It is held at the first step's middle, four miles on: found 0.00008.
    assert bare.ghi_W_m2 == pytest.approx(held.ghi_W_m2[96 : 96 + steps], rel=2e-4)


def test_light_is_beam_and_diffuse_together():
    sky = sky_of(pacific())
    sine = np.sin(np.radians(sky.elevation_deg))
    assert sky.dni_W_m2.max() > 300.0
    assert sky.dhi_W_m2 + sky.dni_W_m2 * np.maximum(sine, 0.0) == pytest.approx(
        sky.ghi_W_m2, abs=1e-9
    )


def test_air_and_wind_are_the_climatologys_unless_the_leg_says_otherwise():
    plain = anchored(40.0, -30.0)
    air_C, wind_m_s = monthly_mean(
        "air_C", "wind_m_s", lat_deg=plain.lat_deg, lon_deg=plain.lon_deg, utc_s=plain.mid_utc_s
    )
    sky = sky_of(plain)
    assert np.array_equal(sky.air_C, air_C)
    assert np.array_equal(sky.wind_m_s, wind_m_s)
    assert np.array_equal(sky.cabin_C, air_C + 3.0)
    assert np.array_equal(sky.bank_C, air_C + 3.0)
    told = sky_of(anchored(40.0, -30.0, wind_m_s=4.0, cabin_C=24.0))
    assert np.all(told.wind_m_s == 4.0)
    assert np.all(told.cabin_C == 24.0)
    assert told.bank_C == pytest.approx(0.5 * (air_C + 24.0))


@pytest.mark.parametrize("lat_deg", [17.0, 64.0])
def test_the_length_of_steps_hardly_matters(lat_deg):
    coarse, fine = (
        sky_of(anchored(lat_deg, -23.0, step_h=step_h, days=3)) for step_h in (1.0 / 3.0, 1.0 / 12)
    )
    night_h = [sky.night_frac.sum() * step_h for sky, step_h in ((coarse, 1 / 3), (fine, 1 / 12))]
    assert night_h[0] == pytest.approx(night_h[1], abs=0.02)
    assert coarse.ghi_W_m2.mean() == pytest.approx(fine.ghi_W_m2.mean(), rel=1e-3)


def test_night_hours_are_the_sum_of_dark_steps():
    sky = sky_of(anchored(45.0, -30.0, days=1))
    assert 0.25 * sky.night_frac[:96].sum() == pytest.approx(sky.night_h[:96].mean(), abs=0.02)


@pytest.mark.parametrize(("lat_deg", "brighter_than_clear"), [(66.0, False), (-70.0, True)])
def test_light_is_never_more_than_above_the_atmosphere(lat_deg, brighter_than_clear):
    """Close to the polar night the climatology asks for more than a clear sky, but not for that."""
    start_s = DECEMBER_S - 45 * 86400.0 if lat_deg > 0 else JUNE_S - 45 * 86400.0
    sky = sky_of(anchored(lat_deg, 20.0, from_utc_s=start_s, days=90, step_h=0.5))
    up = sky.elevation_deg > 0.0
    sine = np.sin(np.radians(sky.elevation_deg[up]))
    assert np.any(sky.ghi_W_m2[up] > sky.clear_ghi_W_m2[up]) == brighter_than_clear
    assert np.all(sky.ghi_W_m2[up] <= sky.extra_dni_W_m2[up] * sine)
