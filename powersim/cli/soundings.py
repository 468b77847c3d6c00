"""What `powersim sounding` is given: a boat whose tank has a shape, and a depth."""

from __future__ import annotations

import re
from pathlib import Path

import click

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


def boat_with_tank(folder, *, by_stick=True, by_needle=False):
    """The boat of a passage folder and its file, or an InputError that says what is missing.

    Of stick and needle it asks for what is wanted; where either will do, for one. From here on
    numbers are printed in the units aboard.
    """
    from powersim.api.dips import needle_of, tank_of
    from powersim.cli.aboard import print_in
    from powersim.inputs.boat import read_boat
    from powersim.inputs.folder import BOAT_FILE

    file = str(Path(folder) / BOAT_FILE)
    found = read_boat(file)
    print_in(found.settings.units)
    boat = found.boat
    assert boat is not None  # else read_boat has raised
    has_needle = boat.fuel is not None and bool(boat.fuel.needle)
    if by_stick and not (by_needle and has_needle):
        tank_of(boat, file=file)
    if by_needle and not by_stick:
        needle_of(boat, file=file)
    return boat, file
