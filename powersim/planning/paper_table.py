"""A table on paper: what is read at dawn, and what the sky looks like, give the hours to run today.

It is made from one number, the charge that is wanted at the next dawn, so that a lower bank or a
greyer sky never asks for less.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.alternator import bank_setpoint_V
from powersim.physics.voltage import charge_current_A, coulombic_frac
from powersim.planning.panel_values import shown_V
from powersim.planning.rule_candidates import least_start
from powersim.records import Boat
from powersim.simulation.reading import SOCS

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Ints
    from powersim.simulation.prepared import Prepared

#: Kinds of day, the brightest first, and the least share of a clear sky's light of all but the
#: last: with sharp shadows, with the sun seen through cloud, without a shadow (judgement). [-]
KINDS, KIND_FROM_FRAC = ("clear", "mixed", "grey"), (0.70, 0.40)
#: Steps of what is read: a cheap voltmeter's, of 12 V, and a counter's. [V], [-]
STEP_V, STEP_SOC = 0.05, 0.05
#: Runs are told in steps of so much. [h]
STEP_RUN_h = 0.5
#: Most rows beside that for a bank that is too low.
MOST_ROWS = 7
#: How far above the floor a bank is too low to look up anything (common practice, no source). [-]
TOO_LOW_SOC = 0.05
#: What a bank takes beyond it is not counted on. [-]
_NEARLY_FULL_SOC = 0.98
_STEP_SOC = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperTable:
    """A table to run the engine by, without a computer.

    Attributes
    ----------
    levels_soc : tuple of float
        What a row is read from on, as the bank seems to hold, the fullest first. [-]
    levels_V : tuple of float or None
        The same on the voltmeter; None where a counter is read. [V]
    runs_h : tuple of tuple of float
        A row a level: how long to run on a clear, a mixed and a grey day. [h]
    longest_h : float
        What is run below the last level. [h]
    read_at_h, begin_h : float
        When it is read, and when the run begins at the earliest, ship's time. [h]
    wanted_soc, least_h : float
        What is wanted at the next dawn, and the shortest run: the table is made from them.
        [-], [h]
    """

    levels_soc: tuple[float, ...]
    levels_V: tuple[float, ...] | None
    runs_h: tuple[tuple[float, ...], ...]
    longest_h: float
    read_at_h: float
    begin_h: float
    wanted_soc: float
    least_h: float

    def runs_at(self, seems_soc: Array, kind: Ints) -> Array:
        """How long to run, for what the bank seems to hold and the kind of day.

        Parameters
        ----------
        seems_soc : ndarray
            As it is read: between two rows the lower one counts. [-]
        kind : ndarray of int
            Place in KINDS.

        Returns
        -------
        ndarray
            The longest run where the bank is below the last row. [h]
        """
        rows = np.array([*self.runs_h, (self.longest_h,) * len(KINDS)])
        levels = np.array(self.levels_soc)
        row = (np.asarray(seems_soc)[..., None] < levels - 1e-9).sum(axis=-1)
        return rows[row, kind]


@dataclass(frozen=True, slots=True, kw_only=True)
class Charging:
    """How a boat's bank is charged by her engine, and what a day does to it without.

    Attributes
    ----------
    gains_soc : tuple of float
        By how much the bank is fuller at the next dawn, after a clear, a mixed and a grey day on
        which the engine does not run; below 0 for less. [-]
    socs, hours_h : ndarray, shape (n,)
        Charges, rising, and how long the engine takes from the first of them to each. [-], [h]
    """

    gains_soc: tuple[float, ...]
    socs: Array
    hours_h: Array


def charging_of(boat: Boat, prepared: Prepared, gains_soc: tuple[float, ...]) -> Charging:
    """How long her engine takes from one charge to another, at the bank's mean temperature.

    Parameters
    ----------
    boat : Boat
        With an alternator that the engine drives.
    prepared : Prepared
        The passage.
    gains_soc : tuple of float
        As `Charging` has them; a greyer day is never taken to give more. [-]
    """
    bank, bank_C = prepared.plant.bank, float(prepared.sky.bank_C.mean())
    alternator = boat.driven_alternator
    assert alternator is not None, "a table of runs wants something to charge with"
    volts = bank_setpoint_V(alternator, boat.battery, bank_C=bank_C)[0]
    socs = np.arange(0.0, _NEARLY_FULL_SOC + 1e-9, _STEP_SOC)
    hours_h = [0.0]
    for soc in socs[:-1].tolist():
        into_A = min(alternator.charging_A, charge_current_A(bank, soc, bank_C, volts=volts))
        gains_A = max(into_A * coulombic_frac(bank, soc), 1e-6)
        hours_h.append(hours_h[-1] + _STEP_SOC * bank.capacity_Ah / gains_A)
    falling = np.minimum.accumulate(np.array(gains_soc))
    return Charging(gains_soc=tuple(falling.tolist()), socs=socs, hours_h=np.array(hours_h))


def run_h(
    charging: Charging,
    *,
    soc: float,
    kind: int,
    wanted_soc: float,
    least_h: float,
    longest_h: float,
) -> float:
    """How long to run today, in steps of half an hour.

    Parameters
    ----------
    charging : Charging
        Of the boat.
    soc : float
        What the bank holds at dawn. [-]
    kind : int
        Place in KINDS.
    wanted_soc : float
        What it is to hold at the next dawn. [-]
    least_h, longest_h : float
        Bounds of a run. [h]

    Returns
    -------
    float
        0 where the day alone will do. [h]
    """
    lacks_soc = wanted_soc - soc - charging.gains_soc[kind]
    if not lacks_soc > 0.0:
        return 0.0
    from_h, to_h = np.interp(
        (soc, min(soc + lacks_soc, _NEARLY_FULL_SOC)), charging.socs, charging.hours_h
    ).tolist()
    steps_h = math.ceil((to_h - from_h) / STEP_RUN_h - 1e-9) * STEP_RUN_h
    return min(max(steps_h, least_h), longest_h)


def paper_table(
    boat: Boat, prepared: Prepared, charging: Charging, *, wanted_soc: float, least_h: float
) -> PaperTable:
    """The table that a charge wanted at the next dawn makes, with as few rows as will do.

    Parameters
    ----------
    boat : Boat
        For how her bank is read, when, and the bounds of a run.
    prepared : Prepared
        The passage, for what the voltmeter shows.
    charging : Charging
        Of `charging_of`.
    wanted_soc : float
        At the next dawn. [-]
    least_h : float
        The shortest run. [h]
    """
    rule, battery = boat.charging, boat.battery
    by_volts = battery.volts_tell
    longest_h = max(rule.longest_h, least_h)
    lowest_soc = least_start(boat) + TOO_LOW_SOC
    for coarser in range(1, 20):
        marks = _marks_V(prepared, battery, coarser) if by_volts else _marks(coarser)
        rows = [
            (
                soc,
                volts,
                tuple(
                    run_h(
                        charging,
                        soc=soc,
                        kind=kind,
                        wanted_soc=wanted_soc,
                        least_h=least_h,
                        longest_h=longest_h,
                    )
                    for kind in range(len(KINDS))
                ),
            )
            for soc, volts in marks
            if soc >= lowest_soc - 1e-9
        ]
        # Of neighbours alike the lower one stands for both.
        kept = [
            row
            for row, below in zip(rows, [*rows[1:], None], strict=True)
            if below is None or below[2] != row[2]
        ]
        if len(kept) <= MOST_ROWS:
            break
    return PaperTable(
        levels_soc=tuple(soc for soc, _, _ in kept),
        levels_V=tuple(volts for _, volts, _ in kept) if by_volts else None,
        runs_h=tuple(runs for _, _, runs in kept),
        longest_h=longest_h,
        read_at_h=dawn_h(boat),
        begin_h=rule.hours_h[0],
        wanted_soc=wanted_soc,
        least_h=least_h,
    )


def dawn_h(boat: Boat) -> float:
    """When the bank is read for the table: the first of the boat's own times, or 06:00. [h]"""
    return boat.charging.read_at_h[0] if boat.charging.read_at_h else 6.0


def _marks(coarser: int) -> list[tuple[float, float]]:
    """A counter's levels, the fullest first."""
    step = STEP_SOC * coarser
    return [(round(one * step, 4), 0.0) for one in range(math.floor(1.0 / step + 1e-9), 0, -1)]


def _marks_V(prepared: Prepared, battery, coarser: int) -> list[tuple[float, float]]:
    """A voltmeter's levels, the fullest first, and the charge that each shows."""
    step_V = STEP_V * coarser * prepared.plant.bank.blocks
    shows_V = [shown_V(prepared, soc) for soc in SOCS.tolist()]
    first, last = math.floor(shows_V[-1] / step_V + 1e-9), math.ceil(shows_V[0] / step_V - 1e-9)
    volts = [round(one * step_V, 4) for one in range(first, last - 1, -1)]
    return [(float(np.interp(one, shows_V, SOCS)), one) for one in volts]
