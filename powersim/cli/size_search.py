"""What `powersim size` asks, and the search itself with what is finished kept on the way."""

from __future__ import annotations

import math
from pathlib import Path

import click

from powersim.cli.exits import say
from powersim.errors import InputError, Problem, refused

_EXAMPLE = "--battery 150:400:50Ah --solar 100:400:100W"


def where(*, jobs, backend, scheduler) -> dict:
    """On what the work is done, as `parallel.in_parallel` takes it."""
    if backend == "dask":
        if scheduler is None:
            raise refused(
                "scheduler",
                "--backend dask needs the address of a scheduler",
                "what 'dask scheduler' prints, for example --scheduler tcp://192.168.1.20:8786",
            )
        if jobs is not None:
            raise refused(
                "jobs",
                "--jobs is for this machine, and --backend dask for a cluster",
                "one of them, for example --jobs 2",
            )
    elif scheduler is not None:
        raise refused(
            "scheduler",
            "--scheduler is given without --backend dask",
            f"--backend dask --scheduler {scheduler}",
        )
    return {"jobs": jobs, "backend": backend, "scheduler": scheduler}


def asked(
    folder, *, battery, solar, alternator, chemistry, step_h, members, seed, **sources
) -> tuple:
    """The study, its choices, and what stays as written with another chemistry.

    Everything that is wrong with the ranges is told at once, before any file is read.
    """
    ranges = _ranges(battery=battery, solar=solar, alternator=alternator, chemistry=chemistry)
    from powersim.cli.aboard import in_its_units
    from powersim.cli.progress import told_if_slow
    from powersim.inputs.folder import load_folder
    from powersim.inputs.other_chemistry import boats_of
    from powersim.records import FieldError

    passage = in_its_units(load_folder(folder, **sources))
    boats, stays = boats_of(passage, ranges["chemistries"])
    with told_if_slow("getting ready"):
        from powersim.planning.size_choices import boat_with, choice_of, grid
        from powersim.planning.size_point import Study
        from powersim.simulation.prepare import prepare

        # Once here, so that what is wrong with a weather file is told once, and at once.
        for problem in prepare(passage, step_h=step_h).left_out:
            click.echo(f"Left out, average weather instead: {problem}", err=True)
        study = Study(passage=passage, boats=boats, members=members, seed=seed, step_h=step_h)
        try:
            choices = grid(boats, choice_of(passage.boat), **ranges)
            for choice in grid(boats, choice_of(passage.boat), **_ends(ranges)):
                boat_with(boats, choice)
        except FieldError as error:
            raise refused(
                "size",
                f"at their ends these sizes make a boat that cannot be: {error}",
                "sizes nearer to those in boat.toml",
            ) from error
        except ValueError as error:
            raise refused(
                "size", f"{error}", "such a part in boat.toml first, whatever its size"
            ) from error
    return study, choices, stays


def _ends(ranges) -> dict:
    """The least and the most of each range, and every chemistry."""
    return {
        name: sizes if name == "chemistries" else tuple({min(sizes), max(sizes)} if sizes else ())
        for name, sizes in ranges.items()
    }


def search(study, choices, out, *, names, place, resume, force) -> list:
    """Every choice tried, in the order asked; what is finished is kept if it is stopped."""
    from powersim.cli.progress import share_told
    from powersim.planning.size import points
    from powersim.report.rounding import plural
    from powersim.report.size_unfinished import Unfinished
    from powersim.report.writing import refuse_what_is_in_the_way

    refuse_what_is_in_the_way(Path(out), names, force=force)
    unfinished = Unfinished(out, study)
    if resume:
        unfinished.resume()
    elif not force:
        unfinished.refuse_to_lose()
    rest = [choice for choice in choices if choice not in unfinished.points]
    told = False
    doing = f"simulating {plural(len(rest), 'choice')}, {study.members} passages each"
    try:
        with share_told(doing) as progress:
            for done, point in enumerate(points(study, rest, **place), 1):
                unfinished.keep(point)
                if unfinished.trouble and not told:
                    say(f"going on, but what is finished is not kept: {unfinished.trouble}")
                    told = True
                if progress is not None:
                    progress(done / len(rest))
    except KeyboardInterrupt:
        unfinished.write()
        kept = sum(choice in unfinished.points for choice in choices)
        if kept and unfinished.trouble is None:
            tell_what_is_kept(f"{kept} of {len(choices)} choices are", unfinished.path)
        raise
    finally:
        unfinished.write()
    return [unfinished.points[choice] for choice in choices]


def rules_of(sized, study, out, *, place) -> tuple:
    """A rule of its own for each marked choice that the page shows, in their order."""
    from powersim.cli.progress import share_told
    from powersim.planning.size_replan import RuleStudy, replan
    from powersim.report.rounding import plural
    from powersim.report.size_text import MOST_MARKED
    from powersim.report.size_unfinished import UNFINISHED

    asked = RuleStudy(study=study, risk_frac=sized.risk_frac)
    choices = [one.point.choice for one in sized.front[:MOST_MARKED]]
    found = {}
    if not choices:
        return ()
    try:
        with share_told(f"searching for {plural(len(choices), 'rule')}") as progress:
            for done, one in enumerate(replan(asked, choices, **place), 1):
                found[one.choice] = one
                if progress is not None:
                    progress(done / len(choices))
    except KeyboardInterrupt:
        tell_what_is_kept("all choices are", Path(out) / UNFINISHED)
        raise
    return tuple(found[choice] for choice in choices)


def tell_what_is_kept(what, path) -> None:
    """How to go on, if there is anything to go on with."""
    if not path.exists():
        return
    click.echo(f"{what} kept in {path}; the same command with --resume goes on", err=True)


def _ranges(*, battery, solar, alternator, chemistry) -> dict:
    from powersim.inputs.ranges import ALTERNATOR, BATTERY, SOLAR, refuse_too_many, sizes_of
    from powersim.inputs.ranges import words_of as words
    from powersim.records import CHEMISTRIES

    if battery is solar is alternator is chemistry is None:
        raise refused("size", "no sizes are listed to choose from", f"for example {_EXAMPLE}")
    listed = f'kinds of battery, of {", ".join(CHEMISTRIES)}, for example --chemistry "agm,lifepo4"'
    readers = {
        "batteries_Ah": (battery, lambda text: sizes_of(text, BATTERY)),
        "solars_W": (solar, lambda text: sizes_of(text, SOLAR)),
        "alternators_A": (alternator, lambda text: sizes_of(text, ALTERNATOR)),
        "chemistries": (
            chemistry,
            lambda text: words(text, tuple(CHEMISTRIES), option="chemistry", expected=listed),
        ),
    }
    found: dict[str, tuple] = {}
    problems: list[Problem] = []
    for name, (text, read) in readers.items():
        try:
            found[name] = () if text is None else read(text)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    refuse_too_many(math.prod(max(1, len(sizes)) for sizes in found.values()))
    return found
