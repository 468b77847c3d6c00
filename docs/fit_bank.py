"""Fits the middle bank to measured ones, and tells how far each of them lies from it.

    python docs/fit_bank.py

prints the tables of docs/model/battery.md and the rows of tests/reference/data/measured_banks.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "reference"))

import numpy as np
from bank_runs import (
    BENCH,
    VRLA,
    bank_of,
    bench_runs,
    charge,
    charged_as,
    discharge_V,
    given_Ah,
    judged,
    members_of,
    middle,
    moved_Ah,
    rms_V,
    share_inside,
    slow_curves,
    tapers,
    vrla_runs,
)
from scipy.optimize import least_squares

from powersim.physics.voltage import cold_factor, rested_V
from powersim.records import CHEMISTRIES

#: Rested volts after an empty and a full bank had stood for hours, with what they may be off for
#: having stood no longer: charge, volts, and that. [-, V, V]
RESTED = ((0.05, 11.55, 0.08), (0.0, 11.40, 0.08), (1.0, 12.95, 0.12))
#: What no bank of this form follows, as the fits weigh it. [V]
_NOISE_V = 0.04
#: A boatyard's bench, second hand, from half charge at 14.4 V: amperes as a share of the label's
#: 105 Ah, and the charge at which 14.4 V was reached; 95.7 Ah were in it.
YARD_LABEL_Ah, YARD_Ah, YARD = 105.0, 95.7, ((0.4, 0.63), (0.2, 0.77))


def banks():
    """Every measured AGM bank: name, 20-hour capacity, label, its runs."""
    yield "17 Ah AGM", *VRLA[1:], vrla_runs()
    yield "100 Ah AGM", *BENCH[1:], bench_runs()


def discharges():
    """Every discharge: name of the bank, its 20-hour capacity, its label, the run."""
    for name, capacity_Ah, label_Ah, runs in banks():
        for run in runs:
            if run.what == "discharge":
                yield name, capacity_Ah, label_Ah, run


def fitted_curves():
    """Rested volts at 0, 50 and 100 % and the two terms of the resistance, by least squares."""
    runs = [(capacity_Ah, run) for _, capacity_Ah, _, run in discharges()]

    def misses(five):
        found = []
        for capacity_Ah, run in runs:
            Ah, points = moved_Ah(run), judged(run)
            soc = 1.0 - Ah / capacity_Ah
            ohm = (five[3] + five[4] / np.maximum(soc, 0.02) ** 1.5) / capacity_Ah
            ohm = ohm * np.array([cold_factor(0.007, float(one)) for one in run.bank_C])
            volts = np.interp(soc, (0.0, 0.5, 1.0), five[:3]) - run.amps * ohm
            off_V = np.interp(points, Ah, volts) - np.interp(points, Ah, run.volts)
            # Each of the two banks counts as one, however many runs it has.
            alike = sum(one == capacity_Ah for one, _ in runs)
            found.append(off_V / _NOISE_V / np.sqrt(len(points) * alike))
        rests = [(np.interp(s, (0.0, 0.5, 1.0), five[:3]) - V) / sd for s, V, sd in RESTED]
        return np.concatenate([*found, rests])

    return least_squares(misses, (11.4, 12.2, 12.9, 1.5, 0.05), bounds=(0.0, 20.0)).x


def in_code():
    """The same five as they stand in the code."""
    curves = CHEMISTRIES["agm"].curves
    return [V for _, V in curves.emf_knots] + [
        curves.discharge_ohm_Ah,
        curves.discharge_rise_ohm_Ah,
    ]


def differences(capacity_Ah, runs):
    """Offset [V], slope and resistance by which one bank differs from the middle one: the likeliest
    where the spread of its kind is what is known beforehand.
    """
    bank, spread = bank_of(middle("agm", capacity_Ah), step_h=1.0), CHEMISTRIES["agm"].spread
    pivot_V = rested_V(bank, 0.5)

    def misses(three):
        offset_V, slope, resistance = three[0], np.exp(three[1]), np.exp(three[2])
        found = []
        for run in runs:
            Ah, points = moved_Ah(run), judged(run)
            rest_V = rested_V(bank, 1.0 - Ah / capacity_Ah)
            sag_V = rest_V - discharge_V(bank, run)
            volts = pivot_V + offset_V + slope * (rest_V - pivot_V) - resistance * sag_V
            off_V = np.interp(points, Ah, volts) - np.interp(points, Ah, run.volts)
            found.append(off_V / _NOISE_V / np.sqrt(len(points) * len(runs) / 20.0))
        known = three / np.array([spread.offset_V, spread.slope_log, spread.resistance_log])
        return np.concatenate([*found, known])

    offset_V, slope, resistance = least_squares(misses, (0.0, 0.0, 0.0)).x
    return offset_V, np.exp(slope), np.exp(resistance)


def table(head, rows):
    """Print a table as the docs have it."""
    print("| " + " | ".join(head) + " |")
    print("|" + "---|" * len(head))
    for row in rows:
        print("| " + " | ".join(str(cell) for cell in row) + " |")
    print()


def discharge_rows():
    """A line for each measured discharge, given its 20-hour capacity and given the label alone."""
    for name, capacity_Ah, label_Ah, run in discharges():
        battery = middle("agm", capacity_Ah)
        amps = float(np.mean(run.amps))
        by_label = members_of(middle("agm", label_Ah), capacity_known=False)
        yield (
            f"{name}, {amps:.1f} A",
            f"{moved_Ah(run)[-1]:.1f} Ah",
            f"{given_Ah(battery, amps):.1f} Ah",
            f"{rms_V(bank_of(battery, step_h=1.0), run):.3f} V",
            f"{100.0 * share_inside(members_of(battery), run):.0f} %",
            f"{100.0 * share_inside(by_label, run):.0f} %",
        )


def charge_rows():
    """A line for each measured charge: where its taper begins and comes to 2 %, in points."""
    for name, capacity_Ah, _, runs in banks():
        bank = bank_of(middle("agm", capacity_Ah), step_h=1.0)
        for place, run in enumerate(one for one in runs if one.what == "charge"):
            # The one on the bench had been left with a little; the other was as empty as it gets.
            begun = 0.05 if name.startswith("100") else 0.0
            measured, model = tapers(run, capacity_Ah), charged_as(bank, run, soc=begun)
            cells = []
            for one, other in zip(measured, model, strict=True):
                cells += [f"{100 * one / capacity_Ah:.0f}", f"{100 * other / capacity_Ah:.0f}"]
            yield f"{name}, charge {place + 1}", *cells
    bank = bank_of(middle("agm", YARD_Ah), step_h=1.0)
    for share, reached in YARD:
        model = charge(bank, amps=share * YARD_LABEL_Ah, volts=14.4, bank_C=25.0, soc=0.5)
        at = 0.5 + model.taper_Ah / YARD_Ah
        yield (
            f"105 Ah AGM at {share} C, from half",
            f"{100 * reached:.0f}",
            f"{100 * at:.0f}",
            "",
            "",
        )


def lithium_rows():
    """Largest miss of the rested volts at each temperature, in millivolts a cell."""
    bank = bank_of(middle("lifepo4", 100.0), step_h=1.0)
    shares, curves = slow_curves()
    for bank_C, volts in curves.items():
        off_mV = 250.0 * (rested_V(bank, shares) - volts)
        yield f"{bank_C:.0f} degC", f"{np.abs(off_mV).max():.0f} mV", f"{off_mV.mean():+.0f} mV"


def measured_rows():
    """How far each measured AGM bank lies from the middle one, as the CSV has it."""
    for name, capacity_Ah, label_Ah, runs in banks():
        own = [run for run in runs if run.what == "discharge"]
        offset_V, slope, resistance = differences(capacity_Ah, own)
        yield (
            name,
            "agm",
            f"{label_Ah:.0f}",
            f"{capacity_Ah:.1f}",
            f"{offset_V:+.3f}",
            f"{slope:.3f}",
            f"{resistance:.2f}",
        )


def main():
    """All tables."""
    print("rested volts at 0, 50, 100 % [V], d0, d1 [ohm Ah] of AGM: fitted, then in the code")
    print("   ", "  ".join(f"{one:.3f}" for one in fitted_curves()))
    print("   ", "  ".join(f"{one:.3f}" for one in in_code()))
    print()
    table(
        ("discharge", "gave", "model gives", "volts off, rms", "inside", "inside, by label"),
        discharge_rows(),
    )
    table(("charge", "taper from", "model", "2 % at", "model"), charge_rows())
    table(("LiFePO4", "largest miss of a cell", "mean"), lithium_rows())
    print("bank,chemistry,label_Ah,capacity_Ah,offset_V,slope,resistance")
    for row in measured_rows():
        print(",".join(row))


if __name__ == "__main__":
    main()
