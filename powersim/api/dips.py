"""A depth on the dip stick in litres, and what they are worth."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from powersim.api.asked import passage_of
from powersim.errors import refused
from powersim.inputs.depths import read_depth
from powersim.inputs.folder import BOAT_FILE
from powersim.inputs.needle_marks import EXPECTED, read_mark
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import cans_L
from powersim.physics.tank import above_tank
from powersim.records.units_aboard import aboard

if TYPE_CHECKING:
    from powersim.planning.sounding import Sounded
    from powersim.records import Boat, Fuel, Passage, Tank
    from powersim.simulation.prepared_passage import PreparedPassage
    from powersim.simulation.result import SimulationResult

_SHAPE = (
    'a table [fuel.tank], for example shape = "box", length = "90 cm", width = "60 cm", '
    'height = "35 cm"'
)
_NEEDLE = (
    'litres at its marks, for example needle = "4 L at E; 18 L at 1/4; 41 L at 1/2; 85 L at F"'
)


def sounding(
    passage: Passage | PreparedPassage[Any] | SimulationResult,
    depth: str | float | None = None,
    *,
    needle: str | float | None = None,
    cans: str | None = None,
) -> Sounded:
    """What a depth on the dip stick means, or the needle of the tank's gauge.

    Parameters
    ----------
    passage : Passage, PreparedPassage or Result
        Whose boat has a tank.
    depth : str or float
        As read off the stick, such as "23.5 cm"; a number is in metres. [m]
    needle : str or float, optional
        In its place: where the needle stands, such as "1/4"; a number is 0 at E and 1 at F.
    cans : str, optional
        What is left in jerrycans, such as "2 x 20 L"; as boat.toml says if left out.

    Returns
    -------
    Sounded
        Litres in the tank, how sure that is at sea, and what they are worth.

    Raises
    ------
    InputError
        If the shape of the tank is not known, or no such tank can have that depth; if the needle's
        marks are not known.
    ValueError
        Unless one of depth and needle is given.
    """
    asked = passage_of(passage)
    file = str(Path(asked.folder or "") / BOAT_FILE)
    if (depth is None) == (needle is None):
        raise ValueError("sounding takes a depth or the needle")
    if depth is None:
        assert needle is not None
        return needle_in(asked.boat, needle, cans=cans, file=file)
    return sounded_in(asked.boat, depth, cans=cans, file=file)


def sounded_in(boat: Boat, depth: str | float, *, cans: str | None, file: str) -> Sounded:
    """The same of a boat alone.

    Parameters
    ----------
    boat : Boat
        With a tank.
    depth : str or float
        A number is in metres. [m]
    cans : str or None
        What stands in jerrycans, as typed.
    file : str
        What to call boat.toml in messages.

    Returns
    -------
    Sounded
        Litres, how sure they are, and what they are worth.

    Raises
    ------
    InputError
        As `sounding`.
    """
    from powersim.planning.sounding import sounded

    _, shape = tank_of(boat, file=file)
    return sounded(boat, _depth_m(depth, shape), cans_L=_cans_L(cans))


def needle_in(boat: Boat, needle: str | float, *, cans: str | None, file: str) -> Sounded:
    """What the needle of the gauge means, on a boat alone.

    Parameters
    ----------
    boat : Boat
        With litres at the needle's marks.
    needle : str or float
        Its place on the dial, such as "1/4"; a number is 0 at E and 1 at F.
    cans : str or None
        What stands in jerrycans, as typed.
    file : str
        What to call boat.toml in messages.

    Returns
    -------
    Sounded
        Litres, how sure they are, and what they are worth.

    Raises
    ------
    InputError
        If the needle has no marks, or the place is none on a dial.
    """
    from powersim.planning.sounding import needle_read

    needle_of(boat, file=file)
    try:
        place = read_mark(needle if isinstance(needle, str) else f"{100.0 * needle:.10g} %")
    except ReadingError as error:
        raise refused("needle", error.reason, EXPECTED) from error
    return needle_read(boat, place, cans_L=_cans_L(cans))


def needle_of(boat: Boat, *, file: str) -> Fuel:
    """The fuel of a boat with litres at the needle's marks.

    Parameters
    ----------
    boat : Boat
        With an engine or without.
    file : str
        What to call boat.toml in messages.

    Returns
    -------
    Fuel
        What is aboard, and what the needle means.

    Raises
    ------
    InputError
        If it is not known.
    """
    if boat.fuel is None:
        raise refused(file, "there is no [fuel], so no tank with a needle", _NEEDLE)
    if not boat.fuel.needle:
        raise refused(file, "[fuel] does not say what its needle means", _NEEDLE)
    return boat.fuel


def tank_of(boat: Boat, *, file: str) -> tuple[Fuel, Tank]:
    """The fuel of a boat and the shape of its tank.

    Parameters
    ----------
    boat : Boat
        With an engine or without.
    file : str
        What to call boat.toml in messages.

    Returns
    -------
    tuple of (Fuel, Tank)
        What is aboard, and the shape that a dip goes by.

    Raises
    ------
    InputError
        If it is not known.
    """
    if boat.fuel is None:
        raise refused(file, "there is no [fuel], so no tank to sound", _SHAPE)
    if boat.fuel.shape is None:
        raise refused(file, "fuel.tank says what the tank holds, not its shape", _SHAPE)
    return boat.fuel, boat.fuel.shape


def _depth_m(typed: str | float, tank: Tank) -> float:
    """A depth that such a tank can have. [m]"""
    unit = aboard().depth
    said = unit.said
    text = typed if isinstance(typed, str) else f"{100.0 * typed:.10g} cm"
    try:
        depth_m: float = read_depth(text)[0] if isinstance(typed, str) else float(typed)
        if not depth_m >= 0.0:  # written so that nan fails too
            raise ReadingError(f"{quoted(text)} is below 0")
        if above_tank(tank, depth_m):
            raise ReadingError(
                f"{quoted(text)} is over the brim of a tank that is full at {said(tank.top_m)}"
            )
    except ReadingError as error:
        example = f"{unit.of(0.5 * tank.top_m):.3g}{unit.symbol}"
        most = said(tank.top_m + tank.wet_m)
        expected = f"a depth on the stick, {said(0.0)} to {most}"
        if tank.wet_m > 0.0:
            expected += f", the last {said(tank.wet_m)} only wet,"
        expected += f" for example {example}"
        raise refused("depth", error.reason, expected) from error
    return depth_m


def _cans_L(typed: str | None) -> float | None:
    """Litres in cans; None if nothing was said. [L]"""
    if typed is None:
        return None
    try:
        return cans_L(typed)
    except ReadingError as error:
        raise refused("cans", error.reason, 'for example "2 x 20 L", or 35 L') from error
