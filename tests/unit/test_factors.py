"""Factors on loads, sun, bank and burn do what other files would do."""

from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.simulation.factors import Factors, switches_of, with_factors
from powersim.simulation.plant import plant_of
from powersim.simulation.prepare import prepare
from powersim.simulation.run import run
from powersim.simulation.state import start_state

pytestmark = pytest.mark.usefixtures("plainly")

ONE = Factors(*np.ones((5, 2)))


def last_state(passage, factors=None):
    prepared = prepare(passage, step_h=1.0)
    plant, signals, switches = prepared.plant, prepared.signals, None
    if factors is not None:
        plant, switches = with_factors(plant, factors), switches_of(factors)
    state = start_state(plant, soc=np.full(1 if factors is None else 2, 0.8))
    return run(signals, plant=plant, state=state, switches=switches)[1]


def test_a_larger_capacity_is_the_plant_of_a_healthier_bank():
    boat = boat_of(battery={"health_frac": 0.6})
    healthier = boat_of(battery={"health_frac": 0.9})
    made = with_factors(plant_of(boat, step_h=0.5), ONE._replace(capacity=1.5))
    asked = plant_of(healthier, step_h=0.5)
    for name in ("capacity_Ah", "hidden_Ah", "discharge_ohm", "charge_rise_ohm", "full_Ah"):
        assert np.asarray(getattr(made.bank, name)) == pytest.approx(getattr(asked.bank, name))
    assert made.bank.wells == asked.bank.wells
    assert made.tail_A == pytest.approx(asked.tail_A)


def test_factors_of_one_change_nothing():
    passage = passage_of(days=2.0)
    plain, same = last_state(passage), last_state(passage, ONE)
    assert same.total_Ah == pytest.approx(np.repeat(plain.total_Ah, 2), abs=1e-9)
    assert same.burnt_L == pytest.approx(np.repeat(plain.burnt_L, 2), abs=1e-9)


@pytest.mark.parametrize(
    ("name", "boat"),
    [
        ("capacity", {"battery": {"health_frac": 0.85 * 0.8}}),
        ("burn", {"engine": {"charging_L_per_h": 0.4, "slope_L_per_kWh": 0.246 * 0.8}}),
        ("alternator", {"alternator": {"charging_A": 36.0, "motoring_A": 40.0}}),
    ],
)
def test_a_factor_is_the_same_as_another_boat(name, boat):
    other = passage_of(days=2.0, boat=boat_of(**boat))
    factors = ONE._replace(**{name: np.array([1.0, 0.8])})
    plain, scaled = last_state(other), last_state(passage_of(days=2.0), factors)
    assert scaled.total_Ah[1] == pytest.approx(plain.total_Ah[0], rel=1e-9)
    assert scaled.burnt_L[1] == pytest.approx(plain.burnt_L[0], rel=1e-9)


def test_a_factor_on_the_draw_is_the_same_as_other_loads():
    passage = passage_of(days=2.0)
    more = tuple(
        replace(
            load,
            draw_A=None if load.draw_A is None else 1.3 * load.draw_A,
            draw_W=None if load.draw_W is None else 1.3 * load.draw_W,
        )
        for load in passage.loads
    )
    plain = last_state(passage_of(days=2.0, loads=more))
    scaled = last_state(passage, ONE._replace(demand=np.array([1.0, 1.3])))
    assert scaled.total_Ah[1] == pytest.approx(plain.total_Ah[0], rel=1e-9)
