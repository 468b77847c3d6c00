"""What a file of measured light knows of a passage."""

from array import array

import numpy as np
import pytest

from powersim.errors import InputError
from powersim.records import Irradiance, Waypoint
from powersim.sky.measured import known_from_irradiance
from powersim.sky.sky import sky_of
from powersim.voyage.track import track_of

START_S = 1789171200.0  # 12 September 2026, 00:00 UTC
HOUR_S = 3600.0


def at_anchor(step_h=0.25):
    waypoints = (
        Waypoint(name="here", lat_deg=30.0, lon_deg=-40.0, speed_kn=5.0, stop_h=48.0),
        Waypoint(name="there", lat_deg=30.0, lon_deg=-39.9),
    )
    return track_of(waypoints, depart_utc_s=START_S, step_h=step_h)


def measured(hours=48, first_h=0.0, **columns):
    starts_s = START_S + HOUR_S * (first_h + np.arange(hours))
    return Irradiance(
        file="light.csv",
        start_utc_s=array("d", starts_s),
        step_s=HOUR_S,
        **{name: array("d", np.broadcast_to(values, hours)) for name, values in columns.items()},
    )


def hourly(values):
    return values[: 48 * 4].reshape(48, 4).mean(axis=1)


@pytest.mark.parametrize("given", [("dni_W_m2",), ("dhi_W_m2",), ("dni_W_m2", "dhi_W_m2")])
def test_beam_and_diffuse_come_back_and_add_up(given):
    track = at_anchor()
    usual = sky_of(track)
    columns = {name: hourly(getattr(usual, name)) for name in ("ghi_W_m2", *given)}
    known = known_from_irradiance(measured(**columns), track)
    sky = sky_of(track, known=(known,))
    sine = np.sin(np.radians(np.maximum(sky.elevation_deg, 0.0)))
    assert sky.dhi_W_m2 + sky.dni_W_m2 * sine == pytest.approx(sky.ghi_W_m2, abs=1e-6)
    high = sky.elevation_deg[: 48 * 4] > 15.0
    for name in ("dni_W_m2", "dhi_W_m2"):
        ours, wanted = getattr(sky, name)[: 48 * 4][high], getattr(usual, name)[: 48 * 4][high]
        # An hour has one share of diffuse where the four quarters had their own.
        assert ours == pytest.approx(wanted, abs=100.0)
        assert ours.mean() == pytest.approx(wanted.mean(), rel=0.02)


def test_light_alone_leaves_the_split_to_the_usual_one():
    known = known_from_irradiance(measured(ghi_W_m2=100.0), at_anchor())
    assert np.isnan(known.dni_W_m2).all()
    assert np.isnan(known.dhi_W_m2).all()
    assert np.isnan(known.air_C).all()
    assert np.isnan(known.wind_m_s).all()


def test_noise_in_the_split_makes_neither_negative_nor_dazzling_light():
    track = at_anchor()
    columns = {"ghi_W_m2": 200.0, "dni_W_m2": 1500.0, "dhi_W_m2": 0.0}
    sky = sky_of(track, known=(known_from_irradiance(measured(**columns), track),))
    assert sky.dhi_W_m2.min() >= 0.0
    assert sky.dni_W_m2.min() >= 0.0
    assert (sky.dni_W_m2 <= sky.extra_dni_W_m2).all()


def test_air_and_wind_are_held_to_the_ends_and_beside_gaps():
    air_C = np.arange(48.0)
    air_C[10] = np.nan
    known = known_from_irradiance(measured(ghi_W_m2=100.0, air_C=air_C, wind_m_s=7.0), at_anchor())
    assert known.air_C[:4].tolist() == [0.0, 0.0, 0.125, 0.375]
    assert known.air_C[36:40].tolist() == pytest.approx([8.625, 8.875, 9.0, 9.0])
    assert np.isnan(known.air_C[40:44]).all()
    assert known.air_C[44:46].tolist() == [11.0, 11.0]
    assert (known.wind_m_s[: 48 * 4] == 7.0).all()
    assert np.isnan(known.wind_m_s[48 * 4 :]).all()


def test_a_file_of_another_week_names_both():
    with pytest.raises(InputError) as caught:
        known_from_irradiance(measured(first_h=-24.0 * 7, ghi_W_m2=100.0), at_anchor())
    assert str(caught.value) == (
        "light.csv: has no light for this passage: it runs from 2026-09-05 00:00 UTC to "
        "2026-09-07 00:00 UTC\n"
        "  expected  some hours of 2026-09-12 00:00 UTC to 2026-09-14 02:00 UTC"
    )


@pytest.mark.parametrize(
    "wrong",
    [
        {"step_s": 0.0},
        {"step_s": 86401.0},
        {"ghi_W_m2": array("d", [1.0])},
        {"ghi_W_m2": array("d", [1.0, -1.0])},
        {"start_utc_s": array("d", [60.0, 0.0])},
        {"start_utc_s": array("d"), "ghi_W_m2": array("d")},
    ],
)
def test_a_record_is_valid_or_is_not_built(wrong):
    right = {
        "file": "light.csv",
        "start_utc_s": array("d", [0.0, 60.0]),
        "step_s": 60.0,
        "ghi_W_m2": array("d", [1.0, 2.0]),
    }
    Irradiance(**right)
    with pytest.raises(ValueError, match="must"):
        Irradiance(**(right | wrong))
