"""The closed form against the differential equations, integrated by scipy."""

import numpy as np
import pytest

from powersim.physics.bank import available_after_Ah, bank_of, full_state
from powersim.physics.ratings import wells_of
from powersim.records import battery_of

STEP_H = 0.25
#: A day of loads, charging and rest that changes in every step. Above 0 is discharge. [A]
CURRENT_A = 12.0 + 25.0 * np.sin(np.arange(96) * 0.7) - 8.0 * np.cos(np.arange(96) * 0.11)


@pytest.mark.parametrize("chemistry", ["flooded", "gel", "agm", "lifepo4"])
def test_a_day_of_changing_current_matches_the_differential_equations(chemistry):
    """Manwell and McGowan, Solar Energy 50 (1993) 399-405: dq1/dt = -I + k (h2 - h1),
    dq2/dt = -k (h2 - h1), with heights h1 = q1 / c and h2 = q2 / (1 - c), integrated by
    scipy.integrate.solve_ivp, one step at a time since the current jumps between them."""
    from scipy.integrate import solve_ivp

    battery = battery_of(chemistry, capacity_Ah=220.0)
    bank, wells = bank_of(battery, step_h=STEP_H), wells_of(battery)
    c = wells.available_frac
    k = wells.rate_per_h * c * (1.0 - c)

    def flows(_, charge, amps):
        levelling = k * (charge[1] / (1.0 - c) - charge[0] / c)
        return [levelling - amps, -levelling]

    total, available = full_state(bank)
    charge = [available, total - available]
    for amps in CURRENT_A:
        available = available_after_Ah(bank, total, available, amps)
        total -= amps * STEP_H
        solved = solve_ivp(
            flows, (0.0, STEP_H), charge, args=(amps,), method="DOP853", rtol=1e-11, atol=1e-11
        )
        charge = solved.y[:, -1]
        assert available == pytest.approx(charge[0], abs=1e-6 * bank.capacity_Ah)
        assert total == pytest.approx(charge.sum(), abs=1e-6 * bank.capacity_Ah)
