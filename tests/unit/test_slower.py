"""The rest of a passage, sailed more slowly: places, dates, stops, and hours under engine."""

from dataclasses import replace
from datetime import timedelta

import pytest
from builders import passage_of

from powersim.planning.slower import slowed
from powersim.records import Waypoint
from powersim.simulation.prepare import prepare

#: A day at 5 kn, twelve hours at anchor, and half a day more.
WAYPOINTS = (
    Waypoint(
        name="A",
        lat_deg=40.0,
        lon_deg=-30.0,
        speed_kn=5.0,
        motoring_start_h=4.0,
        motoring_end_h=1.0,
    ),
    Waypoint(name="B", lat_deg=38.0, lon_deg=-30.0, speed_kn=6.0, stop_h=12.0),
    Waypoint(name="C", lat_deg=37.0, lon_deg=-30.0),
)


@pytest.fixture(scope="module")
def passage():
    return passage_of(waypoints=WAYPOINTS)


@pytest.fixture(scope="module")
def track(passage):
    return prepare(passage).track


def test_from_departure(passage, track):
    slow = slowed(passage, track, step=0, factor=1.5)
    assert slow.depart_utc == passage.depart_utc
    assert [one.speed_kn for one in slow.waypoints] == [5.0 / 1.5, 6.0 / 1.5, None]
    assert replace(slow.waypoints[0], speed_kn=5.0) == WAYPOINTS[0]
    assert slow.waypoints[2] == WAYPOINTS[2]
    # The stop is as long as it was.
    sea_h = track.arrival_h - 12.0
    assert prepare(slow).track.arrival_h == pytest.approx(1.5 * sea_h + 12.0)


def test_from_the_middle_of_a_leg(passage, track):
    """Three hours out: an hour of motoring is still to come, and 15 of the miles are sailed."""
    slow = slowed(passage, track, step=12, factor=2.0)
    here = slow.waypoints[0]
    assert slow.depart_utc == passage.depart_utc + timedelta(hours=3)
    assert here.lat_deg == pytest.approx(40.0 - 15.0 / 60.0, abs=2e-3)
    assert (here.motoring_start_h, here.motoring_end_h, here.stop_h) == (1.0, 1.0, 0.0)
    assert prepare(slow).track.arrival_h == pytest.approx(
        2.0 * (track.arrival_h - 12.0 - 3.0) + 12.0, abs=1e-6
    )


def test_from_a_stop(passage, track):
    """Four hours before she weighs anchor."""
    reached_h = track.arrival_h - 12.0 - 60.0 / 6.0
    step = round((reached_h + 8.0) / track.step_h)
    slow = slowed(passage, track, step=step, factor=1.5)
    assert [one.name for one in slow.waypoints] == ["B", "C"]
    assert slow.waypoints[0].stop_h == pytest.approx(4.0, abs=0.3)
    assert slow.waypoints[0].lat_deg == 38.0


def test_the_same_pace_arrives_on_the_same_day(passage, track):
    for step in (0, 30, 97, 120, track.n_steps - 6):
        same = slowed(passage, track, step=step, factor=1.0)
        assert prepare(same).track.arrival_h == pytest.approx(
            track.arrival_h - step * track.step_h, abs=1e-6
        )
