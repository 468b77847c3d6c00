"""Banks side by side: each is what it would be by itself, whatever goes on beside it."""

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.kernel.state import Switches
from powersim.planning.cases import LOAD_SETS, cases_of
from powersim.planning.depletion_batch import DepletionBatch, Question, depletion_times_h
from powersim.planning.scenario import (
    Scenario,
    carried,
    departure_state,
    scalar_if_single,
    with_loads,
)
from powersim.records import Controller, Load
from powersim.simulation.milestones import days_to_flat, days_to_floor
from powersim.simulation.run import run

STEP_h = 0.5
LOADS = (
    Load(name="instruments", draw_A=1.5, priority="essential", spread_frac=0.2),
    Load(name="pilot", draw_A=3.0, on_frac=0.5, role="pilot"),
    Load(name="laptop", draw_W=40.0, on_frac=0.5, priority="comfort"),
)


@pytest.fixture(scope="module")
def passage():
    """Two days that empty a small bank by and by, with both kinds of controller and an engine."""
    boat = boat_of(
        capacity_Ah=70.0,
        battery={"soc_at_departure": 0.8},
        panel_W=(40.0, 30.0),
        controllers=(Controller(name="a"), Controller(name="b", kind="pwm")),
        charging={"start_soc": 0.4, "stop_soc": 0.6},
    )
    return passage_of(boat=boat, loads=LOADS, days=2.0, leg={"motoring_calm_frac": 0.5})


def questions_of(passage, scenario):
    """Every failure with every load set, on its own sea, all beginning at departure."""
    base = scenario.of(passage)
    for case in cases_of(passage, base.prepared):
        forcing = scenario.of(case.passage)
        for groups in LOAD_SETS.values():
            state = departure_state(forcing, soc=passage.boat.battery.soc_at_departure)
            yield Question(
                forcing=forcing, state=state, switches=case.switches._replace(groups=groups)
            )


def alone(question, *, floor_soc, steps):
    """The same by a run of its own, which keeps every flow."""
    forcing = question.forcing
    flow, _ = run(
        forcing.signals(slice(0, steps)),
        plant=forcing.plant,
        state=question.state,
        switches=question.switches,
    )
    soc_start = (
        question.state.total_Ah - forcing.plant.bank.hidden_Ah
    ) / forcing.plant.bank.capacity_Ah
    floor = days_to_floor(flow.soc, soc_start=soc_start, floor_soc=floor_soc, step_h=STEP_h)
    flat = days_to_flat(flow.dark, step_h=STEP_h)
    return 24.0 * np.minimum(floor, flat), 24.0 * flat


@pytest.mark.parametrize("members", [None, 3])
def test_each_lane_is_what_it_would_be_alone(passage, members):
    asked = list(questions_of(passage, Scenario(members=members, seed=5, step_h=STEP_h)))
    steps, floor_soc = 96, 0.5
    together = depletion_times_h(asked, until=steps, floor_soc=floor_soc)
    assert any(np.isfinite(flat_h).any() for _, flat_h in together)
    assert any(np.isinf(flat_h).any() for _, flat_h in together)
    for question, (floor_h, flat_h) in zip(asked, together, strict=True):
        floor_alone_h, flat_alone_h = alone(question, floor_soc=floor_soc, steps=steps)
        np.testing.assert_allclose(floor_h, floor_alone_h, atol=1e-9)
        np.testing.assert_array_equal(flat_h, flat_alone_h)


def test_lanes_whose_members_all_meet_the_same_stay_on_their_own_sea():
    """No sun, no calms, loads without a spread: a sea of three members has one set of signals."""
    boat = boat_of(capacity_Ah=70.0, panel_W=(), battery={"soc_at_departure": 0.8})
    scenario = Scenario(members=3, seed=5, step_h=STEP_h)
    heavy, light = (
        scenario.of(passage_of(boat=boat, loads=(Load(name="pilot", draw_A=amps),), days=2.0))
        for amps in (4.0, 1.0)
    )
    asked = [
        Question(
            forcing=forcing,
            state=departure_state(forcing, soc=0.8),
            switches=Switches(engine=False),
        )
        for forcing in (heavy, light)
    ]
    found = depletion_times_h(asked, until=96, floor_soc=0.5)
    for question, (floor_h, flat_h) in zip(asked, found, strict=True):
        floor_alone_h, flat_alone_h = alone(question, floor_soc=0.5, steps=96)
        np.testing.assert_allclose(floor_h, floor_alone_h, atol=1e-9)
        np.testing.assert_array_equal(flat_h, flat_alone_h)
    # Half of the 60 Ah or so that there are above the floor last four times as long.
    assert found[1][0][0] > 3.5 * found[0][0][0]


def test_answers_do_not_depend_on_how_many_are_carried_at_once(passage):
    scenario = Scenario(members=3, seed=5, step_h=STEP_h)
    asked, some = list(questions_of(passage, scenario)), {}
    for at_once in (1, 10, 10_000):
        shares = []
        some[at_once] = depletion_times_h(
            iter(asked),
            until=30,
            floor_soc=0.5,
            at_once=at_once,
            progress=shares.append,
        )
        assert shares == sorted(shares)
        assert shares[-1] == len(some[at_once])
    for one, ten, all_of_them in zip(*some.values(), strict=True):
        for alone_h, few_h, many_h in zip(one, ten, all_of_them, strict=True):
            np.testing.assert_allclose(alone_h, few_h, atol=1e-9)
            np.testing.assert_allclose(alone_h, many_h, atol=1e-9)


def test_no_question_no_answer():
    assert depletion_times_h([], until=10, floor_soc=0.5) == []


def test_lanes_may_join_later_and_be_closed(passage):
    """One that joins after six hours counts from there; one that is closed stays unanswered."""
    forcing = Scenario(members=None, seed=1, step_h=STEP_h).of(passage)
    none = Switches(solar=0.0, alternator=0.0)
    state = departure_state(forcing, soc=0.8)
    later = carried(forcing, state, slice(0, 12))
    banks = DepletionBatch(
        [
            Question(forcing=forcing, state=state, switches=none),
            Question(forcing=forcing, state=state, switches=none),
            Question(forcing=forcing, state=later, switches=none, step=12),
        ],
        floor_soc=0.5,
    )
    first, given_up, second = banks.places
    assert banks.first == 0
    banks.through(slice(0, 12))
    banks.close([given_up])
    assert banks.open == 2
    for at in range(12, 96, 12):
        if banks.open:
            banks.through(slice(at, at + 12))
    assert banks.open == 0
    assert np.isinf(banks.flat_h[given_up]).all()
    assert 0.0 < banks.flat_h[first][0] < 48.0
    # The charge at six hours was more, for the sun had shone until then.
    assert banks.flat_h[second][0] > banks.flat_h[first][0] - 6.0


@pytest.mark.parametrize("members", [None, 3])
def test_who_joins_within_a_stretch_is_what_it_would_be_alone(passage, members):
    """Begun at step 0, 5 and 31 in one batch, and each in a batch of its own."""
    forcing = Scenario(members=members, seed=5, step_h=STEP_h).of(passage)
    begun = departure_state(forcing, soc=0.8)
    asked = [
        Question(
            forcing=forcing,
            state=carried(forcing, begun, slice(0, step)) if step else begun,
            switches=Switches(alternator=0.0),
            step=step,
        )
        for step in (31, 0, 5)
    ]
    together = depletion_times_h(asked, until=96, floor_soc=0.5)
    for question, found in zip(asked, together, strict=True):
        (one,) = depletion_times_h([question], until=96, floor_soc=0.5)
        assert np.isfinite(found[0]).any()
        np.testing.assert_allclose(found, one, atol=1e-9)


def test_with_loads_is_the_passage_prepared_anew(passage):
    other = passage_of(
        boat=passage.boat, loads=LOADS[:1], days=2.0, leg={"motoring_calm_frac": 0.5}
    )
    for members in (None, 3):
        scenario = Scenario(members=members, seed=2, step_h=STEP_h)
        quick, whole = with_loads(scenario.of(passage), other), scenario.of(other)
        steps = slice(0, 96)
        for name in ("load_A", "load_W", "peak_A", "heater_L"):
            np.testing.assert_allclose(
                getattr(quick.signals(steps), name), getattr(whole.signals(steps), name)
            )


def test_a_single_value_is_a_float_in_the_mean_sky_and_an_array_in_members(passage):
    assert (
        scalar_if_single(Scenario(members=None, seed=1, step_h=STEP_h).of(passage), np.array([2.0]))
        == 2.0
    )
    many = scalar_if_single(Scenario(members=3, seed=1, step_h=STEP_h).of(passage), 2.0)
    assert many.tolist() == [2.0, 2.0, 2.0]
