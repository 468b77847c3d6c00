"""What the alternator offers and what its regulator holds at the bank."""

import numpy as np
import pytest

from powersim.physics.alternator import bank_setpoint_V, offered_A
from powersim.records import Alternator, battery_of

FLOODED = battery_of("flooded", capacity_Ah=220.0)


def alternator(**given):
    return Alternator(charging_A=45.0, motoring_A=55.0, **given)


@pytest.mark.parametrize(
    ("motoring", "charging", "amps"),
    [(False, False, 0.0), (False, True, 45.0), (True, False, 55.0), (True, True, 55.0)],
)
def test_output_follows_the_revs_and_gear_sets_them(motoring, charging, amps):
    assert offered_A(alternator(), motoring=motoring, charging=charging) == amps
    both = offered_A(
        alternator(), motoring=np.array([motoring] * 2), charging=np.array([charging] * 2)
    )
    assert both.tolist() == [amps, amps]


def test_a_constant_regulator_leaves_the_bank_short_by_cable_and_splitter():
    """14.2 V at the alternator less 0.2 V of cable and 0.6 V of diodes."""
    volts = bank_setpoint_V(alternator(cable_drop_V=0.8), FLOODED, bank_C=25.0)
    assert volts == pytest.approx((13.4, 13.4))


def test_sensing_at_the_bank_makes_up_for_the_drop():
    sensing = alternator(cable_drop_V=0.8, battery_sensing=True)
    assert bank_setpoint_V(sensing, FLOODED, bank_C=25.0) == pytest.approx((14.2, 14.2))


def test_a_multi_stage_regulator_has_its_own_voltages_or_the_banks():
    own = alternator(regulator="multi-stage", absorption_V=14.7, float_V=13.6)
    assert bank_setpoint_V(own, FLOODED, bank_C=25.0) == pytest.approx((14.5, 13.4))
    # Flooded: 14.4 and 13.5 V (common practice, no source), less 0.2 V.
    banks = alternator(regulator="multi-stage")
    assert bank_setpoint_V(banks, FLOODED, bank_C=25.0) == pytest.approx((14.2, 13.3))


def test_setpoints_rise_in_the_cold_only_with_a_sensor():
    """-30 mV a degree: 15 degrees below 25 raise it by 0.45 V, 10 above lower it by 0.3."""
    bank_C = np.array([10.0, 25.0, 35.0])
    with_sensor = alternator(temp_comp_V_per_C=-0.030)
    absorption_V, float_V = bank_setpoint_V(with_sensor, FLOODED, bank_C=bank_C)
    assert absorption_V == pytest.approx([14.45, 14.0, 13.7])
    assert float_V == pytest.approx(absorption_V)
    plain_V, _ = bank_setpoint_V(alternator(), FLOODED, bank_C=bank_C)
    assert plain_V == pytest.approx([14.0] * 3)
