"""Gel: sealed lead-acid with jellied acid, charged at a lower voltage than the others."""

from __future__ import annotations

from powersim.physics.chemistry.cold import LEAD_ACID
from powersim.physics.curves import VoltageCurves

# Resistances are three quarters of a flooded bank's on charge, so that at its own 14.1 V gel takes
# what flooded takes at 14.4 V, and on discharge too (common practice, no source).
CURVES = VoltageCurves(
    emf_knots=((0.0, 11.85), (0.5, 12.35), (1.0, 12.85)),  # rested; common practice, no source
    discharge_ohm_Ah=1.0,
    discharge_rise_ohm_Ah=0.5,
    charge_ohm_Ah=1.5,
    charge_rise_ohm_Ah=2.3,
    charge_end_soc=1.08,
    discharge_per_C=0.007,  # both: Copetti, Lorenzo and Chenlo (1993), from memory
    charge_per_C=0.025,
    reachable=LEAD_ACID,
)
