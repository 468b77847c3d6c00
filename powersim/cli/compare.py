"""`powersim compare`: boats, dates and values side by side, in the same simulated passages."""

from __future__ import annotations

from pathlib import Path

import click

from powersim.cli import options
from powersim.cli.exits import FAILS
from powersim.defaults import MEMBERS


@click.command(
    epilog="\b\nExamples:\n"
    "  powersim compare my-passage --depart 2026-09-01:2026-10-15:7d\n"
    '  powersim compare my-passage --without "loads.navigation laptop"\n'
    "  powersim compare my-passage --set battery.capacity=200:400:100Ah\n"
    "  powersim compare my-passage by-way-of-madeira"
)
@options.folders
@click.option(
    "--depart",
    metavar="DATES",
    multiple=True,
    help="A date, or from:to:step; give it as often as you like.",
)
@click.option(
    "--set",
    "set_values",
    metavar="PLACE=VALUE",
    multiple=True,
    help="Beside what the files say; several of one place, or a range, are alternatives.",
)
@click.option(
    "--without",
    metavar="PLACE",
    multiple=True,
    help='Leave this off, beside as she is; for example "loads.navigation laptop".',
)
@options.out
@options.step
@options.weather_files
@options.members_searched(MEMBERS)
@options.seed
@options.risk
@options.jobs
@options.backend
@options.scheduler
@options.no_figures
@options.figure_format
@options.as_json
@options.quiet
@options.force
def compare(
    folders,
    out,
    jobs,
    backend,
    scheduler,
    no_figures,
    figure_format,
    as_json,
    quiet,
    force,
    **given,
) -> None:
    """Boats, dates and values side by side, in the same simulated passages.

    Tries every combination of the folders, departures and values that you list, each place beside
    what its files say. A date without a time leaves at the time of day of the files. All meet the
    same draws of weather, so a difference between two choices is told pair by pair, against the
    first folder as its files say, and only where so many passages can show it.

    Which week is the better one for the bank is no reason to leave in it: seasons of hurricanes
    and cyclones, ice and gales are not in the model. Pilot charts and forecasts come first.

    The exit code is 1 when none of the choices holds. With --backend dask the cluster whose
    scheduler is at --scheduler does the work. Whoever answers there can run code on this machine,
    so name only a cluster of your own, on a network of your own.
    """
    from powersim.cli.aboard import in_its_units
    from powersim.cli.changes import RESULTS
    from powersim.cli.compare_asked import choices_of
    from powersim.cli.screen import answered, emphasised, print_json
    from powersim.cli.size_search import where

    place = where(jobs=jobs, backend=backend, scheduler=scheduler)
    how = {name: given.pop(name) for name in ("members", "seed", "step_h", "risk_frac")}
    choices = choices_of(folders, **given)
    in_its_units(choices[0].passage)
    out = out or Path(folders[0]) / RESULTS
    found = _simulated(choices, how, out, place=place, kind=figure_format, force=force)
    from powersim.report.compare_files import compare_dict, compare_files
    from powersim.report.compare_view import compare_text

    def show(paths):
        if as_json:
            print_json(compare_dict(found))
            return
        written = f"Results in {out}: {', '.join(path.name for path in paths)}." if paths else ""
        click.echo(emphasised(compare_text(found, written=written, brief=quiet)))

    files = compare_files(found, figures=not no_figures, kind=figure_format)
    answered(lambda: _write(out, files, force=force), show)
    if not found.holding:
        raise click.exceptions.Exit(FAILS)


def _simulated(choices, how, out, *, place, kind, force):
    """All choices, simulated; nothing is begun where their files would be in the way."""
    from powersim.cli.progress import share_told
    from powersim.planning.compare import Study, outcomes
    from powersim.planning.compare_best import compared
    from powersim.report.compare_files import file_names
    from powersim.report.rounding import plural
    from powersim.report.writing import refuse_what_is_in_the_way

    refuse_what_is_in_the_way(Path(out), file_names(kind=kind), force=force)
    study, done = Study(**how), {}
    doing = f"simulating {plural(len(choices), 'choice')}, {study.members} passages each"
    with share_told(doing) as progress:
        for at, outcome in outcomes(study, choices, **place):
            done[at] = outcome
            if progress is not None:
                progress(len(done) / len(choices))
    return compared(study, choices, done)


def _write(out, files, *, force):
    from powersim.cli.progress import told_if_slow
    from powersim.report.writing import write_all

    with told_if_slow(f"writing to {out}"):
        return write_all(out, files, force=force)
