"""Gel: sealed lead-acid with jellied acid, charged at a lower voltage than the others."""

from __future__ import annotations

from powersim.records.chemistry import lead_acid
from powersim.records.chemistry.curves import VoltageCurves
from powersim.records.chemistry.traits import CYCLES, PRACTICE, Chemistry

CHEMISTRY = Chemistry(
    name="gel",
    defaults=lead_acid.DEFAULTS
    | {
        "peukert_exponent": (1.15, f"gel; {PRACTICE}"),
        "absorption_V": (14.1, f"gel dries out above; {PRACTICE}"),
        "cycle_life": (((0.3, 1500.0), (0.5, 800.0), (0.8, 450.0)), CYCLES),
    },
    # Common practice, no source: 2.30 to 2.40 V a cell.
    voltages=lead_acid.voltages(
        most_V=15.6,
        usual_V=(13.8, 14.4),
        usual_constant_V=(13.6, 14.4),
        above="gel dries out above, and nobody can top it up",
    ),
    # On charge resistances are chosen so that at its own 14.1 V gel takes what flooded takes at
    # 14.4 V; on discharge they lie between AGM's and a flooded bank's (common practice, no source).
    curves=VoltageCurves(
        emf_knots=lead_acid.SEALED_EMF,
        discharge_ohm_Ah=1.8,
        discharge_rise_ohm_Ah=0.06,
        charge_ohm_Ah=2.3,
        charge_rise_ohm_Ah=2.3,
        charge_end_soc=1.08,
        **lead_acid.IN_THE_COLD,
    ),
    kg_per_Ah=0.30,
    **lead_acid.TRAITS,
)
