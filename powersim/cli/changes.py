"""What a command is asked to try, `--set` and `--without`: as values by place, and what they give.

A problem with one names the option as it was typed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

    from powersim.errors import Problem
    from powersim.records import Passage

RESULTS, WHAT_IF = "results", "what-if"
_LONGEST = 60
_DEPART = ("passage", "depart")


def changed_passage(
    folder: Path,
    *,
    set_values: Sequence[str] = (),
    without: Sequence[str] = (),
    **sources: Any,
) -> Passage:
    """A passage folder as it is read with some values set.

    Parameters
    ----------
    folder : Path
        Of the passage.
    set_values : sequence of str
        Each "place=value".
    without : sequence of str
        Places of what is taken out.
    **sources
        Further arguments of load_folder.

    Raises
    ------
    InputError
        With everything that is wrong with files and options.
    """
    from powersim.cli.aboard import in_its_units
    from powersim.errors import InputError
    from powersim.inputs.folder import load_folder

    values, typed = _values(set_values, without, depart=sources.get("depart"))
    try:
        passage = in_its_units(load_folder(folder, values=values, **sources))
    except InputError as error:
        problems = [_as_typed(one, typed) for one in error.problems]
        raise InputError(problems, or_climatology=error.or_climatology) from None
    doubts = tuple(_as_typed(one, typed) for one in passage.doubts)
    warned = (*passage.change_warnings, *_warnings(passage, folder))
    return replace(passage, doubts=doubts, change_warnings=warned)


def _warnings(passage: Passage, folder: Path) -> tuple[str, ...]:
    """What the changes are warned of; that of the files themselves `check` tells."""
    from powersim.errors import InputError
    from powersim.inputs.change_cautions import change_cautions, new_warnings
    from powersim.inputs.folder import load_folder

    if not passage.changed:
        return ()
    try:
        before = load_folder(folder)
    except InputError:  # a change may mend what is wrong with the files
        return tuple(one.sentence for one in change_cautions(passage, None))
    return new_warnings(passage, before)


def results_folder(folder: Path, out: Path | None, passage: Passage) -> Path:
    """Where results go: those of changed files never over those of the files as they are.

    Parameters
    ----------
    folder : Path
        Of the passage.
    out : Path or None
        As asked for.
    passage : Passage
        That was read.
    """
    return out or folder / (WHAT_IF if passage.changed else RESULTS)


def _values(
    set_values: Iterable[str], without: Iterable[str], *, depart: str | None
) -> tuple[dict[str, Any], dict[str, str]]:
    """Values by place, and by place how each was typed."""
    from powersim.errors import InputError, Problem
    from powersim.inputs.places import SET_EXPECTED, WITHOUT_EXPECTED, parse_set, parts_of
    from powersim.inputs.text import ReadingError

    values: dict[str, Any] = {}
    typed: dict[str, str] = {}
    problems: list[Problem] = []
    seen: dict[tuple[str, ...], str] = {} if depart is None else {_DEPART: "--depart"}
    asked = [("--set", each, SET_EXPECTED) for each in set_values]
    asked += [("--without", each, WITHOUT_EXPECTED) for each in without]
    for option, words, expected in asked:
        said = f"{option} {words if len(words) <= _LONGEST else words[: _LONGEST - 3] + '...'}"
        try:
            place, value = parse_set(words) if option == "--set" else (words.strip(), None)
            key = tuple(part.casefold() for part in parts_of(place))
            if key in seen:
                raise ReadingError(f"asks for the same place as {seen[key]}")
        except ReadingError as error:
            problems.append(Problem(file=said, text=error.reason, expected=expected))
            continue
        seen[key] = said
        values[place], typed[place] = value, said
    if problems:
        raise InputError(problems)
    return values, typed


def _as_typed(problem: Problem, typed: dict[str, str]) -> Problem:
    """A problem of a value that was set, with the option that set it."""
    if problem.place is None:
        return problem
    asked = max((one for one in typed if problem.place.startswith(one)), key=len, default=None)
    if asked is None:
        return problem
    rest = problem.place[len(asked) :].lstrip(".")
    reason = problem.text.removeprefix(f"{problem.place}: ")
    text = f"{rest}: {reason}" if rest else reason
    return replace(problem, file=typed[asked], text=text)
