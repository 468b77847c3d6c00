"""One case: its folder written, its commands run, and all that must be so held against them."""

from __future__ import annotations

import contextlib
import json
import os
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from fuzz import answers, oracles, results, sameness, trying
from fuzz.commands import ALL, FOLDER, drawn_commands
from fuzz.passages import case_of
from fuzz.running import Outcome, called


@dataclass
class Case:
    """What became of a case; `counts` is by (command, how it ended), and CPU seconds."""

    number: int
    spoilt: str
    counts: Counter = field(default_factory=Counter)
    failures: list[tuple[list[str], str]] = field(default_factory=list)


def run_case(seed: int, number: int, work: Path, *, only=ALL, say=None) -> Case:
    """Run one case in a new folder; it is left as it is for whoever looks at a failure.

    Parameters
    ----------
    seed, number : int
    work : Path
        An empty folder.
    only : sequence of str
        Commands to draw from.
    say : callable, optional
        Takes each outcome as it comes.
    """
    chance, passage = case_of(seed, number)
    case = Case(number, passage.spoilt)
    passage.write(work / FOLDER)
    done: list[Outcome] = []
    with _inside(work):
        for arguments in drawn_commands(chance, passage, only=only):
            if _in_vain(arguments, done):
                continue
            run = trying.done if arguments[0] in (trying.EDIT, trying.TRY) else called
            outcome = run(arguments, folder=Path())
            if say is not None:
                say(outcome)
            done.append(outcome)
            ending = {0: "ran", 1: "ran", 2: "refused"}.get(outcome.code, "broke")
            case.counts[outcome.command, ending] += 1
            case.counts[outcome.command, "seconds"] += outcome.took_s
            for breach in _breaches(passage, done):
                case.failures.append((arguments, breach))
    return case


@contextlib.contextmanager
def _inside(work: Path):
    """In that folder, so that paths are short and the same everywhere."""
    before = Path.cwd()
    os.chdir(work)
    try:
        yield
    finally:
        os.chdir(before)


def _in_vain(arguments, done) -> bool:
    """Whether a command rests on an earlier one that gave no files."""
    folder = arguments[1]
    made = folder == FOLDER or arguments[0] in ("demo", "new") or Path(folder).is_dir()
    return not made or ("--engine-plan" in arguments and not Path("r/plan/plan.csv").exists())


def _breaches(passage, done) -> Iterator[str]:
    """What the last command broke, by itself and beside those before it."""
    last = done[-1]
    found = list(oracles.breaches(last))
    yield from found
    if found or last.trouble:
        return
    before = done[-2] if len(done) > 1 else None
    if last.command == trying.EDIT:
        yield from trying.of_edit(before, last)
        return
    if last.command == trying.TRY:
        yield from trying.of_try(done[:-1], last)
        return
    if last.arguments[1] == str(trying.EDITED):
        yield from trying.of_edited(next(one for one in done if _sets(one)), last)
    if last.command == "check" and last.arguments[1] != FOLDER and last.code:
        yield f"files written by powersim are refused: {last.err}"
    yield from _check_agrees(done)
    if last.ran:
        yield from _of_the_answer(passage, done)


def _check_agrees(done) -> Iterator[str]:
    """What `check` takes is taken by all; what it refuses is refused with the same words."""
    last, checked = done[-1], next((one for one in done if one.command == "check"), None)
    plain = not _ELSE & set(last.arguments)
    of_all = last.command in ("simulate", "endurance", "plan", "budget", "report")
    if checked is None or not plain or not of_all or last.arguments[1] != FOLDER:
        return
    if "--json" in checked.arguments:
        return
    if last.err.startswith("Usage: "):
        return
    if checked.code == 2 and (last.code, last.err) != (2, checked.err):
        yield f"check refuses the files, {last.command} ends with {last.code}: {last.err}"
    # A passage may be over before the moment that `--from` names.
    of_arguments = last.err.startswith(("powersim: ", "from: "))
    if checked.code == 0 and last.code == 2 and not of_arguments:
        yield f"check takes the files, {last.command} does not: {last.err}"


#: Options with which a command reads more than the files that `check` is given, or other values.
_ELSE = {"--irradiance", "--forecast", "--engine-plan", "--set", "--without"}


def _sets(outcome) -> bool:
    """Whether it is simulated with values set, and told as JSON."""
    given = outcome.arguments
    return (
        outcome.command == "simulate"
        and "--json" in given
        and bool({"--set", "--without"} & set(given))
    )


def _of_the_answer(passage, done) -> Iterator[str]:
    last, before = done[-1], done[-2] if len(done) > 1 else None
    same = before is not None and before.ran and _asked(before) == _asked(last)
    paired = same and before.command == last.command
    as_json = "--json" in last.arguments
    answer = json.loads(last.out) if as_json else None
    if last.command == "simulate":
        yield from results.breaches(_out(last), boat=passage.boat)
        if as_json and paired and "--json" not in before.arguments:
            yield from sameness.of_simulate(before, answer)
    elif last.command == "report" and same and before.command == "simulate":
        simulated = json.loads(before.out)
        page = _out(last) / "report.html"
        yield from sameness.of_page(last, page, simulated)
        if last.card is not None:
            yield from sameness.of_card(last.card, page, simulated)
    elif as_json and last.command == "compare":
        yield from answers.of_compare(last, answer)
        yield from answers.of_own_row(done, answer)
    elif as_json and paired and last.command in ("endurance", "plan"):
        if last.command == "endurance":
            yield from answers.of_endurance(before, answer)
        else:
            yield from answers.of_plan(last, before, answer)
    elif as_json and last.command in _OF:
        yield from _OF[last.command](last, answer)


#: Options that change how an answer is given, not what it is, and how many values each has.
_FORM = {"--json": 0, "--force": 0, "--no-figures": 0, "--card": 0, "--format": 1, "--out": 1}


def _asked(outcome) -> list[str]:
    """What a command was asked: its arguments without its name and without those of form."""
    asked, rest = [], iter(outcome.arguments[1:])
    for argument in rest:
        if argument not in _FORM:
            asked.append(argument)
        elif _FORM[argument]:
            next(rest)
    return asked


def _out(outcome) -> Path:
    return Path(outcome.arguments[outcome.arguments.index("--out") + 1])


_OF = {
    "size": answers.of_size,
    "sounding": lambda _, answer: answers.of_sounding(answer),
    "underway": lambda _, answer: answers.of_underway(answer),
}
