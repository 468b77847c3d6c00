"""LiFePO4: lithium iron phosphate, four cells to a 12 V block, with its protection circuit."""

from __future__ import annotations

from powersim.physics.chemistry.cold import LITHIUM
from powersim.physics.curves import VoltageCurves

CURVES = VoltageCurves(
    emf_knots=(
        (0.0, 10.80),
        (0.10, 12.80),
        (0.20, 13.00),
        (0.50, 13.20),
        (0.70, 13.30),
        (0.90, 13.35),
        (0.99, 13.48),
        (1.0, 13.60),
    ),
    discharge_ohm_Ah=1.0,
    discharge_rise_ohm_Ah=0.02,
    charge_ohm_Ah=1.0,
    charge_rise_ohm_Ah=0.02,
    charge_end_soc=1.01,
    discharge_per_C=0.015,
    charge_per_C=0.015,
    reachable=LITHIUM,
    least_charge_C=0.0,  # lithium plates out below; common practice, no source
)
