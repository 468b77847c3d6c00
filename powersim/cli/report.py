"""`powersim report`: the passage as one page for any browser, and a card for the chart table."""

from __future__ import annotations

import click

from powersim.cli import options
from powersim.cli.changes import changed_passage, results_folder

REPORT, CARD = "report.html", "card.pdf"


@click.command(epilog="\b\nExample:\n  powersim report my-passage --card")
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
@click.option("--card", is_flag=True, help="Write a card for the chart table too.")
@options.figures_as
@options.quiet
@options.force
def report(
    folder, out, step_h, members, seed, risk_frac, card, figures_as, quiet, force, **sources
):
    """Write the passage as a page that any browser opens offline.

    report.html answers the questions in their order: will it hold, when to run the engine, what
    fuel that leaves, what if something fails. Then come the budget, the route on a map, the weather
    and every value that was assumed. It needs no network and prints well.

    With --card a card to print is written too, card.pdf, on pages of A5: the verdict, the engine
    rule if it holds, floor and reserve, what to expect week by week, what to switch off and how
    long the bank lasts, and a row to fill in by pencil for every day.

    With --format every picture is written separately too. The exit code is 1 when the passage
    fails, as with 'powersim simulate'.

    With --set and --without page and card are of another boat, list of loads or departure; they say
    so first, and go to the folder 'what-if'.
    """
    from powersim.cli.progress import told_if_slow
    from powersim.cli.screen import answered
    from powersim.cli.simulate import end, simulated_passage
    from powersim.report.writing import refuse_what_is_in_the_way, write_all

    passage = changed_passage(folder, **sources)
    out = results_folder(folder, out, passage)
    refuse_what_is_in_the_way(out, [REPORT, *([CARD] if card else [])], force=force)
    result = simulated_passage(
        passage, step_h=step_h, members=members, seed=seed, risk_frac=risk_frac
    )

    def write():
        with told_if_slow("writing the report"):
            files = _files(result, card=card, figures_as=figures_as)
            return write_all(out, files, force=force)

    answered(write, lambda paths: _show(result, paths or (), quiet=quiet, folder=folder))
    end(result)


def _files(result, *, card, figures_as):
    from powersim import __version__
    from powersim.inputs.cautions import cautions_of
    from powersim.inputs.standing_cautions import standing_cautions
    from powersim.planning.endurance import endurance_as_simulated
    from powersim.planning.ladder import ladder_as_simulated
    from powersim.report.card import card_file
    from powersim.report.endurance_view import endurance_view
    from powersim.report.figures import PLOTS, figure_files
    from powersim.report.page import report_html

    passage, endurance = result.passage, endurance_as_simulated(result)
    page = report_html(
        result,
        endurance=endurance_view(endurance, result),
        cautions=cautions_of(passage),
        standing=standing_cautions(passage),
        version=__version__,
    )
    pictures = figure_files(result, names=PLOTS, kind=figures_as) if figures_as else {}
    cards = {}
    if card:
        ladder = ladder_as_simulated(result)
        cards = {CARD: card_file(result, endurance=endurance, ladder=ladder)}
    return {REPORT: page} | cards | pictures


def _show(result, paths, *, quiet, folder):
    """The verdict, and where the files are; none where they could not be written."""
    from powersim.inputs.pasteable import pasteable
    from powersim.report.changed_told import changed_sections
    from powersim.report.files import answer
    from powersim.report.screen_text import screen_text
    from powersim.report.text import key_values
    from powersim.report.verdict_view import verdict_view, word_of

    changed = screen_text(changed_sections(result.passage))
    if changed:
        click.echo(f"{changed}\n")
    verdict = verdict_view(answer(result), folder=pasteable(folder))
    told = [(word_of(verdict.holds), str(verdict.why))]
    told += [] if verdict.next is None else [("next", str(verdict.next))]
    click.echo(key_values(told))
    if not quiet:
        for path in paths:
            click.echo(f"Wrote {pasteable(path)}")
