"""`powersim underway`: the log against the plan, and a new forecast from here."""

from __future__ import annotations

from pathlib import Path

import click

from powersim.cli import options
from powersim.cli.logger_options import logger_options
from powersim.defaults import UNDERWAY_MEMBERS


@click.command(epilog="\b\nExample:\n  powersim underway my-passage --forecast gulf.grib")
@options.folder
@click.option(
    "--log",
    "log_file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="The log; log.csv in the passage folder if left out. powersim never writes to it.",
)
@click.option(
    "--trial",
    "trial_file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="What a meter showed as loads were switched; trial.csv in the folder if left out.",
)
@logger_options
@click.option(
    "--line",
    "lines",
    metavar="TEXT",
    multiple=True,
    help="An entry of the log as one line of a message; can be given several times. The answer "
    "is one such line too.",
)
@click.option(
    "--lines",
    "lines_file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="A file of such lines, the last one last; - is standard input.",
)
@click.option(
    "--now",
    metavar="DATE",
    help='The right time, if the computer\'s clock is wrong; such as "2026-09-15 12:00".',
)
@click.option(
    "--write-back",
    "into",
    metavar="WHERE",
    type=click.Path(path_type=Path),
    callback=options.mended,
    help="Write what the log shows into boat.toml and loads.csv: into a copy, if WHERE is a new "
    "folder; into FOLDER itself, if WHERE is FOLDER. Then the old files are kept beside the new.",
)
@options.depart
@options.step
@options.forecast
@options.or_climatology
@options.members_searched(UNDERWAY_MEMBERS)
@options.seed
@options.risk_searched
@click.option(
    "--no-plan",
    is_flag=True,
    help="Look for no new rule, and for nothing to give up; that saves half of the time.",
)
@options.as_json
def underway(
    folder, log_file, trial_file, lines, lines_file, now, into, as_json, forecast, **given
):
    """The log against the plan, what is really going on, and what to expect.

    Reads log.csv, sets aside entries that contradict each other and names them line by line.
    Compares charge, ampere-hours, engine hours and litres with the plan. Estimates what the loads
    really draw, what the panels give, what the bank holds and what an hour of charging burns. Each
    estimate has a range that it lies in 8 times in 10. It says which of them the log cannot tell
    apart. Then it simulates the rest of the passage from the last fix, --members times, by the rule
    of boat.toml.

    Last it looks for the charging rule that costs least for what is left, as 'plan' does, with
    the bank, loads, sun and litres that the log shows, and says whether to change to it. Where no
    port is within three days it says too what to give up if the engine were lost now, as 'ladder'
    does.

    A --forecast counts from now on. The log says nothing about what was never read: see
    docs/how-to/keep-the-log.md.

    With trial.csv, readings of a meter taken as loads were switched on and off, it says what each
    of them draws. That needs no log: two days before leaving it tells the most (see
    docs/how-to/sea-trial.md). With logger.csv, volts and amperes at many moments under any
    headings, it sums them day by day, and what counts of it is held against the passage.

    With --line or --lines somebody ashore does the sums for a boat whose computer stays off. A
    day's readings come as one line of at most 160 letters, such as "12SEP 0630Z 52-10.5N 027-31.0W
    12.45V REST3H ENG1234.5H DIP23.5CM". The day's advice is printed as one line to send back:
    whether she holds, whether and how long to run the engine, what to switch off, how old the
    readings are. log.csv need not be there; if it is, it counts too. See
    docs/how-to/sums-ashore.md.

    --write-back writes what the log shows at least in part into the files, and prints each value
    beside the old one. Only these values change; notes and order stay.
    """
    from powersim.cli.aboard import in_its_units
    from powersim.cli.beside_log import beside_told, log_is_there, say_set_aside, tell_alone
    from powersim.cli.log_lines import advice, lines_given, told_back
    from powersim.cli.progress import share_told
    from powersim.cli.screen import answered, emphasised, print_json
    from powersim.inputs.boat_charging import write_charging
    from powersim.inputs.folder import load_folder
    from powersim.report.written_text import written_dict, written_text

    back = None
    if into is not None:
        from powersim.cli.write_back import WriteBack

        back = WriteBack(folder, into)
    sources = {name: given.pop(name) for name in ("depart", "or_climatology")}
    passage = in_its_units(load_folder(folder, **sources))
    lines = lines_given(lines, lines_file)
    files = {"trial": trial_file, "logger": given.pop("logger_file")}
    files |= {name: given.pop(name) for name in ("logger_columns", "logger_clock")}
    if not lines and log_file is None and not log_is_there(folder):
        from powersim.api.beside import beside_of

        alone = beside_of(passage, **files, now=now, lenient=False)
        files |= {"trial": alone.trial, "logger": alone.logged}
        has_dawns = alone.logged is not None and alone.logged.as_log is not None
        if (alone.trial is not None or alone.logged is not None) and not has_dawns:
            given = {"back": back, "now": now, "depart": sources["depart"]}
            return tell_alone(alone, passage, as_json=as_json, **given)
    with share_told(f"comparing the log with {given['members']} passages") as progress:
        from powersim import api
        from powersim.api.log_read import now_of
        from powersim.report.ladder_view import ladder_underway
        from powersim.report.new_rule_text import new_rule_text
        from powersim.report.screen_text import screen_text
        from powersim.report.short_log import before_dict
        from powersim.report.underway_dict import underway_dict
        from powersim.report.underway_text import underway_text

        found = api.underway(
            passage,
            log=log_file,
            lines=lines,
            now=now,
            forecast=forecast,
            **files,
            **given,
            progress=progress,
        )
        posterior, to_come, new = found.posterior, found.forecast, found.new_rule
        asked = {name: given[name] for name in ("seed", "step_h", "risk_frac")}
        line = advice(found, lines, now_utc=now_of(now), **asked) if lines else None
    say_set_aside(found.beside)
    beside, beside_answer = beside_told(found.beside, with_log=True)
    told_back(found)
    for told in found.log.taken:
        click.echo(f"Taken: {told}", err=True)
    for problem in (*found.log.set_aside, *posterior.left_out):
        click.echo(f"Set aside: {problem}", err=True)
    for problem in to_come.prepared.left_out if to_come else ():
        click.echo(f"Left out, average weather instead: {problem}", err=True)
    if line is not None and not as_json:
        click.echo(line)
    elif not as_json:
        rule = ""
        if to_come is not None and not given["no_plan"]:
            keep = write_charging(new.rule) if new else ""
            rule = new_rule_text(new, keep=keep, engine=passage.boat.engine is not None)
        click.echo(
            emphasised(
                underway_text(
                    posterior,
                    to_come,
                    rule=rule,
                    beside=beside,
                    before=found.before,
                    has_trial=found.beside.trial is not None,
                    sessions=found.sessions,
                    ladder=screen_text(ladder_underway(found.ladder)) if found.ladder else "",
                )
            )
        )

    def write():
        if back is not None:
            how = {"now_utc": now_of(now), "depart": sources["depart"]}
            return back.write(posterior, trial=found.beside.trial, **how)
        return None

    def show(written):
        if as_json:
            answer = underway_dict(posterior, to_come, new, found.sessions, found.ladder)
            answer |= before_dict(found.before) | beside_answer
            answer |= {"advice_line": line} if line is not None else {}
            print_json(answer | written_dict(written))
        elif written is not None:
            click.echo("\n" + emphasised(written_text(written)))

    answered(write, show)
