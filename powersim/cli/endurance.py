"""`powersim endurance`: how long the bank lasts, with this or that lost."""

from __future__ import annotations

import click

from powersim.cli import options


@click.command(epilog="\b\nExample:\n  powersim endurance my-passage --from 2026-09-12")
@options.folder
@options.from_date
@click.option(
    "--without",
    metavar="NAME",
    multiple=True,
    help="One more line: without this failed thing, load or role of loads; give it again for more "
    "at once.",
)
@click.option(
    "--beyond",
    is_flag=True,
    help="Do not stop at landfall: hold the boat where she arrives for 60 days.",
)
@options.depart
@options.step
@options.weather_files
@options.engine_plan
@options.members
@options.seed
@options.as_json
def endurance(folder, from_date, without, beyond, step_h, members, seed, as_json, **sources):
    """Days until the bank is at its floor, and until it is flat.

    From departure or another moment of the passage, with everything working and with this or that
    lost; with all loads, without comfort, and with the essential ones alone. Where landfall comes
    first it says so. Then: which load costs the most days, and what dropping each would gain; and
    how many days of charging the fuel lasts, as planned and on a passage half as long again.

    --from worst counts from the moment at which losing all charging would hurt most. --without
    takes the names of failures (alternator, engine, "tank fuel", panel, solar, "other chargers",
    charging, "half battery", protection, "double pilot"), of loads and of their roles.

    With --engine-plan the engine charges at the times of that file, as long as it works.

    With --members every line is told for many weathers: how long the bank lasts in 1 of 10 of
    them, in half, in 9 of 10. Until the moment that is counted from, each weather has had the bank
    to itself.
    """
    from powersim.cli.progress import share_told
    from powersim.cli.screen import emphasised, print_json
    from powersim.cli.simulate import simulated
    from powersim.report.endurance_dict import endurance_dict
    from powersim.report.endurance_text import endurance_text

    result = simulated(folder, step_h=step_h, **sources)
    weathers = "" if members == 1 else f" in {members} weathers"
    with share_told(f"trying what may be lost{weathers}") as progress:
        from powersim import api

        found = api.endurance(
            result,
            from_date=from_date,
            members=members,
            seed=seed,
            without=without,
            beyond=beyond,
            progress=progress,
        )
    if as_json:
        print_json(endurance_dict(found, result))
    else:
        click.echo(emphasised(endurance_text(found, result)))
