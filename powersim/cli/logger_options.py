"""Options of a logger's file."""

from __future__ import annotations

import re
from pathlib import Path

import click

#: The clock of a logger that shows ship's time, as `api.beside` has it.
SHIP = "ship"


class ColumnsType(click.ParamType):
    """Which column is what: "time=Zeit; current=Strom"."""

    name = "columns"

    def convert(self, value, param, ctx):
        """A mapping of roles to headings."""
        if isinstance(value, dict):
            return value
        named = {}
        for pair in value.split(";"):
            role, equals, title = pair.partition("=")
            if not equals or not role.strip() or not title.strip():
                self.fail(
                    f'{pair.strip()!r} is not "what=heading", such as '
                    '--logger-columns "current=Shunt A; voltage=Bus V"',
                    param,
                    ctx,
                )
            named[role.strip().casefold()] = title.strip()
        return named


class ClockType(click.ParamType):
    """What a logger's clock shows: UTC, ship's time, or an offset."""

    name = "clock"

    def convert(self, value, param, ctx):
        """Hours ahead of UTC, or SHIP."""
        if isinstance(value, float):
            return value
        plain = value.strip().casefold()
        if plain in (SHIP, "ship's time"):
            return SHIP
        if plain in ("utc", "z"):
            return 0.0
        found = re.fullmatch(r"([+-])(\d\d?)(?::?([0-5]\d))?", plain)
        if found is None or int(found[2]) > 14:
            self.fail(f'{value!r} is not UTC, ship or an offset such as "+02:00"', param, ctx)
        hours = int(found[2]) + int(found[3] or 0) / 60.0
        return -hours if found[1] == "-" else hours


def logger_options(command):
    """`--logger`, `--logger-columns` and `--logger-clock`."""
    for option in (
        click.option(
            "--logger-clock",
            metavar="CLOCK",
            type=ClockType(),
            default="UTC",
            help='What its clock shows: UTC (default), ship, or an offset such as "+02:00".',
        ),
        click.option(
            "--logger-columns",
            metavar="WHICH",
            type=ColumnsType(),
            help='Its columns, where their headings do not tell: "current=Shunt A; time=When".',
        ),
        click.option(
            "--logger",
            "logger_file",
            metavar="FILE",
            type=click.Path(path_type=Path),
            help="Volts and amperes of a logger; logger.csv in the folder if left out.",
        ),
    ):
        command = option(command)
    return command
