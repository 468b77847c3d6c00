"""The engine in single steps, by hand: amps in gear, whose fuel it is, how long it has stood.

The alternator of these boats gives 50 A in gear and 45 A at charging revs.
"""

import pytest

from powersim.kernel.engine_dispatch import EngineStep, fuel_in, stopped_time_h
from powersim.kernel.readings import NOT_DUE
from powersim.kernel.rules import Run

NO_RUN = Run(False, False, 0.0, 0.0, 0.0, NOT_DUE)
RULE = {"charging": {"start_soc": 0.55, "stop_soc": 0.8}}


@pytest.mark.parametrize(
    ("motoring", "may_run", "charging", "mean_A"),
    [
        (1.0, False, 0.0, 50.0),  # in gear all the while
        (0.5, False, 0.0, 25.0),  # half of it, then stopped: 0.5 x 50
        (0.5, True, 0.5, 47.5),  # half of it, then charging: 0.5 x 50 + 0.5 x 45
        (0.2, True, 0.8, 46.0),  # 0.2 x 50 + 0.8 x 45
        (0.0, True, 1.0, 45.0),  # at charging revs all the while
    ],
)
def test_in_gear_the_alternator_gives_what_it_gives_at_those_revs(
    one_step, motoring, may_run, charging, mean_A
):
    """A large bank at 30 % takes all that is offered."""
    flows = one_step(soc=0.30, capacity_Ah=1000.0, **RULE).take(motoring=motoring, may_run=may_run)
    assert flows.charging == pytest.approx(charging)
    assert flows.alternator_offered_A == pytest.approx(mean_A)
    assert flows.alternator_A == pytest.approx(mean_A)


def test_the_alternators_fuel_is_shared_by_the_amps_of_either_revs(one_step):
    """Of an hour a quarter in gear, 0.25 x 50 = 12.5 A, and three quarters charging, 0.75 x 45 =
    33.75 A: 12.5 / 46.25 = 0.2702703 of the shaft's energy is in gear.

    20 A at 13.8 V and 0.2 V of cable, at 50 %: 20 x 14.0 / 0.5 = 560 W for an hour, 0.56 kWh.
    At 0.246 L/kWh 0.2702703 of it costs 0.0372324 L, and the rest 0.1005276 L beside 0.75 h at
    0.5 L/h = 0.375 L. In gear 0.25 h at 2 L/h burn 0.5 L.
    """
    plant = one_step(soc=0.5, step_h=1.0, **RULE).plant
    engine = EngineStep(Run(True, False, 0.0, 0.0, 1.0, NOT_DUE), 0.75, 0.25, 1.0, 46.25, 0.0)
    fuel = fuel_in(engine, alternator_A=20.0, bank_V=13.8, plant=plant, step_h=1.0)
    assert fuel.alternator_motoring_L == pytest.approx(0.0372324, abs=1e-7)
    assert fuel.charging_L == pytest.approx(0.375 + 0.1005276, abs=1e-7)
    assert fuel.motoring_L == 0.5


@pytest.mark.parametrize(
    ("run", "running", "stopped_h"),
    [
        (NO_RUN, False, 3.5),  # 3 h before the step, and its half hour
        (Run(True, False, 0.0, 0.0, 1.0, NOT_DUE), True, 0.0),  # it runs on
        (
            Run(True, False, 0.0, 0.0, 0.6, NOT_DUE),
            False,
            0.2,
        ),  # it ended with 0.4 of half an hour to go
        (Run(True, False, 0.3, 0.5, 0.6, NOT_DUE), False, 0.2),  # nor does its beginning count
        (NO_RUN._replace(runs=True), True, 0.0),  # it runs by order
    ],
)
def test_the_time_since_a_run_begins_where_the_run_ended(run, running, stopped_h):
    found_h = stopped_time_h(3.0, run=run, running=running, step_h=0.5)
    assert found_h == pytest.approx(stopped_h)


def test_the_time_since_a_run_adds_up_over_the_steps_after_it(one_step):
    """79 % at 14.0 V until 80 %, within a quarter hour; then two quarter hours more."""
    running = {"running": True, "turning": True, "run_h": 1.0, "stopped_h": 0.0}
    boat = one_step(soc=0.79, state=running, **RULE)
    left_h = 0.25 * (1.0 - boat.take(may_run=True).charging)
    assert 0.0 < left_h < 0.25
    told_h = [boat.state.stopped_h]
    for _ in range(2):
        assert boat.take(may_run=True).charging == 0.0
        told_h.append(boat.state.stopped_h)
    assert told_h == pytest.approx([left_h, left_h + 0.25, left_h + 0.5])
