"""LiFePO4: lithium iron phosphate, four cells to a 12 V block, with its protection circuit."""

from __future__ import annotations

from powersim.records.care import Care
from powersim.records.chemistry.curves import ReachableShare, VoltageCurves
from powersim.records.chemistry.traits import (
    CYCLES,
    DARK_TOO_LATE,
    DARK_TOO_SOON,
    NEVER_FULL,
    NO_MAKER,
    PRACTICE,
    BankSpread,
    Chemistry,
    Habit,
    VoltageRange,
)

_OPENS = "its protection opens, which can destroy an alternator"

CHEMISTRY = Chemistry(
    name="lifepo4",
    word="lithium",
    defaults={
        "health_frac": (0.95, f"lithium of unknown age; {PRACTICE}"),
        "floor_soc": (0.20, f"leaves a margin before protection opens; {PRACTICE}"),
        "flat_soc": (0.10, f"protection opens about here; {PRACTICE}"),
        "cutout_V": (11.2, f"2.8 V a cell, protection opens; {PRACTICE}"),
        "self_discharge_frac_per_month": (0.02, PRACTICE),
        "standby_A": (0.030, f"the protection circuit; {PRACTICE}"),
        "charge_efficiency_frac": (0.99, f"ampere-hours over a cycle; {PRACTICE}"),
        "peukert_exponent": (1.02, f"the rate hardly matters to lithium; {PRACTICE}"),
        "absorption_V": (14.2, PRACTICE),
        "float_V": (13.5, PRACTICE),
        "temp_comp_V_per_C": (0.0, "lithium is charged without temperature compensation"),
        "full_tail_frac": (0.05, f"tail current that counts as full; {PRACTICE}"),
        "cycle_life": (((0.5, 5000.0), (0.8, 3000.0), (1.0, 2000.0)), CYCLES),
    },
    # Common practice, no source: 3.45 to 3.65 V a cell; protection opens at 3.65 to 3.8 V and at
    # 2.5 to 2.8 V.
    voltages={
        "absorption_V": VoltageRange(
            possible_V=(13.2, 15.2), usual_V=(13.8, 14.6), above=_OPENS, below=NEVER_FULL
        ),
        "constant_V": VoltageRange(
            possible_V=(12.0, 15.2), usual_V=(13.5, 14.6), above=_OPENS, below=NEVER_FULL
        ),
        "float_V": VoltageRange(
            possible_V=(12.8, 14.6),
            usual_V=(13.2, 13.8),
            above="lithium that is held full ages fast",
            below="the bank gives before its charger does",
        ),
        "cutout_V": VoltageRange(
            possible_V=(8.0, 13.0), usual_V=(10.0, 12.8), above=DARK_TOO_SOON, below=DARK_TOO_LATE
        ),
        "temp_comp_V_per_C": VoltageRange(
            possible_V=(-0.072, 0.0),
            usual_V=(0.0, 0.0),
            above=NO_MAKER,
            below="lithium is charged without: in the cold it would be given too much",
        ),
    },
    # Common practice, no source: 100 Ah stand for some 10 milliohm, wiring and protection included,
    # doubled by 50 degrees of cold; at 14.2 V the current stays high to 90 % and is below 5 % at
    # 99 %.
    curves=VoltageCurves(
        # Fitted to the middle of a measured cell's slow charge and discharge, within 11 mV a cell
        # from 10 to 90 %, 5 to 45 degC (docs/model/battery.md); at 0 and 1 common practice.
        emf_knots=(
            (0.0, 10.80),
            (0.05, 12.17),
            (0.08, 12.60),
            (0.12, 12.85),
            (0.20, 12.98),
            (0.30, 13.125),
            (0.40, 13.21),
            (0.55, 13.245),
            (0.70, 13.32),
            (0.80, 13.385),
            (0.90, 13.40),
            (1.0, 13.55),
        ),
        discharge_ohm_Ah=1.0,
        discharge_rise_ohm_Ah=0.02,
        charge_ohm_Ah=1.0,
        charge_rise_ohm_Ah=0.045,
        charge_end_soc=1.01,
        discharge_per_C=0.02,
        charge_per_C=0.02,
        # All of it down to freezing, a mild loss below; common practice, no source.
        reachable=ReachableShare(bank_C=(-20.0, -10.0, 0.0), share_frac=(0.80, 0.92, 1.0)),
        least_charge_C=0.0,  # lithium plates out when charged below; common practice, no source
    ),
    habit=Habit(  # common practice, no source
        start_above_floor_soc=0.10,
        stop_soc=0.90,
        why_stop="room for the sun",
        full_every_days=None,
        why_full="lithium needs none",
    ),
    mute_soc=(0.20, 0.90),  # common practice, no source
    protected=True,
    has_acid=False,
    longest_without_full_days=None,
    harm_without_full="",
    harm_when_overcharged="opens lithium's protection",
    alternator_frac=0.50,  # common practice, no source
    # Such cells rest within 5 mV of each other and age less unevenly than lead-acid; judgement.
    spread=BankSpread(
        offset_V=0.02, slope_log=0.02, resistance_log=0.25, exponent=0.01, capacity_log=0.05
    ),
    kg_per_Ah=0.12,  # common practice, no source
    cares=(Care(full="Lithium needs its protection system, and no charge below 0 degC."),),
    cares_with_alternator=(
        Care(
            full="Protection that opens under charge can destroy the alternator: give it a surge "
            "path, and protect it from overload.",
        ),
    ),
)
