"""Hours under power at the ends of a passage count once, wherever its waypoints lie."""

import pytest

from powersim.inputs.passage_ends import motored_at_ends
from powersim.records import Waypoint

HOURS = {"motoring_start_h": 2.0, "motoring_end_h": 3.0}


def route(*lengths_nm, stops_h=()):
    """Waypoints due south at 5 kn, so many miles apart."""
    lat_deg, found = 40.0, []
    stops_h = dict(stops_h)
    for place, length_nm in enumerate((*lengths_nm, None)):
        speed_kn = None if length_nm is None else 5.0
        stop_h = stops_h.get(place, 0.0)
        found.append(
            Waypoint(
                name="ABCDEFG"[place],
                lat_deg=lat_deg,
                lon_deg=-30.0,
                speed_kn=speed_kn,
                stop_h=stop_h,
            )
        )
        lat_deg -= (length_nm or 0.0) / 60.0
    return tuple(found)


def hours(waypoints):
    return (
        [waypoint.motoring_start_h for waypoint in waypoints[:-1]],
        [waypoint.motoring_end_h for waypoint in waypoints[:-1]],
    )


def test_they_count_once_a_passage_and_not_once_a_leg():
    """Three legs of 20 h: five hours under power, where fifteen were counted."""
    start_h, end_h = hours(motored_at_ends(route(100, 100, 100), HOURS))
    assert (start_h, end_h) == ([2.0, 0.0, 0.0], [0.0, 0.0, 3.0])


def test_what_a_short_leg_has_no_room_for_goes_on_in_the_next():
    """By hand at 5 kn: 5 nm are 1 h at the start; at the end 10 nm are 2 h."""
    start_h, end_h = hours(motored_at_ends(route(5, 100, 10), HOURS))
    assert start_h == pytest.approx([1.0, 1.0, 0.0], abs=0.01)
    assert end_h == pytest.approx([0.0, 1.0, 2.0], abs=0.01)


def test_they_do_not_go_on_past_a_stop():
    start_h, end_h = hours(motored_at_ends(route(5, 100, 10, stops_h={1: 24, 2: 24}), HOURS))
    assert start_h == pytest.approx([1.0, 0.0, 0.0], abs=0.01)
    assert end_h == pytest.approx([0.0, 0.0, 2.0], abs=0.01)


def test_a_stop_before_departure_or_after_landfall_is_none_between():
    start_h, end_h = hours(motored_at_ends(route(100, 100, stops_h={0: 24, 2: 24}), HOURS))
    assert (start_h, end_h) == ([2.0, 0.0], [0.0, 3.0])


def test_what_the_route_itself_says_of_a_leg_takes_their_place():
    start_h, end_h = hours(motored_at_ends(route(100, 100, 100), HOURS, own={0}))
    assert (start_h, end_h) == ([0.0, 0.0, 0.0], [0.0, 0.0, 3.0])


def test_start_and_end_share_a_passage_of_one_leg():
    assert hours(motored_at_ends(route(100), HOURS)) == ([2.0], [3.0])
    # Too much for a passage of 4 h stays too much, for check to say so.
    assert hours(motored_at_ends(route(20), HOURS)) == ([2.0], [3.0])


def test_a_track_with_a_point_every_mile_motors_as_long():
    start_h, end_h = hours(motored_at_ends(route(*[1] * 6), {"motoring_start_h": 0.5}))
    assert sum(start_h) == pytest.approx(0.5)
    assert start_h[:3] == pytest.approx([0.2, 0.2, 0.1], abs=0.01)
    assert sum(end_h) == 0.0


def test_a_gpx_takes_them_once_too(write_file):
    from powersim.inputs.gpx import collect_gpx

    points = "".join(f'<rtept lat="{lat}" lon="-30"/>' for lat in (40, 39, 38))
    path = write_file("route.gpx", f'<gpx version="1.1" creator="x"><rte>{points}</rte></gpx>')
    waypoints, _, problems = collect_gpx(path, leg={"speed_kn": 5.0} | HOURS)
    assert problems == ()
    assert hours(waypoints) == ([2.0, 0.0], [0.0, 3.0])
