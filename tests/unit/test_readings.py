"""The bank read at set times, and runs that end by the clock or by the ammeter: all by hand."""

from dataclasses import replace

import hand_worked
import numpy as np
import pytest
from builders import boat_of, calm_seas, passage_of
from one_step import OneStep, row_of

from powersim.kernel.plant import Rule
from powersim.kernel.readings import LOW, NOT_DUE, TO_FULL, due_by_reading
from powersim.kernel.rules import engine_runs
from powersim.records import Alternator, ChargingRule, DailyRun, Load
from powersim.simulation.allowed import reading_steps
from powersim.simulation.plant import plant_of
from powersim.simulation.prepare import prepare
from powersim.simulation.result import simulate
from powersim.simulation.state import start_state

TWICE = {"read_at_h": (6.0, 18.0), "start_soc": 0.61, "stop_soc": None, "run_h": 2.0}


def rule_with(**charging) -> Rule:
    return plant_of(boat_of(charging=TWICE | charging), step_h=0.25).rule


def asked(*, soc=0.60, state=(), reads=1.0, misread_soc=0.0, **charging):
    plant = plant_of(boat_of(charging=TWICE | charging), step_h=0.25)
    begin = start_state(plant, soc=0.6)._replace(**dict(state))
    row = row_of(reads=reads, misread_soc=misread_soc)
    return due_by_reading(begin, soc=soc, row=row, rule=plant.rule)


@pytest.mark.parametrize(
    ("soc", "misread_soc", "due"),
    [
        (0.60, 0.00, LOW),
        (0.60, 0.02, NOT_DUE),  # 60 + 2 % are read, more than 61 %
        (0.62, -0.02, LOW),  # 62 - 2 %
        (0.61, 0.0, LOW),  # at the level
        (0.62, 0.0, NOT_DUE),
    ],
)
def test_what_the_meter_shows_decides(soc, misread_soc, due):
    assert asked(soc=soc, misread_soc=misread_soc) == due


def test_a_later_reading_decides_anew():
    assert asked(soc=0.7, state={"due": LOW}, reads=2.0) == NOT_DUE
    assert asked(soc=0.6, state={"due": NOT_DUE}, reads=2.0) == LOW


WAITING = {"wait_below_soc": 0.80}


@pytest.mark.parametrize(
    ("soc", "before", "after"),
    [
        (0.81, -1.0, NOT_DUE),  # the sun, or a calm under engine, has done it
        (0.80, NOT_DUE, -1.0),  # the first low reading: wait
        (0.80, -1.0, LOW),  # the second running
        (0.62, -1.0, LOW),
        (0.61, NOT_DUE, LOW),  # at the start: at once, whatever was read before
        (0.70, LOW, LOW),  # it was due, and the hours were closed: no less low now
    ],
)
def test_a_rule_that_waits_runs_at_the_second_low_reading_or_at_once_further_down(
    soc, before, after
):
    assert asked(soc=soc, state={"due": before}, **WAITING) == after


def test_it_may_wait_for_more_readings_and_each_counts_with_its_own_error():
    thrice = WAITING | {"wait_readings": 3}
    assert asked(soc=0.7, state={"due": -1.0}, **thrice) == -2.0
    assert asked(soc=0.7, state={"due": -2.0}, **thrice) == LOW
    assert asked(soc=0.82, misread_soc=-0.03, state={"due": -2.0}, **thrice) == LOW
    assert asked(soc=0.79, misread_soc=0.03, state={"due": -2.0}, **thrice) == NOT_DUE


def test_what_was_read_low_is_kept_until_the_next_reading_and_starts_nothing():
    assert not step_with(state={"due": -1.0}, **WAITING).runs
    one = OneStep(boat_of(charging=TWICE | WAITING), soc=0.7, due=-1.0)
    one.take(may_run=True)
    assert one.state.due == -1.0


def test_a_calm_under_engine_saves_the_run_that_would_have_come():
    """By hand: 200 Ah at 70 %, no sun, 1 A of loads. Read at midnight below 80 %: wait. Without a
    calm it is at 70 - 18 / 2 = 61 % at 18:00, low the second time running: two hours from then on.
    An hour in gear on 30 A makes it 29 - 17 Ah more, 76 %; two make it 58 - 16 Ah more, 91 %, and
    at 18:00 nothing is due.
    """
    charging = {"read_at_h": (0.0, 18.0), "start_soc": 0.6, "run_h": 2.0, "wait_below_soc": 0.8}
    boat = hand_worked.boat_of(
        battery=hand_worked.bank_of(soc_at_departure=0.70),
        alternator=Alternator(charging_A=20.0, motoring_A=30.0),
        charging=ChargingRule(**charging),
    )
    passage = hand_worked.passage_of(boat=boat, loads=(Load(name="instruments", draw_A=1.0),))
    runs = {}
    for motored_h in (0.0, 1.0, 2.0):
        first, last = passage.waypoints
        legs = (replace(first, motoring_start_h=motored_h), last)
        engine = simulate(replace(passage, waypoints=legs), step_h=0.25).engine
        at_rest = engine[engine["kind"] == "charging"]
        runs[motored_h] = [
            (f"{run.start_utc:%d %H:%M}", round(run.run_h, 2), run.why)
            for run in at_rest.itertuples()
        ]
    assert runs[0.0][0] == runs[1.0][0] == ("01 18:00", 2.0, "low again at 18:00")
    assert not [run for run in runs[2.0] if run[0].startswith("01")]


def test_nothing_is_read_while_the_engine_charges():
    assert asked(soc=0.6, state={"running": True}) == NOT_DUE


@pytest.mark.parametrize(
    ("reads", "sun_Ah", "due"), [(2.0, 21.9, LOW), (2.0, 22.0, NOT_DUE), (1.0, 80.0, LOW)]
)
def test_a_later_reading_may_be_left_out_after_a_sunny_day(reads, sun_Ah, due):
    """The day's first one never is."""
    found = asked(reads=reads, state={"sun_Ah": sun_Ah}, little_sun_Ah=22.0)
    assert found == due


@pytest.mark.parametrize(
    ("days", "hour", "due"),
    [
        # Full at noon of day 0, read at 06:00: on the ninth day 8.75 days have gone, and so on.
        (8.75, 1.0, NOT_DUE),
        (9.75, 1.0, TO_FULL),  # the tenth
        (9.75, 2.0, NOT_DUE),  # at the day's first reading only
        (10.75, 1.0, NOT_DUE),
        (11.75, 1.0, TO_FULL),  # every second day
        (12.75, 1.0, NOT_DUE),
        (13.75, 1.0, TO_FULL),
    ],
)
def test_a_full_charge_is_due_on_the_tenth_day_and_every_second_one_after(days, hour, due):
    state = {"since_full_h": 24.0 * days}
    assert asked(soc=0.9, state=state, reads=hour, full_every_days=10.0) == due


def test_a_run_to_full_that_is_due_is_not_taken_back_by_a_later_reading():
    assert asked(soc=0.9, state={"due": TO_FULL}, reads=2.0, full_every_days=10.0) == TO_FULL


def step_with(*, state=(), row=(), **charging):
    plant = plant_of(boat_of(charging=TWICE | charging), step_h=0.25)
    begin = start_state(plant, soc=0.6)._replace(**dict(state))
    return engine_runs(
        state=begin,
        soc=0.6,
        falls_soc=0.0,
        row=row_of(**({"may_run": True} | dict(row))),
        able=True,
        rule=plant.rule,
        tail_A=3.7,
        step_h=0.25,
    )


def test_between_readings_a_low_bank_starts_nothing():
    assert not step_with().runs
    assert step_with(row={"reads": 1.0}).runs


def test_a_run_that_is_due_waits_for_its_hours_and_for_room_in_them():
    closed = step_with(state={"due": LOW}, row={"may_run": False})
    assert (closed.runs, closed.due) == (False, LOW)
    assert not step_with(state={"due": LOW}, row={"closes_h": 1.9}).runs
    assert step_with(state={"due": LOW}, row={"closes_h": 2.0}).runs


def test_a_run_to_full_has_bounds_of_its_own():
    """It fits where the shortest run does, and goes on after the two hours of the others."""
    due = {"due": TO_FULL}
    assert step_with(state=due, row={"closes_h": 0.5}).for_full
    on = {"running": True, "run_h": 2.0, "since_full_h": 250.0, "alternator_A": 9.0}
    assert step_with(state=on | {"for_full": True}).runs
    assert not step_with(state=on | {"for_full": False}).runs
    assert not step_with(state=on | {"for_full": True, "run_h": 8.0}).runs


@pytest.mark.parametrize(
    ("run_h", "ammeter_A", "goes_on"),
    [(0.25, 5.0, True), (0.5, 18.0, True), (0.5, 17.9, False), (4.0, 30.0, False)],
)
def test_a_run_by_amperes_goes_on_until_less_flows_within_its_bounds(run_h, ammeter_A, goes_on):
    """Half an hour at least, four hours at most."""
    state = {"running": True, "run_h": run_h, "ammeter_A": ammeter_A}
    assert step_with(state=state, run_h=None, stop_below_A=18.0).runs == goes_on


def test_the_ammeter_shows_what_flows_into_the_bank_gas_and_all():
    """15 A from the alternator, 5 A to the loads: 10 A, of which a part makes gas only."""
    boat = boat_of(charging=TWICE, panel_W=(), alternator={"charging_A": 15.0})
    one = OneStep(boat, soc=0.6, due=LOW)
    flow = one.take(may_run=True, load_A=(0.0, 5.0, 0.0, 0.0))
    assert flow.charging == 1.0
    assert one.state.ammeter_A == pytest.approx(flow.in_A) == pytest.approx(10.0)
    assert one.state.into_A == pytest.approx(flow.in_A - flow.gassing_A)
    assert flow.gassing_A > 0.0
    assert one.state.due == NOT_DUE


def test_a_timetables_run_does_what_a_reading_asked_for_but_does_not_fill():
    for due, left in ((LOW, NOT_DUE), (TO_FULL, TO_FULL)):
        one = OneStep(boat_of(charging=TWICE), soc=0.6, due=due)
        one.take(ordered=0.5, may_run=False)
        assert one.state.due == left


@pytest.mark.parametrize("step_h", [1.0 / 4.0, 1.0 / 3.0, 1.0])
def test_a_run_of_two_hours_is_two_hours_in_steps_of_any_length(step_h):
    """Left at 07:00 ship's time with 70 % of 187 Ah, 5 A going out, no sun.

    18:00: 55 Ah are gone, 29 points: 41 % are read, and she runs until 20:00, when the hours end.
    80 Ah more or less a loss make it about 80 %. 06:00: 50 Ah are gone, 27 points: at 54 % a run is
    due, and waits for 08:00. She arrives at 16:36.
    """
    passage = calm_seas(
        boat={"charging": TWICE, "battery": {"soc_at_departure": 0.7}, "engine": {}},
        loads=(Load(name="all", draw_A=5.0),),
        days=1.4,
    )
    result = simulate(passage, step_h=step_h)
    runs = result.engine
    assert runs["run_h"].tolist() == pytest.approx([2.0, 2.0], abs=1e-9)
    assert [f"{begin:%d %H:%M}" for begin in runs["ship_time"]] == ["05 18:00", "06 08:00"]
    assert runs["why"].tolist() == ["read at 18:00", "read at 06:00"]


def test_the_other_reasons_for_a_run():
    """Full at departure, on Saturday at 07:00 ship's time: on Monday a full charge is due."""
    daily = (DailyRun(at_h=17.0, run_h=1.0),)
    charging = TWICE | {"start_soc": 0.3, "full_every_days": 2.0, "daily": daily}
    passage = calm_seas(boat={"charging": charging, "engine": {}}, days=2.5)
    runs = simulate(passage, step_h=1.0).engine
    said = list(zip(runs["ship_time"].dt.strftime("%a %H:%M"), runs["why"], strict=True))
    assert said == [
        ("Sat 17:00", "by the clock"),
        ("Sun 17:00", "by the clock"),
        ("Mon 08:00", "full charge due"),
        ("Mon 17:00", "by the clock"),
    ]


def track_of(passage):
    return prepare(passage, step_h=1.0 / 12.0).sun_track


def test_readings_fall_into_the_step_that_has_their_time():
    track = track_of(passage_of(boat=boat_of(charging=TWICE), days=2.0))
    clock_h = (track.edge_utc_s[:-1] / 3600.0 + track.ship_offset_h) % 24.0
    reads = reading_steps((6.0, 18.0), track, 1)
    assert clock_h[reads == 1.0] == pytest.approx(6.0)
    assert clock_h[reads == 2.0] == pytest.approx(18.0)
    assert (reads > 0.0).sum() == 4
    # In steps of an hour 18:20 falls into the one from 18:00 on.
    hourly = reading_steps((18.0 + 1.0 / 3.0,), track, 12)
    assert clock_h[::12][hourly > 0.0] == pytest.approx(18.0)
    assert not reading_steps((), track, 12).any()


@pytest.mark.parametrize("eastward", [True, False])
def test_a_new_zone_neither_loses_nor_doubles_a_reading(eastward):
    """The clock is set an hour on or back at the very time of a reading, in a day of five."""
    passage = passage_of(boat=boat_of(charging=TWICE), days=5.0)
    track = track_of(passage)
    steps = np.arange(track.n_steps)
    jumps = np.where(steps >= 12 * 60, 1.0, 0.0) * (1.0 if eastward else -1.0)
    at_h = (track.edge_utc_s[12 * 60] / 3600.0) % 24.0  # as the old clock has it
    moved = replace(track, ship_offset_h=jumps)
    for reading_h in (at_h % 24.0, (at_h + 0.5) % 24.0, (at_h - 0.5) % 24.0):
        reads = reading_steps((reading_h,), moved, 1)
        assert 5 <= (reads > 0.0).sum() <= 6
        apart_h = np.diff(np.flatnonzero(reads)) / 12.0
        assert apart_h.min() >= 22.9
        assert apart_h.max() <= 25.1


def test_the_date_line_is_no_reason_to_read():
    passage = passage_of(boat=boat_of(charging=TWICE), days=3.0)
    track = track_of(passage)
    crossed = np.where(np.arange(track.n_steps) >= 400, -12.0, 12.0)
    reads = reading_steps((6.0,), replace(track, ship_offset_h=crossed), 1)
    assert (reads > 0.0).sum() == 3


def test_one_thing_ends_a_run():
    for ends in ({}, {"stop_soc": 0.8, "run_h": 2.0}, {"run_h": 2.0, "stop_below_A": 9.0}):
        with pytest.raises(ValueError, match="one of stop_soc, run_h and stop_below_A"):
            ChargingRule(start_soc=0.6, **ends)


@pytest.mark.parametrize("times", [(18.0, 6.0), (6.0, 6.0), (24.0,), (1.0, 2.0, 3.0, 4.0, 5.0)])
def test_times_of_reading_are_a_few_and_in_order(times):
    with pytest.raises(ValueError, match="read_at_h must be"):
        ChargingRule(start_soc=0.6, stop_soc=0.8, read_at_h=times)
