"""Flooded lead-acid: deep-cycle cells with free acid."""

from __future__ import annotations

from powersim.physics.chemistry.cold import LEAD_ACID
from powersim.physics.curves import VoltageCurves

# Resistances are chosen so that at 25 degC the bank does what is common practice (no source): at
# 14.4 V it takes 20 to 25 % of its capacity in amperes at half charge, 7 to 10 % at 80 %, 3 to 5 %
# at 90 %, 1 to 2 % when full; at the 20-hour rate and 20 % it stands near 11.5 V; 25 A on 187 Ah
# at half charge sag it by 0.3 to 0.5 V.
CURVES = VoltageCurves(
    emf_knots=((0.0, 11.80), (0.5, 12.20), (1.0, 12.70)),  # rested; common practice, no source
    discharge_ohm_Ah=1.3,
    discharge_rise_ohm_Ah=0.67,
    charge_ohm_Ah=2.0,
    charge_rise_ohm_Ah=3.1,
    charge_end_soc=1.08,
    discharge_per_C=0.007,  # both: Copetti, Lorenzo and Chenlo (1993), from memory
    charge_per_C=0.025,
    reachable=LEAD_ACID,
)
