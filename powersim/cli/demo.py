"""`powersim demo`: the demo passage, copied out and simulated."""

from __future__ import annotations

import click

from powersim.cli import options


@click.command(epilog="\b\nExample:\n  powersim demo")
@options.folder_argument(default="powersim-demo")
@options.no_figures
@options.force
def demo(folder, no_figures, force) -> None:
    """Copy the demo passage out and simulate it.

    The boat is invented, the latitudes are real: Iceland to Cabo Verde. Without FOLDER it goes to a
    new folder named powersim-demo. Copies that you have changed are overwritten only with --force.
    """
    from powersim.cli.screen import answered
    from powersim.cli.simulate import RESULTS, end, show, simulated, write_results
    from powersim.inputs.pasteable import pasteable
    from powersim.inputs.starter import demo_files
    from powersim.report.writing import write_all
    from powersim.simulation.compiled import prepared

    files = demo_files()
    write_all(folder, files, force=force)
    click.echo(f"Wrote {', '.join(files)} to {folder}.\n")
    result = simulated(folder)
    answered(
        lambda: write_results(result, folder / RESULTS, figures=not no_figures, force=force),
        lambda paths: show(result, paths),
    )
    click.echo(
        "\n"
        "Next: look at the files, change what you like, then\n"
        f"  powersim check {pasteable(folder)}\n"
        f"  powersim simulate {pasteable(folder)}\n"
        f"  powersim endurance {pasteable(folder)}\n"
        f"  powersim report {pasteable(folder)} --card\n"
        "or begin with your own boat:  powersim new my-passage"
    )
    prepared()  # in harbour, and not the first time that many members are asked for at sea
    end(result)
