"""Alternatives to what the files say, as `compare` takes them: every combination of every place."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import product

from powersim.errors import InputError, Problem, refused
from powersim.inputs.places import SET_EXPECTED, Given, parse_set, parts_of, plain_name
from powersim.inputs.ranges import stepped
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.units import UnitError, split

#: More passages than these are no comparison but a mistake: at 200 members half an hour of work.
MOST_CHOICES = 1000
_DEPART = ("passage", "depart")
_WITHOUT_EXPECTED = 'what to leave off, for example --without "loads.navigation laptop"'
Names = tuple[str, ...]


def alternatives_of(
    sets: Iterable[str] = (), without: Iterable[str] = ()
) -> tuple[dict[str, Given], ...]:
    """Every combination of alternatives, the files' own first.

    Parameters
    ----------
    sets : iterable of str
        `place=value` as typed; a value may be a range `from:to:step`. Several of one place are
        alternatives to each other.
    without : iterable of str
        Places that may be left off.

    Returns
    -------
    tuple of dict
        As `load_folder` takes them. Where a thing is left off, nothing of it is set.

    Raises
    ------
    InputError
        With everything that cannot be read; or with how many combinations there are, if there are
        more than anybody can have meant.

    Examples
    --------
    >>> for one in alternatives_of(["battery.capacity=200:300:100Ah"], ["loads.music"]):
    ...     print(one)
    {}
    {'loads.music': None}
    {'battery.capacity': '200 Ah'}
    {'battery.capacity': '200 Ah', 'loads.music': None}
    {'battery.capacity': '300 Ah'}
    {'battery.capacity': '300 Ah', 'loads.music': None}
    """
    axes: dict[Names, list[tuple[str, Given]]] = {}
    problems: list[Problem] = []
    for typed in sets:
        try:
            place, value = parse_set(typed)
            if _names(place) == _DEPART:
                raise ReadingError("is a departure; give it by --depart")
            given: Sequence[Given] = (value,)
            if isinstance(value, str):
                given = _range_of(value) or given
        except ReadingError as error:
            text = f"{quoted(typed)} {error.reason}"
            problems += refused("set", text, SET_EXPECTED).problems
            continue
        axes.setdefault(_names(place), []).extend((place, one) for one in given)
    for place in without:
        try:
            axes.setdefault(_names(place), []).append((place, None))
        except ReadingError as error:
            text = f"{quoted(place)} {error.reason}"
            problems += refused("without", text, _WITHOUT_EXPECTED).problems
    if problems:
        raise InputError(problems)
    refuse_too_many(math.prod(1 + len(given) for given in axes.values()))
    combinations = (
        dict(filter(None, chosen))
        for chosen in product(*((None, *_once(given)) for given in axes.values()))
    )
    return tuple(one for one in combinations if not _of_what_is_left_off(one))


def refuse_too_many(count: int) -> None:
    """Raise InputError where there are more passages to compare than anybody can have meant.

    Parameters
    ----------
    count : int
        Of all combinations.
    """
    if count > MOST_CHOICES:
        raise refused(
            "compare",
            f"these make {count:,} combinations",
            f"at most {MOST_CHOICES:,}; take longer steps, or fewer things at once",
        )


def _names(place: str) -> Names:
    return tuple(plain_name(part) for part in parts_of(place))


def _once(given: list[tuple[str, Given]]) -> list[tuple[str, Given]]:
    """Alternatives of one place, none twice."""
    return [one for at, one in enumerate(given) if one not in given[:at]]


def _of_what_is_left_off(values: Mapping[str, Given]) -> bool:
    """Whether something is set of a thing that is left off, which is no other passage."""
    gone = [_names(place) for place, value in values.items() if value is None]
    return any(
        len(names) > len(one) and names[: len(one)] == one
        for names in map(_names, values)
        for one in gone
    )


def _range_of(text: str) -> list[str] | None:
    """All values of a range, as the files would have them; None where it is no range."""
    parts = text.split(":")
    if len(parts) != 3:
        return None
    try:
        (first, of_first), (last, of_last), (step, unit) = map(split, parts)
    except UnitError:
        return None
    if any((of or "u")[0] in "-+0123456789" for of in (of_first, of_last, unit)):
        return None  # a window such as 08:00-20:00
    others = {one for one in (of_first, of_last) if one is not None}
    if others - {unit}:
        raise ReadingError(f"has more than one unit in its range; write {unit or 'it'} at its end")
    values = stepped(first, last, step, most=MOST_CHOICES)
    return [f"{value:.10g} {unit or ''}".rstrip() for value in values]
