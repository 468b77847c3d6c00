"""`powersim new`: a commented starter folder."""

from __future__ import annotations

import click

from powersim.cli import options
from powersim.inputs.starter import OCEAN, STARTERS, starter_files

_WIDEST = max(map(len, STARTERS))
#: Each starter on a line of its own, which --help leaves as it is.
_LISTED = "\n".join(f"  {name:{_WIDEST}}  {words}" for name, words in STARTERS.items())


@click.command(
    epilog="\b\nExamples:\n  powersim new my-passage\n  powersim new my-stay --like anchorage",
    help=f"""Write a commented starter folder for a passage.

FOLDER is made if it does not exist. It must be empty, unless you give --force: then files of
the starter's names are overwritten, and all others are left alone.

Begin with the starter that is most like yours; every boat in them is invented:

\b
{_LISTED}
""",
)
@options.folder
@click.option(
    "--like",
    metavar="NAME",
    type=click.Choice(list(STARTERS)),
    default=OCEAN,
    show_default=True,
    help="Which starter; a wrong name is answered with all of them.",
)
@options.force
def new(folder, like, force) -> None:
    """Write a commented starter folder for a passage."""
    from powersim.inputs.pasteable import pasteable
    from powersim.report.writing import write_all

    files = starter_files(like)
    write_all(folder, files, force=force, replace_own=False, only_into_empty=True)
    click.echo(
        f"Wrote {', '.join(files)} to {folder}.\n"
        "\n"
        "Next: change them to suit your boat and your passage, then\n"
        f"  powersim check {pasteable(folder)}\n"
        "or change them on a page, which shows what each value does:\n"
        f"  powersim try {pasteable(folder)}"
    )
