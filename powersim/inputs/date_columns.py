"""A whole column of dates: which of day, month and year comes first is told from all of it.

Nothing is guessed. Where two orders remain, the column asks, and nothing of it is used that would
differ between them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from powersim.inputs.dates import DMY, FROM_1900, FROM_1904, MDY, PLAIN, YMD, readings_of
from powersim.inputs.text import ReadingError, quoted

#: What a heading may have behind its name, such as time_dmy, and what that is in words.
ORDERS = {
    DMY: "day first",
    MDY: "month first",
    YMD: "year first",
    FROM_1900: "days since 1900, as spreadsheets count them",
    FROM_1904: "days since 1904, as some old spreadsheets count them",
}
_FAMILIES = ((DMY, MDY, YMD), (FROM_1900, FROM_1904))
#: Harbour readings are taken before departure; a time that may be one of them rules nothing out.
_BEFORE = timedelta(days=30)
#: Two days always rise or fall; fewer than this many say nothing by their order.
_LEAST_DAYS = 3

_Cell = Mapping[str, datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class DateColumn:
    """A column of times as it was understood.

    Attributes
    ----------
    moments : tuple of datetime or ReadingError
        In UTC, one for each cell; or what is wrong with that cell.
    told : tuple of str
        How cells were taken that could have been taken otherwise, and why so.
    asked : tuple of (int, str, str) or None
        Where it cannot be told: the place of a cell, what is in doubt, and what would settle it.
    """

    moments: tuple[datetime | ReadingError, ...]
    told: tuple[str, ...] = ()
    asked: tuple[int, str, str] | None = None


def read_dates(
    texts: Sequence[str],
    *,
    heading: str = "time",
    order: str | None = None,
    within: tuple[datetime, datetime] | None = None,
) -> DateColumn:
    """The moments of a column, each cell a date with a time of the day.

    Parameters
    ----------
    texts : sequence of str
        The cells, in the order of the file.
    heading : str
        The column's name, for messages.
    order : str or None
        One of ORDERS, where the heading names it.
    within : tuple of datetime or None
        Departure, and the latest that an entry may be; None where they are not known.

    Returns
    -------
    DateColumn
        With a moment or a fault for each cell.

    Notes
    -----
    In this order: the heading says it; one order alone reads every cell (a 13 is no month), unless
    another puts more of them within the passage; in one order alone all lie within the passage, a
    month before departure included, or in one alone any do, and half of them; in one alone the days
    of the file rise all along, or fall. Otherwise the column asks.

    Examples
    --------
    >>> column = read_dates(["12/09/2026 8:00", "13/09/2026 8:00"])
    >>> column.moments[0].isoformat()
    '2026-09-12T08:00:00+00:00'
    >>> column.told[0]
    "time: day first, since '13/09/2026 8:00' cannot be read otherwise"
    """
    cells = [_cell(text) for text in texts]
    found: list[datetime | ReadingError] = [
        cell if isinstance(cell, ReadingError) else cell.get(PLAIN, _open(text))
        for text, cell in zip(texts, cells, strict=True)
    ]
    told: list[str] = []
    asked = None
    for family in _FAMILIES:
        places = [
            place
            for place, cell in enumerate(cells)
            if not isinstance(cell, ReadingError) and cell.keys() & set(family)
        ]
        if not places:
            continue
        held = {
            place: cell for place in places if not isinstance(cell := cells[place], ReadingError)
        }
        taken, why = _order(held, texts, family, order, within)
        for place, cell in held.items():
            found[place] = _moment(cell, texts[place], taken, named=order in family)
        if taken is not None:
            told.append(f"{heading}: {ORDERS[taken]}, {why}")
        elif asked is None:
            asked = _question(held, texts, heading)
    return DateColumn(moments=tuple(found), told=tuple(told), asked=asked)


def _cell(text: str) -> _Cell | ReadingError:
    try:
        return readings_of(text)
    except ReadingError as error:
        return error


def _open(text: str) -> ReadingError:
    return ReadingError(f"cannot tell which day {quoted(text)} is")


def _moment(cell: _Cell, text: str, taken: str | None, *, named: bool) -> datetime | ReadingError:
    if taken is None:  # 09/09 is the same day either way
        return next(iter(cell.values())) if len(set(cell.values())) == 1 else _open(text)
    if taken in cell:
        return cell[taken]
    if named:
        return ReadingError(f"{quoted(text)} is no date with the {ORDERS[taken]}")
    return _open(text)


def _order(
    held: Mapping[int, _Cell],
    texts: Sequence[str],
    family: tuple[str, ...],
    named: str | None,
    within: tuple[datetime, datetime] | None,
) -> tuple[str | None, str]:
    """The order in which cells are to be taken, and why; None where that cannot be told."""
    if named in family:
        return named, "as its heading says"
    cells = list(held.values())
    possible = [one for one in family if all(one in cell for cell in cells)]

    def inside(one: str) -> int:
        if within is None:
            return 0
        first, last = within[0] - _BEFORE, within[1]
        return sum(one in cell and first <= cell[one] <= last for cell in cells)

    if len(possible) == 1:
        if any(inside(one) > inside(possible[0]) for one in family):
            return None, ""  # one slip of the pen must not turn all the others round
        fewest = min(held, key=lambda place: len(held[place]))
        return possible[0], f"since {quoted(texts[fewest])} cannot be read otherwise"
    if not possible or within is None:
        return None, ""
    all_in = [one for one in possible if inside(one) == len(cells)]
    some_in = [one for one in possible if inside(one)]
    if len(all_in) == 1 or (len(some_in) == 1 and 2 * inside(some_in[0]) >= len(cells)):
        return (all_in or some_in)[0], "or the dates would not be of this passage"
    rising = [one for one in all_in if _runs_one_way([cell[one] for cell in cells])]
    if len(rising) == 1:
        return rising[0], "or the days of the file would go to and fro"
    return None, ""


def _runs_one_way(moments: Sequence[datetime]) -> bool:
    """Whether moments rise all along or fall all along; few days are as good as none."""
    steps: list[Callable[[datetime, datetime], bool]] = [
        lambda one, other: one <= other,
        lambda one, other: one >= other,
    ]
    if len({moment.date() for moment in moments}) < _LEAST_DAYS:
        return True  # so that no order is preferred
    return any(all(step(*pair) for pair in pairwise(moments)) for step in steps)


def _question(
    held: Mapping[int, _Cell], texts: Sequence[str], heading: str
) -> tuple[int, str, str] | None:
    """The first cell that is in doubt, the doubt, and the headings that would settle it."""
    doubtful = (place for place, cell in held.items() if len(set(cell.values())) > 1)
    place = next(doubtful, None)
    if place is None:
        return None
    ways = held[place]
    days = " or ".join(f"{moment.day} {moment:%B %Y}" for moment in ways.values())
    what = f"{quoted(texts[place])} is {days}, and the other lines do not tell which"
    headings = " or ".join(f"{heading}_{order} ({ORDERS[order]})" for order in ways)
    return place, what, f"the heading {headings}; or the year first, as in 2026-09-12 08:00"
