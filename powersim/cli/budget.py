"""`powersim budget`: what each load takes a day."""

from __future__ import annotations

import click

from powersim.cli import options


@click.command(epilog="\b\nExample:\n  powersim budget my-passage --date 2026-09-12")
@options.folder
@click.option(
    "--date",
    "dates",
    metavar="DATE",
    multiple=True,
    help='A day of the passage, such as "2026-09-12" or "day 8"; give it up to five times. Days '
    "along the route if left out.",
)
@options.depart
@options.as_json
def budget(folder, dates, depart, as_json) -> None:
    """What each load takes from the bank in a day, in Ah and Wh.

    It shows days that you choose or days along the route, since nights change with the latitude. It
    also shows a whole day in each state: under sail, under engine, hove-to, drifting, anchored,
    berthed. And it tells what an hour of the engine puts into the bank, in gear besides its miles
    and at rest, and what of the fuel is for the bank.
    """
    from powersim.cli.aboard import in_its_units
    from powersim.cli.progress import told_if_slow
    from powersim.cli.screen import emphasised, print_json
    from powersim.inputs.folder import load_folder

    passage = in_its_units(load_folder(folder, depart=depart))
    with told_if_slow(f"working out the nights of {passage.name}"):
        from powersim import api
        from powersim.planning.budget import MOST_DAYS
        from powersim.report.budget_text import budget_dict, budget_text

        if len(dates) > MOST_DAYS:
            raise click.UsageError(f"at most {MOST_DAYS} dates fit on a page, got {len(dates)}")
        found = api.budget(passage, dates=dates)
    if as_json:
        print_json(budget_dict(found, name=passage.name))
    else:
        click.echo(emphasised(budget_text(found, name=passage.name)))
