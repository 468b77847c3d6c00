"""The decisions of a step, one by one, and the charging rule over whole passages."""

import math

import pytest
from builders import boat_of, calm_seas, passage_of
from one_step import row_of

from powersim.kernel.rules import engine_runs, full_after, run_ends, shed, tail_time_h
from powersim.records import Alternator, Load
from powersim.simulation.plant import plant_of
from powersim.simulation.prepare import prepare
from powersim.simulation.result import simulate
from powersim.simulation.state import start_state

RULE = {"start_soc": 0.55, "stop_soc": 0.80, "shortest_h": 0.5, "longest_h": 4.0}


def run_of(*, soc=0.5, falls_soc=0.0, able=True, state=(), row=(), rule=()):
    plant = plant_of(boat_of(charging=RULE | dict(rule)), step_h=0.25)
    begin = start_state(plant, soc=0.5)._replace(**dict(state))
    signals = row_of(**({"may_run": True} | dict(row)))
    return engine_runs(
        state=begin,
        soc=soc,
        falls_soc=falls_soc,
        row=signals,
        able=able,
        rule=plant.rule,
        tail_A=3.7,
        step_h=0.25,
    )


def runs(**given):
    """Whether it runs in a step of a quarter hour, and whether to fill the bank."""
    found = run_of(**given)
    return found.runs, found.for_full


@pytest.mark.parametrize(
    ("soc", "begins"), [(0.5501, False), (0.55, True), (0.5499, True), (0.0, True)]
)
def test_the_engine_starts_at_or_below_the_level(soc, begins):
    assert runs(soc=soc) == (begins, False)


@pytest.mark.parametrize(
    ("soc", "run_h", "goes_on"),
    [
        (0.79, 1.0, True),
        (0.80, 1.0, False),  # at or above
        (0.81, 0.25, True),  # shorter than the shortest
        (0.81, 0.5, False),
        (0.60, 3.75, True),
        (0.60, 4.0, False),  # as long as the longest
        (0.60, 4.0 - 1e-12, False),  # sums of steps are not exact
    ],
)
def test_the_engine_stops_at_or_above_the_level_within_its_bounds(soc, run_h, goes_on):
    found, _ = runs(soc=soc, state={"running": True, "run_h": run_h})
    assert found == goes_on


@pytest.mark.parametrize(
    "stopped",
    [
        {"able": False},
        {"row": {"may_run": False}},
        {"row": {"motoring": 1.0}},
    ],
)
def test_a_run_ends_at_once_where_it_cannot_be(stopped):
    assert runs(state={"running": True, "run_h": 0.25}) == (True, False)
    assert runs(state={"running": True, "run_h": 0.25}, **stopped) == (False, False)


def test_a_run_is_begun_only_where_a_whole_one_fits():
    assert runs(row={"closes_h": 0.5}) == (True, False)
    assert runs(row={"closes_h": 0.49}) == (False, False)
    assert runs(row={"closes_h": 0.25}, state={"running": True}) == (True, False)


@pytest.mark.parametrize(
    ("given", "first"),
    [
        ({"soc": 0.56, "falls_soc": 0.04}, 0.25),  # 0.55 is a quarter of the way
        ({"soc": 0.56, "falls_soc": 0.04, "row": {"opens_h": 0.2}}, 0.8),
        ({"soc": 0.50, "row": {"opens_h": 0.2}}, 0.8),
        ({"soc": 0.50, "state": {"since_full_h": 47.95}, "rule": {"full_every_days": 2.0}}, 0.0),
        ({"soc": 0.90, "state": {"since_full_h": 47.95}, "rule": {"full_every_days": 2.0}}, 0.2),
    ],
)
def test_a_run_begins_anywhere_in_a_step(given, first):
    """A step of 0.25 h; due 0.05 h after its beginning is 0.2 of it."""
    assert run_of(**given).first == pytest.approx(first)
    assert run_of(**given).runs


@pytest.mark.parametrize("falls_soc", [0.0, 0.009, 0.01])
def test_a_level_that_is_not_reached_in_the_step_starts_nothing(falls_soc):
    """0.56 falls to 0.55 at its very end at most: that is the next step's business."""
    assert not run_of(soc=0.56, falls_soc=falls_soc).runs


@pytest.mark.parametrize(
    ("given", "rises_soc", "ends"),
    [
        ({"soc": 0.79, "state": {"running": True, "run_h": 1.0}}, 0.04, 0.25),
        ({"soc": 0.79, "state": {"running": True, "run_h": 1.0}}, 0.005, 1.0),
        ({"soc": 0.79, "state": {"running": True, "run_h": 1.0}}, 0.0, 1.0),  # loads take it all
        ({"soc": 0.79, "state": {"running": True, "run_h": 0.3}}, 0.04, 0.8),  # half an hour
        ({"soc": 0.60, "state": {"running": True, "run_h": 3.95}}, 0.04, 0.2),  # four hours
        (
            {"soc": 0.60, "state": {"running": True, "run_h": 1.0}, "row": {"closes_h": 0.1}},
            0.04,
            0.4,
        ),
        # From a quarter on at 0.55, and 0.25 more of charge take 0.25 / 1 of the step.
        ({"soc": 0.56, "falls_soc": 0.04, "rule": {"shortest_h": 0.01}}, 1.0, 0.5),
    ],
)
def test_a_run_ends_anywhere_in_a_step(given, rises_soc, ends):
    rule = plant_of(boat_of(charging=RULE), step_h=0.25).rule
    found = run_ends(
        run_of(**given),
        soc=given["soc"],
        falls_soc=given.get("falls_soc", 0.0),
        rises_soc=rises_soc,
        rule=rule,
    )
    assert found == pytest.approx(ends)


@pytest.mark.parametrize(
    ("since_full_h", "stopped_h", "due"),
    [
        (47.75, 100.0, False),
        (48.0, 100.0, True),
        (48.0 - 1e-12, 100.0, True),  # sums of steps are not exact
        (60.0, 19.75, False),  # tried not long ago
        (60.0, 20.0, True),
        (60.0, 20.0 - 1e-12, True),
    ],
)
def test_a_full_charge_falls_due(since_full_h, stopped_h, due):
    state = {"since_full_h": since_full_h, "stopped_h": stopped_h}
    assert runs(soc=0.9, state=state, rule={"full_every_days": 2.0}) == (due, due)


@pytest.mark.parametrize(
    ("since_full_h", "alternator_A", "goes_on"),
    [
        (50.0, 10.0, True),
        (0.0, 10.0, False),  # full
        (50.0, 3.7, True),
        (50.0, 3.6, False),  # nothing more to give
    ],
)
def test_a_run_to_full_goes_on_past_the_stop_level(since_full_h, alternator_A, goes_on):
    state = {
        "running": True,
        "for_full": True,
        "run_h": 2.0,
        "since_full_h": since_full_h,
        "alternator_A": alternator_A,
    }
    assert runs(soc=0.95, state=state) == (goes_on, goes_on)


@pytest.mark.parametrize(("bank_V", "goes_on"), [(14.0, False), (14.15, True)])
def test_a_run_to_full_lets_a_small_current_flow_at_a_voltage_that_fills(bank_V, goes_on):
    """Full asks for an hour of it; a regulator set too low would run on in vain."""
    state = {"running": True, "for_full": True, "run_h": 3.0, "since_full_h": 50.0}
    assert runs(soc=0.96, state=state | {"alternator_A": 2.0, "bank_V": bank_V}) == (
        goes_on,
        goes_on,
    )


@pytest.mark.parametrize(
    ("soc", "was_shed", "off"),
    [
        (0.60, False, True),
        (0.61, False, False),
        (0.64, True, True),
        (0.65, True, False),
        (0.60, True, True),
    ],
)
def test_loads_are_shed_at_the_level_and_restored_above_it(soc, was_shed, off):
    assert shed(was_shed=was_shed, soc=soc, below_soc=0.6, restore_frac=0.05) == off


@pytest.mark.parametrize(
    ("change", "so_far_h"),
    [
        ({}, 0.75),
        ({"volts": 14.14}, 0.0),
        ({"into_A": 3.7}, 0.0),
        ({"soc": 0.96}, 0.0),
    ],
)
def test_the_tail_counts_only_while_every_sign_is_there(change, so_far_h):
    signs = {"volts": 14.15, "into_A": 3.6, "soc": 0.98} | change
    found = tail_time_h(tail_h=0.5, step_h=0.25, full_V=14.15, tail_A=3.7, held=False, **signs)
    assert found == so_far_h


@pytest.mark.parametrize("steps", [1, 2, 3, 4, 6, 12])
def test_an_hour_of_tail_is_an_hour_for_every_step_length(steps):
    """Six times a sixth is less than one in binary fractions; it is an hour all the same."""
    tail_h = 0.0
    for _ in range(steps):
        assert not full_after(tail_h)
        tail_h = tail_time_h(
            tail_h=tail_h,
            step_h=1.0 / steps,
            volts=14.4,
            full_V=14.15,
            into_A=1.0,
            tail_A=3.7,
            soc=0.99,
            held=False,
        )
    assert full_after(tail_h)


def runs_of(result):
    table = result.engine
    return table[table["kind"] == "charging"]


def test_a_passage_keeps_the_rule():
    """A run starts in hours at or below the level and ends at or above it, or with the hours."""
    result = simulate(
        passage_of(
            boat=boat_of(battery={"soc_at_departure": 0.7}, charging=RULE, panel_W=()), days=6.0
        )
    )
    table = runs_of(result)
    assert len(table) >= 3
    # Between the edges of steps charge is interpolated; the first run begins within the hours.
    assert (table["soc_before"] <= 0.5501).all()
    assert table["soc_before"].iloc[0] == pytest.approx(0.55, abs=1e-4)
    assert table["run_h"].between(0.5, 4.0).all()
    clock = table["ship_time"].dt
    start_h = clock.hour + clock.minute / 60.0 + clock.second / 3600.0
    end_h = start_h + table["run_h"]
    assert start_h.between(8.0, 19.5).all()
    reached = table["soc_after"] >= 0.7995
    as_long_as_may_be = (table["run_h"] - 4.0).abs() < 1e-9
    assert (reached | as_long_as_may_be | ((end_h - 20.0).abs() < 0.001)).all()
    assert (table["soc_after"] <= 0.8005).all()
    assert reached.sum() >= 3


def test_hours_that_span_midnight():
    """With 22:00 to 02:00 as the hours, no run starts or ends elsewhere."""
    result = simulate(
        passage_of(
            boat=boat_of(
                battery={"soc_at_departure": 0.7}, charging=RULE | {"hours_h": (22.0, 2.0)}
            ),
            days=6.0,
        )
    )
    hourly = result.hourly[result.hourly["charging_h"] > 0]
    assert set(hourly["ship_time"].dt.hour) <= {22, 23, 0, 1}
    assert len(runs_of(result)) >= 2
    assert (runs_of(result)["run_h"] <= 4.0).all()


def test_no_run_is_begun_that_the_hours_would_cut_short():
    """Hours to 10:00 and at least 2 h a run: allowed to start until 08:00 and no later."""
    passage = passage_of(
        boat=boat_of(charging=RULE | {"hours_h": (6.0, 10.0), "shortest_h": 2.0}),
        ship_offset_h=0.0,
        days=3.2,
    )
    prepared = prepare(passage)
    clock_h = prepared.track.mid_utc_s / 3600.0 % 24.0
    may_run, opens_h, closes_h = (
        getattr(prepared.signals, name)[:, 0] for name in ("may_run", "opens_h", "closes_h")
    )
    whole_days = clock_h[may_run]
    assert (whole_days.min(), whole_days.max()) == (6.125, 9.875)
    assert not opens_h[may_run].any()
    begins = clock_h[may_run & (closes_h >= 2.0 - 1e-9)]
    assert (begins.min(), begins.max()) == (6.125, 8.125)
    assert run_of(row={"closes_h": 2.0}, rule={"shortest_h": 2.0}).runs
    assert not run_of(row={"closes_h": 1.99}, rule={"shortest_h": 2.0}).runs


def test_full_runs_are_a_night_apart_at_least():
    """A cold bank behind a plain regulator is never full: it is tried once a day, not all day."""
    result = simulate(
        passage_of(
            boat=boat_of(charging=RULE | {"full_every_days": 1.0}, panel_W=()),
            leg={"cabin_C": 5.0},
            days=6.0,
        )
    )
    full_runs = runs_of(result)[runs_of(result)["why"] == "full charge due"]
    gaps = full_runs["start_utc"].diff().dropna().dt.total_seconds() / 3600.0
    assert len(gaps) >= 3
    # The longest run is 4 h, and 20 h lie between the end of one and the beginning of the next.
    assert (gaps - full_runs["run_h"].iloc[:-1].to_numpy() >= 20.0).all()


@pytest.mark.parametrize("draw_A", [0.1, 1.0])
def test_a_full_charge_that_works_is_full(draw_A):
    """A warm bank with a multi-stage regulator is filled, and the clock starts again."""
    result = simulate(
        calm_seas(
            boat={
                "engine": {"start_battery": "separate"},
                "alternator": {"regulator": "multi-stage", "absorption_h": 12.0},
                "charging": RULE
                | {"full_every_days": 2.0, "longest_h": 12.0, "hours_h": (0.0, 24.0)},
            },
            loads=(Load(name="instruments", draw_A=draw_A),),
            days=6.0,
        )
    )
    full_runs = runs_of(result)[runs_of(result)["why"] == "full charge due"]
    assert len(full_runs) == 2
    # Due after 48 h, and such a run is over well within half a day.
    assert 2.0 < result.summary["average"]["charge"]["longest_gap_between_full_days"] < 2.5


def test_a_rule_that_says_never_never_runs_the_engine():
    boat = boat_of(
        battery={"soc_at_departure": 0.4}, charging=RULE | {"by_engine": False}, panel_W=()
    )
    assert (
        simulate(passage_of(boat=boat, days=2.0)).summary["average"]["engine"]["charging_h"] == 0.0
    )


def test_an_engine_without_an_alternator_is_not_run_to_charge():
    """It would burn fuel for nothing."""
    boat = boat_of(battery={"soc_at_departure": 0.4}, charging=RULE, panel_W=())
    for nothing in (None, Alternator(charging_A=0.0, motoring_A=0.0)):
        bare = type(boat)(**{n: getattr(boat, n) for n in boat.__slots__} | {"alternator": nothing})
        result = simulate(passage_of(boat=bare, days=1.0))
        assert result.summary["average"]["engine"]["charging_h"] == 0.0
        assert result.summary["average"]["fuel"]["charging_L"] == 0.0
    assert math.isinf(plant_of(bare, step_h=0.25).rule.full_every_h)
