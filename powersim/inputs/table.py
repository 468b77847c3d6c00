"""Tables the sailor keeps in a spreadsheet: rows that know where in the file they stand."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from powersim.errors import InputError, Problem
from powersim.inputs import units
from powersim.inputs.text import closest, did_you_mean, quoted, read_text

_DELIMITERS = ",;\t"
_LONGEST_ROW = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
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
    """

    name: str
    meaning: str
    example: str
    required: bool = False
    units: tuple[str, ...] = ()

    @property
    def expected(self) -> str:
        """The `expected` line of a message about a cell of this column."""
        return f"{self.meaning}, for example {self.example}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row below the heading.

    Attributes
    ----------
    file : str
        The file as the sailor named it.
    line : int
        Where the row begins, the first line being 1 and comments counted.
    raw : str
        The row as it stands in the file.
    cells : dict of str to str
        Text by column name, stripped; "" where empty, no key where the table lacks the column.
    fields : dict of str to int
        Number of each column's cell, the first being 1.
    units : dict of str to str
        The unit that a column's heading names, where it names one.
    """

    file: str
    line: int
    raw: str
    cells: dict[str, str]
    fields: dict[str, int]
    units: dict[str, str]

    def field(self, column: str) -> tuple[int, str]:
        """Number of the column's cell and its letter in a spreadsheet."""
        number = self.fields[column]
        return number, letter(number)


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """What was read: the rows, the columns found (name to cell number), and what is wrong."""

    rows: tuple[Row, ...] = ()
    columns: Mapping[str, int] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    number: int
    raw: str
    cells: list[str]


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


def problem_at(row: Row, column: str, reason: str, expected: str | None) -> Problem:
    """A Problem with one cell, in the form all readers share."""
    if column not in row.fields:
        return Problem(
            file=row.file, line=row.line, text=f"{column}: {reason}", expected=expected, row=row.raw
        )
    number, letters = row.field(column)
    return Problem(
        file=row.file,
        line=row.line,
        field=number,
        text=f"{column} (column {letters}): {reason}",
        expected=expected,
        row=row.raw,
    )


def read_table(path, columns: Sequence[Column], *, aliases: Mapping[str, str] | None = None):
    """The rows of a table, as a list of Row; everything wrong with its form in one InputError."""
    table = collect_table(path, columns, aliases=aliases)
    if table.problems:
        raise InputError(table.problems)
    return list(table.rows)


def collect_table(
    path, columns: Sequence[Column], *, aliases: Mapping[str, str] | None = None
) -> Table:
    """A table with the problems of its form collected, so that its cells can be read as well.

    Parameters
    ----------
    path : str or Path
        A file separated by commas, semicolons or tabs, whichever its heading uses. Blank lines
        and lines that begin with # are passed over.
    columns : sequence of Column
        All columns it may have.
    aliases : mapping of str to str or None
        Headings often used for a required column -> what to rename them to, such as
        {"watts": "draw_W if it holds watts"}.

    Returns
    -------
    Table
        Without rows if the file or its heading cannot be read.
    """
    file = str(path)
    try:
        text = read_text(path)
    except InputError as error:
        return Table(problems=error.problems)
    lines, problems = _split(file, text)
    if not lines:
        nothing = Problem(file=file, text="holds no heading", expected="a heading and one row")
        return Table(problems=tuple(problems) or (nothing,))
    head, *body = lines
    heading = _Heading(file, head, columns, aliases or {})
    problems = heading.problems + problems
    if not body and not problems:
        problems.append(
            Problem(
                file=file,
                line=head.number,
                text="no rows below the heading",
                expected="one row or more",
            )
        )
    rows = tuple(heading.row(line, problems) for line in body)
    return Table(
        rows=rows,
        columns=heading.fields,
        problems=tuple(sorted(problems, key=lambda problem: problem.line or 0)),
    )


def _split(file: str, text: str) -> tuple[list[_Line], list[Problem]]:
    """Lines with something in them, cut into cells; a csv fault ends the list with a Problem."""
    lines: list[_Line] = []
    try:
        for line in _lines(text):
            lines.append(line)  # noqa: PERF402 - what was read before a fault is kept
    except _QuoteError as fault:
        return lines, [
            Problem(
                file=file,
                line=fault.line,
                text="a quotation mark is not closed, or text follows the closing one",
                expected='quotation marks around a whole cell, for example "nav, and radio"',
                row=fault.raw,
            )
        ]
    return lines, []


class _QuoteError(Exception):
    def __init__(self, line: int, raw: str):
        super().__init__(line)
        self.line, self.raw = line, raw


def _lines(text: str) -> Iterator[_Line]:
    number, raw, between_rows = 1, [], True

    def feed():
        nonlocal number, raw, between_rows
        for here, line in enumerate(io.StringIO(text, newline=""), start=1):
            if between_rows:  # only here: a quoted cell may hold blank lines and # lines
                if not line.strip() or line.lstrip().startswith("#"):
                    continue
                number, raw, between_rows = here, [], False
            raw.append(line)
            yield line

    reader = csv.reader(feed(), delimiter=_delimiter(text), strict=True)
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error:
            raise _QuoteError(number, _shown(raw[:1])) from None
        between_rows = True
        cells = [cell.strip() for cell in cells]
        if any(cells) and not cells[0].startswith("#"):  # a spreadsheet may put # in quotes
            yield _Line(number=number, raw=_shown(raw), cells=cells)


def _shown(raw: list[str]) -> str:
    row = " ".join("".join(raw).split("\n")).strip("\r ")
    row = "".join(character if character.isprintable() else " " for character in row)
    return row if len(row) <= _LONGEST_ROW else row[: _LONGEST_ROW - 3] + "..."


def _delimiter(text: str) -> str:
    """The separator of the heading: half of Europe's spreadsheets write semicolons."""
    lines = (line.strip() for line in text.splitlines())
    head = next((line for line in lines if line and not line.startswith("#")), "")
    return max(_DELIMITERS, key=head.count)  # the comma wins a tie


class _Heading:
    """The heading of a table: which column stands where, and what is wrong with that."""

    def __init__(self, file, head: _Line, columns: Sequence[Column], aliases: Mapping[str, str]):
        self.file = file
        self.head = head
        self.known = columns
        self.fields: dict[str, int] = {}
        self.units: dict[str, str] = {}
        self.problems: list[Problem] = []
        self.titled = {number for number, title in enumerate(head.cells, start=1) if title}
        unknown = {number: head.cells[number - 1] for number in sorted(self.titled)}
        unknown = {number: title for number, title in unknown.items() if not self._take(number)}
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

    def _report(self, text: str, expected: str, at: int | None = None):
        self.problems.append(
            Problem(file=self.file, line=self.head.number, field=at, text=text, expected=expected)
        )

    def _take(self, number: int) -> bool:
        """Give the cell to the column that its title names; False if it names none."""
        title = self.head.cells[number - 1]
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

    def _take_unit(self, column: Column, title: str, unit: str, number: int):
        found = units.find(unit)
        wanted = {units.dimension_name(symbol) for symbol in column.units}
        if found is not None and found.dimension in wanted:
            self.units[column.name] = found.symbol
            return
        what = f"unknown unit {quoted(unit)}" if found is None else f"{unit!r} is {found.dimension}"
        self._report(
            f"heading {quoted(title)} (column {letter(number)}): {what}",
            f"{column.name}, {column.meaning}",
            at=number,
        )

    def _report_missing(self, column: Column, unknown: dict[int, str], aliases):
        """Report a missing column; a heading that was likely meant for it is not reported again."""
        found = ", ".join(self.head.cells[number - 1] for number in sorted(self.titled))
        expected = f"{column.name}, {column.meaning}"
        meant = _meant(column, unknown, aliases)
        if meant is not None:
            number, renamed = meant
            expected += f"; rename {quoted(unknown.pop(number))} to {renamed}"
        self._report(f"no column {column.name!r}; found: {found}", expected)

    def row(self, line: _Line, problems: list[Problem]) -> Row:
        """The row of a line; a cell under no heading is added to the problems."""
        for number, cell in enumerate(line.cells, start=1):
            if cell and number not in self.titled:
                problems.append(
                    Problem(
                        file=self.file,
                        line=line.number,
                        field=number,
                        text=f"{quoted(cell)} stands under no heading (column {letter(number)})",
                        expected="no more cells than headings; a cell with a comma in it goes in "
                        'quotation marks, for example "nav, and radio"',
                        row=line.raw,
                    )
                )
                break  # the cells after it have slipped for the same reason
        cells = line.cells + [""] * len(self.head.cells)
        return Row(
            file=self.file,
            line=line.number,
            raw=line.raw,
            cells={name: cells[number - 1] for name, number in self.fields.items()},
            fields=self.fields,
            units=self.units,
        )


def _plain(title: str) -> str:
    return re.sub(r"[\s\-]+", "_", title.strip().casefold())


def _name_and_unit(title: str, columns: Sequence[Column]) -> tuple[str, str | None]:
    """Column and unit that a title such as `draw`, `draw_W` or `draw (W)` names."""
    names = {_plain(column.name): column for column in columns}
    in_brackets = re.fullmatch(r"(.*?)\s*[(\[]\s*(.*?)\s*[)\]]", title)
    if in_brackets and _plain(in_brackets[1]) in names:
        return names[_plain(in_brackets[1])].name, in_brackets[2]
    plain = _plain(title)
    if plain in names:
        return names[plain].name, None
    for key, column in names.items():
        unit = title.strip()[len(key) + 1 :].replace("_per_", "/")
        if plain.startswith(key + "_") and column.units and units.find(unit) is not None:
            return column.name, unit
    return title, None


def _meant(column: Column, unknown: dict[int, str], aliases) -> tuple[int, str] | None:
    """The unknown heading that stands for a missing column, and what to rename it to."""
    for number, title in unknown.items():
        renamed = aliases.get(_plain(title))
        if renamed is not None and _plain(renamed).startswith(_plain(column.name)):
            return number, renamed
    for number, title in unknown.items():
        if closest(title, [column.name]) is not None:
            return number, column.name
    return None
