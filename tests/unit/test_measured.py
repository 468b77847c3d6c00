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
NEW_YEAR_S = 978307200.0  # 1 January 2001, the year that stands for any


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


def typical(*, late_h=0.0):
    """A typical year by the hour; the air is as many tenths of a degree as the day has number."""
    starts_s = NEW_YEAR_S + HOUR_S * (np.arange(8760) + late_h)
    return Irradiance(
        file="typical.epw",
        start_utc_s=array("d", starts_s),
        step_s=HOUR_S,
        ghi_W_m2=array("d", [100.0] * 8760),
        air_C=array("d", np.repeat(np.arange(1.0, 366.0) / 10.0, 24)),
        any_year=True,
    )


def in_port(depart, days=3.0):
    waypoints = (
        Waypoint(name="here", lat_deg=30.0, lon_deg=-40.0, speed_kn=5.0, stop_h=24.0 * days),
        Waypoint(name="there", lat_deg=30.0, lon_deg=-39.9),
    )
    depart_s = np.datetime64(depart, "s").astype(float)
    return track_of(waypoints, depart_utc_s=depart_s, step_h=1.0)


@pytest.mark.parametrize(
    ("depart", "days"),
    [
        ("2026-09-12", [255, 256, 257]),
        ("2027-12-30", [364, 365, 1]),
        ("2028-02-27", [58, 59, 59]),  # 28 February stands for the 29th too
        ("2028-02-29", [59, 60, 61]),
        ("2028-12-30", [364, 365, 1]),  # the last days of a leap year
        ("2100-02-27", [58, 59, 60]),  # no leap year
    ],
)
def test_a_typical_year_goes_by_the_date(depart, days):
    known = known_from_irradiance(typical(), in_port(depart))
    by_day = known.air_C[: 3 * 24].reshape(3, 24)[:, 12]
    assert (10.0 * by_day).tolist() == pytest.approx(days)


def test_a_typical_year_has_no_gap_at_new_year_whatever_its_clock():
    for late_h in (-11.0, -1.0, 8.0):
        irradiance = typical(late_h=late_h)
        for depart in ("2027-12-30", "2028-12-30", "2028-02-27"):
            known = known_from_irradiance(irradiance, in_port(depart))
            assert not np.isnan(known.clear_frac).any()
