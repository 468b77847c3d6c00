"""`powersim underway`: the log against the plan, and a new forecast from here."""

from __future__ import annotations

from pathlib import Path

import click

from powersim.cli import options


@click.command(epilog="\b\nExample:\n  powersim underway my-passage --forecast gulf.grib")
@options.folder
@click.option(
    "--log",
    "log_file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="The log; log.csv in the passage folder if left out. It is never written to.",
)
@click.option(
    "--now",
    metavar="DATE",
    help="Take this for now, where the computer's clock is wrong; for example '2026-09-15 12:00'.",
)
@click.option(
    "--write-back",
    "into",
    metavar="WHERE",
    type=click.Path(path_type=Path),
    help="Put what the log shows into boat.toml and loads.csv: of a copy, if WHERE is a new "
    "folder; of FOLDER itself, if WHERE is FOLDER, with both kept beside them as they were.",
)
@options.depart
@options.step
@options.forecast
@options.or_climatology
@options.members_searched(500)
@options.seed
@options.as_json
def underway(folder, log_file, now, into, step_h, members, seed, as_json, forecast, **sources):
    """The log against the plan so far, what is really going on, and what comes of it.

    Reads log.csv, sets aside what contradicts itself and names it line by line. Compares charge,
    ampere-hours, engine hours and litres with the plan. Estimates what the loads really draw, what
    the panels give, what the bank holds and what an hour of charging burns, each with an interval
    that holds in 8 of 10 cases, and says which of them the log cannot tell apart. Then sails the
    rest of the passage from the last fix in --members weathers.

    A --forecast counts from now on. The log tells nothing of a thing that was never read: see
    docs/how-to/keep-the-log.md.

    With --write-back what the log tells at least in part is written into the files, and each value
    is printed with the one before. Only these values change; notes and order stay.
    """
    from powersim.cli.progress import share_told
    from powersim.cli.screen import emphasised, print_json
    from powersim.cli.underway_log import checked_log, now_of
    from powersim.inputs.folder import load_folder
    from powersim.report.written_text import written_dict, written_text

    back = None
    if into is not None:
        from powersim.cli.write_back import WriteBack

        back = WriteBack(folder, into)
    passage = load_folder(folder, **sources)
    ahead_of = load_folder(folder, forecast=forecast, **sources) if forecast else passage
    log, sounding = checked_log(folder, passage, log_file=log_file, now=now)
    with share_told(f"holding the log against {members} weathers") as progress:
        from powersim.report.underway_dict import underway_dict
        from powersim.report.underway_text import underway_text
        from powersim.underway.ahead import ahead, rest_of
        from powersim.underway.reckoning import reckon

        tell = progress or (lambda done_frac: None)
        reckoned = reckon(
            passage,
            log,
            members=members,
            seed=seed,
            sounding=sounding,
            progress=lambda done_frac: tell(0.5 * done_frac),
        )
        to_come = None
        if rest_of(reckoned) is not None:
            to_come = ahead(
                reckoned,
                seed=seed,
                step_h=step_h,
                forecast=ahead_of.forecast,
                left_out=ahead_of.left_out,
                progress=lambda done_frac: tell(0.5 + 0.5 * done_frac),
            )
    for problem in (*log.set_aside, *reckoned.left_out):
        click.echo(f"Set aside: {problem}", err=True)
    for problem in to_come.prepared.left_out if to_come else ():
        click.echo(f"Left out, the month's mean instead: {problem}", err=True)
    if not as_json:
        click.echo(emphasised(underway_text(reckoned, to_come)))
    written = None
    if back is not None:
        written = back.write(reckoned, now_utc=now_of(now), depart=sources["depart"])
    if as_json:
        print_json(underway_dict(reckoned, to_come) | written_dict(written))
    elif written is not None:
        click.echo("\n" + emphasised(written_text(written)))
