"""`powersim endurance`: how long the bank lasts, with this or that lost."""

from __future__ import annotations

import click

from powersim.cli import options


@click.command(epilog="\b\nExample:\n  powersim endurance my-passage --from 2026-09-12")
@options.folder
@options.from_date
@options.depart
@options.step
@options.weather_files
@options.members
@options.seed
@options.as_json
def endurance(folder, from_date, step_h, members, seed, as_json, **sources):
    """Days until the bank is at its floor, and until it is flat.

    From departure or another moment of the passage: with everything working, without the engine
    and without any charging; with all loads, and with the essential ones alone.

    With --members every line is told for many weathers: how long the bank lasts in all but 1 of 10
    of them, and in half of them. Until the moment that is counted from, each weather has had the
    bank to itself.
    """
    from powersim.cli.moments import moment_of
    from powersim.cli.screen import emphasised, print_json
    from powersim.cli.simulate import simulated
    from powersim.report.endurance_text import endurance_dict, endurance_text

    result = simulated(folder, step_h=step_h, **sources)
    from_h = 0.0
    if from_date is not None:
        arrival_h = result.prepared.track.arrival_h
        moment = moment_of(from_date, result.passage, arrival_h=arrival_h, option="from")
        from_h = (moment - result.passage.depart_utc).total_seconds() / 3600.0
    found = _table_of(result, from_h=from_h, members=members, seed=seed)
    if as_json:
        print_json(endurance_dict(found, result))
    else:
        click.echo(emphasised(endurance_text(found, result)))


def _table_of(result, *, from_h, members, seed):
    from powersim.cli.progress import share_told, told_if_slow

    if members == 1:
        from powersim.planning.endurance import endurance as endurance_of

        with told_if_slow("trying what may be lost"):
            return endurance_of(result, from_h=from_h)
    from powersim.planning.endurance_in_weathers import endurance_in_weathers

    with share_told(f"trying what may be lost in {members} weathers") as progress:
        return endurance_in_weathers(
            result, from_h=from_h, members=members, seed=seed, progress=progress
        )
