"""AGM: sealed lead-acid with its acid in a glass mat."""

from __future__ import annotations

from powersim.physics.chemistry.cold import LEAD_ACID
from powersim.physics.curves import VoltageCurves

# Resistances are chosen so that at 14.4 V the bank takes about twice what a flooded one takes, and
# 2 % of its capacity when full; on discharge they are six tenths (common practice, no source).
CURVES = VoltageCurves(
    emf_knots=((0.0, 11.85), (0.5, 12.35), (1.0, 12.85)),  # rested; common practice, no source
    discharge_ohm_Ah=0.8,
    discharge_rise_ohm_Ah=0.4,
    charge_ohm_Ah=2.0,
    charge_rise_ohm_Ah=0.85,
    charge_end_soc=1.05,
    discharge_per_C=0.007,  # both: Copetti, Lorenzo and Chenlo (1993), from memory
    charge_per_C=0.025,
    reachable=LEAD_ACID,
)
