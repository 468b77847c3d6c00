"""A charging run and a sea in which nobody can run the engine."""

import numpy as np
import pytest
from builders import boat_of
from kernels import compiled, plain
from one_step import OneStep, signals_of

from powersim.kernel.readings import LOW, NOT_DUE, TO_FULL
from powersim.simulation.carry import Batch
from powersim.simulation.plant import plant_of
from powersim.simulation.state import start_state

ROUGH, CALM = {"may_run": True, "sea_lets": 0.0}, {"may_run": True, "sea_lets": 1.0}
TWICE = {"read_at_h": (6.0, 18.0), "start_soc": 0.6, "stop_soc": None, "run_h": 2.0}


def test_a_run_at_a_level_waits_as_long_as_the_sea_is_up(one_step):
    boat = one_step(soc=0.50)
    waiting = [boat.take(**ROUGH) for _ in range(3)]
    assert [flow.charging for flow in waiting] == [0.0, 0.0, 0.0]
    assert [flow.waits for flow in waiting] == [1.0, 1.0, 1.0]
    assert sum(flow.alternator_A + flow.charging_L for flow in waiting) == 0.0
    runs = boat.take(**CALM)
    assert (runs.charging, runs.waits) == (1.0, 0.0)


def test_nothing_waits_that_would_not_run(one_step):
    assert one_step(soc=0.70).take(**ROUGH).waits == 0.0  # full enough
    assert one_step(soc=0.50).take(**(ROUGH | {"may_run": False})).waits == 0.0  # by the clock
    assert one_step(soc=0.50).take(**(ROUGH | {"motoring": 1.0})).waits == 0.0  # in gear already
    assert one_step(soc=0.50, engine=None).take(**ROUGH).waits == 0.0


def test_a_run_in_progress_ends_and_is_begun_again_from_the_beginning(one_step):
    """A level of 55 %, a run up to 80 %, the shortest 0.5 h: the sea breaks it off at 66 %.

    100 Ah and 45 A in: half an hour is 22 Ah, 50 % becomes 72 % less what becomes gas, and above
    55 % nothing starts anew.
    """
    boat = one_step(soc=0.50)
    for _ in range(2):
        assert boat.take(**CALM).charging == 1.0
    broken = boat.take(**ROUGH)
    assert (broken.charging, broken.waits) == (0.0, 1.0)  # it would have gone on
    assert (boat.state.running, boat.state.run_h) == (False, 0.0)
    after = boat.take(**CALM)
    assert after.soc > 0.55
    assert (after.charging, after.waits) == (0.0, 0.0)


@pytest.mark.parametrize("due", [LOW, TO_FULL])
def test_what_a_reading_asked_for_stays_due(due):
    boat = OneStep(boat_of(charging=TWICE, panel_W=()), soc=0.5, due=due)
    for _ in range(8):
        assert boat.take(**ROUGH).waits == 1.0
    assert boat.state.due == due
    assert boat.take(**CALM).charging == 1.0
    assert boat.state.due == NOT_DUE


def test_the_next_reading_asks_anew_while_it_waits():
    """The sun has filled the bank meanwhile: at 18:00 nothing is due any more."""
    boat = OneStep(boat_of(charging=TWICE, panel_W=()), soc=0.9, due=LOW)
    assert boat.take(**ROUGH, reads=1.0).waits == 0.0
    assert boat.state.due == NOT_DUE


def test_a_timetables_run_falls_out(one_step):
    boat = one_step(soc=0.90)
    flow = boat.take(ordered=0.5, sea_lets=0.0)
    assert (flow.charging, flow.waits) == (0.0, 0.5)
    assert boat.take(ordered=0.0, sea_lets=1.0).charging == 0.0  # nor is it made up for


@pytest.mark.parametrize("how", [plain, compiled])
def test_how_often_a_run_waits_is_counted_by_the_spell(how):
    """Up in steps 0 to 2, and in step 5 once more. A run is one step, and the next one has none."""
    boat = boat_of(panel_W=(), charging={"shortest_h": 0.25, "longest_h": 0.25})
    plant = plant_of(boat, step_h=0.25)
    batch = Batch(
        plant=plant,
        state=start_state(plant, soc=np.array([0.30])),
        step_h=0.25,
        sums=("waits", "charging"),
    )
    with how():
        for lets in (0.0, 0.0, 0.0, 1.0, 1.0, 0.0, 1.0):
            batch.through(signals_of(step_h=0.25, **(CALM | {"sea_lets": lets})))
    assert batch.told["waits"].tolist() == [2.0]
    assert batch.sums["waits"].tolist() == [4.0]
    assert batch.sums["charging"].tolist() == [2.0]
