"""Rules worth trying keep to what the boat asks of any rule."""

from dataclasses import replace

import pytest
from builders import boat_of, passage_of

from powersim.planning.rule_candidates import (
    HIGHEST_STOP_SOC,
    at_level,
    at_percent,
    gap_of,
    highest_start,
    kinds,
    least_start,
    neighbours,
    never_charge,
)
from powersim.records import Assumption, ChargingRule
from powersim.simulation.prepare import prepare

ASKED = {"hours_h": (7.0, 19.0), "shortest_h": 0.75, "longest_h": 1.5, "full_every_days": 9.0}


FROM_FILE = Assumption(place="boat.toml charging.read_at", value="06:00", reason="ours")


def passage_with(boat, *, days=10.0, **given):
    """Ten days due south from 40 N, over 20 degrees of latitude."""
    return passage_of(boat=boat, days=days, **given)


def kinds_of(boat, **given):
    passage = replace(passage_with(boat), **given)
    return kinds(passage, prepare(passage, step_h=1.0))


def all_of(boat, **given):
    first = kinds_of(boat, **given)
    return [*first, *(near for one in first for near in neighbours(one, boat))]


def test_every_kind_and_its_kin_keep_hours_runs_and_interval():
    boat = boat_of(charging=ASKED)
    for rule in all_of(boat):
        assert rule.hours_h == ASKED["hours_h"]
        # By amperes an hour at least.
        assert rule.shortest_h == (0.75 if rule.stop_below_A is None else 1.0)
        assert rule.longest_h == 1.5
        assert rule.full_every_days is None or 1 <= rule.full_every_days <= 9.0
        assert rule.start_soc >= boat.battery.floor_soc
        assert rule.run_h is None or 0.75 <= rule.run_h <= 1.5
        assert rule.stop_soc is None or rule.stop_soc <= HIGHEST_STOP_SOC
        for run in rule.daily:
            assert 0.75 <= run.run_h <= 1.5
            assert run.at_h >= 7.0
            assert run.at_h + run.run_h <= 19.0


def test_a_stop_can_be_told_from_its_start_and_by_volts_none_is_asked_for():
    counted = boat_of(battery={"reading": "monitor"})
    gaps = {round(gap_of(rule), 4) for rule in all_of(counted) if rule.stop_soc is not None}
    assert min(gaps) == 0.05
    # No voltmeter tells a level while something charges.
    assert {rule.stop_soc for rule in all_of(boat_of())} == {None}


def test_runs_end_by_the_clock_by_amperes_or_at_a_level():
    ends = {(rule.run_h, rule.stop_below_A) for rule in kinds_of(boat_of()) if not rule.stop_soc}
    # Four tenths of the alternator's 45 A.
    assert {(1.5, None), (2.0, None), (3.0, None), (None, 18.0)} <= ends


def test_where_no_run_of_ours_fits_the_longest_is_taken():
    boat = boat_of(charging={"shortest_h": 0.5, "longest_h": 1.0})
    assert {rule.run_h for rule in kinds_of(boat)} == {1.0, None}


def test_the_bank_is_read_when_boat_toml_says_and_times_are_tried_where_it_does_not():
    boat = boat_of(charging={"read_at_h": (5.0,)})
    assert {rule.read_at_h for rule in kinds_of(boat)} == {(5.0,)}
    tried = {rule.read_at_h for rule in kinds_of(boat, assumptions=(FROM_FILE,))}
    assert tried == {(6.0,), (18.0,), (6.0, 18.0)}
    # From 18:00 to 18:30 there is no room for any run, and 06:00 comes before the next hours.
    early = boat_of(charging={"hours_h": (8.0, 18.5)})
    assert {rule.read_at_h for rule in kinds_of(early, assumptions=(FROM_FILE,))} == {
        (6.0,),
        (18.0,),
    }


def test_where_the_evening_has_room_for_an_hour_alone_no_longer_run_is_asked_for_then():
    """From 18:00 to 19:00: by amperes, which may be an hour, or by a rule that counts readings."""
    boat = boat_of(charging={"hours_h": (8.0, 19.0)})
    twice = [
        rule
        for rule in kinds_of(boat, assumptions=(FROM_FILE,))
        if len(rule.read_at_h) == 2 and not rule.daily
    ]
    assert {rule.run_h for rule in twice if rule.wait_below_soc is None} == {None}
    assert {rule.run_h for rule in twice if rule.wait_below_soc is not None} == {None, 2.0}


def test_rules_that_wait_are_tried_where_the_bank_is_read_more_than_once_a_day():
    for times_h, waits in (((6.0,), False), ((6.0, 18.0), True)):
        for reading, levels in (("volts", False), ("monitor", True)):
            boat = boat_of(charging={"read_at_h": times_h}, battery={"reading": reading})
            waiting = [rule for rule in all_of(boat) if rule.wait_below_soc is not None]
            assert bool(waiting) == waits
            assert any(rule.stop_soc for rule in waiting) == (waits and levels)
            for rule in waiting:
                assert rule.start_soc < rule.wait_below_soc < (rule.stop_soc or 1.0)


def test_the_level_that_a_rule_waits_below_moves_with_its_start_and_stays_below_its_stop():
    rule = ChargingRule(start_soc=0.5, stop_soc=0.75, wait_below_soc=0.7)
    moved = at_level(rule, 0.6)
    assert (moved.start_soc, moved.wait_below_soc, moved.stop_soc) == pytest.approx(
        (0.6, 0.8, 0.85)
    )
    high = at_level(rule, 0.85)
    assert high.start_soc < high.wait_below_soc < high.stop_soc <= HIGHEST_STOP_SOC
    assert highest_start(rule) == pytest.approx(HIGHEST_STOP_SOC - 0.25)
    whole = at_percent(rule, 61)
    assert (whole.start_soc, whole.wait_below_soc, whole.stop_soc) == (0.61, 0.81, 0.86)


def test_little_sun_is_asked_after_where_there_are_panels_and_a_second_reading():
    boat = boat_of(charging={"read_at_h": (6.0, 18.0)})
    assert {rule.little_sun_Ah is None for rule in kinds_of(boat)} == {True, False}
    bare = boat_of(charging={"read_at_h": (6.0, 18.0)}, panel_W=())
    assert {rule.little_sun_Ah for rule in kinds_of(bare)} == {None}


def test_full_charges_are_asked_for_or_not_and_sooner_in_the_end():
    boat = boat_of(charging={"full_every_days": 10.0})
    assert {rule.full_every_days for rule in kinds_of(boat)} == {None, 10.0}
    assert {rule.full_every_days for rule in all_of(boat)} == {None, 10.0, 9.0, 7.0}
    assert {rule.full_every_days for rule in all_of(boat_of())} == {None}


def test_daily_runs_begin_and_end_at_latitudes_that_are_crossed():
    edges = {
        edge
        for rule in kinds_of(boat_of())
        for run in rule.daily
        for edge in (run.south_deg, run.north_deg)
    }
    assert edges == {-90.0, 90.0, 25.0, 35.0}


def test_a_shared_starting_battery_keeps_starts_up():
    lithium = {"chemistry": "lifepo4", "battery": {"floor_soc": 0.2}}
    assert least_start(boat_of(**lithium)) == pytest.approx(0.2)
    shared = boat_of(**lithium, engine={"start_battery": "shared"})
    assert least_start(shared) == pytest.approx(0.4)
    assert min(rule.start_soc for rule in kinds_of(shared)) == pytest.approx(0.4)


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
