"""Lines over the ellipsoid against Karney's cases, the Aviation Formulary and Bowditch."""

import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from published import read_published

from powersim.records import Waypoint
from powersim.voyage.lines import METRES_PER_NM, line_between

NM = METRES_PER_NM


def waypoint(lat_deg, lon_deg):
    return Waypoint(name="w", lat_deg=lat_deg, lon_deg=(lon_deg + 180.0) % 360.0 - 180.0)


def line(lat1_deg, lon1_deg, lat2_deg, lon2_deg, track):
    return line_between(waypoint(lat1_deg, lon1_deg), waypoint(lat2_deg, lon2_deg), track=track)


def apart_nm(lat_deg, lon_deg, lat2_deg, lon2_deg):
    return Geodesic.WGS84.Inverse(lat_deg, lon_deg, lat2_deg, lon2_deg)["s12"] / NM


@pytest.mark.parametrize("row", read_published("geodesic_wgs84_cases.csv"), ids=str)
def test_great_circle_matches_karneys_geodesics(row):
    """C. F. F. Karney, geographiclib test cases: length, both azimuths, end."""
    value = {name: float(text) for name, text in row.items() if name != "seen"}
    leg = line(
        value["lat1_deg"], value["lon1_deg"], value["lat2_deg"], value["lon2_deg"], "great circle"
    )
    assert leg.length_nm * NM == pytest.approx(value["distance_m"], abs=1e-6)
    lat_deg, lon_deg, course_deg = leg.at(np.array([0.0, leg.length_nm]))
    assert lat_deg == pytest.approx([value["lat1_deg"], value["lat2_deg"]], abs=1e-9)
    assert np.sin(np.radians(lon_deg - [value["lon1_deg"], value["lon2_deg"]])) == pytest.approx(
        [0.0, 0.0], abs=1e-9
    )
    azimuths_deg = [value["azimuth1_deg"] % 360.0, value["azimuth2_deg"] % 360.0]
    assert course_deg == pytest.approx(azimuths_deg, abs=1e-6)


CIRCLES = [
    ("Iceland to the Azores", 64.15, -21.95, 38.53, -28.63),
    ("over the date line", -36.8, 174.8, -17.5, -149.6),
    ("past the pole", 80.0, 10.0, 82.0, -160.0),
    ("over the pole", 85.0, 0.0, 85.0, 180.0),
]


@pytest.mark.parametrize("case", CIRCLES, ids=lambda case: case[0])
def test_places_between_knots_stay_on_the_geodesic(case):
    """geographiclib's Position at 997 distances that are no knots."""
    leg = line(*case[1:], "great circle")
    exact = Geodesic.WGS84.InverseLine(*case[1:])
    sailed_nm = np.linspace(0.0, leg.length_nm, 999)[1:-1]
    lat_deg, lon_deg, course_deg = leg.at(sailed_nm)
    for i, sailed in enumerate(sailed_nm):
        place = exact.Position(sailed * NM)
        # Chords between knots 10 miles apart; found 0.00004 miles at most.
        assert apart_nm(lat_deg[i], lon_deg[i], place["lat2"], place["lon2"]) < 0.001
        if abs(place["lat2"]) < 85.0:
            off_deg = (course_deg[i] - place["azi2"] + 180.0) % 360.0 - 180.0
            assert abs(off_deg) < 0.01


EXAMPLES = {
    (row["source"], row["case"], row["quantity"], row["unit"]): row
    for row in read_published("great_circle_rhumb_examples.csv")
}
LAX_JFK = ("Aviation Formulary", "LAX-JFK")
# The examples are worked on a sphere of one mile a minute. A minute of latitude is 1843 m at the
# equator and 1862 m at the poles, a minute of longitude there 1855 m: lengths may differ by 0.56
# percent, courses by 0.2 degree.
SPHERE_FRAC = 0.0056


def ends(row):
    return [float(row[k]) for k in ("lat1_deg", "lon1_deg_east", "lat2_deg", "lon2_deg_east")]


def test_great_circle_matches_the_aviation_formulary():
    """Los Angeles to New York: 0.623585 rad, 2144 nmi, initial course 1.150035 rad."""
    row = EXAMPLES[(*LAX_JFK, "great-circle distance", "nmi")]
    leg = line(*ends(row), "great circle")
    assert leg.length_nm == pytest.approx(float(row["value"]), rel=SPHERE_FRAC)
    _, _, course_deg = leg.at(np.array([0.0]))
    course = float(EXAMPLES[(*LAX_JFK, "initial course", "rad")]["value"])
    assert course_deg[0] == pytest.approx(math.degrees(course), abs=0.2)


def test_points_on_the_great_circle_match_the_aviation_formulary():
    """Los Angeles to New York: 100 miles out, and 40 percent of the way."""
    leg = line(*ends(EXAMPLES[(*LAX_JFK, "latitude 100 nmi out", "deg")]), "great circle")
    lat_deg, lon_deg, _ = leg.at(np.array([100.0, 0.4 * leg.length_nm]))
    for i, point in enumerate(("100 nmi out", "of 40 percent point")):
        printed = [
            float(EXAMPLES[(*LAX_JFK, f"{name} {point}", "deg")]["value"])
            for name in ("latitude", "longitude")
        ]
        # On the sphere; found 0.3 and 0.6 miles.
        assert apart_nm(lat_deg[i], lon_deg[i], *printed) < 1.0


RHUMBS = [
    (*LAX_JFK, "rhumb-line course", "rhumb-line distance"),
    ("Bowditch 2024 art. 910 ex. 1", "Mercator sailing", "course", "distance"),
    (
        "Bowditch mid-latitude sailing",
        "8 48.9 S 89 53.3 W to 17 06.9 S 104 51.6 W",
        "course",
        "distance",
    ),
]


@pytest.mark.parametrize("case", RHUMBS, ids=lambda case: case[0])
def test_rhumb_line_matches_worked_examples(case):
    """Aviation Formulary (from memory) and Bowditch: course and distance, on a sphere."""
    source, example, course, distance = case
    row = EXAMPLES[(source, example, distance, "nmi")]
    leg = line(*ends(row), "rhumb")
    assert leg.length_nm == pytest.approx(float(row["value"]), rel=SPHERE_FRAC)
    _, _, course_deg = leg.at(np.array([0.3 * leg.length_nm]))
    printed = EXAMPLES[(source, example, course, "deg")]
    assert course_deg[0] == pytest.approx(float(printed["value"]), abs=0.2)


def test_rhumb_line_uses_ellipsoidal_meridional_parts():
    """Bowditch art. 910 example 1, recomputed with the ellipsoid: 301.8 degrees, 538.2 miles.

    Bowditch's mile there is the minute of latitude: 284.0' of it over the cosine of the course.
    """
    lat1_deg, lon1_deg, lat2_deg, lon2_deg = ends(
        EXAMPLES[(RHUMBS[1][0], "Mercator sailing", "course", "deg")]
    )
    leg = line(lat1_deg, lon1_deg, lat2_deg, lon2_deg, "rhumb")
    assert leg.at(np.array([0.0]))[2][0] == pytest.approx(301.8, abs=0.05)
    minutes = 60.0 * (lat2_deg - lat1_deg)
    metres_a_minute = Geodesic.WGS84.Inverse(lat1_deg, 0.0, lat2_deg, 0.0)["s12"] / minutes
    # Course and distance are printed to a tenth; the recomputation's course was not rounded.
    assert leg.length_nm * NM / metres_a_minute == pytest.approx(538.2, abs=0.05)


def test_rhumb_line_arrives_where_bowditch_does():
    """Bowditch art. 910 example 2: 75 31.7 N 79 08.7 W, course 155, 263.5 miles."""
    source, case = (
        "Bowditch 2024 art. 910 ex. 2",
        "Mercator sailing course 155 deg distance 263.5 nmi",
    )
    arrival = {
        name: float(EXAMPLES[(source, case, f"arrival {name}", "deg")]["value"])
        for name in ("latitude", "longitude")
    }
    leg = line(75.528333, -79.145, arrival["latitude"], arrival["longitude"], "rhumb")
    # Tolerance of the printed arrival, 0.02 degree of latitude, is 1.2 miles.
    assert leg.length_nm == pytest.approx(263.5, abs=1.2)
    assert leg.at(np.array([0.0]))[2][0] == pytest.approx(155.0, abs=0.2)


PARALLELS = [(49.5, 3.5, 136.4), (-38.25, -274.4 / 60.0, 215.5)]


@pytest.mark.parametrize(("lat_deg", "change_deg", "run_nm"), PARALLELS)
def test_parallel_sailing_matches_bowditch(lat_deg, change_deg, run_nm):
    """Bowditch, parallel sailing (from memory): departure is change of longitude x cos latitude."""
    leg = line(lat_deg, 0.0, lat_deg, change_deg, "rhumb")
    assert leg.length_nm == pytest.approx(run_nm, rel=SPHERE_FRAC)
    assert leg.at(np.array([0.0]))[2][0] == pytest.approx(90.0 if change_deg > 0 else 270.0)


def test_plane_sailing_matches_bowditch():
    """Bowditch, plane sailing (from memory): 188.0 miles on 005 are 187.3' north, 16.4 miles east.

    For so short a run near the equator a rhumb is a straight line on a plane.
    """
    lat2_deg = 187.3 / 60.0
    mid_cos = math.cos(math.radians(0.5 * lat2_deg))
    leg = line(0.0, 0.0, lat2_deg, 16.4 / 60.0 / mid_cos, "rhumb")
    assert leg.length_nm == pytest.approx(188.0, rel=SPHERE_FRAC)
    assert leg.at(np.array([0.0]))[2][0] == pytest.approx(5.0, abs=0.05)


def test_a_long_rhumb_equals_the_sum_of_short_ones():
    """geographiclib: a rhumb is made of short geodesics of one azimuth."""
    leg = line(64.0, -22.0, 16.9, -25.0, "rhumb")
    marks_nm = np.linspace(0.0, leg.length_nm, 401)
    lat_deg, lon_deg, course_deg = leg.at(marks_nm)
    pieces = [
        Geodesic.WGS84.Inverse(lat_deg[i], lon_deg[i], lat_deg[i + 1], lon_deg[i + 1])
        for i in range(400)
    ]
    assert sum(piece["s12"] for piece in pieces) / NM == pytest.approx(leg.length_nm, abs=0.01)
    middles_deg = [piece["azi1"] + 0.5 * (piece["azi2"] - piece["azi1"]) for piece in pieces]
    assert np.mod(middles_deg, 360.0) == pytest.approx(course_deg[1:], abs=0.02)
