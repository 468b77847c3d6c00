"""Charging runs by the clock: reading them, and the steps they fall into."""

from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.errors import InputError
from powersim.inputs.boat import read_boat
from powersim.inputs.daily_runs import read_daily, write_daily_run
from powersim.inputs.text import ReadingError
from powersim.records import DailyRun, PlannedRun
from powersim.simulation.prepare import prepare
from powersim.simulation.result import simulate

BOAT = """
[passage]
depart = "2026-05-02 22:00"
[battery]
chemistry = "flooded"
capacity = "220 Ah"
[alternator]
charging = "45 A"
[engine]
rated = "14 kW"
[fuel]
tank = "80 L"
[charging]
"""


@pytest.mark.parametrize(
    ("text", "run"),
    [
        ("1 h at 08:00", DailyRun(at_h=8.0, run_h=1.0)),
        ("45 min at 9:30 north of 50 N", DailyRun(at_h=9.5, run_h=0.75, south_deg=50.0)),
        ("1.5 h at 18:00 South of 35 S", DailyRun(at_h=18.0, run_h=1.5, north_deg=-35.0)),
        (
            "1 h  at 08:00 50 N to 35°30'N",
            DailyRun(at_h=8.0, run_h=1.0, south_deg=35.5, north_deg=50.0),
        ),
    ],
)
def test_a_run_is_read_and_written(text, run):
    assert read_daily([text]) == (run,)
    assert read_daily([write_daily_run(run)]) == (run,)


@pytest.mark.parametrize(
    ("value", "reason"),
    [
        ("1 h at 08:00", "'1 h at 08:00' is not a list of runs in quotes"),
        (["08:00"], "cannot read '08:00'"),
        (["1 h at 24:00"], "'1 h at 24:00': there is no such time of the day"),
        (["1 h at 08:60"], "'1 h at 08:60': there is no such time of the day"),
        (["25 h at 08:00"], "'25 h at 08:00': a run lasts more than 0 and less than 24 h"),
        (["1 h at 08:00 at sea"], "cannot read where '1 h at 08:00 at sea' is done"),
        (["1 h at 08:00 50 N to 50 N"], "'1 h at 08:00 50 N to 50 N' is done nowhere"),
        (
            ["2 h at 08:00", "1 h at 09:00 north of 50 N"],
            "'2 h at 08:00' and '1 h at 09:00 north of 50 N' overlap",
        ),
        (["2 h at 23:00", "1 h at 00:30"], "'2 h at 23:00' and '1 h at 00:30' overlap"),
    ],
)
def test_what_is_no_run_is_said(value, reason):
    with pytest.raises(ReadingError) as caught:
        read_daily(value)
    assert caught.value.reason == reason


def test_runs_that_meet_in_no_latitude_may_have_the_same_time():
    assert len(read_daily(["2 h at 08:00 north of 50 N", "1 h at 08:00 south of 50 N"])) == 2


def test_boat_toml_has_them_in_its_charging_table(write_file):
    found = read_boat(write_file("boat.toml", BOAT + 'daily = ["1 h at 08:00 north of 50 N"]\n'))
    assert found.boat.charging.daily == (DailyRun(at_h=8.0, run_h=1.0, south_deg=50.0),)


def test_a_run_outside_the_hours_is_refused(write_file):
    path = write_file("boat.toml", BOAT + 'daily = ["2 h at 19:00"]\n')
    with pytest.raises(InputError) as caught:
        read_boat(path)
    assert str(caught.value) == (
        f"{path}:14: charging.daily: '2 h at 19:00' is not within the hours in which the engine "
        "may run, 08:00-20:00\n"
        "  expected  a run within them, or other hours"
    )


def test_the_engine_runs_at_its_time_in_its_latitudes():
    """From 40 N southwards at 2 degrees a day; ship's time is UTC - 2."""
    daily = (DailyRun(at_h=8.0, run_h=1.0, south_deg=35.5),)
    rule = {"start_soc": 0.0, "stop_soc": 0.9, "daily": daily}
    passage = passage_of(boat=boat_of(charging=rule), days=5.0)
    result = simulate(passage)
    runs = result.engine[result.engine["kind"] == "charging"]
    assert [f"{when:%d %H:%M}" for when in runs["start_utc"]] == [
        "05 10:00",
        "06 10:00",
        "07 10:00",
    ]
    assert runs["run_h"].tolist() == [1.0, 1.0, 1.0]


def test_a_plan_takes_the_place_of_the_rule():
    passage = passage_of(boat=boat_of(charging={"start_soc": 0.9, "stop_soc": 0.95}))
    start_s = passage.depart_utc.timestamp() + 86400.0
    planned = replace(passage, engine_plan=(PlannedRun(start_utc_s=start_s, run_h=1.0),))
    assert simulate(passage).summary["average"]["engine"]["charging_runs"] > 1
    result = simulate(planned)
    [run] = result.engine[result.engine["kind"] == "charging"].itertuples()
    assert (run.start_utc.timestamp(), run.run_h) == (start_s, 1.0)


def test_without_an_alternator_nothing_is_ordered():
    daily = (DailyRun(at_h=8.0, run_h=1.0),)
    boat = boat_of(alternator={"charging_A": 0.0}, charging={"daily": daily})
    assert not np.any(prepare(passage_of(boat=boat)).signals.ordered)
