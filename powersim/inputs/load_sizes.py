"""Loads a thousand times off: W for mW, kW for W, watts for amperes, hours for minutes."""

from __future__ import annotations

from typing import Any

from powersim.errors import Problem
from powersim.inputs.table import CsvRow, problem_at
from powersim.inputs.text import quoted

_DRAW = "power or current while on, for example 36 W or 3 A"
_STANDBY = "power or current in its window while not on, for example 0.5 W or 40 mA"
_FUEL = "fuel burnt while on, for example 0.15 L/h"
#: Amperes are told from watts by a bank of 12 V here: the bounds are wide enough for 48 V. [V]
_NOMINAL_V = 12.0
#: Beyond the usual by so much, either way, it was not meant. [-]
_BEYOND = 10.0
#: What one load of a role takes while it is on, as small boats have it; common practice, no
#: source. [W]
_USUAL_W = {
    "sailing lights": (0.3, 100.0),
    "power lights": (0.3, 150.0),
    "anchor light": (0.1, 50.0),
    "vhf": (0.5, 120.0),
    "bilge pump": (3.0, 500.0),
    "lookout": (0.2, 200.0),
    "pilot": (2.0, 500.0),
    "navigation": (0.1, 500.0),
    "comms": (0.2, 800.0),
}
#: The same of a load without a role. [W]
_USUAL_OTHER_W = (0.03, 3_000.0)
_MOST_STANDBY_W = 60.0
_MOST_FUEL_L_PER_H = 1.0  # a cabin heater burns 0.1 to 0.6 L/h


def judge_sizes(row: CsvRow, given: dict[str, Any]) -> tuple[list[Problem], list[Problem]]:
    """What cannot be meant of a load's draws, and what is odd.

    Parameters
    ----------
    given : dict
        Keyword arguments of Load that could be read from it.
    """
    faults: list[Problem] = []
    doubts: list[Problem] = []
    draw_W, standby_W = _watts(given, "draw"), _watts(given, "standby")
    role = given.get("role", "")
    if draw_W > 0:
        low_W, high_W = _USUAL_W.get(role, _USUAL_OTHER_W)
        whose = f"a load with role {role!r}" if role in _USUAL_W else "a load"
        said = (
            f"{quoted(row.cells['draw'])} is not the usual {low_W:g} W to {high_W:g} W of {whose}"
        )
        if role in _USUAL_W and not low_W / _BEYOND <= draw_W <= high_W * _BEYOND:
            faults.append(problem_at(row, "draw", said, _DRAW))
        elif not low_W <= draw_W <= high_W:
            doubts.append(problem_at(row, "draw", said, f"look again: {_DRAW}"))
    if 0 < draw_W < standby_W or standby_W > _MOST_STANDBY_W:
        said = f"{quoted(row.cells['standby'])} is much for a load that is not on"
        doubts.append(problem_at(row, "standby", said, f"look again: {_STANDBY}"))
    fuel_L_per_h = given.get("fuel_L_per_h", 0.0)
    if fuel_L_per_h > _MOST_FUEL_L_PER_H:
        said = f"{quoted(row.cells['fuel'])} is more than a cabin heater burns"
        doubts.append(problem_at(row, "fuel", said, f"look again: {_FUEL}"))
    return faults, doubts


def _watts(given: dict[str, Any], what: str) -> float:
    """What a load draws, amperes at 12 V. [W]"""
    return given.get(f"{what}_W", 0.0) + _NOMINAL_V * given.get(f"{what}_A", 0.0)
