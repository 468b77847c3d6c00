"""route.csv: what each column means, and every fault in a sailor's words."""

from dataclasses import replace

import pytest

from powersim.errors import InputError
from powersim.inputs.route import collect_route, read_route
from powersim.inputs.route_limits import LONGEST_PASSAGE_DAYS, MOST_POINTS
from powersim.records import Assumption, Waypoint
from powersim.voyage.track import timetable

HEAD = "waypoint,position,speed,stop\n"
LAST = "B,38 N 28 W,,\n"


@pytest.fixture
def route_file(write_file):
    """Read a route.csv written as text; what is wrong, with the folder left out."""

    def collect(text, **leg):
        path = write_file("route.csv", text)
        waypoints, assumptions, problems = collect_route(path, leg=leg)
        found = [str(problem).replace(str(path), "route.csv") for problem in problems]
        return waypoints, assumptions, found

    return collect


def test_every_column_reaches_its_field(write_file):
    path = write_file(
        "route.csv",
        "waypoint,position,speed,stop,track,motoring,tack,heel,wind,cabin_temp,cloud\n"
        "Horta,\"38°32.0'N, 028°37.5'W\",4.5 kn,4 days berthed,Rhumb line,"
        "2 h at start; 30 min at the end; 60 % of calms,Port,12 deg,10 m/s,65 degF,6 oktas\n"
        "Mindelo,16 53.0 N 25 00.0 W,,2 days,,,,,,,\n",
    )
    horta, mindelo = read_route(path)
    assert horta.cabin_C == pytest.approx(18.333, abs=1e-3)
    assert replace(horta, cabin_C=None) == Waypoint(
        name="Horta",
        lat_deg=38 + 32 / 60,
        lon_deg=-28.625,
        speed_kn=4.5,
        stop_h=96.0,
        stop_state="berthed",
        track="rhumb",
        motoring_start_h=2.0,
        motoring_end_h=0.5,
        motoring_calm_frac=0.6,
        tack="port",
        heel_deg=12.0,
        wind_m_s=10.0,
        cloud_oktas=6.0,
    )
    assert mindelo == Waypoint(
        name="Mindelo", lat_deg=16 + 53 / 60, lon_deg=-25.0, stop_h=48.0, stop_state="anchored"
    )


@pytest.mark.parametrize(
    ("stop", "hours", "state"),
    [
        ("36 h", 36.0, "anchored"),
        ("3 days", 72.0, "anchored"),
        ("1 week berthed", 168.0, "berthed"),
        ("2 days at anchor", 48.0, "anchored"),
        ("12 h anchored", 12.0, "anchored"),
        ("36 h hove-to", 36.0, "hove-to"),
        ("36 h Hove to", 36.0, "hove-to"),
        ("12 h drifting", 12.0, "drifting"),
        ("2 days adrift", 48.0, "drifting"),
        ("0 h", 0.0, "anchored"),
        ("", 0.0, "anchored"),
    ],
)
def test_a_stop_is_at_anchor_unless_it_says_otherwise(route_file, stop, hours, state):
    waypoints, _, problems = route_file(HEAD + f"A,39 N 28 W,4 kn,{stop}\n" + LAST)
    assert problems == []
    assert (waypoints[0].stop_h, waypoints[0].stop_state) == (hours, state)


@pytest.mark.parametrize(
    ("cloud", "oktas"), [("6 oktas", 6.0), ("6/8", 6.0), ("6", 6.0), ("75 %", 6.0), ("0", 0.0)]
)
def test_cloud_is_in_eighths_however_it_is_written(route_file, cloud, oktas):
    waypoints, _, problems = route_file(
        f"waypoint,position,speed,cloud\nA,39 N 28 W,4 kn,{cloud}\nB,38 N 28 W,,\n"
    )
    assert problems == []
    assert waypoints[0].cloud_oktas == oktas


def test_a_heading_may_name_the_unit(route_file):
    waypoints, _, problems = route_file(
        "waypoint,lat,lon,speed_kn,stop (days),wind_kn\nA,39.5,-28.25,4.5,3,15\nB,38,-28,,,\n"
    )
    assert problems == []
    start = waypoints[0]
    assert (start.lat_deg, start.lon_deg, start.speed_kn) == (39.5, -28.25, 4.5)
    assert start.stop_h == 72.0
    assert start.wind_m_s == pytest.approx(15 * 1852 / 3600)  # metres in a nautical mile


def test_settings_of_every_leg_hold_where_a_row_says_nothing(route_file):
    waypoints, _, problems = route_file(
        "waypoint,position,speed,motoring\nA,39 N 28 W,,\nB,38 N 28 W,5 kn,none\n"
        "C,37 N 28 W,6 kn,3 h at end\nD,36 N 28 W,,\n",
        speed_kn=4.0,
        heel_deg=15.0,
        motoring_start_h=2.0,
        motoring_end_h=1.0,
        motoring_calm_frac=0.4,
    )
    assert [waypoint.motoring_calm_frac for waypoint in waypoints[:3]] == [0.4, 0.0, 0.0]
    assert problems == []
    assert [waypoint.speed_kn for waypoint in waypoints] == [4.0, 5.0, 6.0, None]
    assert [waypoint.heel_deg for waypoint in waypoints[:3]] == [15.0, 15.0, 15.0]
    assert [waypoint.motoring_start_h for waypoint in waypoints[:3]] == [2.0, 0.0, 0.0]
    assert waypoints[2].motoring_end_h == 3.0


@pytest.mark.parametrize(
    "ends",
    [
        ("17 S 179 E", "17 S 179 W"),  # over the date line
        ("17 S 170 W", "17 S 175 E"),
        ("17 S 181 E", "17 S 178 E"),  # a longitude beyond 180 east
        ("89 N 0 E", "89 N 180 E"),  # over the pole
        ("90 N 0 E", "80 N 90 E"),  # from it
    ],
)
def test_legs_over_the_date_line_and_the_pole_are_legal(route_file, ends):
    start, end = ends
    waypoints, _, problems = route_file(HEAD + f"A,{start},4 kn,\nB,{end},,\n")
    assert problems == []
    assert all(-180 <= waypoint.lon_deg <= 180 for waypoint in waypoints)


def test_two_places_of_one_name_and_a_return_are_legal(route_file):
    waypoints, _, problems = route_file(
        HEAD + "A,39 N 28 W,4 kn,\nB,38 N 28 W,4 kn,\nA,39 N 28 W,,\n"
    )
    assert (problems, len(waypoints)) == ([], 3)


def test_a_stop_at_a_second_berth_is_a_leg_without_length(route_file):
    text = HEAD + "A,39 N 28 W,4 kn,2 days\nA,39 N 28 W,4 kn,1 day berthed\n" + LAST
    assert route_file(text)[2] == []


def test_one_waypoint_with_a_stop_is_a_stay_and_needs_no_speed(route_file):
    waypoints, _, problems = route_file(HEAD + "A,39 N 28 W,,9 days berthed\n")
    assert problems == []
    told = [(each.name, each.lat_deg, each.lon_deg, each.stop_h) for each in waypoints]
    assert told == [("A", 39.0, -28.0, 216.0), ("A", 39.0, -28.0, 0.0)]
    assert {each.stop_state for each in waypoints} == {"berthed"}


def test_a_stay_lasts_as_long_as_its_stop(route_file):
    """9 days of 24 h; no leg has any length, and no speed any say."""
    text = HEAD + "A,39 N 28 W,,9 days\n"
    stays, _, _ = route_file(text, speed_kn=4.0, motoring_calm_frac=0.5)
    reach_h, leave_h = timetable(stays)
    assert (reach_h.tolist(), leave_h.tolist()) == ([0.0, 216.0], [216.0, 216.0])


def test_what_is_left_out_is_told_once_a_column(route_file):
    _, assumptions, _ = route_file(
        "waypoint,position,speed,tack\nA,39 N 28 W,4 kn,port\nB,38 N 28 W,4 kn,\nC,37 N 28 W,,\n",
        heel_deg=12.0,
    )
    climatology = "the monthly ocean climatology that comes with powersim, at that place and date"
    assert assumptions == (
        Assumption(place="route.csv track", value="great circle", reason="the shortest way"),
        Assumption(
            place="route.csv tack, where empty",
            value="both",
            reason="half the time on each tack",
        ),
        Assumption(place="route.csv wind", value="climatology", reason=climatology),
        Assumption(
            place="route.csv cabin_temp",
            value="climatology",
            reason="from the climatology's air temperature, plus 3 degC",
        ),
        Assumption(place="route.csv cloud", value="climatology", reason=climatology),
        Assumption(place="route.csv motoring", value="none", reason="no motoring named"),
    )


SPEED = "  expected  speed made good to the next waypoint, for example 4.5 kn\n"
PLACE = "  expected  latitude and longitude, for example 38 32.0 N 28 37.5 W\n"
STOP = (
    "  expected  time spent here first: hove-to, drifting, berthed, else at anchor, for example "
    "36 h hove-to or 4 days berthed\n"
)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            HEAD + "A,91 N 28 W,4 kn,\n" + LAST,
            "route.csv:2:2: position (column B): '91 N 28 W' is a latitude above 90 degrees\n"
            + PLACE
            + "  row       A,91 N 28 W,4 kn,",
        ),
        (
            HEAD + 'A,"38,32 N 28,37 W",4 kn,\n' + LAST,
            "route.csv:2:2: position (column B): '38,32 N 28,37 W' may have 38.32 degrees, or "
            "38 degrees 32 minutes; write 38.32° or 38°32'\n"
            + PLACE
            + '  row       A,"38,32 N 28,37 W",4 kn,',
        ),
        (
            HEAD + "A,39 N 28 W,0 kn,\n" + LAST,
            "route.csv:2:3: speed (column C): '0 kn' never arrives\n"
            + SPEED
            + "  row       A,39 N 28 W,0 kn,",
        ),
        (
            HEAD + "A,39 N 28 W,45 kn,\n" + LAST,
            "route.csv:2:3: speed (column C): '45 kn' is not between 0.2 kn and 40 kn\n"
            + SPEED
            + "  row       A,39 N 28 W,45 kn,",
        ),
        (
            HEAD + "A,39 N 28 W,4.5,\n" + LAST,
            "route.csv:2:3: speed (column C): '4.5' has no unit\n"
            + SPEED
            + "  row       A,39 N 28 W,4.5,",
        ),
        (
            HEAD + "A,39 N 28 W,4 nm,\n" + LAST,
            "route.csv:2:3: speed (column C): '4 nm' is a length\n"
            + SPEED
            + "  row       A,39 N 28 W,4 nm,",
        ),
        (
            HEAD + "A,39 N 28 W,,\n" + LAST,
            "route.csv:2:3: speed (column C): no speed to the next waypoint\n"
            "  expected  4.5 kn, for example; or one speed for every leg in boat.toml under "
            "[passage]\n"
            "  row       A,39 N 28 W,,",
        ),
        (
            HEAD + "A,39 N 28 W,4 kn,-1 h\n" + LAST,
            "route.csv:2:4: stop (column D): '-1 h' is not between 0 days and 366 days\n"
            + STOP
            + "  row       A,39 N 28 W,4 kn,-1 h",
        ),
        (
            HEAD + "A,39 N 28 W,4 kn,3 days ashore\n" + LAST,
            "route.csv:2:4: stop (column D): cannot read '3 days ashore': unknown unit "
            "'days ashore'\n" + STOP + "  row       A,39 N 28 W,4 kn,3 days ashore",
        ),
        (
            HEAD + "A,38 N 28 W,4 kn,\n" + LAST,
            "route.csv:3:2: position (column B): 'B' is where 'A' is, with no stop at either\n"
            "  expected  another place, a stop, or one line less\n"
            "  row       B,38 N 28 W,,",
        ),
        (
            HEAD + "A,39 N 28 W,4 kn,\n",
            "route.csv:2: holds one waypoint\n"
            "  expected  two waypoints or more: where the passage begins and where it ends; or one "
            "with a stop, for example 21 days at anchor",
        ),
        (
            HEAD,
            "route.csv:1: no rows below the heading\n  expected  one row or more",
        ),
        (
            HEAD + ",39 N 28 W,4 kn,\n" + LAST,
            "route.csv:2:1: waypoint (column A): is empty\n"
            "  expected  its name, for example Horta\n"
            "  row       ,39 N 28 W,4 kn,",
        ),
        (
            "waypoint,speed\nA,4 kn\nB,\n",
            "route.csv:1: no column 'position'; found: waypoint, speed\n"
            "  expected  position, latitude and longitude",
        ),
        (
            "waypoint,lat,speed\nA,39 N,4 kn\nB,38 N,\n",
            "route.csv:1: no column 'lon'; found: waypoint, lat, speed\n  expected  lon, longitude",
        ),
        (
            "waypoint,position,lat,lon\nA,39 N 28 W,39,28\n",
            "route.csv: has both a column 'position' and columns 'lat' or 'lon'\n"
            "  expected  one way of writing positions",
        ),
        (
            "waypoint,position,speed,motoring\nA,39 N 28 W,4 kn,2 h\nB,38 N 28 W,,\n",
            "route.csv:2:4: motoring (column D): cannot read '2 h'\n"
            "  expected  time under power on the leg, for example 2 h at start; 3 h at end; "
            "60 % of calms\n"
            "  row       A,39 N 28 W,4 kn,2 h",
        ),
        (
            "waypoint,position,speed,cloud\nA,39 N 28 W,4 kn,9\nB,38 N 28 W,,\n",
            "route.csv:2:4: cloud (column D): '9' is not between 0 oktas and 8 oktas\n"
            "  expected  sky covered, in eighths, for example 6 oktas or 6/8\n"
            "  row       A,39 N 28 W,4 kn,9",
        ),
        (
            "waypoint,position,speed,tack\nA,39 N 28 W,4 kn,left\nB,38 N 28 W,,\n",
            "route.csv:2:4: tack (column D): 'left' is not known here\n"
            "  expected  port, starboard or both, for example starboard\n"
            "  row       A,39 N 28 W,4 kn,left",
        ),
        (  # 2 * 120 degrees * 60.04 nm / 0.2 kn = 3,002 days, and the stop
            HEAD + "A,60 N 28 W,0.2 kn,366 days\nB,60 S 28 W,0.2 kn,\nC,60 N 28 W,,\n",
            "route.csv: the passage would take 3,368 days\n"
            f"  expected  at most {LONGEST_PASSAGE_DAYS:,} days; are the speeds in knots?",
        ),
    ],
)
def test_a_mistake_is_told_in_a_sailors_words(route_file, text, message):
    assert route_file(text) == ((), (), [message])


def test_a_recorded_track_is_no_route(route_file):
    rows = "".join(f"p,{place / 100} N 28 W,4 kn,\n" for place in range(MOST_POINTS + 1))
    assert route_file(HEAD + rows)[2] == [
        "route.csv: holds 2,001 points\n"
        "  expected  a route of at most 2,000 waypoints, not a recorded track"
    ]


def test_read_route_raises_everything_in_one_error(write_file):
    path = write_file("route.csv", HEAD + "A,here,fast,\n" + LAST)
    with pytest.raises(InputError) as caught:
        read_route(path)
    assert str(caught.value) == (
        f"{path}:2:2: position (column B): 'here' is not a latitude\n{PLACE}"
        "  row       A,here,fast,\n"
        f"{path}:2:3: speed (column C): cannot read 'fast'\n{SPEED}"
        "  row       A,here,fast,"
    )
