"""The units aboard, for all that a command prints from here on."""

from __future__ import annotations

from typing import TypeVar

import click

from powersim.records import Passage
from powersim.records.units_aboard import UnitsAboard, printed_in

P = TypeVar("P", bound=Passage)


def in_its_units(passage: P) -> P:
    """The same passage; until the command ends, numbers are printed in its units.

    Parameters
    ----------
    passage : Passage
        That the command answers for.
    """
    print_in(passage.units)
    return passage


def print_in(units: UnitsAboard) -> None:
    """Print in these units until the command ends."""
    click.get_current_context().with_resource(printed_in(units))
