"""The fuel ledgers by hand."""

import numpy as np
import pytest

from powersim.physics.engine import (
    belt_fuel_L,
    charging_fuel_L,
    charging_slope_L_per_kWh,
    motoring_fuel_L,
    shaft_W,
)
from powersim.records import Engine


def engine(**given):
    return Engine(rated_kW=14.0, charging_L_per_h=0.5, motoring_L_per_h=2.1, **given)


def test_a_charging_run_by_hand():
    """45 A at 14 V + 0.2 V by half: 1278 W of shaft; 2 h: 2 * 0.5 + 2.556 kWh * 0.25 = 1.639 L."""
    watts = shaft_W(current_A=45.0, bank_V=14.0, drop_V=0.2, efficiency_frac=0.5)
    assert watts == pytest.approx(1278.0)
    burnt_L = charging_fuel_L(
        run_h=2.0, burn_L_per_h=0.5, shaft_Wh=2.0 * watts, slope_L_per_kWh=0.25
    )
    assert burnt_L == pytest.approx(1.639)


def test_the_slope_is_not_added_to_a_burn_measured_with_the_alternator_at_work():
    assert charging_slope_L_per_kWh(engine(slope_L_per_kWh=0.25)) == 0.25
    loaded = engine(slope_L_per_kWh=0.25, charging_burn_loaded=True)
    assert charging_slope_L_per_kWh(loaded) == 0.0


def test_motoring_and_what_the_alternator_adds_to_it_are_two_ledgers():
    """6 h at 2.1 L/h; 6 h * 0.8 kW * 0.25 L/kWh on the belt."""
    assert motoring_fuel_L(run_h=6.0, burn_L_per_h=2.1) == pytest.approx(12.6)
    assert belt_fuel_L(shaft_Wh=4800.0, slope_L_per_kWh=0.25) == pytest.approx(1.2)


def test_members_are_worked_out_side_by_side():
    burnt_L = charging_fuel_L(
        run_h=np.array([0.0, 1.0]),
        burn_L_per_h=0.5,
        shaft_Wh=np.array([0.0, 1000.0]),
        slope_L_per_kWh=0.25,
    )
    assert burnt_L == pytest.approx([0.0, 0.75])
