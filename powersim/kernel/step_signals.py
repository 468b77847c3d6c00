"""What comes from the world in one step: the row that every decision of the step reads."""

from __future__ import annotations

from typing import NamedTuple


class StepSignals(NamedTuple):
    """Signals of one step for one member, but for what chargers offer (chargers.Offer).

    The fields are those of simulation.signals.Signals; groups of loads are tuples of four.
    """

    load_A: tuple[float, ...]
    load_W: tuple[float, ...]
    peak_A: tuple[float, ...]
    motoring: float
    may_run: float
    sea_lets: float
    opens_h: float
    closes_h: float
    ordered: float
    reads: float
    misread_soc: float
    bank_C: float
    takes_charge: float
    unreachable_frac: float
    full_V: float
    alternator_absorption_V: float
    alternator_float_V: float
    heater_L: tuple[float, ...]
