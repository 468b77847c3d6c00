"""Where every table, key and value of boat.toml stands in its text, to the character."""

from __future__ import annotations

from dataclasses import dataclass, field

from powersim.inputs.toml_lines import Path, names_of, path_inside, statements

Span = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One key with its value, on lines of its own.

    Attributes
    ----------
    path : tuple
        Of the key, from the outermost table on.
    names : tuple of str
        The key as written: several where it has dots.
    value : tuple of (int, int)
        Where its value begins and ends.
    lines : tuple of (int, int)
        Where its first line begins, and where its last ends, line end included.
    """

    path: Path
    names: tuple[str, ...]
    value: Span
    lines: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A [table] or [[table]] with the statements below it; the first of a text has no heading.

    Attributes
    ----------
    path : tuple
        Of the table.
    lines : tuple of (int, int)
        Of its heading.
    statements : list of Statement
        In order.
    """

    path: Path
    lines: Span
    statements: list[Statement] = field(default_factory=list)

    @property
    def end(self) -> int:
        """Where its last line ends: heading or statement, not a note below them."""
        return self.statements[-1].lines[1] if self.statements else self.lines[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spans:
    """A whole text.

    Attributes
    ----------
    blocks : list of Block
        In order, the one without a heading first.
    values : dict of tuple to (int, int)
        Where each value stands, of those within an inline table or a list too.
    members : dict of tuple to (int, int)
        Where each key of an inline table begins and its value ends, and each table of a list.
    owners : dict of tuple to Statement
        Whose line each of these values stands on.
    """

    blocks: list[Block]
    values: dict[Path, Span]
    members: dict[Path, Span]
    owners: dict[Path, Statement]


def spans_of(text: str) -> Spans:
    """Where everything stands.

    Parameters
    ----------
    text : str
        Of TOML, known to be valid.

    Examples
    --------
    >>> spans_of("[fuel]\\ntank = '85 L'\\n").values
    {('fuel', 'tank'): (14, 20)}
    """
    blocks = [Block(path=(), lines=(0, 0))]
    found = Spans(blocks=blocks, values={}, members={}, owners={})
    lengths: dict[Path, int] = {}
    for _, matches in statements(text):
        tokens = [match[0] for match in matches]
        lines = _lines(text, matches[0].start(), matches[-1].end())
        if tokens[0] == "[":
            doubled = tokens[1] == "["
            path = path_inside(names_of(tokens), lengths, appending=doubled)
            blocks.append(Block(path=path, lines=lines))
            continue
        equals = tokens.index("=")
        names = names_of(tokens[:equals])
        path = (*blocks[-1].path, *names)
        value = _Value(found, matches)
        end = value.read(equals + 1, path)
        assert end == len(matches), "the standard reader has read it"
        one = Statement(path=path, names=names, value=found.values[path], lines=lines)
        blocks[-1].statements.append(one)
        found.owners.update(dict.fromkeys(value.paths, one))
    return found


def _lines(text: str, start: int, end: int) -> Span:
    """The whole lines from one place to another."""
    begin = text.rfind("\n", 0, start) + 1
    stop = text.find("\n", end)
    return begin, len(text) if stop < 0 else stop + 1


class _Value:
    """The value of a statement, and what stands within it."""

    def __init__(self, found: Spans, matches: list):
        self.found, self.matches = found, matches
        self.paths: list[Path] = []

    def read(self, at: int, path: Path) -> int:
        """Note where the value that begins at a token stands; the token behind it."""
        start = self.matches[at].start()
        sign = self._sign(at)
        if sign == "{":
            at = self._table(at + 1, path)
        elif sign == "[":
            at = self._list(at + 1, path)
        else:
            while self._sign(at) not in (",", "}", "]", ""):
                at += 1
        self.found.values[path] = (start, self.matches[at - 1].end())
        self.paths.append(path)
        return at

    def _table(self, at: int, path: Path) -> int:
        while self._sign(at) != "}":
            begin, equals = at, at
            while self._sign(equals) != "=":
                equals += 1
            names = names_of([match[0] for match in self.matches[begin:equals]])
            at = self.read(equals + 1, (*path, *names))
            self.found.members[(*path, *names)] = self._span(begin, at)
            at += self._sign(at) == ","
        return at + 1

    def _list(self, at: int, path: Path) -> int:
        number = 0
        while self._sign(at) != "]":
            begin = at
            at = self.read(at, (*path, number))
            self.found.members[(*path, number)] = self._span(begin, at)
            number += 1
            at += self._sign(at) == ","
        return at + 1

    def _sign(self, at: int) -> str:
        return self.matches[at][0] if at < len(self.matches) else ""

    def _span(self, begin: int, end: int) -> Span:
        return self.matches[begin].start(), self.matches[end - 1].end()
