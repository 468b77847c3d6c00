"""`powersim simulate`: the passage hour by hour."""

from __future__ import annotations

from dataclasses import replace

import click

from powersim.cli import options
from powersim.cli.changes import changed_passage, results_folder
from powersim.cli.exits import FAILS
from powersim.defaults import MEMBERS, RISK_FRAC, SEED, STEP_h


@click.command(epilog="\b\nExample:\n  powersim simulate my-passage")
@options.folder
@options.out
@options.depart
@options.changes
@options.step
@options.weather_files
@options.engine_plan
@options.members
@options.seed
@options.risk
@options.no_figures
@options.figure_format
@options.as_json
@options.quiet
@options.force
def simulate(
    folder,
    out,
    step_h,
    members,
    seed,
    risk_frac,
    no_figures,
    figure_format,
    as_json,
    quiet,
    force,
    **sources,
) -> None:
    """Work out the passage hour by hour.

    Says whether the charge stays above its floor and the fuel above its reserve; how low the bank
    falls; what the engine burns; how long the bank lasts by itself; and if it fails, what to do
    next. The exit code is 1 when it fails.

    Average weather empties no battery; a grey week does. So it simulates --members passages beside
    it. They differ in sky and calms, in what the loads really draw, and in how far the bank is
    misread. A passage fails if its bank falls below the floor, goes dark or eats the reserve of
    fuel. All hold together if no more than --risk of them fail. --members 1 is average weather
    alone.

    Writes hourly.csv, daily.csv, engine.csv (of average weather), members.csv, bands.csv, risk.csv
    (of the passages), summary.json and three pictures.

    A forecast takes the place of average weather for the days that it covers, and gives way to it
    over the day after. Measured light does the same for its hours. If both cover the same hour the
    forecast counts.

    With --engine-plan the engine charges at the times of that file and at no others.

    With --set and --without the answer is that of another boat, list of loads or departure; it says
    so first, and goes to the folder 'what-if'. The files stay as they are, and so do their results.
    """
    from powersim.cli.screen import answered

    result = simulated(
        folder, step_h=step_h, members=members, seed=seed, risk_frac=risk_frac, **sources
    )
    answered(
        lambda: write_results(
            result,
            results_folder(folder, out, result.passage),
            figures=not no_figures,
            figure_format=figure_format,
            force=force,
        ),
        lambda paths: show(result, paths, as_json=as_json, quiet=quiet, folder=folder),
    )
    end(result)


def simulated(folder, *, step_h=STEP_h, members=MEMBERS, seed=SEED, risk_frac=RISK_FRAC, **sources):
    """The result of simulating a folder, in average weather and in as many members as asked for."""
    passage = changed_passage(folder, **sources)
    return simulated_passage(
        passage, step_h=step_h, members=members, seed=seed, risk_frac=risk_frac
    )


def simulated_passage(passage, *, step_h, members, seed, risk_frac):
    """The same of a passage that was read.

    Weather files that are left out are named on standard error.
    """
    from powersim.cli.progress import share_told, told_if_slow

    if members == 1:
        with told_if_slow(f"simulating {passage.name}"):
            from powersim import api

            result = api.simulate(passage, step_h=step_h, members=1, risk_frac=risk_frac)
    else:
        with share_told(f"simulating {members} passages") as progress:
            from powersim import api

            ready = api.prepare(passage, step_h=step_h, members=members, seed=seed)
            result = ready.simulate(risk_frac=risk_frac, progress=progress)
            # The days left, and what may fail, are asked of the same members.
            result = replace(result, forcing=ready.forcing)
    for problem in result.prepared.left_out:
        click.echo(f"Left out, average weather instead: {problem}", err=True)
    return result


def write_results(result, out, *, figures, force, figure_format="png"):
    """The files of results, written whole or not at all."""
    from powersim.cli.progress import told_if_slow
    from powersim.report.files import result_files
    from powersim.report.writing import write_all

    with told_if_slow(f"writing to {out}"):
        return write_all(
            out, result_files(result, figures=figures, kind=figure_format), force=force
        )


def show(result, paths, *, as_json=False, quiet=False, folder) -> None:
    """The answer on standard output; `paths` is None where its files could not be written."""
    from powersim.cli.progress import told_if_slow
    from powersim.cli.screen import emphasised, print_json
    from powersim.inputs.pasteable import pasteable
    from powersim.planning.days_left import days_left
    from powersim.report.files import answer
    from powersim.report.simulated import simulated_text

    if as_json:
        print_json(answer(result))
        return
    written = ""
    if paths is not None:
        names = ", ".join(path.name for path in paths)
        written = f"Results in {paths[0].parent}: {names}."
    verdict = result.verdict
    with told_if_slow("simulating the loss of all charging"):
        left = days_left(result, members=verdict.members, seed=verdict.seed or 0)
    text = simulated_text(result, brief=quiet, written=written, folder=pasteable(folder), left=left)
    click.echo(emphasised(text))


def end(result) -> None:
    """Exit code 1 for a passage that does not hold."""
    if not result.summary["holds"]:
        raise click.exceptions.Exit(FAILS)
