"""The heading of a table: which column stands where, in which unit, and what is wrong with that."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from powersim.errors import Problem
from powersim.inputs import units
from powersim.inputs.decimals import QUANTITY, WORDS
from powersim.inputs.text import closest, did_you_mean, printable, quoted

_LONGEST_LIST = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class CsvColumn:
    """One column that a table may have.

    Attributes
    ----------
    name : str
        As in its heading, without a unit.
    meaning : str
        What stands in it, for messages.
    example : str
        One or two values that work, for messages.
    required : bool
        Whether the table makes no sense without it.
    units : tuple of str
        Symbols of the units it may be read in; a heading may then name a unit of the same kind.
    forms : tuple of str
        What else a heading may have behind its name, to say how the cells are written.
    holds : str or None
        One of `decimals`: what its cells hold; None for quantities where it has units, else words.
    """

    name: str
    meaning: str
    example: str
    required: bool = False
    units: tuple[str, ...] = ()
    forms: tuple[str, ...] = ()
    holds: str | None = None

    @property
    def kind(self) -> str:
        """What its cells hold, as `decimals` has it."""
        return self.holds or (QUANTITY if self.units else WORDS)

    @property
    def expected(self) -> str:
        """The `expected` line of a message about a cell of this column."""
        return f"{self.meaning}, for example {self.example}"


def letter(number: int) -> str:
    """The letters over a spreadsheet's column.

    Examples
    --------
    >>> letter(2), letter(27)
    ('B', 'AA')
    """
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


class Heading:
    """The heading of a table: which column stands where, and what is wrong with that.

    Attributes
    ----------
    fields : dict of str to int
        Number of each column's cell, the first being 1; a column in a wrong unit is left out.
    units : dict of str to str
        The unit that a column's heading names, where it names one.
    titled : set of int
        Numbers of the cells that hold a title, known or not.
    problems : list of Problem
        In the order of the columns.
    """

    def __init__(
        self,
        file: str,
        cells: Sequence[str],
        *,
        line: int,
        columns: Sequence[CsvColumn],
        aliases: Mapping[str, str],
    ):
        self.file = file
        self.line = line
        self.cells = cells
        self.known = columns
        self.fields: dict[str, int] = {}
        self.units: dict[str, str] = {}
        self.problems: list[Problem] = []
        self._misread: set[str] = set()
        titles = {number: title for number, title in enumerate(cells, start=1) if title}
        self.titled = set(titles)
        unknown = {number: title for number, title in titles.items() if not self._take(number)}
        for column in columns:
            if column.required and column.name not in self.fields:
                self._report_missing(column, unknown, aliases)
        for number, title in unknown.items():
            self._report(
                f"unknown column {quoted(title)} (column {letter(number)})"
                + did_you_mean(title, [column.name for column in columns]),
                "columns " + ", ".join(column.name for column in columns),
                at=number,
            )
        # Its cells cannot be judged: one message on the heading is enough.
        self.fields = {name: at for name, at in self.fields.items() if name not in self._misread}

    def _report(self, text: str, expected: str, at: int | None = None):
        self.problems.append(
            Problem(file=self.file, line=self.line, field=at, text=text, expected=expected)
        )

    def _take(self, number: int) -> bool:
        """Give the cell to the column that its title names; False if it names none."""
        title = self.cells[number - 1]
        name, unit = _name_and_unit(title, self.known)
        column = next((column for column in self.known if column.name == name), None)
        if column is None:
            return False
        if name in self.fields:
            first = letter(self.fields[name])
            self._report(
                f"column {name!r} is there twice (columns {first} and {letter(number)})",
                "one of them",
                at=number,
            )
            return True
        self.fields[name] = number
        if unit is not None:
            self._take_unit(column, title, unit, number)
        return True

    def _take_unit(self, column: CsvColumn, title: str, unit: str, number: int):
        if _plain(unit) in column.forms:
            self.units[column.name] = _plain(unit)
            return
        found = units.find(unit)
        wanted = {units.dimension_name(symbol) for symbol in column.units}
        if found is not None and found.dimension in wanted:
            self.units[column.name] = found.symbol
            return
        self._misread.add(column.name)
        what = f"unknown unit {quoted(unit)}" if found is None else f"{unit!r} is {found.dimension}"
        self._report(
            f"heading {quoted(title)} (column {letter(number)}): {what}",
            f"{column.name}, {column.meaning}",
            at=number,
        )

    def _report_missing(self, column: CsvColumn, unknown: dict[int, str], aliases):
        """Report a missing column; a heading that was likely meant for it is not reported again."""
        titles = [self.cells[number - 1] for number in sorted(self.titled)]
        found = printable(", ".join(titles), longest=_LONGEST_LIST)
        expected = f"{column.name}, {column.meaning}"
        meant = _meant(column, unknown, aliases)
        if meant is not None:
            number, renamed = meant
            expected += f"; rename {quoted(unknown.pop(number))} to {renamed}"
        self._report(f"no column {column.name!r}; found: {found}", expected)


def _plain(title: str) -> str:
    return re.sub(r"[\s\-]+", "_", title.strip().casefold())


def _name_and_unit(title: str, columns: Sequence[CsvColumn]) -> tuple[str, str | None]:
    """CsvColumn and unit that a title such as `draw`, `draw_W` or `draw (W)` names."""
    names = {_plain(column.name): column for column in columns}
    in_brackets = re.fullmatch(r"(.*?)\s*[(\[]\s*(.*?)\s*[)\]]", title)
    if in_brackets and _plain(in_brackets[1]) in names:
        return names[_plain(in_brackets[1])].name, in_brackets[2]
    plain = _plain(title)
    if plain in names:
        return names[plain].name, None
    for key, column in names.items():
        unit = title.strip()[len(key) + 1 :].replace("_per_", "/")
        if plain.startswith(key + "_") and _plain(unit) in column.forms:
            return column.name, _plain(unit)
        for spelling in (unit, unit.replace("_", "/")):  # m_s is often written for m/s
            if plain.startswith(key + "_") and column.units and units.find(spelling) is not None:
                return column.name, spelling
    return title, None


def _meant(column: CsvColumn, unknown: dict[int, str], aliases) -> tuple[int, str] | None:
    """The unknown heading that stands for a missing column, and what to rename it to."""
    for number, title in unknown.items():
        renamed = aliases.get(_plain(title))
        if renamed is not None and _plain(renamed).startswith(_plain(column.name)):
            return number, renamed
    for number, title in unknown.items():
        if closest(title, [column.name]) is not None:
            return number, column.name
    return None
