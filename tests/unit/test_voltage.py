import numpy as np
import pytest

from powersim.physics.bank import bank_of
from powersim.physics.voltage import (
    charge_resistance_ohm,
    coulombic_frac,
    discharge_resistance_ohm,
    emf_slope_V,
    emf_V,
    stored_Wh,
)
from powersim.records import CHEMISTRIES, battery_of


def bank(chemistry="flooded", **given):
    return bank_of(battery_of(chemistry, **{"capacity_Ah": 200.0, **given}), step_h=0.25)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_open_circuit_voltage_joins_its_knots(chemistry):
    made, knots = bank(chemistry), CHEMISTRIES[chemistry].curves.emf_knots
    for soc, volts in knots:
        assert emf_V(made, soc) == pytest.approx(volts, abs=1e-12)
    soc = np.linspace(0.0, 1.0, 997)
    expected = np.interp(soc, *zip(*knots, strict=True))
    found = [emf_V(made, one) for one in soc.tolist()]
    assert found == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_slope_is_that_of_the_line_above(chemistry):
    made, tiny = bank(chemistry), 1e-6
    for soc in (0.0, 0.05, 0.1, 0.35, 0.5, 0.95):
        rise = (emf_V(made, soc + tiny) - emf_V(made, soc)) / tiny
        assert emf_slope_V(made, soc) == pytest.approx(rise, rel=1e-6)


def test_stored_energy_by_hand():
    """Half of 170 Ah from 11.70 to 12.20 V holds 85 * 11.95 = 1015.75 Wh, the other half to 12.70 V
    85 * 12.45 = 1058.25 Wh."""
    made = bank()
    assert made.capacity_Ah == pytest.approx(170.0, abs=1e-12)
    assert stored_Wh(made, 0.0) == 0.0
    assert stored_Wh(made, 0.5) == pytest.approx(1015.75, abs=1e-9)
    assert stored_Wh(made, 1.0) == pytest.approx(2074.0, abs=1e-9)


def test_resistances_by_hand():
    """Flooded, 170 Ah, 25 degC. Discharge at a quarter: (2.4 + 0.1 / 0.125) / 170 = 0.01882;
    charge at 0.83, a quarter below its end: (2 + 3.1 / 0.125) / 170 = 0.15765."""
    assert discharge_resistance_ohm(bank(), 0.25, 25.0) == pytest.approx(0.01882, abs=1e-5)
    assert charge_resistance_ohm(bank(), 0.83, 25.0) == pytest.approx(0.15765, abs=1e-5)


def test_cold_raises_resistance_and_is_clipped():
    """0.7 % a degree on discharge and 2.5 % on charge for lead-acid, from -10 to 45 degC."""
    for resistance, per_C in ((discharge_resistance_ohm, 0.007), (charge_resistance_ohm, 0.025)):
        rated = resistance(bank(), 0.6, 25.0)
        assert resistance(bank(), 0.6, 5.0) == pytest.approx(rated * (1 + 20 * per_C), rel=1e-12)
        assert resistance(bank(), 0.6, -30.0) == resistance(bank(), 0.6, -10.0)
        assert resistance(bank(), 0.6, 70.0) == resistance(bank(), 0.6, 45.0) > 0


def test_discharge_resistance_is_held_at_empty():
    assert discharge_resistance_ohm(bank(), 0.0, 25.0) == discharge_resistance_ohm(
        bank(), 0.02, 25.0
    )


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_two_blocks_in_series_double_every_voltage(chemistry):
    one, two = bank(chemistry), bank(chemistry, nominal_V=24.0)
    for soc in (0.0, 0.3, 0.9):
        assert emf_V(two, soc) == pytest.approx(2 * emf_V(one, soc), rel=1e-12)
        assert emf_slope_V(two, soc) == pytest.approx(2 * emf_slope_V(one, soc), rel=1e-12)
        assert stored_Wh(two, soc) == pytest.approx(2 * stored_Wh(one, soc), rel=1e-12)
        for resistance in (charge_resistance_ohm, discharge_resistance_ohm):
            assert resistance(two, soc, 10.0) == pytest.approx(
                2 * resistance(one, soc, 10.0), rel=1e-12
            )
        assert coulombic_frac(two, soc) == coulombic_frac(one, soc)


def test_gassing_by_hand():
    """Empty, all stays; at 0.5 an eighth power leaves 1/256 of what is lost when full."""
    made = bank()
    lost = 1.0 - coulombic_frac(made, 1.0)
    assert coulombic_frac(made, 0.0) == 1.0
    assert 1.0 - coulombic_frac(made, 0.5) == pytest.approx(lost / 256.0, abs=1e-12)
    assert coulombic_frac(made, 1.01) == coulombic_frac(made, 1.0)
