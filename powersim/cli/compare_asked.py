"""What `powersim compare` asks: which passages, read from their folders with values set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from powersim.errors import InputError, Problem

if TYPE_CHECKING:
    from powersim.inputs.departures import Departure
    from powersim.planning.compare import Choice
    from powersim.records import Passage

_DEPART = "passage.depart"


def choices_of(
    folders: Sequence[Any],
    *,
    depart: Sequence[str],
    set_values: Sequence[str],
    without: Sequence[str],
    **weather: Any,
) -> list[Choice]:
    """Every choice, the first folder as its files say in front, and none twice.

    What is wrong with the options is told at once, before any file is read; then everything that
    is wrong with the folders; then what is wrong with combinations, and with which.
    """
    from powersim.inputs.alternatives import alternatives_of, refuse_too_many
    from powersim.inputs.departures import departures_of

    asked: dict[str, Any] = {}
    problems: list[Problem] = []
    readers = {
        "departures": lambda: departures_of(depart),
        "alternatives": lambda: alternatives_of(set_values, without),
    }
    for name, read in readers.items():
        try:
            asked[name] = read()
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    departures, alternatives = asked["departures"], asked["alternatives"]
    refuse_too_many(len(folders) * len(alternatives) * max(1, len(departures)))
    boats = _boats(folders, departures, alternatives, weather)
    return _each_once(boats, departures)


def _boats(
    folders: Sequence[Any],
    departures: Sequence[Departure],
    alternatives: Sequence[Mapping[str, Any]],
    weather: Mapping[str, Any],
) -> list[tuple[Choice, bool]]:
    """Every folder with each of some values, and whether its files say when it begins."""
    from powersim.cli.progress import told_if_slow

    own: list[tuple[str, Passage, bool]] = []
    problems: list[Problem] = []
    may_go = False
    with told_if_slow("reading"):
        for folder in folders:
            try:
                own.append((str(folder), *_own(folder, departures, weather)))
            except InputError as error:
                problems += error.problems
                may_go = may_go or error.or_climatology
        if problems:
            raise InputError(dict.fromkeys(problems), or_climatology=may_go)
        found: list[tuple[Choice, bool]] = []
        for name, first, dated in own:
            try:
                changed = _changed(first, alternatives, dated=dated)
            except InputError as error:
                # What is set may be aboard of one boat and not of the other.
                whose = f" (of {name})" if len(own) > 1 else ""
                problems += [replace(one, text=f"{one.text}{whose}") for one in error.problems]
                continue
            found += [(_choice(name, passage, first), dated) for passage in changed]
    if problems:
        raise InputError(problems)
    return found


def _choice(name: str, passage: Passage, first: Passage) -> Choice:
    from powersim.inputs.change_cautions import warned
    from powersim.planning.compare import Choice

    told = tuple(one.told for one in passage.changed if one.place != _DEPART)
    return Choice(passage=passage, name=name, told=told, **warned(passage, first)._asdict())


def _own(
    folder: Any, departures: Sequence[Departure], weather: Mapping[str, Any]
) -> tuple[Passage, bool]:
    """A passage as its files say; where they say nothing of a departure, with the first one."""
    from powersim.inputs.folder import load_folder

    try:
        return load_folder(folder, **weather), True
    except InputError:
        if not departures:
            raise
        return load_folder(folder, depart=departures[0].at_utc, **weather), False


def _changed(
    first: Passage, alternatives: Sequence[Mapping[str, Any]], *, dated: bool
) -> list[Passage]:
    """A passage with each of some values; what is wrong with one alone is told of that alone."""
    from powersim.inputs.folder import load_folder

    depart = None if dated else first.depart_utc
    found: dict[int, Passage] = {}
    problems: dict[Problem, None] = {}
    for at, values in sorted(enumerate(alternatives), key=lambda one: len(one[1])):
        if not values:
            found[at] = first
            continue
        try:
            passage = load_folder(first.folder or "", depart=depart, values=values)
        except InputError as error:
            new = [one for one in error.problems if one not in problems]
            # A value that is wrong is named with it; what breaks for want of another may not be.
            named = [len(values) == 1 and one.place is not None for one in new]
            within = _within(values)
            problems |= {
                one if is_named else within(one): None
                for one, is_named in zip(new, named, strict=True)
            }
            continue
        # Weather files were read with the first, and are the same for all.
        files = {name: getattr(first, name) for name in ("forecast", "irradiance", "left_out")}
        found[at] = replace(passage, **files, or_climatology=first.or_climatology)
    if problems:
        raise InputError(problems)
    return [found[at] for at in sorted(found)]


def _within(values: Mapping[str, Any]):
    """A problem of a combination, with all that was set in it."""
    told = " and ".join(
        f"without {place}" if value is None else f"{place}={value}"
        for place, value in values.items()
    )
    where = "in the combination " if len(values) > 1 else ""
    return lambda problem: replace(problem, text=f"{problem.text} ({where}{told})")


def _each_once(
    boats: Sequence[tuple[Choice, bool]], departures: Sequence[Departure]
) -> list[Choice]:
    """Every boat on every departure; in front the first as her files say, if they say when."""
    choices: dict[tuple[str, tuple[str, ...], datetime], Choice] = {}
    first, dated = boats[0]
    for boat, at_once in [
        *([(first, True)] if dated else []),
        *((boat, False) for boat, _ in boats),
    ]:
        own = boat.passage.depart_utc
        for at_utc in [own] if at_once or not departures else [one.of(own) for one in departures]:
            leaves = replace(boat, passage=replace(boat.passage, depart_utc=at_utc))
            choices.setdefault((boat.name, boat.told, at_utc), leaves)
    return list(choices.values())
