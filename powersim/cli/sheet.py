"""`powersim sheet`: sheets to print and to fill in by pencil, before leaving."""

from __future__ import annotations

import click

from powersim.cli import options

SHEET = "sheet.pdf"
_MOST_DAYS = 14


@click.command(epilog="\b\nExample:\n  powersim sheet my-passage")
@options.folder
@options.out
@click.option(
    "--days",
    metavar="DAYS",
    type=options.WholeNumber(1, _MOST_DAYS, example=2),
    default=2,
    show_default=True,
    help="How many days of log there is room for.",
)
@options.force
def sheet(folder, out, days, force) -> None:
    """Write sheets to print, sheet.pdf, on pages of A4: a log and a sea trial.

    The first has rows for two days of log, with the columns of log.csv that this boat can fill in.
    The second has a row for each load of loads.csv: what a clamp meter shows with it idle, at work
    and off again, for trial.csv. See docs/how-to/sea-trial.md.
    """
    from powersim.cli.aboard import in_its_units
    from powersim.cli.changes import results_folder
    from powersim.inputs.folder import load_folder
    from powersim.inputs.pasteable import pasteable
    from powersim.report.sheet import sheet_file, sheet_of
    from powersim.report.writing import refuse_what_is_in_the_way, write_all

    passage = in_its_units(load_folder(folder))
    where = results_folder(folder, out, passage)
    refuse_what_is_in_the_way(where, [SHEET], force=force)
    files = {SHEET: sheet_file(sheet_of(passage, days=days))}
    for path in write_all(where, files, force=force):
        click.echo(f"Wrote {pasteable(path)}")
