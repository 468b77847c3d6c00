"""route.gpx: which points are taken, and what is refused before it can do harm."""

import pytest

from powersim.errors import InputError
from powersim.inputs.gpx import collect_gpx, read_gpx
from powersim.records import Assumption, Waypoint

LEG = {"speed_kn": 4.5, "heel_deg": 12.0}


def gpx(body, declaration=""):
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n{declaration}'
        '<gpx version="1.1" creator="by hand" xmlns="http://www.topografix.com/GPX/1/1">\n'
        f"{body}</gpx>\n"
    )


def points(tag, *places):
    return "".join(
        f'<{tag} lat="{lat}" lon="{lon}"><name>{name}</name></{tag}>\n' for name, lat, lon in places
    )


ROUTE = f"<rte>\n{points('rtept', ('A', 39, -28), ('B', 38, -28))}</rte>\n"
TRACK = (
    f"<trk><trkseg>\n{points('trkpt', ('C', 1, 2), ('D', 2, 2))}</trkseg>\n"
    f"<trkseg>{points('trkpt', ('E', 3, 2))}</trkseg></trk>\n"
)
LOOSE = points("wpt", ("F", 5, 6), ("G", 6, 7))


@pytest.fixture
def gpx_file(write_file):
    """Read a route.gpx written as text; what is wrong, with the folder left out."""

    def collect(text, leg=LEG):
        path = write_file("route.gpx", text)
        waypoints, assumptions, problems = collect_gpx(path, leg=leg)
        found = [str(problem).replace(str(path), "route.gpx") for problem in problems]
        return waypoints, assumptions, found

    return collect


@pytest.mark.parametrize(
    ("body", "names"),
    [
        (LOOSE + ROUTE + TRACK, "AB"),
        (LOOSE + TRACK, "CDE"),
        (LOOSE, "FG"),
        (ROUTE + ROUTE.replace(">A<", ">X<"), "AB"),
        ("<rte></rte>" + TRACK, "CDE"),
        ("<rte></rte>" + ROUTE + TRACK, "AB"),
    ],
)
def test_the_first_route_goes_before_tracks_and_loose_points(gpx_file, body, names):
    waypoints, _, problems = gpx_file(gpx(body))
    assert problems == []
    assert "".join(waypoint.name for waypoint in waypoints) == names


def test_legs_are_as_boat_toml_sets_them(gpx_file):
    waypoints, assumptions, _ = gpx_file(gpx(ROUTE))
    assert waypoints == (
        Waypoint(name="A", lat_deg=39.0, lon_deg=-28.0, **LEG),
        Waypoint(name="B", lat_deg=38.0, lon_deg=-28.0, heel_deg=12.0),
    )
    assert assumptions[0] == Assumption(
        place="route.gpx track", value="great circle", reason="the shortest way"
    )


def test_points_without_a_name_are_numbered(gpx_file):
    body = '<rte><rtept lat="39" lon="-28"/><rtept lat="38" lon="332"/></rte>'
    waypoints, _, problems = gpx_file(gpx(body))
    assert problems == []
    assert [(waypoint.name, waypoint.lon_deg) for waypoint in waypoints] == [
        ("waypoint 1", -28.0),
        ("waypoint 2", -28.0),
    ]


WHOLE = "  expected  a whole file as the plotter wrote it"
ROUTE_ONLY = "  expected  a route of at most 2,000 waypoints, not a recorded track"
PLAIN = "  expected  plain GPX 1.1"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            gpx(ROUTE, '<!DOCTYPE gpx [<!ENTITY a SYSTEM "file:///etc/passwd">]>\n'),
            f"route.gpx:2: declares DOCTYPE, which no plotter needs\n{PLAIN}",
        ),
        (
            gpx(ROUTE, "<!\nentity b 'bbb'>\n"),
            f"route.gpx:2: declares ENTITY, which no plotter needs\n{PLAIN}",
        ),
        (
            gpx(ROUTE).replace("</rte>", ""),
            f"route.gpx:7: is not well-formed: mismatched tag\n{WHOLE}",
        ),
        ("<gpx", f"route.gpx:1: is not well-formed: unclosed token\n{WHOLE}"),
        ("not xml at all", f"route.gpx:1: is not well-formed: syntax error\n{WHOLE}"),
        (
            gpx("&nbsp;" + ROUTE),
            f"route.gpx:3: is not well-formed: undefined entity\n{WHOLE}",
        ),
        (
            gpx(""),
            "route.gpx: holds no waypoints\n"
            "  expected  two waypoints or more: where the passage begins and where it ends",
        ),
        (
            gpx(points("wpt", ("A", 1, 2))),
            "route.gpx: holds one waypoint\n"
            "  expected  two waypoints or more: where the passage begins and where it ends",
        ),
        (
            gpx(ROUTE.replace('lat="39"', 'lat="95"')),
            "route.gpx:4: 'A' is nowhere on earth: latitude 95, longitude -28\n"
            "  expected  latitude -90 to 90 and longitude -180 to 180, in degrees",
        ),
        (
            gpx(ROUTE.replace('lat="39"', 'lat="north"')),
            "route.gpx:4: a point's lat is 'north', which is not a number\n"
            "  expected  decimal degrees, for example 38.533",
        ),
        (
            gpx(ROUTE.replace('lat="39"', "")),
            "route.gpx:4: a point's lat is '', which is not a number\n"
            "  expected  decimal degrees, for example 38.533",
        ),
        (
            gpx(ROUTE.replace('lat="39"', 'lat="nan"')),
            "route.gpx:4: 'A' is nowhere on earth: latitude nan, longitude -28\n"
            "  expected  latitude -90 to 90 and longitude -180 to 180, in degrees",
        ),
        (
            gpx(ROUTE.replace('lat="39"', 'lat="38"')),
            "route.gpx:5: 'B' is where 'A' is\n"
            "  expected  each point once; stops can be given in a route.csv",
        ),
        (
            gpx("<rte>" + points("rtept", *(("p", 1, n / 100) for n in range(2001))) + "</rte>"),
            f"route.gpx: holds 2,001 points\n{ROUTE_ONLY}",
        ),
    ],
)
def test_a_mistake_is_told_in_a_sailors_words(gpx_file, text, message):
    assert gpx_file(text) == ((), (), [message])


def test_a_million_points_are_refused_unread(gpx_file):
    point = '<trkpt lat="1.00000" lon="2.00000"/>\n'
    text = gpx(f"<trk><trkseg>{point * 1_000_000}</trkseg></trk>")
    assert gpx_file(text)[2] == [f"route.gpx: holds {len(text) / 1e6:.1f} MB\n{ROUTE_ONLY}"]


def test_a_gpx_route_needs_a_speed_from_boat_toml(write_file):
    path = write_file("route.gpx", gpx(ROUTE))
    with pytest.raises(InputError) as caught:
        read_gpx(path, leg={})
    assert str(caught.value) == (
        f"{path}: there is no speed for its legs\n"
        '  expected  a line speed = "4.5 kn" in boat.toml under [passage]'
    )
