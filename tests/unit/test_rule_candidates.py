"""Rules worth trying keep to what the boat asks of any rule."""

from dataclasses import replace

import pytest
from builders import boat_of, passage_of

from powersim.planning.rule_candidates import (
    HIGHEST_STOP_SOC,
    at_level,
    kinds,
    least_start,
    neighbours,
    never_charge,
)
from powersim.records import ChargingRule
from powersim.simulation.prepare import prepare

ASKED = {"hours_h": (7.0, 19.0), "shortest_h": 0.75, "longest_h": 1.5, "full_every_days": 9.0}


@pytest.fixture(scope="module")
def track():
    """Ten days due south from 40 N, over 20 degrees of latitude."""
    return prepare(passage_of(days=10.0), step_h=1.0).track


def within(hours_h, allowed_h):
    return allowed_h[0] <= hours_h[0] < hours_h[1] <= allowed_h[1]


def test_every_kind_and_its_kin_keep_hours_runs_and_interval(track):
    boat = boat_of(charging=ASKED)
    first = kinds(boat, track)
    for rule in [*first, *(near for one in first for near in neighbours(one, boat))]:
        assert within(rule.hours_h, ASKED["hours_h"])
        assert (rule.shortest_h, rule.longest_h) == (0.75, 1.5)
        assert 1 <= rule.full_every_days <= 9.0
        assert rule.start_soc >= boat.battery.floor_soc
        assert rule.stop_soc <= HIGHEST_STOP_SOC
        for run in rule.daily:
            assert 0.75 <= run.run_h <= 1.5
            assert run.at_h >= 7.0
            assert run.at_h + run.run_h <= 19.0


def test_daily_runs_begin_and_end_at_latitudes_that_are_crossed(track):
    edges = {
        edge
        for rule in kinds(boat_of(), track)
        for run in rule.daily
        for edge in (run.south_deg, run.north_deg)
    }
    assert edges == {-90.0, 90.0, 25.0, 30.0, 35.0}


def test_few_allowed_hours_have_no_morning_of_their_own(track):
    boat = boat_of(charging={"hours_h": (8.0, 12.5)})
    assert {rule.hours_h for rule in kinds(boat, track)} == {(8.0, 12.5)}


def test_hours_over_midnight_begin_in_the_evening(track):
    boat = boat_of(charging={"hours_h": (22.0, 6.0)})
    assert {rule.hours_h for rule in kinds(boat, track)} == {(22.0, 6.0), (22.0, 2.0)}


def test_a_shared_starting_battery_keeps_starts_up(track):
    lithium = {"chemistry": "lifepo4", "battery": {"floor_soc": 0.2}}
    assert least_start(boat_of(**lithium)) == pytest.approx(0.2)
    shared = boat_of(**lithium, engine={"start_battery": "shared"})
    assert least_start(shared) == pytest.approx(0.4)
    assert min(rule.start_soc for rule in kinds(shared, track)) == pytest.approx(0.4)


def test_a_level_is_moved_with_its_stop():
    rule = at_level(ChargingRule(start_soc=0.5, stop_soc=0.6), 0.7)
    assert (rule.start_soc, rule.stop_soc) == pytest.approx((0.7, 0.8))


def test_a_level_near_the_top_gives_way():
    rule = at_level(ChargingRule(start_soc=0.5, stop_soc=0.7), 0.9)
    assert (rule.start_soc, rule.stop_soc) == pytest.approx((0.9, HIGHEST_STOP_SOC))
    rule = at_level(rule, 0.99)
    assert rule.start_soc < rule.stop_soc == HIGHEST_STOP_SOC


def test_never_means_not_by_the_clock_either():
    boat = boat_of()
    boat = replace(boat, charging=replace(boat.charging, full_every_days=7.0))
    rule = never_charge(boat)
    assert (rule.by_engine, rule.daily, rule.full_every_days) == (False, (), None)
