"""Wind and water generators against what is derived from physics, and shape of the wind.

Betz's limit by A. Betz, Zeitschrift fuer das gesamte Turbinenwesen 26 (1920) 307-309; the table in
`data/wind_water_power_theory.csv` was worked out from it apart from powersim.
"""

import math

import numpy as np
import pytest
from published import read_published
from scipy.integrate import trapezoid
from scipy.stats import rayleigh

from powersim.inputs.power_curve import GENERIC_DIAMETER_M, generic_curve
from powersim.physics.wind_generator import (
    apparent_wind_m_s,
    mean_wind_generator_W,
    wind_at_height_m_s,
    wind_generator_W,
)
from powersim.records import WindGenerator, most_rotor_W
from powersim.records.chargers.power_curve import AIR, BETZ_FRAC, M_S_PER_KN, SEA

ROWS = read_published("wind_water_power_theory.csv")
LIMITS = [row for row in ROWS if "Betz" in row["device"]]
WHOLE = [row for row in ROWS if "all kinetic" in row["device"]]
IN_WATER = [row for row in LIMITS if row["device"].startswith("towed")]


def rotor(row):
    """Density, diameter of the swept area, speed."""
    return {
        "density_kg_m3": float(row["fluid_density_kg_m3"]),
        "diameter_m": math.sqrt(4.0 * float(row["swept_area_m2"]) / math.pi),
        "speed_m_s": float(row["speed_m_s"]),
    }


@pytest.mark.parametrize("row", LIMITS, ids=lambda row: f"{row['device'][:5]} {row['speed_m_s']}")
def test_the_most_that_a_rotor_takes_is_betz_limit(row):
    """The table is rounded to six digits, its swept area too."""
    assert most_rotor_W(**rotor(row)) == pytest.approx(float(row["power_W"]), rel=1e-3)


@pytest.mark.parametrize("row", WHOLE, ids=lambda row: row["speed_m_s"])
def test_the_limit_is_16_27ths_of_what_the_stream_carries(row):
    assert pytest.approx(16.0 / 27.0) == BETZ_FRAC
    assert most_rotor_W(**rotor(row)) == pytest.approx(16 / 27 * float(row["power_W"]), rel=1e-3)


def test_air_and_sea_water_are_those_of_the_table():
    densities = {float(row["fluid_density_kg_m3"]) for row in ROWS}
    assert densities == {AIR.density_kg_m3, SEA.density_kg_m3}


def test_the_invented_towed_curve_lies_below_the_limits_of_the_table():
    """Its rotor is the table's, 0.30 m."""
    assert rotor(IN_WATER[0])["diameter_m"] == pytest.approx(GENERIC_DIAMETER_M["towed"], rel=1e-4)
    curve = generic_curve("towed", diameter_m=GENERIC_DIAMETER_M["towed"])
    shares = []
    for row in IN_WATER:
        speed_kn = float(row["speed_m_s"]) / M_S_PER_KN
        shares.append(np.interp(speed_kn, curve.speeds, curve.powers_W) / float(row["power_W"]))
    assert max(shares) < 0.25  # rotor, line, generator and cable together


@pytest.mark.parametrize(
    ("wind_m_s", "boat_m_s", "angle_deg", "apparent_m_s"),
    [
        (4.0, 3.0, 90.0, 5.0),
        (12.0, 5.0, 90.0, 13.0),
        (8.0, 7.0, 60.0, 13.0),  # sides 7, 8, 13 hold 120 degrees between them
        (8.0, 5.0, 120.0, 7.0),  # sides 5, 7, 8 hold 60 degrees
        (8.0, 3.0, 180.0, 5.0),
        (8.0, 3.0, 0.0, 11.0),
    ],
)
def test_apparent_wind_closes_triangles_with_whole_sides(
    wind_m_s, boat_m_s, angle_deg, apparent_m_s
):
    """Pythagorean and Eisenstein triples: known since Euclid, checked by squaring."""
    found = apparent_wind_m_s(wind_m_s=wind_m_s, angle_deg=angle_deg, boat_m_s=boat_m_s)
    assert found == pytest.approx(apparent_m_s, rel=1e-12)


def test_wind_at_the_hub_is_that_of_the_profile():
    """(3/10)^0.11 by logarithms: exp(0.11 * ln 0.3) = exp(-0.13244) = 0.87596; Hsu, Meindl and
    Gilhousen 1994 have 0.11 over the sea (from memory)."""
    assert wind_at_height_m_s(wind_m_s=10.0, height_m=3.0) == pytest.approx(8.7596, abs=2e-4)


def test_the_profile_is_near_the_logarithms_over_the_open_sea():
    """The exponent above is from memory on both sides. Another law, of another origin: wind over
    water goes with ln(height / roughness), and the open sea's roughness is some 0.2 mm (the lowest
    class of WMO-No. 8, from memory). ln(3 / 0.0002) / ln(10 / 0.0002) = 9.616 / 10.820 = 0.889, and
    at 25 m 11.736 / 10.820 = 1.085. Within 0.03, which exponents of 0.08 and 0.11 keep, and half of
    0.11 or half as much again do not.
    """
    assert wind_at_height_m_s(wind_m_s=1.0, height_m=3.0) == pytest.approx(0.889, abs=0.03)
    assert wind_at_height_m_s(wind_m_s=1.0, height_m=25.0) == pytest.approx(1.085, abs=0.03)


def cubic(top_m_s):
    """A generator whose power is the cube of the wind, straight lines every 0.05 m/s."""
    winds_m_s = np.linspace(0.0, top_m_s, round(20 * top_m_s) + 1)
    return WindGenerator(
        speeds_m_s=tuple(winds_m_s),
        powers_W=tuple(winds_m_s**3),
        height_m=10.0,
        cut_out_m_s=100.0,
        wiring_frac=0.0,
    )


@pytest.mark.parametrize("mean_m_s", [4.0, 7.0, 10.0])
def test_the_mean_cube_of_rayleigh_winds_is_six_over_pi_of_the_cube_of_the_mean(mean_m_s):
    """A property of the distribution, derived: E v^3 = 6/pi (E v)^3, 1.9099."""
    (mean_W,) = mean_wind_generator_W(
        cubic(58.0), wind_m_s=np.array([mean_m_s]), speed_kn=np.zeros(1)
    )
    # Slices of a tenth of the mean are off by 0.07 %.
    assert mean_W / mean_m_s**3 == pytest.approx(6.0 / math.pi, rel=1e-3)


@pytest.mark.parametrize("mean_m_s", [4.0, 6.0, 8.0, 11.0])
@pytest.mark.parametrize(("speed_kn", "angle_deg"), [(0.0, 110.0), (5.0, 110.0), (5.0, 170.0)])
def test_the_mean_offer_is_the_integral_over_rayleighs_density(mean_m_s, speed_kn, angle_deg):
    """scipy's density, summed finely, on the invented curve with its cut-out."""
    curve = generic_curve("wind", diameter_m=GENERIC_DIAMETER_M["wind"])
    mill = WindGenerator(speeds_m_s=curve.speeds, powers_W=curve.powers_W, wind_angle_deg=angle_deg)
    density = rayleigh(scale=mean_m_s * math.sqrt(2.0 / math.pi)).pdf

    winds_m_s = np.linspace(0.0, 6.0 * mean_m_s, 200_001)
    offered_W = wind_generator_W(mill, wind_m_s=winds_m_s, speed_kn=speed_kn)
    expected_W = trapezoid(density(winds_m_s) * offered_W, winds_m_s)
    (mean_W,) = mean_wind_generator_W(
        mill, wind_m_s=np.array([mean_m_s]), speed_kn=np.array([speed_kn])
    )
    # The cut-out falls within a slice, which is a tenth of the mean wide: 1.0 % at 11 m/s.
    assert mean_W == pytest.approx(expected_W, rel=0.012 if mean_m_s > 10 else 0.005)
