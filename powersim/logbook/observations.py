"""What the log's readings say of charge, sun and diesel, and how far each may be off."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from powersim.logbook.charge_readings import (
    charge_from_voltage,
    count_doubt_Ah,
    counter_doubt,
    set_full_h,
    used_frac_per_day,
)
from powersim.physics.bank import bank_of
from powersim.physics.needle import needle_sounding
from powersim.physics.voltage import charge_current_A
from powersim.records import Passage
from powersim.simulation.reading_parts import Part, total_soc

if TYPE_CHECKING:
    from powersim.logbook.hindcast import History
    from powersim.logbook.readings import Reading
    from powersim.simulation.prepared import Prepared

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
#: Share of a reading's variance that all readings of its column have in common, where it is not
#: worked out (simulation/reading_parts.py): the same stick, eye or meter; judgement. [-]
COMMON_SHARE = 0.5


#: What per cent and ampere-hours of a battery monitor are read off: one shunt, one zero.
_MONITOR = "battery monitor"


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """One thing that the log says.

    Attributes
    ----------
    at_h : float
        Time since departure. [h]
    kind : str
        "soc" (state of charge), "monitor_Ah" (below 0 by what has left a full bank), "litres" (left
        aboard, less what was bought), "absorb_A" (into the bank at absorption voltage), and over a
        time "solar_Ah" (from the panels), "loads_Ah" (to the loads) or "net_Ah" (into the bank less
        out of it).
    source : str
        What it was read from, in words.
    value, sd : float
        The value and its standard deviation, in the unit of its kind.
    lasting_sds : tuple of float
        The parts of the latter that all readings of its meter have in common, each by itself and
        with its sign; empty where they are COMMON_SHARE of the variance.
    anew_sd : float
        The part of it that is the same until the bank is full again, for a monitor's count.
    since_h : float
        For what is told over a time, when that began. [h]
    volts, bank_C : float
        For a current at absorption, the regulator's voltage and the bank's temperature. [V], [degC]
    line : int
        Line of the file.
    column : str
        Column of the file.
    meter : str
        What it was read off; its column if empty. Readings of one meter err partly alike.
    file : str
        Its name.
    """

    at_h: float
    kind: str
    source: str
    value: float
    sd: float
    lasting_sds: tuple[float, ...] = ()
    anew_sd: float = 0.0
    since_h: float = 0.0
    volts: float = 0.0
    bank_C: float = 25.0
    line: int
    column: str
    meter: str = ""
    file: str = ""

    @property
    def errs_with(self) -> str:
        """What it has its lasting errors in common with."""
        return self.meter or self.column

    @property
    def common_sds(self) -> tuple[float, ...]:
        """Standard deviations that it has in common with the others of its meter, one by one."""
        return self.lasting_sds or (math.sqrt(COMMON_SHARE) * self.sd,)


def observations_of(
    readings: Sequence[Reading],
    passage: Passage,
    nominal: History,
    prepared: Prepared,
    *,
    sounding: Callable | None = None,
    beside: Sequence[Observation] = (),
) -> list[Observation]:
    """Everything that the log says of charge, sun and diesel, and what something else says.

    `nominal` is the past with all factors at 1, for the current before a voltage was read.
    `sounding(depth_m)` gives litres and their standard deviation.
    """
    found = list(beside)
    used_frac = used_frac_per_day(prepared)
    for one in readings:
        found += _charge(one, passage, nominal, prepared, used_frac=used_frac)
        found += _absorbed(one, passage.boat, prepared)
    found += _monitored(readings, passage.boat.battery, nominal)
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


def _charge(reading, passage, nominal, prepared, *, used_frac):
    entry, battery = reading.entry, passage.boat.battery
    if entry.soc is not None and entry.monitor_Ah is None:  # its count says the same, and better
        given = {"battery": battery, "nominal": nominal, "used_frac": used_frac}
        doubt = doubt_of(counter_doubt(entry.soc, reading.at_h, **given))
        given = {"value": entry.soc, "meter": _MONITOR}
        yield _observed(reading, "soc", "soc", "battery monitor", **given, **doubt)
    if entry.voltage_V is not None:
        read = charge_from_voltage(reading, battery, nominal, prepared)
        if read is not None:
            source = "rested voltage" if read.rested else "voltage under load"
            doubt = doubt_of(read.parts)
            yield _observed(reading, "voltage", "soc", source, value=read.soc, **doubt)


def _monitored(readings, battery, nominal):
    """The monitor's own count, which errs the longer it is since it was set to full."""
    counted = [one for one in readings if one.entry.monitor_Ah is not None]
    for one, full_h in zip(counted, set_full_h(counted, battery), strict=True):
        value = one.entry.monitor_Ah
        doubt = count_doubt_Ah(value, (full_h, one.at_h), battery=battery, nominal=nominal)
        # The per cent of the same monitor have in the first place what they alone err by.
        given = {"value": value, "meter": _MONITOR, **doubt._asdict()}
        yield _observed(one, "monitor_Ah", "monitor_Ah", "the monitor's own count", **given)


def _observed(reading, column, kind, source, **amounts) -> Observation:
    """An observation from one column of an entry."""
    given = {"line": reading.entry.line, "file": reading.entry.file, "column": column}
    return Observation(at_h=reading.at_h, kind=kind, source=source, **given, **amounts)


def doubt_of(parts: Sequence[Part]) -> dict[str, float | tuple[float, ...]]:
    """How far a reading may be off by its parts, as an Observation has it.

    Parameters
    ----------
    parts : sequence of Part
        From `voltage_doubt` or `counter_doubt`.
    """
    lasting_sds = tuple(one.sd_soc for one in parts if one.lasts)
    return {"sd": total_soc(parts), "lasting_sds": lasting_sds}


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
    """Litres left at each dip, with cans as last counted and less what was bought.

    The needle counts where no stick was read: the stick is right.
    """
    if fuel is None:
        return
    cans_L = min(fuel.jerrycans_L, fuel.aboard_L)
    bought_L = 0.0
    for one in readings:
        entry = one.entry
        bought_L += entry.fuel_added_L or 0.0
        if entry.cans_L is not None:
            cans_L = entry.cans_L
        by = "dip"
        if entry.dip_L is not None:
            tank_L, sd_L = entry.dip_L, DIP_SD_FRAC * fuel.tank_L
        elif entry.dip_m is not None and sounding is not None:
            tank_L, sd_L = sounding(entry.dip_m)[:2]
        elif entry.needle_frac is not None and fuel.needle:
            (tank_L, sd_L), by = needle_sounding(fuel, entry.needle_frac)[:2], "needle"
        else:
            continue
        left_L = tank_L + cans_L - bought_L
        yield _observed(one, by, "litres", by, value=left_L, sd=max(sd_L, 0.5))


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

    def over_time(name):
        return history.at(name, at_h) - history.at(name, since_h)

    tables: dict[str, Callable[[], np.ndarray]] = {
        "soc": lambda: history.at("soc", at_h),
        "monitor_Ah": lambda: history.counted(passage.boat.battery).at("net_Ah", at_h),
        "litres": lambda: aboard_L - history.at("charging_L", at_h) - history.at("other_L", at_h),
        **{name: partial(over_time, name) for name in ("solar_Ah", "loads_Ah", "net_Ah")},
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
