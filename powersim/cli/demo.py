"""`powersim demo`: the demo passage, copied out and simulated."""

from __future__ import annotations

from pathlib import Path

import click

from powersim.cli import options
from powersim.inputs.starter import DEMO, demo_files, demo_names


@click.command(epilog="\b\nExamples:\n  powersim demo\n  powersim demo --passage canada-to-hawaii")
@options.folder_argument(required=False)
@click.option(
    "--passage",
    metavar="NAME",
    type=click.Choice(demo_names()),
    default=DEMO,
    show_default=True,
    help="Which of the invented passages; a wrong name is answered with all of them.",
)
@options.no_figures
@options.force
def demo(folder, passage, no_figures, force) -> None:
    """Copy the demo passage out and simulate it.

    The boat is invented, the latitudes are real: Iceland to Cabo Verde. Without FOLDER it goes to a
    new folder named powersim-demo, and another passage to one of its own name. Canada to Hawaii
    fails on purpose: 'powersim plan' finds the rule by which it holds. Copies that you have changed
    are overwritten only with --force.
    """
    from powersim.cli.changes import RESULTS
    from powersim.cli.screen import answered
    from powersim.cli.simulate import end, show, simulated, write_results
    from powersim.inputs.pasteable import pasteable
    from powersim.report.writing import write_all
    from powersim.simulation.compiled import prepared

    if folder is None:
        named = Path("powersim-demo" if passage == DEMO else passage)
        folder = options.mended(None, None, named)
    files = demo_files(passage)
    write_all(folder, files, force=force)
    click.echo(f"Wrote {', '.join(files)} to {folder}.\n")
    result = simulated(folder)
    answered(
        lambda: write_results(result, folder / RESULTS, figures=not no_figures, force=force),
        lambda paths: show(result, paths, folder=folder),
    )
    click.echo(
        "\n"
        "Next: open it as a page, move a value, and see what that does\n"
        f"  powersim try {pasteable(folder)}\n"
        "or look at the files, change what you like, then\n"
        f"  powersim check {pasteable(folder)}\n"
        f"  powersim simulate {pasteable(folder)}\n"
        f"  powersim plan {pasteable(folder)}\n"
        f"  powersim endurance {pasteable(folder)}\n"
        f"  powersim report {pasteable(folder)} --card\n"
        "or begin with your own boat:  powersim new my-passage"
    )
    prepared()  # in harbour, and not the first time that many members are asked for at sea
    end(result)
