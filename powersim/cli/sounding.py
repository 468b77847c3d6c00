"""`powersim sounding`: the dip stick in litres, and what they are worth."""

from __future__ import annotations

import click

from powersim.cli import options
from powersim.cli.soundings import DepthCommand, boat_with_tank


@click.command(
    cls=DepthCommand,
    epilog="\b\nExample:\n  powersim sounding my-passage 23.5cm",
)
@options.folder
@click.argument("depth", required=False)
@click.option(
    "--table", "as_table", is_flag=True, help="Print the whole strip, to tape beside the tank."
)
@click.option(
    "--needle",
    metavar="PLACE",
    help="What the needle of the tank's gauge shows, such as 1/4 or E.",
)
@click.option(
    "--cans",
    metavar="LITRES",
    help='What is left in jerrycans, such as "2 x 20 L"; as boat.toml says if left out.',
)
@options.as_json
def sounding(folder, depth, as_table, needle, cans, as_json) -> None:
    """What a depth on the dip stick means, or the needle of the gauge.

    It says the litres in the tank, how sure they are at sea, and what they are worth above the
    pick-up and the reserve: hours of charging, and hours and miles under power. It needs the table
    [fuel.tank] of boat.toml and reads nothing else of the passage.

    --needle says the same of the needle of the tank's gauge, as far as it can be trusted, by
    'needle' in [fuel]. With a depth beside it, it says whether they agree: the stick is right.
    """
    from powersim.cli.screen import print_json

    if as_table == (depth is not None or needle is not None):
        raise click.UsageError(
            "either a depth, --needle or --table, for example 'powersim sounding my-passage 23.5cm'"
        )
    if as_table and cans is not None:
        raise click.UsageError("--cans goes with a depth: the strip is of the tank alone")
    boat, file = boat_with_tank(folder, by_needle=depth is None, by_stick=not needle)
    told = _strip(boat) if as_table else _reading(boat, depth, needle, cans=cans, file=file)
    answer, text = told
    if as_json:
        print_json(answer)
    else:
        click.echo(text)


def _strip(boat):
    """The strip of the stick, and the table of the needle, as far as there are any."""
    from powersim.report.needle_text import tables_dict, tables_text

    return tables_dict(boat), tables_text(boat)


def _reading(boat, depth, needle, *, cans, file):
    """What the stick says, the needle, or both."""
    from powersim.api.dips import needle_in, sounded_in
    from powersim.report.needle_text import both_text, needle_text
    from powersim.report.sounding_text import sounding_dict, sounding_text

    stick = None if depth is None else sounded_in(boat, depth, cans=cans, file=file)
    if stick is not None and needle is None:
        return sounding_dict(stick), sounding_text(stick, boat)
    found = needle_in(boat, needle, cans=cans, file=file)
    if stick is None:
        return sounding_dict(found), needle_text(found, boat)
    both = {"stick": sounding_dict(stick), "needle": sounding_dict(found)}
    return both, both_text(stick, found, boat)
