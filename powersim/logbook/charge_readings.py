"""The charge that a log's voltages show, and what they and a battery monitor may be off by."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from powersim.physics.bank import bank_of, discharge_resistance_ohm
from powersim.physics.ratings import RATED_H
from powersim.physics.rest import surface_V
from powersim.records import Battery
from powersim.simulation.calibration import RestedVolts, rested_volts
from powersim.simulation.reading_parts import (
    COUNTER_GAIN_SD_FRAC,
    LOAD_SD_FRAC,
    SURFACE_MEAN_FRAC,
    COUNTER_LOOK_SD_Ah,
    Part,
    counter_parts,
    volts_parts,
)
from powersim.simulation.usual_load import mean_load_A

if TYPE_CHECKING:
    from powersim.logbook.hindcast import History
    from powersim.logbook.readings import Reading
    from powersim.simulation.prepared import Prepared

#: Share of the variance of how full a bank was when its monitor was set that is new each time, for
#: some charges end just short of that; the rest is the monitor's own habit. Judgement. [-]
ANEW_SHARE = 0.5
#: A bank that the past as planned has at this charge was full: a counter was set right there. [-]
FULL_SOC = 0.97
#: Where the log gives no rest, loads heavier than that of the moment were on so long ago;
#: judgement. [h]
_LOAD_BEFORE_h = 0.5
#: Rest that a voltage needs after discharge, and after charge for its surface charge to go. [h]
REST_AFTER_DISCHARGE_h, REST_AFTER_CHARGE_h = 2.0, 12.0
#: A bank is at rest below this share of the 20-hour current, which comes to C20/50. [-]
REST_SHARE_OF_RATED = RATED_H / 50.0


def used_frac_per_day(prepared: Prepared) -> float:
    """What the loads take in a day as planned, as a share of the bank: so much goes in and out.

    Parameters
    ----------
    prepared : Prepared
        The passage.
    """
    return 24.0 * mean_load_A(prepared) / prepared.plant.bank.capacity_Ah


def counter_doubt(
    soc: float, at_h: float, *, battery: Battery, nominal: History, used_frac: float
) -> tuple[Part, ...]:
    """What a battery monitor errs by that was set right when the bank was last full.

    Parameters
    ----------
    soc : float
        As it was read. [-]
    at_h : float
        Time since departure. [h]
    battery : Battery
        The bank.
    nominal : History
        The past as planned, for when the bank was full; at departure at the latest.
    used_frac : float
        From `used_frac_per_day`. [-]
    """
    places = int(np.searchsorted(nominal.at_h, at_h, side="right"))
    full = np.flatnonzero(nominal.soc[:places, 0] >= FULL_SOC)
    since_h = at_h - (float(nominal.at_h[full[-1]]) if full.size else 0.0)
    return counter_parts(battery, soc=soc, days=since_h / 24.0, used_frac_per_day=used_frac)


def set_full_h(readings: Sequence[Reading], battery: Battery) -> list[float]:
    """When the monitor's own count was last set to full, by the time of each reading of it.

    It was at departure at the latest, and wherever the count is at 0 or next to it. A rise to 0 is
    no contradiction: that is how a monitor sets itself right at a full charge.

    Parameters
    ----------
    readings : sequence of Reading
        Those that have `monitor_Ah`, in order of time.
    battery : Battery
        The bank.

    Returns
    -------
    list of float
        Since departure, one for each reading. [h]
    """
    full_h, found = 0.0, []
    for one in readings:
        assert one.entry.monitor_Ah is not None, "asked of readings with a count"
        if one.entry.monitor_Ah >= -(1.0 - FULL_SOC) * battery.real_capacity_Ah:
            full_h = one.at_h
        found.append(full_h)
    return found


class CountDoubt(NamedTuple):
    """What a count errs by: in all, by what lasts, and by what is new after each charge. [Ah]"""

    sd: float
    lasting_sds: tuple[float, ...]
    anew_sd: float


def count_doubt_Ah(
    monitor_Ah: float, since_h: tuple[float, float], *, battery: Battery, nominal: History
) -> CountDoubt:
    """What a monitor's own count of ampere-hours errs by.

    It errs as its per cent do (simulation/reading_parts.py), but for the capacity that these are
    worked out with; in place of that, the shunt is off by a share of all that it counts.

    Parameters
    ----------
    monitor_Ah : float
        As it was read, below 0 by what has left a full bank. [Ah]
    since_h : tuple of (float, float)
        When it was last set to full, and when it was read. [h]
    battery : Battery
        The bank.
    nominal : History
        The past as planned, for the charge since then.

    Returns
    -------
    CountDoubt
        Its lasting parts in the order of `counter_doubt`, with that of the shunt behind them.
    """
    capacity_Ah, days = battery.real_capacity_Ah, max((since_h[1] - since_h[0]) / 24.0, 1e-9)
    full_Ah, charged_Ah = nominal.charged_Ah(np.array(since_h))
    used_frac = (charged_Ah - full_Ah) / capacity_Ah / days
    capacity, full, *drifts = (
        capacity_Ah * one.sd_soc
        for one in counter_parts(battery, soc=1.0, days=days, used_frac_per_day=used_frac)
        if one.lasts
    )
    anew_Ah = math.sqrt(ANEW_SHARE) * full
    lasting = (
        *(capacity, math.sqrt(1.0 - ANEW_SHARE) * full, *drifts),
        COUNTER_GAIN_SD_FRAC * abs(monitor_Ah),
    )
    sd_Ah = math.hypot(*lasting, anew_Ah, COUNTER_LOOK_SD_Ah)
    return CountDoubt(sd=sd_Ah, lasting_sds=lasting, anew_sd=anew_Ah)


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltageRead:
    """What a voltage says of the charge.

    Attributes
    ----------
    soc : float
        State of charge that it would be in the middle bank: above 1 and below 0 too, where a bank's
        volts lie beyond those of the middle one. [-]
    rested : bool
        Whether the bank was at rest.
    parts : tuple of Part
        What it may be off by.
    """

    soc: float
    rested: bool
    parts: tuple[Part, ...]


def charge_from_voltage(
    reading: Reading, battery: Battery, nominal: History, prepared: Prepared
) -> VoltageRead | None:
    """The state of charge that a voltage shows.

    None where the voltage says nothing: during a charge, or where the chemistry's is flat. A bank
    is rested below C20/50, 2 h after discharge or 12 h after charge. Otherwise the drop over the
    bank's resistance is added. What may be left of a surface charge is taken off by its mean, and
    makes the reading poorer. `nominal` has the current where the log has none, and shows whether
    the rest came after a charge.
    """
    entry, at_h = reading.entry, reading.at_h
    bank = bank_of(battery, step_h=1.0)
    rest_A = REST_SHARE_OF_RATED * battery.capacity_Ah / RATED_H
    resting_h = entry.resting_h or 0.0
    step_h = nominal.at_h[1]
    before = nominal.net_A[max(0, min(int((at_h - resting_h) / step_h), len(nominal.net_A) - 1)), 0]
    current_A = entry.current_A
    charged = before > 0.0
    enough_h = REST_AFTER_CHARGE_h if charged else REST_AFTER_DISCHARGE_h
    quiet = current_A is None or abs(current_A) < rest_A
    rested = quiet and resting_h >= enough_h
    measured = current_A is not None
    if current_A is None:
        current_A = 0.0 if resting_h > 0.0 else float(nominal.at("net_A", np.array([at_h]))[0, 0])
    if current_A > rest_A:
        return None
    volts = entry.voltage_V
    assert volts is not None, "asked of readings with a voltage"
    bank_C = float(prepared.sky.bank_C[min(int(at_h / step_h), len(prepared.sky.bank_C) - 1)])
    load_A = 0.0
    if not rested and current_A < 0.0:
        load_A = -current_A
        soc = float(nominal.at("soc", np.array([at_h]))[0, 0])
        volts += load_A * discharge_resistance_ohm(bank, soc, bank_C)
    mute = battery.traits.mute_soc
    rest_h, drawn_frac = resting_h, 0.0 if charged else math.inf
    if resting_h == 0.0:
        rest_h, drawn_frac = _since_charge(nominal, at_h, bank.capacity_Ah)
    if mute is None:
        volts -= bank.blocks * SURFACE_MEAN_FRAC * surface_V(rest_h, drawn_frac=drawn_frac)
    seems_soc = _seems_soc(volts / bank.blocks, rested_volts(battery))
    soc = min(max(seems_soc, 0.0), 1.0)
    if mute and mute[0] < soc < mute[1]:
        return None
    if mute is not None:  # the ends of its curve are too steep to lead beyond them
        seems_soc = soc
    parts = volts_parts(
        battery,
        bank,
        soc=soc,
        load_A=load_A,
        bank_C=bank_C,
        rest_h=rest_h,
        drawn_frac=drawn_frac,
        since_load_h=max(resting_h, _LOAD_BEFORE_h),
        load_sd_frac=0.0 if measured else LOAD_SD_FRAC,
    )
    return VoltageRead(soc=seems_soc, rested=rested, parts=parts)


def _seems_soc(volts: float, known: RestedVolts) -> float:
    """The charge that a block's rested volts show, on the line of the last knots beyond them. [-]

    A full bank that rests higher than others must not pass for one that is just full: it is what
    tells that its later readings are too high as well.
    """
    socs = [soc for soc, _ in known.knots]
    shown_V = [known.shown_V(soc) for soc in socs]
    if volts > shown_V[-1]:
        return 1.0 + (volts - shown_V[-1]) / (shown_V[-1] - shown_V[-2]) * (socs[-1] - socs[-2])
    if volts < shown_V[0]:
        return (volts - shown_V[0]) / (shown_V[1] - shown_V[0]) * (socs[1] - socs[0])
    return float(np.interp(volts, shown_V, socs))


def _since_charge(nominal: History, at_h: float, capacity_Ah: float) -> tuple[float, float]:
    """Time since the bank last took a charge, as planned, and the share drawn since. [h], [-]"""
    past = nominal.at_h <= at_h
    net_A, step_h = nominal.net_A[past, 0], float(nominal.at_h[1])
    charges = np.flatnonzero(net_A > 0.0)
    if not charges.size:
        return at_h, math.inf
    last = int(charges[-1])
    drawn_Ah = -float(net_A[last + 1 :].sum()) * step_h
    return at_h - float(nominal.at_h[last]), drawn_Ah / capacity_Ah
