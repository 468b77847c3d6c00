"""AGM: sealed lead-acid with its acid in a glass mat."""

from __future__ import annotations

from powersim.records.chemistry import lead_acid
from powersim.records.chemistry.curves import VoltageCurves
from powersim.records.chemistry.traits import CYCLES, Chemistry

CHEMISTRY = Chemistry(
    name="agm",
    defaults=lead_acid.DEFAULTS
    | {
        "peukert_exponent": (1.05, "AGM; between two measured banks, near 1.0 and 1.1"),
        "cycle_life": (((0.3, 1300.0), (0.5, 600.0), (0.8, 350.0)), CYCLES),
    },
    # Common practice, no source: 2.35 to 2.47 V a cell.
    voltages=lead_acid.voltages(
        most_V=16.0,
        usual_V=(14.1, 14.8),
        usual_constant_V=(13.6, 14.8),
        above="AGM dries out above, and nobody can top it up",
    ),
    # Fitted to two measured banks: docs/model/battery.md, docs/fit_bank.py.
    curves=VoltageCurves(
        emf_knots=lead_acid.SEALED_EMF,
        discharge_ohm_Ah=1.4,
        discharge_rise_ohm_Ah=0.04,
        charge_ohm_Ah=1.75,
        charge_rise_ohm_Ah=0.8,
        charge_end_soc=1.035,
        **lead_acid.IN_THE_COLD,
    ),
    kg_per_Ah=0.29,
    **lead_acid.TRAITS,
)
