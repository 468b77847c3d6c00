"""What the choices of a comparison are called: only by what is not the same in all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC
from itertools import pairwise
from pathlib import PurePath
from typing import TYPE_CHECKING

from powersim.report import when_where
from powersim.report.text import listed

if TYPE_CHECKING:
    from datetime import datetime

    from powersim.planning.compare import Choice
    from powersim.planning.compare_best import Compared

#: What stands for a choice in which nothing is changed.
AS_SHE_IS = "as she is"


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """What tells the choices apart.

    Attributes
    ----------
    folders, dates, values : bool
        Whether they differ in it.
    years : bool
        Whether departures and landfalls lie in more than one year.
    short : dict of str to str
        Names of folders: without what leads to them, where that is enough to tell them apart.
    """

    folders: bool
    dates: bool
    values: bool
    years: bool
    short: Mapping[str, str]

    def date(self, when_utc: datetime) -> str:
        """A day in UTC, with its year where there are several.

        Parameters
        ----------
        when_utc : datetime
            Time zone aware.
        """
        day = when_where.short_date(when_utc)
        return f"{day} {when_utc.astimezone(UTC).year}" if self.years else day

    def boat(self, choice: Choice) -> str:
        """Folder and values, as far as they differ; empty where neither does.

        Parameters
        ----------
        choice : Choice
            One of them.
        """
        parts = [self.short[choice.name]] if self.folders else []
        parts += [values_of(choice)] if self.values else []
        return ", ".join(parts)

    def of(self, choice: Choice) -> str:
        """All that tells a choice from the others.

        Parameters
        ----------
        choice : Choice
            One of them.
        """
        leaves = self.date(choice.passage.depart_utc)
        parts = [leaves] if self.dates or not (self.folders or self.values) else []
        return ", ".join([*filter(None, [self.boat(choice)]), *parts])


def names_of(found: Compared) -> Names:
    """What tells the choices of a comparison apart.

    Parameters
    ----------
    found : Compared
        All of them.
    """
    choices = found.choices
    departures = [one.passage.depart_utc for one in choices]
    moments = [*departures, *(one.landfall_utc for one in found.outcomes)]
    return Names(
        folders=len({one.name for one in choices}) > 1,
        dates=len(set(departures)) > 1,
        values=len({one.told for one in choices}) > 1,
        years=len({moment.year for moment in moments}) > 1,
        short=_short({one.name for one in choices}),
    )


def _short(names: Iterable[str]) -> dict[str, str]:
    lasts = {name: PurePath(name).name or name for name in names}
    return lasts if len(set(lasts.values())) == len(lasts) else {name: name for name in lasts}


def values_of(choice: Choice) -> str:
    """What is changed in a choice, in words; what it was before is left out.

    Parameters
    ----------
    choice : Choice
        One of them.
    """
    return "; ".join(one.split(" (was ")[0] for one in choice.told) or AS_SHE_IS


def rows_told(places: Iterable[int]) -> str:
    """Rows by their numbers from 1, neighbours taken together.

    Parameters
    ----------
    places : iterable of int
        Counted from 0, in order.

    Examples
    --------
    >>> rows_told([0]), rows_told([0, 1]), rows_told([0, 2, 3, 4, 7])
    ('row 1', 'rows 1 and 2', 'rows 1, 3 to 5 and 8')
    """
    numbers = [place + 1 for place in places]
    ends = [at for at, (one, next_) in enumerate(pairwise(numbers), 1) if next_ != one + 1]
    runs = [numbers[a:b] for a, b in pairwise([0, *ends, len(numbers)])]
    parts: list[str] = []
    for run in runs:
        parts += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run)
    return f"row{'s' if len(numbers) > 1 else ''} {listed(parts)}"
