"""`powersim plan`: when to run the engine to charge."""

from __future__ import annotations

import click

from powersim.cli import options
from powersim.cli.changes import changed_passage, results_folder
from powersim.cli.exits import FAILS
from powersim.defaults import PLAN_MEMBERS

PLAN_CSV = "plan.csv"


@click.command(epilog='\b\nExample:\n  powersim plan my-passage --risk "5 %"')
@options.folder
@options.out
@options.depart
@options.changes
@options.step
@options.weather_files
@options.members_searched(PLAN_MEMBERS)
@options.seed
@options.risk_searched
@options.as_json
@options.quiet
@options.force
def plan(folder, out, step_h, members, seed, risk_frac, as_json, quiet, force, **sources) -> None:
    """When to run the engine: a rule to follow with the computer off.

    It tries many rules as they are lived: the bank read at set times, runs that end by the clock,
    by amperes or, with a counter, at a level, some that wait for sun or a calm that is motored
    until the bank is read low twice running. A rule holds if the floor, the reserve or the lights
    are lost, any of them, in no more than --risk of the simulated passages. Of those that hold it
    takes the one that costs least: fuel, engine hours, starts, light load and days without a full
    charge, weighed by [charging.costs] of boat.toml. It searches in --members passages. It judges
    in 1000 others, the same that 'simulate --members 1000' shows. Hours, times of reading, shortest
    and longest run and the time between full charges are those of [charging]. Its start, stop and
    daily runs are not used.

    Prints the rule in volts or in the monitor's per cent, how often it fails, also with a start two
    points lower and higher, other rules that hold and are better at something, what each week asks
    for, what an hour in gear gives the bank, how far it is from the least that perfect foresight
    could do, and the expected timetable.
    Writes plan.csv, which 'powersim simulate --engine-plan' can run. The exit code is 1 when no
    rule holds. Then it says so first, and gives the nearest, which fails: the one with the fewest
    hours dark, then the fewest below the floor. It says what is in the way and what would help, but
    not how good the rule is.

    With --set and --without the rule is for another boat, list of loads or departure; answer and
    plan.csv say so first, and plan.csv goes to the folder 'what-if'.
    """
    from powersim.cli.progress import share_told
    from powersim.cli.screen import answered, emphasised, print_json
    from powersim.inputs.boat_charging import write_charging
    from powersim.report.writing import refuse_what_is_in_the_way, write_all

    passage = changed_passage(folder, **sources)
    out = results_folder(folder, out, passage)
    refuse_what_is_in_the_way(out, [PLAN_CSV], force=force)
    with share_told(f"searching for a rule in {members} passages") as progress:
        from powersim import api
        from powersim.report.changed_told import changed_note
        from powersim.report.plan_files import plan_csv, plan_dict
        from powersim.report.plan_text import plan_text

        found = api.plan(
            passage,
            members=members,
            seed=seed,
            risk_frac=risk_frac,
            step_h=step_h,
            progress=progress,
        )
    for problem in found.result.prepared.left_out:
        click.echo(f"Left out, average weather instead: {problem}", err=True)

    def show(paths):
        if as_json:
            print_json(plan_dict(found))
            return
        keep = changed_note(passage) + write_charging(found.rule) if found.found.holds else ""
        what = "Timetable in" if len(found.runs) else "No runs, so no line, in"
        written = f"{what} {paths[0]}." if paths else ""
        click.echo(emphasised(plan_text(found, keep=keep, written=written, brief=quiet)))

    answered(lambda: write_all(out, {PLAN_CSV: plan_csv(found)}, force=force), show)
    if not found.found.holds:
        raise click.exceptions.Exit(FAILS)
