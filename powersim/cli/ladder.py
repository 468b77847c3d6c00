"""`powersim ladder`: what to give up at sea, in which order, and at which charge."""

from __future__ import annotations

import click

from powersim.cli import options
from powersim.defaults import MEMBERS


@click.command(epilog='\b\nExample:\n  powersim ladder my-passage --from "day 12"')
@options.folder
@options.from_date
@click.option(
    "--without",
    metavar="NAME|PLACE",
    multiple=True,
    help="What is lost then: a thing that fails, a load, or a role of loads; the engine, if left "
    "out. Give it again to lose more at once; 'nothing' loses nothing. A place, such as "
    "'loads.music' or 'panel.arch', is gone from the start.",
)
@options.depart
@options.set_values
@options.step
@options.weather_files
@options.members_searched(MEMBERS)
@options.seed
@options.risk_searched
@options.as_json
def ladder(folder, from_date, without, as_json, step_h, members, seed, risk_frac, **sources):
    """What to give up at sea, in which order, and at which charge.

    Something is lost, the engine where nothing else is said. May you still fetch the weather, be
    seen and be heard until landfall, and what do you give up each evening for it?

    It finds a ladder of loads: comfort first, then useful, then essential ones; what you speak with
    comes last. Navigation lights, lookout, VHF and bilge pump are never in it. It tells what every
    step costs and gains; a small table tells at which charge, read in the evening, to take it.
    Loads are given up so that the bank stays above its floor; essential ones only so that not
    everything goes dark.

    Then it tries the ladder as a person keeps it, reading the bank with the errors that such
    readings have, in --members simulated passages other than those that it was found in. It says in
    how many of them everything protected and essential stays on, and for how many evenings each
    thing was given up. If even all of it is not enough, it says that first, and until when; the
    exit code is 1 then.

    --without takes the same names as in 'endurance'.
    """
    from powersim.cli.changes import changed_passage
    from powersim.cli.exits import FAILS
    from powersim.cli.lost import parted
    from powersim.cli.progress import share_told
    from powersim.cli.screen import emphasised, print_json

    lost, places = parted(without)
    passage = changed_passage(folder, without=places, **sources)
    with share_told(f"finding what to give up, in {members} passages") as progress:
        from powersim import api
        from powersim.report.ladder_dict import ladder_dict
        from powersim.report.ladder_view import ladder_sections
        from powersim.report.screen_text import screen_text

        found = api.ladder(
            passage,
            from_date=from_date,
            without=lost or None,
            step_h=step_h,
            members=members,
            seed=seed,
            risk_frac=risk_frac,
            progress=progress,
        )
    for problem in found.prepared.left_out:
        click.echo(f"Left out, average weather instead: {problem}", err=True)
    if as_json:
        print_json(ladder_dict(found))
    else:
        click.echo(emphasised(screen_text(ladder_sections(found))))
    if not found.holds:
        raise click.exceptions.Exit(FAILS)
