"""Flooded lead-acid: deep-cycle cells with free acid."""

from __future__ import annotations

from powersim.records.chemistry import lead_acid
from powersim.records.chemistry.curves import VoltageCurves
from powersim.records.chemistry.traits import PRACTICE, Chemistry

CHEMISTRY = Chemistry(
    name="flooded",
    defaults=lead_acid.DEFAULTS
    | {
        "self_discharge_frac_per_month": (0.05, PRACTICE),
        "charge_efficiency_frac": (0.88, f"ampere-hours over a cycle; {PRACTICE}"),
        "peukert_exponent": (1.20, f"flooded deep-cycle; {PRACTICE}"),
    },
    # Common practice, no source: 2.35 to 2.50 V a cell, up to 2.7 V to equalise.
    voltages=lead_acid.voltages(
        most_V=16.5,
        usual_V=(14.1, 15.0),
        usual_constant_V=(13.6, 14.8),
        above=f"{lead_acid.DRIES}: right to equalise it now and then, under watch",
        above_constant=lead_acid.DRIES,
    ),
    # Resistances are chosen so that at 25 degC the bank does what is common practice (no source):
    # at 14.4 V it takes 20 to 25 % of its capacity in amperes at half charge, 7 to 10 % at 80 %,
    # 3 to 5 % at 90 %, 1 to 2 % when full; 25 A on 187 Ah at half charge sag it by 0.3 to 0.5 V.
    # At the 20-hour rate it comes to 10.5 V, where that rate's capacity ends, when it is all but
    # empty, as measured AGM banks do. Rested: common practice, no source; empty: acid of 1.11.
    curves=VoltageCurves(
        emf_knots=((0.0, 11.70), (0.5, 12.20), (1.0, 12.70)),
        discharge_ohm_Ah=2.4,
        discharge_rise_ohm_Ah=0.1,
        charge_ohm_Ah=2.0,
        charge_rise_ohm_Ah=3.1,
        charge_end_soc=1.08,
        **lead_acid.IN_THE_COLD,
    ),
    kg_per_Ah=0.26,
    **lead_acid.TRAITS,
)
