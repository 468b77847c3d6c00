"""The boat as a step sees it: constants only."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from powersim.kernel.pack import Pack
from powersim.physics.bank_constants import Bank
from powersim.records import Alternator
from powersim.records.brief import brief


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """The charging rule as the kernel uses it; never is an interval of inf or a level of -inf.

    Attributes
    ----------
    start_soc, stop_soc : float
        Charge at which the engine is started and stopped; it is stopped at inf where the clock or
        the ammeter ends a run. [-]
    shortest_h, longest_h : float
        Bounds of one run; the same for one by the clock. [h]
    full_every_h : float
        How long the bank may go without a full charge before a run to full is due. [h]
    at_readings : float
        1 where a run falls due only when the bank is read, 0 where the charge is always known.
    ends_A : float
        Current into the bank below which a run ends; -inf where it does not end by it. [A]
    little_Ah : float
        Readings after the day's first count where the panels gave less since it; inf for always.
        [Ah]
    full_shortest_h, full_longest_h : float
        Bounds of a run to full. [h]
    comfort_below_soc, useful_below_soc, restore_frac : float
        Shedding levels. [-]
    drift_per_h, drifts_h : float
        How much more than it holds the bank seems to hold for each hour since it was full, and for
        how many of them: a counter that is set right by a full charge alone. [1/h], [h]
    wait_below_soc, wait_readings : float
        Above the start and up to this level a run falls due only at so many readings running; -inf
        for a rule that does not wait. [-]
    """

    start_soc: float
    stop_soc: float
    shortest_h: float
    longest_h: float
    full_every_h: float
    at_readings: float
    ends_A: float
    little_Ah: float
    full_shortest_h: float
    full_longest_h: float
    comfort_below_soc: float
    useful_below_soc: float
    restore_frac: float
    drift_per_h: float = 0.0
    drifts_h: float = 0.0
    wait_below_soc: float = -math.inf
    wait_readings: float = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Plant:
    """Constants of the boat that the step needs.

    Attributes
    ----------
    bank : Bank
        The battery with its constants for this step length.
    flat_soc, cutout_V : float
        When electronics go dark. [-], [V]
    least_V : float
        The bus is never below it: the cut-out, or the voltage of an empty bank at rest where that
        is lower. [V]
    self_discharge_per_h : float
        Share of the charge held that is lost in an hour.
    standby_A : float
        What the bank's own protection takes. [A]
    tail_A : float
        Current into the bank below which it counts as full. [A]
    idle_A : float
        What solar controllers take. [A]
    alternator : Alternator
        With no more output than the engine can turn; one of no output for a boat without.
    burn_L_per_h, motoring_L_per_h, slope_L_per_kWh, charging_slope_L_per_kWh : float
        Fuel at charging revs, in gear, and for the alternator's shaft energy when motoring and
        when charging. [L/h], [L/h], [L/kWh], [L/kWh]
    usable_L : float
        Fuel that can be burnt; inf where it is not to run out. [L]
    start_above_soc : float
        Charge needed to start the engine; -inf for one with a battery of its own, which needs none
        of this bank. [-]
    charges_flat_bank : bool
        Whether the alternator works on a dark bank.
    runs_in_the_cold : bool
        Whether the engine runs for a bank that is too cold to be charged: only in the past, where
        the log has it so.
    rule : Rule
        When the engine charges and what is shed.
    pack : Pack
        Devices with batteries of their own that are charged before the bank is full.
    """

    bank: Bank
    flat_soc: float
    cutout_V: float
    least_V: float
    self_discharge_per_h: float
    standby_A: float
    tail_A: float
    idle_A: float
    alternator: Alternator
    burn_L_per_h: float
    motoring_L_per_h: float
    slope_L_per_kWh: float
    charging_slope_L_per_kWh: float
    usable_L: float
    start_above_soc: float
    charges_flat_bank: bool
    rule: Rule
    runs_in_the_cold: bool = False
    pack: Pack = field(default_factory=Pack)

    __repr__ = brief
