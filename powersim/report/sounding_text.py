"""What `sounding` prints: a dip in litres and what they are worth, or the strip for the stick."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from powersim.physics.tank import strip
from powersim.records import Boat, Tank
from powersim.report import rounding
from powersim.report.plain import plain
from powersim.report.text import join, key_values, paragraph, table

if TYPE_CHECKING:
    from powersim.planning.sounding import Sounded
    from powersim.records import Fuel, Tank

#: Heel at which the reading at the tank's side is told. [deg]
_HEEL_DEG = 10.0


def sounding_text(found: Sounded, boat: Boat) -> str:
    """A dip for a reader.

    Parameters
    ----------
    found : Sounded
        What the dip says.
    boat : Boat
        With a tank whose shape is known.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    assert found.depth_m is not None, "the needle has words of its own"
    return join(
        paragraph(f"{rounding.depth(found.depth_m)} on the stick of {boat.name}"),
        key_values(reading_rows(found)),
        paragraph(caution(_tank(boat)[1], boat.fuel_word)),
    )


def reading_rows(found: Sounded) -> list[tuple[str, str]]:
    """What stick or needle say, line by line.

    Parameters
    ----------
    found : Sounded
        By either of them.
    """
    brim = " (the stick is wet above the brim: full, or nearly so)" if found.above_full else ""
    rows = [
        (
            "tank",
            f"{rounding.litres(found.tank_L)}, give or take {rounding.litres(found.sd_L)}; "
            f"{rounding.span(found.least_L, found.most_L, rounding.litres)} at worst{brim}",
        ),
        ("to burn", f"{rounding.litres(found.usable_L)} of it above the pick-up"),
        ("cans", f"{rounding.litres(found.cans_L)}, if they are as boat.toml or --cans says"),
        ("reserve", f"{rounding.litres(found.reserve_L)} to be left at landfall"),
        ("spare", f"{_worth(found, 'litres', rounding.litres)} above the reserve"),
    ]
    either = []
    if found.worth.charging_h is not None:
        either.append(f"{_worth(found, 'charging_h', rounding.hours)} of charging")
    either.append(
        f"{_worth(found, 'motoring_h', rounding.hours)} under power, "
        f"{_worth(found, 'motoring_nm', rounding.miles)}"
    )
    rows.append(("worth", " or ".join(either)))
    return rows


#: What comes of a spill, by what is in the tank.
_SPILT = {
    "diesel": "No flame; diesel on deck is slippery.",
    "petrol": "No flame and no spark, hatches and lockers open: petrol vapour sinks into the bilge "
    "and explodes.",
}


def caution(tank: Tank, fuel: str) -> str:
    """What to mind when the tank is sounded."""
    widths = [part.width_m for part in tank.parts]
    side = ""
    if widths:
        off_m = 0.5 * max(widths) * math.tan(math.radians(_HEEL_DEG))
        side = (
            f" At {_HEEL_DEG:.0f} degrees of heel the level at the tank's side is "
            f"{rounding.depth(off_m)} off that in the middle."
        )
    return (
        "Sound her upright and on her trim, engine off, three times, and take the middle one. "
        "Heeled or down by the head the stick is wrong, and by how much depends on where its pipe "
        f"is.{side} {_SPILT[fuel]}"
    )


def wet_allowed(tank: Tank) -> str:
    """What each mark of the strip allows for; empty where nothing."""
    if not tank.wet_m > 0.0:
        return ""
    return (
        f"The stick is wet up to {rounding.depth(tank.wet_m)} above the level; half of that is "
        "taken off each mark, as for a reading."
    )


def strip_text(boat: Boat) -> str:
    """The strip to tape beside the tank.

    Parameters
    ----------
    boat : Boat
        With a tank whose shape is known.

    Returns
    -------
    str
        One line a centimetre or half inch, the deepest first.
    """
    (fuel, shape), rows = _tank(boat), strip_rows(boat)
    holds, full = rounding.litres(fuel.tank_L), rounding.depth(shape.top_m)
    head = f"Tank of {boat.name}, {holds}; full at {full}"
    wet = wet_allowed(shape)
    return join(
        paragraph(f"{head}. {wet}" if wet else head),
        table(rows, aligns="rrr", header=("stick", "in the tank", "above the pick-up")),
        paragraph(caution(shape, boat.fuel_word)),
    )


def strip_rows(
    boat: Boat, *, most: int | None = None, form: Callable = rounding.litres
) -> list[tuple[str, str, str]]:
    """Depth, litres in the tank, litres above the pick-up; the deepest first.

    A row a centimetre or half inch, or fewer than `most`, further apart.
    """
    fuel, shape = _tank(boat)
    fewer = None if most is None else most - 1e-9
    return [
        (
            rounding.depth(depth_m),
            form(litres),
            form(max(litres - fuel.tank_L * fuel.unusable_frac, 0.0)),
        )
        for depth_m, litres in strip(shape, step_m=rounding.stick_marks(shape.top_m, fewer))
        # Where there is little room the mark that can only be wet is left out.
        if most is None or depth_m < shape.top_m + 1e-8
    ]


def sounding_dict(found: Sounded) -> dict:
    """The same for a program.

    Parameters
    ----------
    found : Sounded
        What the dip says.
    """
    return plain(found)


def strip_dict(boat: Boat) -> dict:
    """The strip for a program.

    Parameters
    ----------
    boat : Boat
        With a tank whose shape is known.
    """
    fuel, shape = _tank(boat)
    rows = [{"depth_m": depth_m, "litres": litres} for depth_m, litres in strip(shape)]
    return {"tank_L": fuel.tank_L, "top_m": shape.top_m, "strip": rows}


def _tank(boat: Boat) -> tuple[Fuel, Tank]:
    fuel = boat.fuel
    if fuel is None or fuel.shape is None:
        raise ValueError(f"the shape of {boat.name}'s tank is not known")
    return fuel, fuel.shape


def _worth(found, name, form) -> str:
    """Most likely, and in brackets between what at worst."""
    likely, least, most = (
        getattr(worth, name) for worth in (found.worth, found.worth_least, found.worth_most)
    )
    return rounding.within(likely, least, most, form)
