"""Lifetimes of two-well batteries against published ones."""

from itertools import cycle

import pytest
from published import read_published

from powersim.physics.wells import Wells, available_after_Ah, well_step

ROWS = read_published("kibam_lifetimes.csv")
HOURS = {"min": 1.0 / 60.0, "s": 1.0 / 3600.0}

#: Load -> (minutes, amperes) over and over, as the column load_description says.
PATTERNS = {
    "CL250": [(1.0, 0.25)],
    "CL500": [(1.0, 0.50)],
    "CLalt": [(1.0, 0.50), (1.0, 0.25)],
    "ILs250": [(1.0, 0.25), (1.0, 0.0)],
    "ILs500": [(1.0, 0.50), (1.0, 0.0)],
    "ILsalt": [(1.0, 0.50), (1.0, 0.0), (1.0, 0.25), (1.0, 0.0)],
    "ILl250": [(1.0, 0.25), (2.0, 0.0)],
    "ILl500": [(1.0, 0.50), (2.0, 0.0)],
    "continuous": [(1.0, 0.96)],
    "1 Hz": [(0.5 / 60.0, 0.96), (0.5 / 60.0, 0.0)],
    "0.2 Hz": [(2.5 / 60.0, 0.96), (2.5 / 60.0, 0.0)],
}


def lifetime_min(wells, capacity_Ah, pattern):
    """Time until the available well is empty, stepping through the pattern."""
    steps = {minutes: well_step(wells, step_h=minutes / 60.0) for minutes, _ in pattern}
    total, available, elapsed = capacity_Ah, wells.available_frac * capacity_Ah, 0.0
    for minutes, amps in cycle(pattern):
        after = available_after_Ah(
            steps[minutes], total_Ah=total, available_Ah=available, current_A=amps
        )
        if after < 0:
            return elapsed + minutes_until_empty(wells, total, available, amps, minutes)
        total, available, elapsed = total - amps * minutes / 60.0, after, elapsed + minutes


def minutes_until_empty(wells, total, available, amps, minutes):
    low, high = 0.0, minutes
    for _ in range(60):
        middle = 0.5 * (low + high)
        step = well_step(wells, step_h=middle / 60.0)
        left = available_after_Ah(step, total_Ah=total, available_Ah=available, current_A=amps)
        low, high = (middle, high) if left > 0 else (low, middle)
    return high


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['battery']} {row['load']}")
def test_lifetimes_match_the_published_ones(row):
    """Jongerden and others, DSN 2009, table of lifetimes; Cloth and others, DSN 2007 (from memory,
    recomputed from the closed form by others)."""
    hours = HOURS[row["k_prime_unit"].removeprefix("1/")]
    wells = Wells(available_frac=float(row["c"]), rate_per_h=float(row["k_prime"]) / hours)
    found = lifetime_min(wells, float(row["capacity"]) * hours, PATTERNS[row["load"]])
    # The step is exact, so only the four printed decimals of the recomputed value are lost.
    assert found == pytest.approx(float(row["lifetime_recomputed"]), abs=1e-3)
    # Printed to 0.01 min, those of the handheld computer to whole minutes.
    printed = 0.5 if row["battery"] == "handheld computer cell" else 0.006
    assert found == pytest.approx(float(row["lifetime_published"]), abs=printed)
