"""`powersim demo`: the demo passage, copied out."""

from __future__ import annotations

import click

from powersim.cli import options


@click.command(epilog="\b\nExample:\n  powersim demo")
@options.folder_argument(default="powersim-demo")
@options.force
def demo(folder, force):
    """Copy the demo passage out, to try everything on.

    An invented boat on real latitudes, Iceland to Cabo Verde. Without FOLDER it goes to a new one
    named powersim-demo. Copies that you have changed are overwritten only with --force.
    """
    from powersim.cli.screen import pasteable
    from powersim.inputs.starter import demo_files
    from powersim.report.writing import write_all

    files = demo_files()
    write_all(folder, files, force=force)
    click.echo(
        f"Wrote {', '.join(files)} to {folder}.\n"
        "\n"
        "Next: look at them, change what you like, then\n"
        f"  powersim check {pasteable(folder)}"
    )
