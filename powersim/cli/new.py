"""`powersim new`: a commented starter folder."""

from __future__ import annotations

import click

from powersim.cli import options


@click.command(epilog="\b\nExample:\n  powersim new my-passage")
@options.folder
@options.force
def new(folder, force) -> None:
    """Write a commented starter folder for a passage.

    FOLDER is made if it does not exist. It must be empty, unless you give --force: then files of
    the starter's names are overwritten, and all others are left alone.
    """
    from powersim.inputs.pasteable import pasteable
    from powersim.inputs.starter import starter_files
    from powersim.report.writing import write_all

    files = starter_files()
    write_all(folder, files, force=force, replace_own=False, only_into_empty=True)
    click.echo(
        f"Wrote {', '.join(files)} to {folder}.\n"
        "\n"
        "Next: change them to suit your boat and your passage, then\n"
        f"  powersim check {pasteable(folder)}\n"
        "or change them on a page, which shows what each value does:\n"
        f"  powersim try {pasteable(folder)}"
    )
