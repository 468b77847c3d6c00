"""What the log's readings say of charge, sun and diesel, and how far each may be off."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.bank import bank_of, discharge_resistance_ohm
from powersim.physics.ratings import RATED_H
from powersim.physics.voltage import charge_current_A
from powersim.records import Battery, Passage

if TYPE_CHECKING:
    from powersim.logbook.contradictions import Reading
    from powersim.logbook.hindcast import History
    from powersim.simulation.prepared import Prepared

#: Standard deviation of charge that is read from a rested voltage, from a voltage under load and
#: from a battery monitor (design: common practice, no source). [-]
RESTED_SD, LOADED_SD, MONITOR_SD = 0.05, 0.15, 0.05
#: Rest that a voltage needs after discharge, and after charge for its surface charge to go. [h]
REST_AFTER_DISCHARGE_h, REST_AFTER_CHARGE_h = 2.0, 12.0
#: A bank is at rest below this share of the 20-hour current, which comes to C20/50. [-]
REST_SHARE_OF_RATED = RATED_H / 50.0
#: Standard deviation of a dip given in litres, as a share of the tank; judgement. [-]
DIP_SD_FRAC = 0.025
#: Standard deviation of a controller's counter: a share of what it gained, and its last digit;
#: judgement. [-], [Ah]
COUNTER_SD_FRAC, COUNTER_SD_Ah = 0.03, 1.0
#: Standard deviation of the current at absorption voltage, for meter, moment and the bank's own
#: taper; judgement. [-]
ABSORB_SD_FRAC = 0.15
#: From this share of the alternator's output on, the alternator limits the current. [-]
BULK_FRAC = 0.9
#: Most readings of one source that count, evenly over time: a logger's every minute says no more,
#: since neighbours err alike.
MOST_OF_A_SOURCE = 200
#: Share of a reading's variance that all readings of its source have in common: the same meter, eye
#: or stick; judgement. [-]
COMMON_SHARE = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """One thing that the log says.

    Attributes
    ----------
    at_h : float
        Time since departure. [h]
    kind : str
        "soc" (state of charge), "litres" (left aboard, less what was bought), "solar_Ah" (since the
        counter's first reading) or "absorb_A" (into the bank at absorption voltage).
    source : str
        What it was read from, in words. Readings of one source err partly alike.
    value, sd : float
        The value and its standard deviation, in the unit of its kind.
    since_h : float
        For a counter, the time of its first reading. [h]
    volts, bank_C : float
        For a current at absorption, the regulator's voltage and the bank's temperature. [V], [degC]
    line : int
        Line of the log.
    column : str
        Column of the log.
    """

    at_h: float
    kind: str
    source: str
    value: float
    sd: float
    since_h: float = 0.0
    volts: float = 0.0
    bank_C: float = 25.0
    line: int
    column: str


def observations_of(
    readings: Sequence[Reading],
    passage: Passage,
    nominal: History,
    prepared: Prepared,
    *,
    sounding: Callable | None = None,
) -> list[Observation]:
    """Everything that the log says of charge, sun and diesel.

    `nominal` is the past with all factors at 1, for the current before a voltage was read.
    `sounding(depth_m)` gives litres and their standard deviation.
    """
    found: list[Observation] = []
    for one in readings:
        found += _charge(one, passage, nominal, prepared)
        found += _absorbed(one, passage.boat, prepared)
    found += _litres(readings, passage.boat.fuel, sounding)
    found += _counted(readings)
    return _thinned(sorted(found, key=lambda each: each.at_h))


def _thinned(found):
    """At most MOST_OF_A_SOURCE of each source, the last of them always."""
    kept = []
    for source in dict.fromkeys(one.source for one in found):
        same = [one for one in found if one.source == source]
        step = -(-len(same) // MOST_OF_A_SOURCE)
        kept += same[::-1][::step]
    return sorted(kept, key=lambda each: each.at_h)


def _charge(reading, passage, nominal, prepared):
    entry = reading.entry
    if entry.soc is not None:
        yield _observed(reading, "soc", "soc", "battery monitor", value=entry.soc, sd=MONITOR_SD)
    if entry.voltage_V is not None:
        read = charge_from_voltage(reading, passage.boat.battery, nominal, prepared)
        if read is not None:
            soc, rested = read
            source = "rested voltage" if rested else "voltage under load"
            sd = RESTED_SD if rested else LOADED_SD
            yield _observed(reading, "voltage", "soc", source, value=soc, sd=sd)


def _observed(reading, column, kind, source, **amounts) -> Observation:
    """An observation from one column of an entry."""
    line = reading.entry.line
    return Observation(
        at_h=reading.at_h, line=line, column=column, kind=kind, source=source, **amounts
    )


def charge_from_voltage(
    reading: Reading, battery: Battery, nominal: History, prepared: Prepared
) -> tuple[float, bool] | None:
    """The state of charge that a voltage shows, and whether the bank was rested.

    None where the voltage says nothing: during a charge, or where the chemistry's is flat. A bank
    is rested below C20/50, 2 h after discharge or 12 h after charge. Otherwise the drop over the
    bank's resistance is added; what is left of surface charge makes the reading poorer. `nominal`
    has the current where the log has none, and shows whether the rest came after a charge.
    """
    entry, at_h = reading.entry, reading.at_h
    bank = bank_of(battery, step_h=1.0)
    rest_A = REST_SHARE_OF_RATED * battery.capacity_Ah / RATED_H
    resting_h = entry.resting_h or 0.0
    step_h = nominal.at_h[1]
    before = nominal.net_A[max(0, min(int((at_h - resting_h) / step_h), len(nominal.net_A) - 1)), 0]
    current_A = entry.current_A
    enough_h = REST_AFTER_CHARGE_h if before > 0.0 else REST_AFTER_DISCHARGE_h
    quiet = current_A is None or abs(current_A) < rest_A
    rested = quiet and resting_h >= enough_h
    if current_A is None:
        current_A = 0.0 if resting_h > 0.0 else float(nominal.at("net_A", np.array([at_h]))[0, 0])
    if current_A > rest_A:
        return None
    volts = entry.voltage_V
    assert volts is not None, "asked of readings with a voltage"
    if not rested and current_A < 0.0:
        step = min(int(at_h / step_h), len(prepared.sky.bank_C) - 1)
        soc = float(nominal.at("soc", np.array([at_h]))[0, 0])
        ohm = discharge_resistance_ohm(bank, soc, float(prepared.sky.bank_C[step]))
        volts -= current_A * ohm
    soc = float(np.interp(volts, bank.emf_knots_V, bank.emf_soc))
    mute = battery.traits.mute_soc
    return None if mute and mute[0] < soc < mute[1] else (soc, rested)


def _absorbed(reading, boat, prepared):
    """The current at absorption voltage, which depends on the bank's charge and capacity."""
    absorb_A, alternator = reading.entry.absorb_A, boat.driven_alternator
    if not absorb_A or alternator is None or absorb_A >= BULK_FRAC * alternator.charging_A:
        return
    step = min(int(reading.at_h / prepared.track.step_h), prepared.track.n_steps - 1)
    yield _observed(
        reading,
        "absorb_A",
        "absorb_A",
        "current at absorption voltage",
        value=absorb_A,
        sd=ABSORB_SD_FRAC * absorb_A,
        volts=float(prepared.signals.alternator_absorption_V[step, 0]),
        bank_C=float(prepared.sky.bank_C[step]),
    )


def _litres(readings, fuel, sounding):
    """Litres left at each dip, with cans as last counted and less what was bought."""
    if fuel is None:
        return
    cans_L = min(fuel.jerrycans_L, fuel.aboard_L)
    bought_L = 0.0
    for one in readings:
        entry = one.entry
        bought_L += entry.fuel_added_L or 0.0
        if entry.cans_L is not None:
            cans_L = entry.cans_L
        if entry.dip_L is not None:
            tank_L, sd_L = entry.dip_L, DIP_SD_FRAC * fuel.tank_L
        elif entry.dip_m is not None and sounding is not None:
            tank_L, sd_L = sounding(entry.dip_m)[:2]
        else:
            continue
        left_L = tank_L + cans_L - bought_L
        yield _observed(one, "dip", "litres", "dip", value=left_L, sd=max(sd_L, 0.5))


def _counted(readings):
    """What the solar controller's counter gained since it was first read."""
    counted = [one for one in readings if one.entry.solar_Ah is not None]
    for one in counted[1:]:
        gained_Ah = one.entry.solar_Ah - counted[0].entry.solar_Ah
        yield _observed(
            one,
            "solar_Ah",
            "solar_Ah",
            "solar counter",
            value=gained_Ah,
            sd=COUNTER_SD_Ah + COUNTER_SD_FRAC * gained_Ah,
            since_h=counted[0].at_h,
        )


def predicted(
    history: History, observations: Sequence[Observation], passage: Passage
) -> np.ndarray:
    """The value of each observation in a simulated past, shape (k, members)."""
    at_h = np.array([one.at_h for one in observations])
    since_h = np.array([one.since_h for one in observations])
    fuel = passage.boat.fuel
    aboard_L = fuel.aboard_L if fuel else 0.0
    tables = {
        "soc": lambda: history.at("soc", at_h),
        "litres": lambda: aboard_L - history.at("charging_L", at_h) - history.at("other_L", at_h),
        "solar_Ah": lambda: history.at("solar_Ah", at_h) - history.at("solar_Ah", since_h),
        "absorb_A": lambda: _taken_A(history, observations, passage.boat.battery),
    }
    said = np.empty((len(observations), history.soc.shape[1]))
    kinds = np.array([one.kind for one in observations])
    for kind in set(kinds.tolist()):
        here = kinds == kind
        said[here] = tables[kind]()[here]
    return said


def _taken_A(history, observations, battery):
    """The current that the bank takes at absorption voltage, by its charge and capacity. [A]"""
    at_h, volts, bank_C = (
        np.array([getattr(one, name) for one in observations])[:, None]
        for name in ("at_h", "volts", "bank_C")
    )
    bank = bank_of(battery, step_h=1.0)
    soc = np.minimum(history.at("soc", at_h[:, 0]), 1.0)
    taken_A = np.vectorize(partial(charge_current_A, bank), otypes=[float])
    return history.capacity_frac * taken_A(soc, bank_C, volts=volts)
