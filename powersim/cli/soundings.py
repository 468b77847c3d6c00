"""What `powersim sounding` is given: a boat whose tank has a shape, a depth, cans."""

from __future__ import annotations

import re
from pathlib import Path

import click

from powersim.errors import InputError, Problem

_SHAPE = (
    'a table [fuel.tank], for example shape = "box", length = "90 cm", width = "60 cm", '
    'height = "35 cm"'
)
_BELOW_ZERO = re.compile(r"-[0-9.]")


class DepthCommand(click.Command):
    """A command whose argument may begin with a minus and a digit, so that it can say why not."""

    def parse_args(self, ctx, args):
        """As click does, but -3cm is a depth and no option."""
        if "--" not in args:
            below = [
                place
                for place, arg in enumerate(args)
                if _BELOW_ZERO.match(arg) and args[place - 1] != "--cans"
            ]
            if below:
                others = [arg for place, arg in enumerate(args) if place not in below]
                args = [*others, "--", *(args[place] for place in below)]
        return super().parse_args(ctx, args)


def boat_with_tank(folder):
    """The boat of a passage folder, or an InputError that says what is missing."""
    from powersim.inputs.boat import read_boat
    from powersim.inputs.folder import BOAT_FILE

    path = Path(folder) / BOAT_FILE
    boat = read_boat(path).boat
    if boat.fuel is None:
        raise _problem(str(path), "there is no [fuel], so no tank to sound", _SHAPE)
    if boat.fuel.shape is None:
        raise _problem(str(path), "fuel.tank says what the tank holds, not its shape", _SHAPE)
    return boat


def depth_read(text, tank) -> float:
    """A depth as typed, that such a tank can have. [m]"""
    from powersim.inputs.depths import read_depth
    from powersim.inputs.text import ReadingError, quoted
    from powersim.physics.tank import above_tank

    full_cm = 100.0 * tank.top_m
    try:
        depth_m, _ = read_depth(text)
        if not depth_m >= 0.0:  # written so that nan fails too
            raise ReadingError(f"{quoted(text)} is less than nothing")
        if above_tank(tank, depth_m):
            raise ReadingError(
                f"{quoted(text)} is over the brim of a tank that is full at {full_cm:.4g} cm"
            )
    except ReadingError as error:
        example = f"{0.5 * full_cm:.3g}cm"
        most_cm = full_cm + 100.0 * tank.wet_m
        expected = f"a depth on the stick, 0 cm to {most_cm:.4g} cm"
        if tank.wet_m > 0.0:
            expected += f", the last {100.0 * tank.wet_m:.4g} cm only wet,"
        expected += f" for example {example}"
        raise _problem("depth", error.reason, expected) from error
    return depth_m


def cans_read(text) -> float | None:
    """Litres in cans as typed; None if nothing was. [L]"""
    from powersim.inputs.text import ReadingError
    from powersim.inputs.toml_keys import cans_L

    if text is None:
        return None
    try:
        return cans_L(text)
    except ReadingError as error:
        raise _problem("cans", error.reason, 'for example "2 x 20 L", or 35 L') from error


def _problem(file, text, expected) -> InputError:
    return InputError([Problem(file=file, text=text, expected=expected)])
