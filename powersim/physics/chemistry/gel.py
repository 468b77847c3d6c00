"""Lead-acid, gel."""

from __future__ import annotations

from powersim.physics.chemistry.cold import LEAD_ACID
from powersim.physics.curves import VoltageCurves

# Form of the resistances: Copetti, Lorenzo and Chenlo, Progress in Photovoltaics 1 (1993) 283-292.
CURVES = VoltageCurves(
    emf_knots=((0.0, 11.80), (1.0, 12.85)),
    discharge_ohm_Ah=1.2,
    discharge_rise_ohm_Ah=0.45,
    charge_ohm_Ah=3.1,
    charge_rise_ohm_Ah=3.1,
    charge_end_soc=1.10,
    discharge_per_C=0.007,
    charge_per_C=0.025,
    reachable=LEAD_ACID,
)
