"""What several tests of the simulation share: one run made once, and single steps made by hand."""

from __future__ import annotations

import pytest
from builders import boat_of, passage_of
from one_step import OneStep

from powersim.simulation.result import simulate


@pytest.fixture
def one_step():
    """OneStep on an ideal 100 Ah flooded bank, other fields as given."""

    def begin(*, soc, step_h=0.25, state=(), **boat):
        ideal = {
            "health_frac": 1.0,
            "self_discharge_frac_per_month": 0.0,
            "charge_efficiency_frac": 1.0,
        }
        boat = {"capacity_Ah": 100.0, "panel_W": ()} | boat
        boat["battery"] = ideal | dict(boat.get("battery", {}))
        return OneStep(boat_of(**boat), soc=soc, step_h=step_h, **dict(state))

    return begin


@pytest.fixture(scope="session")
def result():
    """Three days out of the Azores with sun, loads, some motoring and charging runs."""
    return simulate(
        passage_of(
            boat=boat_of(
                battery={"soc_at_departure": 0.7}, charging={"start_soc": 0.6, "stop_soc": 0.75}
            ),
            leg={"motoring_start_h": 2.0, "motoring_end_h": 1.0},
        )
    )
