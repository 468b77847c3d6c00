"""Floor and reserve as the instruments aboard show them: volts, per cent, litres, the stick."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from powersim.physics.tank import depth_m, sounding
from powersim.records.units_aboard import INCHES, aboard
from powersim.report.kinds import AMPS, DEPTH, LITRES, SHARE, VOLTS, Words, say

if TYPE_CHECKING:
    from powersim.records import Boat, Fuel, Tank
    from powersim.simulation.result import SimulationResult

#: To what a stick is read, in centimetres and in inches. [m]
_READ_m, _READ_INCHES_m = 0.005, 0.25 * INCHES.size


def limits(result: SimulationResult) -> tuple[Words, ...]:
    """What the charge and the fuel are not to fall below, a sentence or two each.

    Parameters
    ----------
    result : Result
        Of the simulation.
    """
    boat = result.passage.boat
    return (_floor(result), *([_reserve(boat, boat.fuel)] if boat.fuel else []))


def _floor(result) -> Words:
    # Needs numpy, which a reading of the tank, that asks this module too, does without.
    from powersim.planning.panel_values import shown_V
    from powersim.simulation.usual_load import usual_load_A

    battery, prepared = result.passage.boat.battery, result.prepared
    floor = SHARE(battery.floor_soc, "average.charge.floor_soc")
    mute = battery.traits.mute_soc
    if mute is not None and mute[0] <= battery.floor_soc < mute[1]:
        return say("Floor: {} on the counter; volts do not show it.", floor)
    volts = VOLTS(shown_V(prepared, battery.floor_soc))
    under = say("with the usual {} on and nothing charging", AMPS(usual_load_A(prepared)))
    if battery.volts_tell:
        return say("Floor: {} before dawn, {} ({}).", volts, under, floor)
    return say("Floor: {} on the counter; {} before dawn, {}.", floor, volts, under)


def _reserve(boat: Boat, fuel: Fuel) -> Words:
    """The reserve is above the pick-up, in whatever tank or can it is."""
    reserve = LITRES(fuel.reserve_L, "average.fuel.reserve_L")
    if not fuel.reserve_L > 0.0:
        return say("No reserve of {} is kept.", boat.fuel_word)
    in_tank_L = fuel.reserve_L + fuel.unusable_L
    cans = ", cans empty" if fuel.jerrycans_L > 0.0 else ""
    if in_tank_L > fuel.tank_L:
        rest = LITRES(in_tank_L - fuel.tank_L)
        return say("Reserve: {} above the pick-up, a full tank and {} in cans.", reserve, rest)
    if fuel.shape is None:
        return say(
            "Reserve: {} above the pick-up, {} in the tank{}.", reserve, LITRES(in_tank_L), cans
        )
    mark = DEPTH(stick_m(fuel.shape, min(in_tank_L, fuel.shape.full_L)))
    return say(
        "Reserve: {} above the pick-up, {} in the tank, {} on the stick{}.",
        *(reserve, LITRES(in_tank_L), mark, cans),
    )


def stick_m(tank: Tank, litres: float) -> float:
    """The lowest mark of the stick that shows so much, to half a centimetre or a quarter inch. [m]

    As the sounding strip has it: less half of what the stick may be wet.
    """
    read_m = _READ_INCHES_m if aboard().depth is INCHES else _READ_m
    mark = math.floor(depth_m(tank, litres) / read_m) * read_m
    top_m = tank.top_m + tank.wet_m
    while sounding(tank, mark).litres < litres - 1e-6 and mark < top_m:
        mark = round(mark / read_m + 1.0) * read_m
    return mark
