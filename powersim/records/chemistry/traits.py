"""What a chemistry is: every trait in which one bank differs from another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from powersim.records.care import Care
from powersim.records.chemistry.curves import VoltageCurves

PRACTICE = "common practice, no source"
CYCLES = f"makers differ by a factor of two; {PRACTICE}"
#: What comes of voltages that are higher or lower than usual, whatever is in the cells.
NEVER_FULL = "the bank never gets quite full"
DARK_TOO_SOON = "all goes dark with charge left in the bank"
DARK_TOO_LATE = "most things drop out sooner, and the answer is too good"
NO_MAKER = "its makers ask for none of that kind"
#: How far a cold spell takes the air below its month's mean (common practice, no source). [degC]
COLD_SPELL_C = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltageRange:
    """What one voltage of a bank may be: it tells a slip of the pen from a boat.

    Attributes
    ----------
    possible_V : tuple of (float, float)
        Beyond it the figure was not meant, or the bank does not outlive it. [V]
    usual_V : tuple of (float, float)
        As makers ask for. [V]
    above, below : str
        What comes of a voltage beyond the usual ones, on either side.
    """

    possible_V: tuple[float, float]
    usual_V: tuple[float, float]
    above: str
    below: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """How the engine is used to charge such a bank, unless the sailor says otherwise.

    Attributes
    ----------
    start_above_floor_soc : float
        How far above the floor it is started. [-]
    stop_soc : float
        Where it is stopped. [-]
    why_stop : str
        Why there.
    full_every_days : float or None
        How often it runs on to a full charge; None for never. [day]
    why_full : str
        Why so often.
    """

    start_above_floor_soc: float
    stop_soc: float
    why_stop: str
    full_every_days: float | None
    why_full: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BankSpread:
    """How far banks of one kind and one label lie from each other: one standard deviation of each.

    Attributes
    ----------
    offset_V : float
        Of the rested voltage of a 12 V block, at any charge. [V]
    slope_log : float
        Of the logarithm of how much it rises from empty to full. [-]
    resistance_log : float
        Of the logarithm of all resistances. [-]
    exponent : float
        Of the Peukert exponent; no bank is below 1. [-]
    capacity_log : float
        Of the logarithm of the capacity that is left, however well its health is guessed. [-]
    """

    offset_V: float
    slope_log: float
    resistance_log: float
    exponent: float
    capacity_log: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Chemistry:
    """All that is known of a chemistry. Voltages are for a bank of 12 V, and scale with it.

    Attributes
    ----------
    name : str
        As boat.toml has it.
    word : str
        As it is called in a sentence.
    defaults : mapping of str to (float, str)
        Field of Battery -> what it is unless the sailor says otherwise, and why.
    voltages : mapping of str to VoltageRange
        Field of Battery, or "constant_V" for an alternator that holds one voltage -> its range.
    curves : VoltageCurves
        Its voltage, its resistances, and what cold takes of it.
    habit : Habit
        How the engine is used to charge it.
    mute_soc : tuple of (float, float) or None
        Charges between which its voltage is so flat that a voltmeter tells nothing; None for a
        voltage that tells the charge. [-]
    protected : bool
        Whether a circuit of its own may open and take everything off at once.
    has_acid : bool
        Whether what is in it freezes, the sooner the flatter it is.
    longest_without_full_days : float or None
        It takes no harm from so long without a full charge; None for ever. [day]
    harm_without_full : str
        What comes of a longer time.
    harm_when_overcharged : str
        What a source does to it that goes on when it is full.
    alternator_frac : float or None
        Most of its nameplate that an alternator without temperature control lasts at, since the
        bank takes all that it is given; None where the bank itself soon takes less. [-]
    spread : BankSpread
        How far one such bank may be from another.
    kg_per_Ah : float
        What such a bank weighs. [kg/Ah]
    cares : tuple of Care
        What to mind of the bank.
    cares_with_alternator : tuple of Care
        What to mind where an alternator charges it.
    """

    name: str
    word: str
    defaults: Mapping[str, tuple[Any, str]]
    voltages: Mapping[str, VoltageRange]
    curves: VoltageCurves
    habit: Habit
    mute_soc: tuple[float, float] | None
    protected: bool
    has_acid: bool
    longest_without_full_days: float | None
    harm_without_full: str
    harm_when_overcharged: str
    alternator_frac: float | None
    spread: BankSpread
    kg_per_Ah: float
    cares: tuple[Care, ...]
    cares_with_alternator: tuple[Care, ...] = ()

    @property
    def frost_C(self) -> float | None:
        """Temperature of the bank below which frost is spoken of; None for never. [degC]"""
        if self.curves.least_charge_C is not None:
            return self.curves.least_charge_C + COLD_SPELL_C
        return 0.0 if self.has_acid else None
