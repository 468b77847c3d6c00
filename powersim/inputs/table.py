"""Tables the sailor keeps in a spreadsheet: rows that know where in the file they stand."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from os import PathLike

from powersim.errors import InputError, Problem
from powersim.inputs.decimals import WORDS, Decimals, decimals_of, with_points
from powersim.inputs.headings import CsvColumn, Heading, letter
from powersim.inputs.text import printable, quoted, read_text

#: More than any list kept by hand; each faulty row costs a message.
MOST_ROWS = 5_000
MOST_COLUMNS = 100
#: What stands for a file in messages about values that are set in place of a file's.
SET = "set"
_BAD_QUOTE = "a quotation mark is not closed, or text follows the closing one"
_TOO_LONG = "a cell runs on for pages; is a quotation mark not closed?"
_DELIMITERS = ",;\t"
#: A first line in which some spreadsheets say what stands between cells.
_SAID = re.compile(rf'"?sep=([{_DELIMITERS}|])"?', re.IGNORECASE)
_LONGEST_ROW = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class CsvRow:
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
    set_cells : dict of str to str
        Columns whose text was set in place of the file's, and the place as it was typed.
    kinds : mapping of str to str
        What columns hold, as `decimals` has it, where that is not words.
    decimals : Decimals
        How the table's numbers are written.
    """

    file: str
    line: int
    raw: str
    cells: dict[str, str]
    fields: dict[str, int]
    units: dict[str, str]
    set_cells: dict[str, str] = field(default_factory=dict)
    kinds: Mapping[str, str] = field(default_factory=dict)
    decimals: Decimals = field(default_factory=Decimals)

    def plain(self, column: str) -> str:
        """The column's cell with decimals behind a point; "" where there is none.

        Raises
        ------
        ReadingError
            With a `reason`, if a number in it may be two.
        """
        text = self.cells.get(column, "")
        if column in self.set_cells:  # typed elsewhere, by the rules of boat.toml
            return text
        return with_points(text, self.kinds.get(column, WORDS), self.decimals)

    def field(self, column: str) -> tuple[int, str]:
        """Number of the column's cell and its letter in a spreadsheet."""
        number = self.fields[column]
        return number, letter(number)


@dataclass(frozen=True, slots=True, kw_only=True)
class CsvTable:
    """What was read: the rows, the columns found (name to cell number), and what is wrong.

    `torn_line` is where a row could not be cut into cells; nothing from there on was read. The
    heading stands on `head_line` and has `width` cells, empty ones too. `decimals` is how numbers
    are written.
    """

    rows: tuple[CsvRow, ...] = ()
    columns: Mapping[str, int] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    torn_line: int | None = None
    head_line: int = 0
    width: int = 0
    decimals: Decimals = field(default_factory=Decimals)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    number: int
    raw: str
    cells: list[str]


def problem_at(row: CsvRow, column: str, reason: str, expected: str | None) -> Problem:
    """A Problem with one cell, in the form all readers share."""
    if column in row.set_cells:
        place = row.set_cells[column]
        return Problem(file=SET, text=f"{place}: {reason}", expected=expected, place=place)
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


def read_table(
    path: str | PathLike[str],
    columns: Sequence[CsvColumn],
    *,
    aliases: Mapping[str, str] | None = None,
) -> list[CsvRow]:
    """The rows of a table, as a list of Row; everything wrong with its form in one InputError."""
    table = collect_table(path, columns, aliases=aliases)
    if table.problems:
        raise InputError(table.problems)
    return list(table.rows)


def collect_table(
    path: str | PathLike[str],
    columns: Sequence[CsvColumn],
    *,
    aliases: Mapping[str, str] | None = None,
    text: str | None = None,
) -> CsvTable:
    """A table with the problems of its form collected, so that its cells can be read as well.

    Parameters
    ----------
    path : str or Path
        A file separated by commas, semicolons or tabs, whichever its heading uses, or its first
        line names. Blank lines and lines that begin with # are passed over.
    aliases : mapping of str to str or None
        Headings often used for a required column -> what to rename them to, such as
        {"watts": "draw_W if it holds watts"}.
    text : str or None
        What the file holds, where that is known already; None reads it.

    Returns
    -------
    CsvTable
        Without rows if the file or its heading cannot be read.
    """
    try:
        text = read_text(path, is_table=True) if text is None else text
    except InputError as error:
        return CsvTable(problems=error.problems)
    return table_of(text, columns, file=str(path), aliases=aliases)


def table_of(
    text: str, columns: Sequence[CsvColumn], *, file: str, aliases: Mapping[str, str] | None = None
) -> CsvTable:
    """A table from its text, as `collect_table` has it from a file of that name.

    Parameters
    ----------
    text : str
        What the file holds.
    columns : sequence of CsvColumn
        That it may have.
    file : str
        Its name in messages.
    aliases : mapping of str to str or None
        As for `collect_table`.
    """
    lines, problems, torn_line = _split(file, text)
    if not lines:
        nothing = Problem(file=file, text="has no heading", expected="a heading and one row")
        return CsvTable(problems=tuple(problems) or (nothing,), torn_line=torn_line)
    head, *body = lines
    if sum(map(bool, head.cells)) > MOST_COLUMNS:
        many = f"more than {MOST_COLUMNS} columns"
        return CsvTable(problems=(Problem(file=file, line=head.number, text=many, row=head.raw),))
    heading = Heading(file, head.cells, line=head.number, columns=columns, aliases=aliases or {})
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
    kinds = {
        column.name: column.kind
        for column in columns
        if column.name in heading.fields and column.kind != WORDS
    }
    numbers = [heading.fields[name] - 1 for name in kinds]
    decimals = decimals_of(
        (line.cells[at] for line in body for at in numbers if at < len(line.cells)),
        separator=delimiter_of(text),
    )
    rows = tuple(_row(heading, line, problems, kinds, decimals) for line in body)
    return CsvTable(
        rows=rows,
        columns=heading.fields,
        problems=tuple(sorted(problems, key=lambda problem: problem.line or 0)),
        torn_line=torn_line,
        head_line=head.number,
        width=len(head.cells),
        decimals=decimals,
    )


def _split(file: str, text: str) -> tuple[list[_Line], list[Problem], int | None]:
    """Lines with something in them, cut into cells; the first fault ends the list."""
    lines: list[_Line] = []
    try:
        for line in _lines(text):
            if len(lines) > MOST_ROWS:
                many = Problem(
                    file=file,
                    line=line.number,
                    text=f"more than {MOST_ROWS} rows",
                    expected="a list kept by hand; is it the right file?",
                )
                return lines[:1], [many], None
            lines.append(line)
    except _CellError as fault:
        torn = Problem(
            file=file,
            line=fault.line,
            text=fault.reason,
            expected='quotation marks around a whole cell, for example "nav, and radio"',
            row=fault.raw,
        )
        return lines, [torn], fault.line
    return lines, [], None


class _CellError(Exception):
    """A row cannot be cut into cells."""

    def __init__(self, line: int, raw: str, reason: str):
        super().__init__(reason)
        self.line, self.raw, self.reason = line, raw, reason


def _lines(text: str) -> Iterator[_Line]:
    number, between_rows = 1, True
    raw: list[str] = []

    def feed():
        nonlocal number, raw, between_rows
        for here, line in enumerate(io.StringIO(text, newline=""), start=1):
            if between_rows:  # only here: a quoted cell may hold blank lines and # lines
                if not line.strip() or line.lstrip().startswith("#"):
                    continue
                if here == 1 and _said(line):
                    continue
                number, raw, between_rows = here, [], False
            raw.append(line)
            yield line

    reader = csv.reader(feed(), delimiter=delimiter_of(text), strict=True)
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error:
            too_long = len("".join(raw)) > csv.field_size_limit()
            raise _CellError(
                number, _shown(raw[:1]), _TOO_LONG if too_long else _BAD_QUOTE
            ) from None
        between_rows = True
        cells = [cell.strip() for cell in cells]
        if any(cells) and not cells[0].startswith("#"):  # a spreadsheet may put # in quotes
            yield _Line(number=number, raw=_shown(raw), cells=cells)


def _shown(raw: list[str]) -> str:
    return printable("".join(raw).replace("\r\n", "\n").rstrip("\r\n"), longest=_LONGEST_ROW)


def delimiter_of(text: str) -> str:
    """The separator of the heading: half of Europe's spreadsheets write semicolons.

    Parameters
    ----------
    text : str
        Of a table.

    Examples
    --------
    >>> delimiter_of("load;draw\\nvhf;5 A\\n"), delimiter_of("sep=|\\nload|draw\\n")
    (';', '|')
    """
    first, *_ = text.lstrip("\ufeff").splitlines()[:1] or [""]
    said = _said(first)
    if said:
        return said
    lines = (line.strip() for line in text.splitlines())
    head = next((line for line in lines if line and not line.startswith(("#", '"#'))), "")
    outside = re.sub('"[^"]*"', "", head)
    return max(_DELIMITERS, key=outside.count)  # the comma wins a tie


def _said(line: str) -> str | None:
    """The separator that a line names, if it does nothing else."""
    found = _SAID.match(line)
    alone = found is not None and not line[found.end() :].strip(found[1] + "\r\n ")
    return found[1] if found and alone else None


def _row(
    heading: Heading,
    line: _Line,
    problems: list[Problem],
    kinds: Mapping[str, str],
    decimals: Decimals,
) -> CsvRow:
    """The row of a line; a cell under no heading is added to the problems."""
    for number, cell in enumerate(line.cells, start=1):
        if cell and number not in heading.titled:
            problems.append(
                Problem(
                    file=heading.file,
                    line=line.number,
                    field=number,
                    text=f"{quoted(cell)} has no heading above it (column {letter(number)})",
                    expected="no more cells than headings; a cell with a comma in it goes in "
                    'quotation marks, for example "nav, and radio"',
                    row=line.raw,
                )
            )
            break  # the cells after it have slipped for the same reason
    cells = line.cells + [""] * len(heading.cells)
    return CsvRow(
        file=heading.file,
        line=line.number,
        raw=line.raw,
        cells={name: cells[number - 1] for name, number in heading.fields.items()},
        fields=heading.fields,
        units=heading.units,
        kinds=kinds,
        decimals=decimals,
    )
