"""AGM: sealed lead-acid with its acid in a glass mat."""

from __future__ import annotations

from powersim.records.chemistry import lead_acid
from powersim.records.chemistry.curves import VoltageCurves
from powersim.records.chemistry.traits import CYCLES, PRACTICE, Chemistry

CHEMISTRY = Chemistry(
    name="agm",
    defaults=lead_acid.DEFAULTS
    | {
        "peukert_exponent": (1.10, f"AGM; {PRACTICE}"),
        "cycle_life": (((0.3, 1300.0), (0.5, 600.0), (0.8, 350.0)), CYCLES),
    },
    # Common practice, no source: 2.35 to 2.47 V a cell.
    voltages=lead_acid.voltages(
        most_V=16.0,
        usual_V=(14.1, 14.8),
        usual_constant_V=(13.6, 14.8),
        above="AGM dries out above, and nobody can top it up",
    ),
    # Resistances are chosen so that at 14.4 V the bank takes about twice what a flooded one takes,
    # and 2 % of its capacity when full; on discharge they are six tenths (common practice, no
    # source).
    curves=VoltageCurves(
        emf_knots=((0.0, 11.85), (0.5, 12.35), (1.0, 12.85)),  # rested; common practice, no source
        discharge_ohm_Ah=0.8,
        discharge_rise_ohm_Ah=0.4,
        charge_ohm_Ah=2.0,
        charge_rise_ohm_Ah=0.85,
        charge_end_soc=1.05,
        **lead_acid.IN_THE_COLD,
    ),
    kg_per_Ah=0.29,
    **lead_acid.TRAITS,
)
