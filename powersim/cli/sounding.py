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
    "--cans",
    metavar="LITRES",
    help='What is left in jerrycans, such as "2 x 20 L"; as boat.toml says if left out.',
)
@options.as_json
def sounding(folder, depth, as_table, cans, as_json) -> None:
    """What a depth on the dip stick means.

    It says the litres in the tank, how sure they are at sea, and what they are worth above the
    pick-up and the reserve: hours of charging, and hours and miles under power. It needs the table
    [fuel.tank] of boat.toml and reads nothing else of the passage.
    """
    from powersim.cli.screen import print_json

    if as_table == (depth is not None):
        raise click.UsageError(
            "either a depth or --table, for example 'powersim sounding my-passage 23.5cm'"
        )
    if as_table and cans is not None:
        raise click.UsageError("--cans goes with a depth: the strip is of the tank alone")
    boat, file = boat_with_tank(folder)
    from powersim.report.sounding_text import sounding_dict, sounding_text, strip_dict, strip_text

    if as_table:
        answer, text = strip_dict(boat), strip_text(boat)
    else:
        from powersim.api.dips import sounded_in

        found = sounded_in(boat, depth, cans=cans, file=file)
        answer, text = sounding_dict(found), sounding_text(found, boat)
    if as_json:
        print_json(answer)
    else:
        click.echo(text)
