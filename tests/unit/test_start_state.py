"""The state at departure: a bank at rest, at its own voltage, and an engine that has not run."""

import math

import numpy as np
import pytest
from builders import boat_of

from powersim.simulation.plant import plant_of
from powersim.simulation.state import start_state


@pytest.mark.parametrize(
    ("boat", "soc", "rested_V"),
    [
        # By hand from the knots of docs/model/battery.md.
        ({"chemistry": "flooded"}, 1.0, 12.70),
        ({"chemistry": "flooded"}, 0.75, 12.45),
        ({"chemistry": "agm"}, 0.5, 12.16),
        ({"chemistry": "agm", "battery": {"nominal_V": 24.0}}, 0.5, 24.32),
        ({"chemistry": "lifepo4"}, 0.35, 13.1675),
    ],
)
def test_the_bank_begins_at_its_open_circuit_voltage(boat, soc, rested_V):
    plant = plant_of(boat_of(**boat), step_h=0.5)
    alone, many = start_state(plant, soc=soc), start_state(plant, soc=np.array([1.0, soc]))
    assert type(alone.bank_V) is float
    assert alone.bank_V == many.bank_V[1] == pytest.approx(rested_V)
    assert many.bank_V.shape == (2,)


def test_the_engine_has_not_run_for_ever():
    state = start_state(plant_of(boat_of(), step_h=0.5), soc=0.8)
    assert (state.stopped_h, state.since_full_h, state.burnt_L) == (math.inf, 0.0, 0.0)
