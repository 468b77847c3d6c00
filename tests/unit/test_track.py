"""Tracks: times, states, motoring, and the places where longitude or latitude runs out."""

from dataclasses import replace

import numpy as np
import pytest

from powersim.records import BOAT_STATES, Waypoint
from powersim.voyage.track import track_of

DEPART_S = 1798758000.0  # 31 December 2026 23:00 UTC: every track here crosses a year's end
SAILING, MOTORING, ANCHORED, BERTHED = (
    BOAT_STATES.index(name) for name in ("sailing", "motoring", "anchored", "berthed")
)


def waypoint(lat_deg, lon_deg, speed_kn=5.0, **given):
    return Waypoint(name="w", lat_deg=lat_deg, lon_deg=lon_deg, speed_kn=speed_kn, **given)


def sail(*waypoints, step_h=0.25, **given):
    return track_of(waypoints, depart_utc_s=DEPART_S, step_h=step_h, **given)


def hours_in(track, state):
    return track.step_h * np.count_nonzero(track.state == state)


def test_a_day_north_along_a_meridian():
    """One degree of latitude from 30 N is 110 862 m or 59.86 miles (Bowditch, Table of minutes:
    59.85): at 6 knots 9.98 hours, held at anchor to the end of the tenth.
    """
    track = sail(waypoint(30.0, -20.0, 6.0), waypoint(31.0, -20.0))
    assert track.sailed_nm[-1] == pytest.approx(59.86, abs=0.01)
    assert track.arrival_h == pytest.approx(9.977, abs=0.002)
    assert track.n_steps == 40
    assert np.all(track.state[:40] == SAILING)
    assert track.speed_kn == pytest.approx(6.0)
    assert np.sin(np.radians(track.course_deg)) == pytest.approx(0.0, abs=1e-9)
    assert track.edge_lat_deg[[0, -1]] == pytest.approx([30.0, 31.0])
    halfway_deg = 0.5 * (track.edge_lat_deg[1:] + track.edge_lat_deg[:-1])
    assert track.lat_deg[:-1] == pytest.approx(halfway_deg[:-1], abs=1e-6)
    assert track.sailed_nm[:-1] == pytest.approx(6.0 * 0.25 * np.arange(40))
    assert track.edge_utc_s[-1] - DEPART_S == 36000.0
    assert track.mid_utc_s[0] - DEPART_S == 450.0


def test_stops_take_their_own_state_and_no_way():
    first = waypoint(0.0, 0.0, 6.0, stop_h=3.0, stop_state="berthed", heel_deg=12.0)
    last = waypoint(0.0, 1.0, None, stop_h=5.0)
    track = sail(first, last, hold_h=2.0)
    stopped = track.speed_kn == 0.0
    assert hours_in(track, BERTHED) == 3.0
    assert np.all(track.state[:12] == BERTHED)
    assert track.arrival_h == pytest.approx(3.0 + 60.108 / 6.0, abs=0.001)
    # 13.02 hours to landfall, then 5 and 2 at anchor, then to the full hour.
    assert track.n_steps * track.step_h == 21.0
    assert np.all(track.state[-28:] == ANCHORED)
    assert np.array_equal(stopped, (track.state == BERTHED) | (track.state == ANCHORED))
    assert np.all(track.heel_deg == np.where(stopped, 0.0, 12.0))
    assert np.all(track.leg == np.where(track.state == ANCHORED, 1, 0))
    assert track.edge_lon_deg[0] == track.edge_lon_deg[12] == 0.0


@pytest.mark.parametrize(
    ("state", "heel_deg", "tack"), [("hove-to", 12.0, 1), ("drifting", 0.0, 0)]
)
def test_a_boat_that_waits_at_sea_makes_no_way_and_heels_only_with_sails_up(state, heel_deg, tack):
    waits = {"stop_h": 6.0, "stop_state": state, "heel_deg": 12.0, "tack": "starboard"}
    track = sail(waypoint(0.0, 0.0, 5.0), waypoint(0.0, 1.0, 5.0, **waits), waypoint(0.0, 2.0))
    waiting = track.state == BOAT_STATES.index(state)
    assert hours_in(track, BOAT_STATES.index(state)) == 6.0
    assert np.all(track.speed_kn[waiting] == 0.0)
    assert np.ptp(track.lon_deg[waiting]) == 0.0
    assert set(track.heel_deg[waiting]) == {heel_deg}
    assert set(track.tack[waiting]) == {tack}
    # The stop moves landfall by its own length and by nothing else.
    assert track.arrival_h == pytest.approx(2 * 60.108 / 5.0 + 6.0, abs=0.001)


def test_what_the_leg_says_is_found_on_its_steps():
    there = {"wind_m_s": 8.0, "cabin_C": 17.0, "cloud_oktas": 5.0, "tack": "port"}
    track = sail(
        waypoint(0.0, 0.0, stop_h=2.0, **there),
        waypoint(0.0, 1.0, tack="starboard"),
        waypoint(1.0, 1.0, None),
    )
    first = track.leg == 0
    for name in ("wind_m_s", "cabin_C", "cloud_oktas"):
        assert np.all(getattr(track, name)[first] == there[name])
        assert np.all(np.isnan(getattr(track, name)[~first]))
    assert set(track.tack[first & (track.speed_kn > 0)]) == {-1}
    assert set(track.tack[track.speed_kn == 0]) == {0}
    assert set(track.tack[(track.leg == 1)]) == {1}


def test_miles_add_up_over_legs_and_stops():
    """A degree of longitude on the equator is 60.108 miles."""
    track = sail(waypoint(0.0, 0.0), waypoint(0.0, 1.0, stop_h=6.0), waypoint(0.0, 3.0, None))
    assert track.sailed_nm[-1] == pytest.approx(3 * 60.108, abs=0.001)
    assert np.all(np.diff(track.sailed_nm) >= 0.0)
    assert track.sailed_nm == pytest.approx(60.108 * track.edge_lon_deg, abs=0.001)
    assert track.arrival_h == pytest.approx(6.0 + 3 * 60.108 / 5.0, abs=0.001)


def test_hours_under_power_are_at_the_ends_and_upright():
    track = sail(
        waypoint(0.0, 0.0, motoring_start_h=2.0, motoring_end_h=1.5), waypoint(0.0, 2.0, None)
    )
    assert hours_in(track, MOTORING) == 3.5
    assert np.all(track.state[:8] == MOTORING)
    under_way = np.flatnonzero(track.speed_kn > 0)
    assert np.all(track.state[under_way[-6:]] == MOTORING)
    assert np.all(track.heel_deg[track.state == MOTORING] == 0.0)
    assert np.all(track.heel_deg[track.state == SAILING] == 10.0)


def test_more_hours_under_power_than_the_leg_has_fill_it():
    track = sail(
        waypoint(0.0, 0.0, motoring_start_h=20.0, motoring_end_h=20.0), waypoint(0.0, 1.0, None)
    )
    assert np.all(track.state[track.speed_kn > 0] == MOTORING)


def calm_in_the_north(lat_deg, lon_deg, utc_s, *, below_kn):
    assert below_kn == 5.0
    return np.where(lat_deg > 5.0, 0.4, 0.1)


def test_calms_are_motored_in_spells_where_they_are():
    """10 degrees at 5 knots are 119.4 hours: 60 with 10 % and 60 with 40 % of calms, half motored:
    0.5 x (59.7 x 0.1 + 59.7 x 0.4) = 14.9 hours, 12 of them in the calmer half.
    """
    calms = waypoint(0.0, 0.0, motoring_calm_frac=0.5)
    track = sail(calms, waypoint(10.0, 0.0, None), calm_frac=calm_in_the_north)
    motored = track.state == MOTORING
    assert hours_in(track, MOTORING) == pytest.approx(14.9, abs=0.13)
    assert track.step_h * np.count_nonzero(motored & (track.lat_deg > 5)) == pytest.approx(
        12.0, abs=1.5
    )
    spells_h = track.step_h * np.diff(np.flatnonzero(np.diff(np.pad(motored.astype(int), 1))))[::2]
    assert spells_h == pytest.approx(3.0, abs=0.5)
    assert len(spells_h) == 5


def test_what_counts_as_calm_is_the_legs():
    """Twice as many hours below 7 knots as below 5, say: half of them motored are twice as many."""

    def calm_frac(lat_deg, lon_deg, utc_s, *, below_kn):
        return np.full(lat_deg.size, {5.0: 0.1, 7.0: 0.2}[below_kn])

    first, second = waypoint(0.0, 0.0, motoring_calm_frac=0.5), waypoint(0.0, 10.0, None)
    tracks = [
        sail(replace(first, calm_kn=below_kn), second, calm_frac=calm_frac)
        for below_kn in (5.0, 7.0)
    ]
    few, many = (hours_in(track, MOTORING) for track in tracks)
    assert many == pytest.approx(2.0 * few, abs=0.3)
    assert tracks[1].calm_motoring_frac.max() == pytest.approx(0.1)
    assert (tracks[1].calm_frac.max(), tracks[1].calm_share.max()) == (0.2, 0.5)


def test_motoring_changes_neither_track_nor_arrival():
    plain = sail(waypoint(0.0, 0.0), waypoint(10.0, 0.0, None))
    calms = waypoint(0.0, 0.0, motoring_calm_frac=1.0, motoring_start_h=5.0)
    powered = sail(calms, waypoint(10.0, 0.0, None), calm_frac=calm_in_the_north)
    assert powered.arrival_h == plain.arrival_h
    for name in ("lat_deg", "lon_deg", "sailed_nm", "speed_kn"):
        assert np.array_equal(getattr(powered, name), getattr(plain, name))


def test_calms_without_their_share_are_refused():
    with pytest.raises(ValueError, match="needs calm_frac"):
        sail(waypoint(0.0, 0.0, motoring_calm_frac=0.5), waypoint(1.0, 0.0, None))


@pytest.mark.parametrize("line", ["great circle", "rhumb"])
@pytest.mark.parametrize("west", [179.5, -179.5])
def test_the_date_line_is_crossed_the_short_way(line, west):
    """One degree of longitude at 20 S is 104 647 m, 56.5 miles, either way."""
    track = sail(waypoint(-20.0, west, track=line), waypoint(-20.0, -west, None))
    assert track.sailed_nm[-1] == pytest.approx(56.5, abs=0.01)
    assert np.abs(track.edge_lon_deg).min() >= 179.49
    assert np.all(np.abs(track.lon_deg) <= 180.0)
    assert np.ptp(track.lat_deg) < 0.01


@pytest.mark.parametrize("line", ["great circle", "rhumb"])
def test_a_track_over_the_date_line_is_the_same_track_shifted(line):
    """Turned by 180 degrees of longitude the same leg crosses Greenwich."""
    over = sail(waypoint(-20.0, 175.0, track=line), waypoint(-35.0, -170.0, None))
    greenwich = sail(waypoint(-20.0, -5.0, track=line), waypoint(-35.0, 10.0, None))
    assert over.lat_deg == pytest.approx(greenwich.lat_deg, abs=1e-9)
    assert np.mod(over.lon_deg, 360.0) == pytest.approx(greenwich.lon_deg + 180.0, abs=1e-9)
    assert over.course_deg == pytest.approx(greenwich.course_deg, abs=1e-9)


def test_the_pole_is_crossed():
    track = sail(waypoint(89.0, 0.0), waypoint(89.0, 180.0, None))
    assert track.edge_lat_deg.max() > 89.95
    assert track.sailed_nm[-1] == pytest.approx(120.6, abs=0.1)  # twice 111 694 m
    assert np.all(np.isfinite(track.course_deg))


@pytest.mark.parametrize("lat_deg", [90.0, -90.0])
def test_a_rhumb_line_to_a_pole_is_a_meridian(lat_deg):
    start = 0.9 * lat_deg
    track = sail(waypoint(start, 30.0, track="rhumb"), waypoint(lat_deg, -100.0, None))
    assert track.edge_lat_deg[-1] == pytest.approx(lat_deg, abs=1e-6)
    assert track.lon_deg[:-8] == pytest.approx(30.0)
    away = sail(waypoint(lat_deg, -100.0, track="rhumb"), waypoint(start, 30.0, None))
    assert away.lon_deg[4:] == pytest.approx(30.0)
    assert away.arrival_h == pytest.approx(track.arrival_h)


def test_the_shortest_passage_is_an_hour():
    track = sail(waypoint(10.0, 10.0, 40.0), waypoint(10.0, 10.001, None), step_h=1.0)
    assert track.n_steps == 1
    assert track.edge_lon_deg == pytest.approx([10.0, 10.001])
    assert track.state.tolist() == [ANCHORED]
    assert track.arrival_h < 0.01


def test_steps_that_do_not_fit_the_hour_cover_it():
    track = sail(waypoint(0.0, 0.0), waypoint(0.0, 1.0, None), step_h=0.35)
    assert 13.0 <= track.n_steps * track.step_h < 13.35


def test_two_waypoints_in_one_place_lose_nothing():
    here = waypoint(0.0, 0.0, stop_h=1.0)
    track = sail(here, here, waypoint(0.0, 1.0, None))
    assert track.arrival_h == pytest.approx(2.0 + 60.108 / 5.0, abs=0.001)
    assert np.all(np.isfinite(track.course_deg))


def test_ship_time_follows_the_boat_or_the_owner():
    west = (waypoint(0.0, -20.0), waypoint(0.0, -25.0, None))
    zones = sail(*west)
    assert zones.ship_offset_h[[0, -1]].tolist() == [-1.0, -2.0]
    assert zones.lon_deg[np.argmax(zones.ship_offset_h == -2.0)] == pytest.approx(-22.5, abs=0.03)
    assert set(sail(*west, ship_offset_h=-0.5).ship_offset_h) == {-0.5}
