"""LiFePO4: lithium iron phosphate, four cells to a 12 V block, with its protection circuit."""

from __future__ import annotations

from powersim.physics.chemistry.cold import LITHIUM
from powersim.physics.curves import VoltageCurves

# Common practice, no source: 100 Ah stand for some 10 milliohm, wiring and protection included,
# doubled by 50 degrees of cold; at 14.2 V the current stays high to 90 % and is below 5 % at 99 %.
CURVES = VoltageCurves(
    emf_knots=(
        (0.0, 10.80),
        (0.10, 12.80),
        (0.20, 13.02),
        (0.50, 13.20),
        (0.70, 13.30),
        (0.90, 13.35),
        (1.0, 13.50),
    ),
    discharge_ohm_Ah=1.0,
    discharge_rise_ohm_Ah=0.02,
    charge_ohm_Ah=1.0,
    charge_rise_ohm_Ah=0.045,
    charge_end_soc=1.01,
    discharge_per_C=0.02,
    charge_per_C=0.02,
    reachable=LITHIUM,
    least_charge_C=0.0,  # lithium plates out when charged below; common practice, no source
)
