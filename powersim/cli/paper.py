"""`powersim paper`: a table to charge by without a computer."""

from __future__ import annotations

import click

from powersim.cli import options

PAPER = "paper.pdf"


@click.command(epilog="\b\nExample:\n  powersim paper my-passage")
@options.folder
@options.out
@options.depart
@options.changes
@options.step
@options.weather_files
@options.members_searched(1000)
@options.seed
@options.risk_searched
@options.as_json
@options.force
def paper(folder, out, step_h, members, seed, risk_frac, as_json, force, **sources) -> None:
    """A table to charge by with the laptop off, from a reading at dawn and the sky.

    One row for what the voltmeter or the counter shows before dawn, one column each for a clear, a
    mixed and a grey day, and in it how long to run the engine today. It is made from the charge
    that is wanted at the next dawn: the lowest one, and the shortest run, by which no more of the
    simulated passages fail than --risk allows. It is searched in 200 passages and judged in
    --members others, the same that 'simulate' shows, with a meter that errs and a day that is told
    by eye. The boat's own rule is told beside it. Where the best table fails too often none is
    offered, and the exit code is 1.

    Writes paper.pdf, a page of A5 to pin up beside the card.
    """
    from powersim.cli.changes import changed_passage, results_folder
    from powersim.cli.exits import FAILS
    from powersim.cli.progress import share_told
    from powersim.cli.screen import answered, emphasised, print_json
    from powersim.report.writing import refuse_what_is_in_the_way, write_all
    from powersim.simulation.plant import has_charging_alternator

    passage = changed_passage(folder, **sources)
    if not has_charging_alternator(passage.boat):
        raise click.UsageError("there is no alternator that the engine could charge with")
    out = results_folder(folder, out, passage)
    refuse_what_is_in_the_way(out, [PAPER], force=force)
    with share_told(f"making a table, in {members} passages") as progress:
        from powersim import api
        from powersim.planning.paper import SEARCHED_IN
        from powersim.report.card_paper import paper_file
        from powersim.report.changed_told import changed_sections
        from powersim.report.paper_view import paper_dict, paper_sections
        from powersim.report.screen_text import screen_text

        found = api.paper(
            passage,
            members=members,
            seed=seed,
            risk_frac=risk_frac,
            step_h=step_h,
            progress=progress,
        )
    for problem in found.prepared.left_out:
        click.echo(f"Left out, average weather instead: {problem}", err=True)

    def show(paths):
        if as_json:
            print_json(paper_dict(found))
            return
        told = [*changed_sections(found.passage), *paper_sections(found, searched_in=SEARCHED_IN)]
        click.echo(emphasised(screen_text(told)))
        for path in paths or ():
            click.echo(f"\nTo print: {path}")

    files = {PAPER: paper_file(found)} if found.verdict.holds else {}
    answered(lambda: write_all(out, files, force=force), show)
    if not found.verdict.holds:
        raise click.exceptions.Exit(FAILS)
