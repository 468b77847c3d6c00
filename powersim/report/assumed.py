"""What was assumed, by why: first what can be measured aboard, then the rest, folded."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from powersim.records import Assumption
from powersim.report.view import Column, Table

#: What is worth measuring aboard before the rest, and how; those that move the answer most come
#: first. Our judgement.
_MEASURED = {
    "battery.health": "from full, draw a known current for hours, and compare the ampere-hours",
    "battery.at_departure": "the rested volts, or the counter, as you leave",
    "fuel.aboard": "the dip stick, and the cans counted, as you leave",
    "engine.charging_burn": "dip before and after some hours at charging revs",
    "engine.motoring_burn": "dip before and after some hours in gear",
    "alternator.voltage": "a voltmeter on the bank's own terminals, at charging revs, nearly full",
    "alternator.cable_drop": "the same at the alternator's terminals; the difference is the drop",
    "battery.temperature": "a thermometer on the bank",
    "fuel.unusable": "where the pick-up ends, on the stick",
    "panel.salt": "the panels' amperes before and after they are washed",
}
_PRACTICE = "common practice, no source"
#: A year or a digital object identifier: what a published figure comes with.
_PUBLISHED = re.compile(r"\b(?:19|20)\d\d\b|\bdoi\b")
#: How a reason ends whose figure was published but not read again.
_MEMORY = "from memory"
_CLIMATOLOGY = "climatology"


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """All that was assumed of a passage.

    Attributes
    ----------
    measured : Table or None
        What is worth measuring first; None if nothing of that was assumed.
    folded : tuple of (str, Table)
        The rest by why, each with a line that counts it.
    """

    measured: Table | None
    folded: tuple[tuple[str, Table], ...]

    @property
    def count(self) -> int:
        """How many there are."""
        first = [] if self.measured is None else self.measured.rows
        return len(first) + sum(len(table.rows) for _, table in self.folded)


def assumed(assumptions: Sequence[Assumption]) -> Assumed:
    """Every value that was assumed, once.

    Parameters
    ----------
    assumptions : sequence of Assumption
        Of a passage.
    """
    first = [one for key in _MEASURED for one in assumptions if _key(one) == key]
    rest = [one for one in assumptions if one not in first]
    columns = tuple(Column(head, words=True) for head in ("what", "value", "why"))
    table = Table(
        caption="Measure these first",
        columns=(*columns, Column("how", words=True)),
        rows=tuple((_place(one), one.value, _why(one), _MEASURED[_key(one)]) for one in first),
    )
    return Assumed(measured=table if first else None, folded=tuple(_folded(rest, columns)))


def _folded(rest, columns) -> Iterator[tuple[str, Table]]:
    for cause, one, several in _CAUSES:
        found = [assumption for assumption in rest if _cause(assumption) == cause]
        if found:
            said = f"1 {one}" if len(found) == 1 else f"{len(found)} {several}"
            table = Table(
                caption=f"{said[:1].upper()}{said[1:]}",
                columns=columns,
                rows=tuple((_place(a), a.value, _why(a)) for a in found),
            )
            yield said, table


#: Why something is assumed -> what is said of one, and of several.
_CAUSES = (
    (_PRACTICE, "is common practice, without a source", "are common practice, without a source"),
    ("published", "is a published figure", "are published figures"),
    (
        _MEMORY,
        "is a published figure, from memory: not read again",
        "are published figures, from memory: not read again",
    ),
    (
        _CLIMATOLOGY,
        "is the month's average over the ocean",
        "are the month's average over the ocean",
    ),
    (
        "usual",
        "is what is usual, or follows from what the files say",
        "are what is usual, or follow from what the files say",
    ),
)


def _cause(assumption) -> str:
    if assumption.reason.endswith(_PRACTICE):
        return _PRACTICE
    if _MEMORY in assumption.reason:
        return _MEMORY
    if _PUBLISHED.search(assumption.reason):
        return "published"
    return _CLIMATOLOGY if assumption.value == _CLIMATOLOGY else "usual"


def _key(assumption) -> str:
    """The key alone: without its file, and without the names of several panels."""
    return assumption.place.partition(" ")[2].partition(" (")[0]


def _place(assumption) -> str:
    """Where it could be written: a key of boat.toml, or a file and its column."""
    return assumption.place.removeprefix("boat.toml ")


def _why(assumption) -> str:
    """The reason without what stands above all of them."""
    return assumption.reason.removesuffix(_PRACTICE).rstrip("; ")
