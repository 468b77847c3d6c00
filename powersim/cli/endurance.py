"""`powersim endurance`: how long the bank lasts, with this or that lost."""

from __future__ import annotations

import click

from powersim.cli import options


@click.command(epilog="\b\nExample:\n  powersim endurance my-passage --from 2026-09-12")
@options.folder
@options.from_date
@click.option(
    "--without",
    metavar="NAME|PLACE",
    multiple=True,
    help="Add a line without this: a thing that fails, a load, or a role of loads. Give it again "
    "to lose more at once. Of a place, such as 'loads.music', 'panel.arch' or 'shedding', all "
    "lines are without it.",
)
@click.option(
    "--beyond",
    is_flag=True,
    help="Do not stop at landfall: keep the boat where she arrives for 60 days.",
)
@options.depart
@options.set_values
@options.step
@options.weather_files
@options.engine_plan
@options.members
@options.seed
@options.as_json
def endurance(
    folder, from_date, without, beyond, step_h, members, seed, as_json, **sources
) -> None:
    """Days until the bank is at its floor, and until it is flat.

    It counts from departure or another moment of the passage, with everything working and with this
    or that lost; with all loads, without comfort loads, and with the essential ones alone. If
    landfall comes first it says so. Then it says which load costs the most days, what leaving each
    off would gain, and how many days of charging the fuel lasts, as planned and on a passage half
    as long again.

    First it says how long everything stays on if all charging is lost, from departure and from the
    worst moment of the passage: the one at which that would leave the fewest days. --from worst
    counts the rest from there too.

    --without takes the names of failures (alternator, engine, "tank fuel", panel, solar, "other
    chargers", charging, "half battery", protection, "double pilot"), of loads and of their roles.

    With --set, and with --without of a place in the files, every line is of another boat, list of
    loads or departure, and the answer says so first.

    With --engine-plan the engine charges at the times of that file, as long as it works.

    It simulates many passages for every line and gives three figures: 1 in 10 does worse than the
    first, half do worse than the second, 9 in 10 do worse than the third. Count on the first. Up to
    the moment that it counts from, each passage has had its own weather. What leaving each load off
    gains is told in the first 50 of them. --members 1 is average weather alone.
    """
    from powersim.cli.lost import parted
    from powersim.cli.progress import share_told
    from powersim.cli.screen import emphasised, print_json
    from powersim.cli.simulate import simulated
    from powersim.report.endurance_dict import endurance_dict
    from powersim.report.endurance_view import endurance_view
    from powersim.report.screen_text import screen_text

    lost, places = parted(without)
    result = simulated(folder, step_h=step_h, members=1, without=places, **sources)
    forcing = "" if members == 1 else f" in {members} passages"
    with share_told(f"simulating what may fail{forcing}") as progress:
        from powersim import api

        found = api.endurance(
            result,
            from_date=from_date,
            members=members,
            seed=seed,
            without=lost,
            beyond=beyond,
            progress=progress,
        )
    if as_json:
        print_json(endurance_dict(found, result))
    else:
        click.echo(emphasised(screen_text(endurance_view(found, result).sections)))
