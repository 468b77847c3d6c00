"""`powersim size`: what another battery, another panel or a bigger alternator would change."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from powersim.cli import options
from powersim.cli.exits import FAILS
from powersim.defaults import SIZE_MEMBERS
from powersim.records import CHEMISTRIES


@click.command(
    epilog="\b\nExample:\n"
    '  powersim size my-passage --battery 150:400:50Ah --chemistry "agm,lifepo4"'
)
@options.folder
@click.option(
    "--battery", metavar="RANGE", help='Capacities, such as 150:400:50Ah or "220Ah,330Ah".'
)
@click.option("--solar", metavar="RANGE", help="Watts of all panels, such as 100:400:50W.")
@click.option("--alternator", metavar="RANGE", help='Hot output, such as "45A,90A".')
@click.option("--chemistry", metavar="LIST", help=f"Of the bank: {', '.join(CHEMISTRIES)}.")
@options.out
@options.depart
@options.step
@options.weather_files
@options.members_searched(SIZE_MEMBERS)
@options.seed
@options.risk_searched
@options.jobs
@options.backend
@options.scheduler
@click.option("--replan", is_flag=True, help="Find a rule for each marked choice too; slow.")
@click.option("--resume", is_flag=True, help="Go on with a search that was stopped.")
@options.no_figures
@options.figure_format
@options.as_json
@options.quiet
@options.force
def size(
    folder,
    out,
    risk_frac,
    jobs,
    backend,
    scheduler,
    replan,
    resume,
    no_figures,
    figure_format,
    **given,
) -> None:
    """What another battery, other panels or another alternator would change.

    Tries every combination of the sizes that you list, and the boat as she is, in the same weather.
    What you do not list stays the boat's own. Of the choices that fail in no more than --risk of
    the simulated passages, it marks the cheapest: no other is lighter without charging longer. The
    exit code is 1 when none is adequate.

    A range is from:to:step. Separate single sizes by commas. The charging rule stays as it is, in
    per cent; a bank of another chemistry comes with its own rule, floor, voltages and weight. With
    --replan it also looks for a rule for each of the marked choices, as 'plan' does.

    Ctrl-C keeps what is finished, and --resume goes on. With --backend dask the cluster whose
    scheduler is at --scheduler does the work. Whoever answers there can run code on this machine,
    so name only a cluster of your own, on a network of your own.
    """
    from powersim.cli.changes import RESULTS
    from powersim.cli.screen import answered, emphasised, print_json
    from powersim.cli.size_search import asked, rules_of, search, tell_what_is_kept, where
    from powersim.errors import OutputError
    from powersim.planning.size_front import compare_choices
    from powersim.report.size_files import file_names, size_dict, size_files
    from powersim.report.size_text import size_text
    from powersim.report.size_unfinished import UNFINISHED

    as_json, quiet, force = (given.pop(name) for name in ("as_json", "quiet", "force"))
    place = where(jobs=jobs, backend=backend, scheduler=scheduler)
    study, choices, stays = asked(folder, **given)
    out = out or Path(folder) / RESULTS
    figures = {"figures": not no_figures, "kind": figure_format}
    names = file_names(kind=figure_format)
    points = search(study, choices, out, names=names, place=place, resume=resume, force=force)
    sized = compare_choices(points, risk_frac=risk_frac)
    if replan:
        sized = replace(sized, rules=rules_of(sized, study, out, place=place))

    def show(paths):
        if as_json:
            print_json(size_dict(sized, study, stays=stays))
            return
        written = f"Results in {out}: {', '.join(path.name for path in paths)}." if paths else ""
        text = size_text(sized, study, stays=stays, written=written, brief=quiet)
        click.echo(emphasised(text))

    try:
        answered(
            lambda: _write(out, size_files(sized, study, stays=stays, **figures), force=force), show
        )
    except OutputError:
        tell_what_is_kept("all choices are", Path(out) / UNFINISHED)
        raise
    if not sized.front:
        raise click.exceptions.Exit(FAILS)


def _write(out, files, *, force):
    from powersim.cli.progress import told_if_slow
    from powersim.report.size_unfinished import UNFINISHED
    from powersim.report.writing import write_all

    with told_if_slow(f"writing to {out}"):
        # What was finished goes only with that: had the writing failed, it would still be there.
        return write_all(out, files, force=force, removed=[UNFINISHED])
