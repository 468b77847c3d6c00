"""Fit how a lead-acid bank comes to rest, and print the constants of powersim/physics/rest.py.

    .venv/bin/python docs/fit_rest.py

It takes a second. The measured rests lie in tests/reference/data: of a 17 Ah battery in
bank_vrla_17ah_2017_cycles.csv, of one of 100 Ah in lead_acid_rests.csv.
tests/reference/test_rest.py holds the code, and the page docs/model/reading.md, to what this
prints.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.optimize import least_squares

DATA = Path(__file__).resolve().parents[1] / "tests/reference/data"
#: Where a full bank comes down to in the end: no rest was measured for long enough to see it. It
#: is where the loaded volts of the two lead when the load is taken off (12.9 to 13.0 V), and the
#: rested volts of a full AGM by common practice. [V]
FULL_V = 12.9
#: Where the volts of each bank end after a discharge: what was read last, and a little. [V]
_MORE_V = 0.02
#: Above this a current charges or discharges, and below its zero, which was left in. [A]
_LEAST_A, _ZERO_A = 0.05, -0.0085
_CURVE = ["share_of_this_run", "volts_per_cell"]
#: What the 100 Ah battery took in and gave in its cycle, as its file's header has it. [Ah]
AGM_IN_Ah, AGM_OUT_Ah = 96.6, 94.8


@cache
def _runs() -> list[tuple[int, pd.DataFrame]]:
    """The stretches of the 17 Ah battery: 1 for a charge, -1 for a discharge, 0 for a rest."""
    table = pd.read_csv(DATA / "bank_vrla_17ah_2017_cycles.csv", comment="#", parse_dates=["time"])
    table["h"] = (table["time"] - table["time"].iloc[0]).dt.total_seconds() / 3600.0
    kind = np.sign(table["current_A"].where(table["current_A"].abs() > _LEAST_A, 0.0)).astype(int)
    stretch = (kind != kind.shift()).cumsum()
    return [
        (int(kind[one.index[0]]), one)
        for _, one in table.groupby(stretch)
        if one["h"].iloc[-1] - one["h"].iloc[0] > 0.5
    ]


def measured(after: str) -> list[tuple[np.ndarray, np.ndarray]]:
    """Hours and volts of each rest after a charge or a discharge, the 100 Ah battery's last."""
    follows = {"charge": 1, "discharge": -1}[after]
    found = []
    for (before, _), (kind, rest) in zip(_runs(), _runs()[1:], strict=False):
        if kind == 0 and before == follows:
            rest_h = (rest["h"] - rest["h"].iloc[0]).to_numpy()
            volts = rest["voltage_V"].to_numpy()
            # As a load comes on, the last reading of a rest is no longer one.
            found.append((rest_h[:-1], volts[:-1]))
    other = pd.read_csv(DATA / "lead_acid_rests.csv", comment="#")
    other = other[other["after"] == after]
    return [*found, (other["rest_h"].to_numpy(float), other["volts"].to_numpy(float))]


def fitted(after: str, ends_V: list[float]) -> tuple[tuple[float, float], ...]:
    """Mean size and time of the quick and the slow part: two times for all, sizes for each rest."""
    rests = measured(after)
    if after == "discharge":  # the first minutes are the resistance's
        rests = [(rest_h[rest_h > 0.1], volts[rest_h > 0.1]) for rest_h, volts in rests]

    def off(x):
        times_h, sizes = np.exp(x[:2]), x[2:].reshape(-1, 2)
        return np.concatenate(
            [
                (end_V + np.exp(-rest_h[:, None] / times_h) @ size - volts) / len(volts) ** 0.5
                for (rest_h, volts), end_V, size in zip(rests, ends_V, sizes, strict=True)
            ]
        )

    begin = np.r_[np.log([0.3, 5.0]), np.tile([0.1, 0.3], len(rests))]
    found = least_squares(off, begin)
    sizes = np.abs(found.x[2:].reshape(-1, 2)).mean(axis=0)
    order = np.argsort(found.x[:2])
    return tuple((float(sizes[at]), float(np.exp(found.x[at]))) for at in order)


def surface(full_V: float = FULL_V) -> tuple[tuple[float, float], ...]:
    """After a charge."""
    return fitted("charge", [full_V] * len(measured("charge")))


def sagged() -> tuple[tuple[float, float], ...]:
    """After a discharge to the end."""
    return fitted("discharge", [volts[-1] + _MORE_V for _, volts in measured("discharge")])


def left_under_load() -> list[tuple[float, float]]:
    """What stood above the loaded volts before a load came on, and a minute after it. [V]

    The loaded volts are a parabola through those from 3 to 20 % drawn; a minute draws a quarter
    per cent. The first is the last reading of the rest before, while nothing was on.
    """
    found = []
    for (_, rest), (kind, run) in zip(_runs(), _runs()[1:], strict=False):
        if kind != -1:
            continue
        run_h = (run["h"] - run["h"].iloc[0]).to_numpy()
        drawn = -run["current_A"].to_numpy() * run_h / -_Ah(run)
        volts = run["voltage_V"].to_numpy()
        later = (drawn > 0.03) & (drawn < 0.2)
        line = np.polyfit(drawn[later], volts[later], 2)
        minute = int(np.argmax(run_h > 0.01))
        loaded_V = np.polyval(line, drawn[minute])
        found.append(
            (float(rest["voltage_V"].iloc[-2] - line[-1]), float(volts[minute] - loaded_V))
        )
    return found


def efficiencies() -> list[float]:
    """Ampere-hours out over those put back in, of each cycle of both batteries. [-]"""
    discharged = [-_Ah(run) for kind, run in _runs() if kind == -1]
    charged = [_Ah(run) for kind, run in _runs() if kind == 1]
    found = [out / back for out, back in zip(discharged, charged, strict=True)]
    return [*found, AGM_OUT_Ah / AGM_IN_Ah]


def _Ah(run: pd.DataFrame) -> float:
    """Into the battery, with the zero of the meter taken off. [Ah]"""
    return float(np.trapezoid(run["current_A"] - _ZERO_A, run["h"]))


def half_gap_V() -> float:
    """Half of what lies between the slow charge and discharge of LiFePO4, of a 12 V block. [V]

    The mean from 30 to 80 % of a run, at 25 degC.
    """
    cell = pd.read_csv(DATA / "lifepo4_cell_slow_curves.csv", comment="#")
    cell = cell[cell["temp_c"] == 25]
    socs = np.linspace(0.3, 0.8, 51)
    charge_V, discharge_V = (
        np.interp(socs, *one.sort_values("share_of_this_run")[_CURVE].to_numpy().T)
        for one in (cell[cell["direction"] == way] for way in ("charge", "discharge"))
    )
    return float(4.0 * (charge_V - discharge_V).mean() / 2.0)


def main() -> None:
    """Print the constants as the code has them, and what they hang on."""
    for name, parts in (("SURFACE", surface()), ("SAGGED", sagged())):
        print(name, "=", tuple((round(volts, 3), round(time_h, 2)) for volts, time_h in parts))
    for full_V in (12.8, 13.0):
        (_, _), (volts, time_h) = surface(full_V)
        print(f"if a full bank rests at {full_V:.1f} V: {volts:.2f} V in {time_h:.1f} h")
    for before_V, after_V in left_under_load():
        print(f"above the loaded volts: {before_V:.2f} V before, {after_V:.3f} V a minute later")
    shares = efficiencies()
    told = ", ".join(f"{100 * one:.0f} %" for one in shares)
    print(f"LiFePO4: half of the gap between charge and discharge {half_gap_V():.3f} V")
    print(f"charge efficiency by cycle: {told}; sd {100 * np.std(shares, ddof=1):.1f} points")


if __name__ == "__main__":
    main()
