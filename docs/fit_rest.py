"""Fit how a lead-acid bank comes to rest, and print the constants of powersim/physics/rest.py.

    .venv/bin/python docs/fit_rest.py

The measured rests lie in tests/reference/data/lead_acid_rests.csv. tests/reference/test_rest.py
holds the code to what this prints.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
from scipy.optimize import least_squares

RESTS = Path(__file__).resolve().parents[1] / "tests/reference/data/lead_acid_rests.csv"
#: What a full bank comes down to in the end: no rest was measured for long enough to see it. It
#: is where the loaded volts of the two lead when the load is taken off (12.9 to 13.0 V), and the
#: rested volts of a full AGM by common practice. [V]
FULL_V = 12.9
#: Where the volts of each bank end after a discharge: what was read last, and a little. [V]
_MORE_V = 0.02


def measured(after: str) -> list[tuple[np.ndarray, np.ndarray]]:
    """Hours and volts of each rest after a charge or a discharge, or under a load."""
    table = pd.read_csv(RESTS, comment="#")
    chosen = table[table["after"] == after]
    return [
        (one[["rest_h", "drawn"]].to_numpy(float), one["volts"].to_numpy(float))
        for _, one in chosen.groupby("battery", sort=False)
    ]


def fitted(after: str, ends_V: list[float]) -> tuple[tuple[float, float], ...]:
    """Mean size and time of the quick and the slow part: two times for all, sizes for each rest."""
    rests = [(times[:, 0], volts) for times, volts in measured(after)]
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
    return fitted("charge", [full_V] * 4)


def sagged() -> tuple[tuple[float, float], ...]:
    """After a discharge to the end."""
    return fitted("discharge", [volts[-1] + _MORE_V for _, volts in measured("discharge")])


def left_under_load() -> list[tuple[float, float]]:
    """What stood above the loaded volts before a load came on, and after 0.2 % was drawn. [V]

    The loaded volts are a parabola through those from 3 to 20 % drawn. Only the two discharges
    that begin from an open circuit count for the first.
    """
    found = []
    for times, volts in measured("load"):
        drawn = times[:, 1]
        later = drawn > 0.03
        line = np.polyfit(drawn[later], volts[later], 2)
        above_V = volts - np.polyval(line, drawn)
        found.append((float(above_V[drawn < 1e-3].max()), float(above_V[drawn > 1e-3][0])))
    return found


def main() -> None:
    """Print the constants as the code has them, and what they hang on."""
    for name, parts in (("SURFACE", surface()), ("SAGGED", sagged())):
        print(name, "=", tuple((round(volts, 3), round(time_h, 2)) for volts, time_h in parts))
    for full_V in (12.8, 13.0):
        (_, _), (volts, time_h) = surface(full_V)
        print(f"if a full bank rests at {full_V:.1f} V: {volts:.2f} V in {time_h:.1f} h")
    for before_V, after_V in left_under_load():
        print(f"above the loaded volts: {before_V:.2f} V before, {after_V:.3f} V at 0.2 % drawn")


if __name__ == "__main__":
    main()
