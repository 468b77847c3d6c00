"""What flooded, gel and AGM have in common: lead, acid, and what the cold makes of them."""

from __future__ import annotations

from typing import Any

from powersim.records.care import HYDROGEN
from powersim.records.chemistry.curves import ReachableShare
from powersim.records.chemistry.traits import (
    CYCLES,
    DARK_TOO_LATE,
    DARK_TOO_SOON,
    NEVER_FULL,
    NO_MAKER,
    PRACTICE,
    BankSpread,
    Habit,
    VoltageRange,
)

DRIES = "the bank gasses and dries out"

#: Rested voltage of sealed banks, whose little acid is weak when they are empty: fitted to two
#: measured AGM banks (docs/model/battery.md); that gel is like them is judgement. [-, V]
SEALED_EMF = ((0.0, 11.40), (0.5, 12.16), (1.0, 12.87))

DEFAULTS: dict[str, tuple[Any, str]] = {
    "health_frac": (0.85, f"a lead-acid bank of unknown age never gives its label; {PRACTICE}"),
    "floor_soc": (0.50, f"deeper cycles wear lead-acid fast; {PRACTICE}"),
    "flat_soc": (0.20, f"electronics drop out soon after; {PRACTICE}"),
    "cutout_V": (11.5, f"most 12 V electronics; {PRACTICE}"),
    "self_discharge_frac_per_month": (0.02, PRACTICE),
    "standby_A": (0.0, "nothing on the bank itself"),
    "charge_efficiency_frac": (0.93, f"ampere-hours over a cycle; {PRACTICE}"),
    "absorption_V": (14.4, PRACTICE),
    "float_V": (13.5, PRACTICE),
    "temp_comp_V_per_C": (-0.030, f"per 12 V, from 25 degC; {PRACTICE}"),
    "full_tail_frac": (0.02, f"tail current that counts as full; {PRACTICE}"),
    "cycle_life": (((0.3, 1200.0), (0.5, 700.0), (0.8, 400.0)), CYCLES),
}
_FLOAT = VoltageRange(
    possible_V=(12.8, 14.8), usual_V=(13.1, 13.9), above=DRIES, below="the bank loses charge"
)
_CUTOUT = VoltageRange(
    possible_V=(9.0, 12.6), usual_V=(10.5, 12.2), above=DARK_TOO_SOON, below=DARK_TOO_LATE
)
_SLOPE = VoltageRange(
    possible_V=(-0.072, 0.0), usual_V=(-0.045, 0.0), above=NO_MAKER, below=NO_MAKER
)


def voltages(
    *,
    most_V: float,
    usual_V: tuple[float, float],
    usual_constant_V: tuple[float, float],
    above: str,
    above_constant: str | None = None,
) -> dict[str, VoltageRange]:
    """The ranges of a lead-acid bank, which differ in how high it may be charged.

    Parameters
    ----------
    most_V : float
        No more was meant, or the bank does not outlive it. [V]
    usual_V, usual_constant_V : tuple of (float, float)
        As its makers ask for at absorption, and of a regulator that holds one voltage. [V]
    above, above_constant : str
        What comes of more than that; the latter as the former if left out.

    Returns
    -------
    dict of str to VoltageRange
        Field -> its range.
    """
    return {
        "absorption_V": VoltageRange(
            possible_V=(13.2, most_V), usual_V=usual_V, above=above, below=NEVER_FULL
        ),
        "constant_V": VoltageRange(
            possible_V=(12.0, most_V),
            usual_V=usual_constant_V,
            above=above_constant or above,
            below=NEVER_FULL,
        ),
        "float_V": _FLOAT,
        "cutout_V": _CUTOUT,
        "temp_comp_V_per_C": _SLOPE,
    }


# IEEE Std 485, Table 1: temperature [degF] and the cell size correction factor, base 25 degC.
# 25 to 35 degF from memory, the rest seen in a public copy that does not name the standard.
_IEEE_485_SIZE = (
    (25, 1.520),
    (30, 1.430),
    (35, 1.350),
    (40, 1.300),
    (45, 1.250),
    (50, 1.190),
    (55, 1.150),
    (60, 1.110),
    (65, 1.080),
    (70, 1.040),
    (77, 1.000),
)

#: Of the curves: how the resistances rise with cold (Copetti, Lorenzo and Chenlo 1993, from
#: memory), and what cold leaves, the reciprocal of IEEE 485's factor for discharges of many hours.
IN_THE_COLD: dict[str, Any] = {
    "discharge_per_C": 0.007,
    "charge_per_C": 0.025,
    "reachable": ReachableShare(
        bank_C=tuple((degF - 32.0) / 1.8 for degF, _ in _IEEE_485_SIZE),
        share_frac=tuple(1.0 / size for _, size in _IEEE_485_SIZE),
    ),
}

#: Traits of Chemistry in which the three do not differ; common practice, no source.
TRAITS: dict[str, Any] = {
    "word": "lead-acid",
    "habit": Habit(
        start_above_floor_soc=0.15,
        stop_soc=0.80,
        why_stop="above it lead-acid takes less and less",
        full_every_days=10.0,
        why_full="lead-acid that is not filled loses capacity",
    ),
    "mute_soc": None,
    "protected": False,
    "has_acid": True,
    "longest_without_full_days": 7.0,  # then sulphate hardens
    "harm_without_full": "lead-acid sulphates",
    "harm_when_overcharged": "boils lead-acid dry",
    "alternator_frac": None,
    # As far as tables of the trade, alike for all three, lay from the two measured banks: 0.15 V at
    # half charge counts as two standard deviations. Three banks gave 15 % more, 4 and 9 % less than
    # their labels. Judgement, held against what is measured in docs/model/battery.md.
    "spread": BankSpread(
        offset_V=0.08, slope_log=0.12, resistance_log=0.25, exponent=0.05, capacity_log=0.10
    ),
    "cares": (HYDROGEN,),
}
