"""Measured discharges and charges of banks, and what the model makes of the same currents.

The reference checks, docs/fit_bank.py and docs/held_bank.py share it.
"""

import csv
import re
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from published import DATA, unix_s

from powersim.physics.bank import bank_of, charge_resistance_ohm, coulombic_frac, emf_V
from powersim.physics.ratings import RATED_H, wells_of
from powersim.physics.voltage import cold_factor, rested_V
from powersim.physics.wells import delivered_frac
from powersim.records import battery_of
from powersim.simulation.member_banks import draw_banks, with_draws

#: The measured banks: kind, 20-hour capacity as counted here, label. [-, Ah, Ah]
VRLA, BENCH = ("agm", 19.8, 17.0), ("agm", 100.0, 100.0)
#: A current below this share of the capacity is a rest; a run moves at least this share. [-]
LEAST_A_FRAC, LEAST_RUN_FRAC = 0.003, 0.2
#: Volts are compared at so many points, evenly spaced in ampere-hours over the first 95 % of a run.
POINTS, JUDGED_FRAC = 400, 0.95
#: Current of the taper's end as it is compared. [share of capacity]
TAIL_FRAC = 0.02
HEADINGS = {
    "time": r"time|hours",
    "volts": r"volt|v_|v$",
    "amps": r"amp|curr|a_|a$",
    "temperature": r"temp",
    "ampere-hours": r"ah$|ah_",
    "run": r"what$|run$",
}
_WAY = ("discharge", "charge")
UNITS_H = {"s": 1 / 3600, "seconds": 1 / 3600, "min": 1 / 60, "minutes": 1 / 60, "h": 1, "hours": 1}


class Run(NamedTuple):
    """One discharge or charge: arrays by the row; amperes are above 0 either way."""

    what: str
    hours: np.ndarray
    volts: np.ndarray
    amps: np.ndarray
    bank_C: np.ndarray

    @property
    def Ah(self):
        """Moved so far."""
        steps = 0.5 * (self.amps[1:] + self.amps[:-1]) * np.diff(self.hours)
        return np.concatenate([[0.0], np.cumsum(steps)])

    def at(self, Ah):
        """The same at some ampere-hours."""
        moved = self.Ah
        rows = (np.interp(Ah, moved, each) for each in self[1:])
        return Run(self.what, *rows)


def read_runs(path, *, capacity_Ah, bank_C=25.0, volts_times=1.0):
    """The runs of a CSV with headings of time, volts and amps, and perhaps of a temperature.

    Lines that begin with # are passed over. Times are dates, or numbers under a heading that ends
    with _s, _min or _h; ampere-hours of each run may stand in their place. Amperes are below 0 on
    discharge, or a column `what` has charge and discharge; where neither tells, a file whose
    voltage falls is a discharge. SystemExit tells what is wrong with the file, line by line.
    """
    with open(path, encoding="utf-8-sig", newline="") as lines:
        numbered = [(n, text) for n, text in enumerate(lines, 1) if not text.startswith("#")]
    names = [name.strip() for name in next(csv.reader([numbered[0][1]]))] if numbered else []
    columns = {
        what: next((at for at, name in enumerate(names) if re.match(like, name.lower())), None)
        for what, like in HEADINGS.items()
    }
    if columns["ampere-hours"] is not None:
        columns["time"] = None
    wanted = ("volts", "amps") if columns["ampere-hours"] is not None else ("time", "volts", "amps")
    missing = [what for what in wanted if columns[what] is None]
    if missing:
        raise SystemExit(
            f"{path}: no column of {' or '.join(missing)} among {', '.join(names) or 'none'}\n"
            "  expected  for example time_h,volts,amps or time,voltage_V,current_A"
        )
    rows = [(n, next(csv.reader([text]), [])) for n, text in numbered[1:] if text.strip()]
    found, faults = {}, []
    for what, at in columns.items():
        if at is None:
            continue
        read = {"time": _reader_of_time(names[at]), "run": _WAY.index}.get(what, float)
        found[what] = np.full(len(rows), np.nan)
        for place, (line, row) in enumerate(rows):
            text = row[at].strip() if at < len(row) else ""
            try:
                found[what][place] = read(text)
            except ValueError:
                faults.append(f"{path}:{line}: {names[at]}: {text!r} is no {what}")
    if faults or not rows:
        raise SystemExit("\n".join(faults[:20]) or f"{path}: no rows below the headings")
    if "run" in found:  # discharge first
        found["amps"] = np.abs(found["amps"]) * (2.0 * found["run"] - 1.0)
    if "time" not in found:
        found["time"] = _hours_by_Ah(found["ampere-hours"], found["amps"])
    hours = found["time"] - found["time"][0]
    if (np.diff(hours) < 0.0).any():
        back = rows[int(np.argmax(np.diff(hours) < 0.0)) + 1][0]
        raise SystemExit(f"{path}:{back}: time runs backwards\n  expected  rows in order of time")
    warm_C = found.get("temperature", np.full(len(rows), bank_C))
    before_Ah = found.get("ampere-hours", np.zeros(len(rows)))
    return _runs_in(
        hours, volts_times * found["volts"], found["amps"], warm_C, before_Ah, capacity_Ah
    )


def _hours_by_Ah(Ah, amps):
    """Hours of rows that tell ampere-hours, which begin anew with each run."""
    hours, now_h = [], 0.0
    for row in range(len(Ah)):
        begins = row == 0 or amps[row] * amps[row - 1] <= 0.0
        moved, mean_A = (
            (Ah[row], amps[row])
            if begins
            else (Ah[row] - Ah[row - 1], 0.5 * (amps[row] + amps[row - 1]))
        )
        now_h += abs(moved / mean_A)
        hours.append(now_h)
    return np.array(hours)


def _runs_in(hours, volts, amps, warm_C, before_Ah, capacity_Ah):
    if (amps >= 0.0).all() and volts[-1] < volts[0]:
        amps = -amps
    flows = np.where(np.abs(amps) > LEAST_A_FRAC * capacity_Ah, np.sign(amps), 0.0)
    edges = [0, *(np.flatnonzero(np.diff(flows)) + 1), len(flows)]
    runs = []
    for first, last in pairwise(edges):
        part = slice(first, last)
        what = "discharge" if flows[first] < 0.0 else "charge"
        if flows[first] == 0.0:
            continue
        begun_h = hours[first] - before_Ah[first] / abs(amps[first])
        run = Run(what, hours[part] - begun_h, volts[part], np.abs(amps[part]), warm_C[part])
        if moved_Ah(run)[-1] > LEAST_RUN_FRAC * capacity_Ah:
            runs.append(run)
    return runs


def _reader_of_time(name):
    """Hours of a text: a date as such, or a number in the unit of the heading."""
    unit_h = UNITS_H.get(name.rsplit("_", 1)[-1].lower())
    if unit_h is None:
        return lambda text: unix_s(text) / 3600.0
    return lambda text: unit_h * float(text)


def bench_runs():
    """The 100 Ah AGM bank on the bench: its charge and its discharge, by the ampere-hour."""
    path = DATA / "lead_acid_measured_cycle.csv"
    return read_runs(path, capacity_Ah=BENCH[1], bank_C=28.0)


def moved_Ah(run):
    """Ampere-hours of each row; those of the bench begin with what went before its first row."""
    return run.Ah + run.hours[0] * run.amps[0]


def vrla_runs():
    """The 17 Ah AGM bank: three discharges and recharges."""
    return read_runs(DATA / "bank_vrla_17ah_2017_cycles.csv", capacity_Ah=VRLA[1])


def slow_curves():
    """Middle of the slow charge and discharge of the LiFePO4 cell, by temperature.

    Arrays of the share of the run, and of the volts of four such cells.
    """
    with (DATA / "lifepo4_cell_slow_curves.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    shares, found = np.linspace(0.1, 0.9, 81), {}
    for bank_C in sorted({float(row["temp_c"]) for row in rows}):
        both = []
        for direction in ("charge", "discharge"):
            of_one = sorted(
                (float(row["share_of_this_run"]), float(row["volts_per_cell"]))
                for row in rows
                if float(row["temp_c"]) == bank_C and row["direction"] == direction
            )
            both.append(np.interp(shares, *zip(*of_one, strict=True)))
        found[bank_C] = 4.0 * np.mean(both, axis=0)
    return shares, found


def charged_as(bank, run, *, soc):
    """What the model makes of a measured charge, from a charge that the bank had."""
    capacity_Ah = bank.capacity_Ah
    before = moved_Ah(run) < 0.95 * tapers(run, capacity_Ah).taper_Ah
    return charge(
        bank,
        amps=float(np.mean(run.amps[before])),
        volts=held(run),
        bank_C=float(np.mean(run.bank_C)),
        soc=soc,
    )


def middle(kind, capacity_Ah, **given):
    """The middle bank of a kind that holds so much in 20 hours."""
    return battery_of(kind, capacity_Ah=capacity_Ah, **({"health_frac": 1.0} | given))


def discharge_V(bank, run, begins=1.0):
    """Volts of a bank under a run's current, of one bank or shaped (rows, members)."""
    wide = np.ndim(bank.capacity_Ah) > 0
    Ah, amps, warm = (
        each[:, None] if wide else each
        for each in (moved_Ah(run), run.amps, np.array([_warm(bank, one) for one in run.bank_C]))
    )
    soc = begins - Ah / bank.capacity_Ah
    held = np.maximum(soc, 0.02)
    ohm = (bank.discharge_ohm + bank.discharge_rise_ohm / held**1.5) * warm
    return rested_V(bank, soc) - amps * ohm


def _warm(bank, bank_C):
    return cold_factor(bank.discharge_per_C, float(bank_C))


def judged(run):
    """Ampere-hours at which volts are compared."""
    Ah = moved_Ah(run)
    return np.linspace(Ah[0], JUDGED_FRAC * Ah[-1], POINTS)


def compared_V(bank, run, begins=1.0):
    """Measured and modelled volts at these points."""
    Ah = moved_Ah(run)
    points = judged(run)
    model = discharge_V(bank, run, begins)
    return np.interp(points, Ah, run.volts), np.interp(points, Ah, model)


def rms_V(bank, run, begins=1.0):
    """How far the middle bank's volts are off."""
    measured, model = compared_V(bank, run, begins)
    return float(np.sqrt(np.mean((measured - model) ** 2)))


def members_of(battery, *, members=1000, seed=1, capacity_known=True):
    """Banks as members draw them; of one capacity where that is measured."""
    draws = draw_banks(battery, seed=seed, members=members)
    if capacity_known:
        draws = replace(draws, capacity=np.ones_like(draws.capacity))
    return with_draws(bank_of(battery, step_h=1.0), battery, draws)


def share_inside(bank, run, begins=1.0):
    """Share of the points at which the measured volts lie between 5 and 95 % of the members."""
    volts = discharge_V(bank, run, begins)
    low, high = np.quantile(volts, [0.05, 0.95], axis=1)
    Ah, points = moved_Ah(run), judged(run)
    measured, low, high = (np.interp(points, Ah, each) for each in (run.volts, low, high))
    return float(np.mean((measured >= low) & (measured <= high)))


def given_Ah(battery, amps):
    """What the two wells of the middle bank give at a current, at most the 20-hour capacity."""
    wells, most = wells_of(battery), battery.real_capacity_Ah
    full = most / delivered_frac(wells, duration_h=RATED_H)
    low, high = 1e-3, most / amps
    for _ in range(60):
        hours = 0.5 * (low + high)
        enough = delivered_frac(wells, duration_h=hours) * full > amps * hours
        low, high = (hours, high) if enough else (low, hours)
    return amps * low


class Charged(NamedTuple):
    """Where a charge begins to taper and where it ends, in ampere-hours put in."""

    taper_Ah: float
    tail_Ah: float


def tapers(run, capacity_Ah):
    """Of a measured charge: the taper begins where the voltage first comes within 0.1 V of the one
    that is held, and ends at 2 % of the capacity. Both of running medians, since chargers hunt.
    """
    volts, amps, Ah = _smooth(run.volts), _smooth(run.amps), moved_Ah(run)
    begin = int(np.argmax(volts >= held(run) - 0.1))
    small = (amps < TAIL_FRAC * capacity_Ah) & (np.arange(len(amps)) > begin)
    end = int(np.argmax(small))
    return Charged(
        _between(held(run) - 0.1, volts, Ah, begin),
        _between(TAIL_FRAC * capacity_Ah, amps, Ah, end) if small.any() else float("nan"),
    )


def _between(value, values, Ah, row):
    """Ampere-hours at a value that is passed on the way to a row."""
    before, after = values[row - 1], values[row]
    return float(Ah[row - 1] + (value - before) / (after - before) * (Ah[row] - Ah[row - 1]))


def held(run):
    """The voltage that a charger holds: the middle of the highest third. [V]"""
    return float(np.quantile(_smooth(run.volts), 0.84 if len(run.volts) > 50 else 0.8))


def _smooth(values, width=15):
    if len(values) < 50:
        return values
    padded = np.pad(values, width // 2, mode="edge")
    return np.median(np.lib.stride_tricks.sliding_window_view(padded, width), axis=1)


def charge(bank, *, amps, volts, bank_C, soc, step_h=1 / 60):
    """The same of the model: so many amperes until so many volts, then the taper."""
    Ah, taper_Ah = 0.0, None
    while True:
        ohm = charge_resistance_ohm(bank, soc, bank_C)
        takes_A = (volts - emf_V(bank, soc)) / ohm
        if takes_A < amps and taper_Ah is None:
            taper_Ah = Ah
        flows_A = min(takes_A, amps)
        if flows_A < TAIL_FRAC * bank.capacity_Ah or soc >= 1.0 - 1e-6:
            return Charged(taper_Ah if taper_Ah is not None else Ah, Ah)
        soc = min(1.0, soc + coulombic_frac(bank, soc) * flows_A * step_h / bank.capacity_Ah)
        Ah += flows_A * step_h
