"""boat.toml with other values in it: what differs is put into its text, the rest stays as it is.

A value is put in place of the old one; what is new stands behind what its table has, or behind the
last table; what is gone takes its line, or the lines of its table, along. Notes, blanks, order and
line ends stay. What comes of it is read again, and is used only if it reads as asked.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sized
from typing import Any

from powersim.inputs.toml_lines import Path
from powersim.inputs.toml_spans import Block, Span, Spans, Statement, spans_of
from powersim.inputs.toml_text import written_key, written_value

#: Says what note stands behind a line, from that which stood there and the keys with their old
#: values, None for one that is new; None for no note.
Noted = Callable[[str | None, Mapping[str, Any]], str | None]


def toml_as_asked(
    text: str, asked: Mapping[str, Any], *, paths: Mapping[Path, Path], noted: Noted
) -> str | None:
    """The text with what differs put into it.

    Parameters
    ----------
    text : str
        Valid TOML.
    asked : mapping
        All that it is to hold.
    paths : mapping of tuple to tuple
        Of every table of several that stays: its path in the text, by the one it is to have.
    noted : callable
        From the note behind a changed line and what its keys held before to the note that is to
        stand there.

    Returns
    -------
    str or None
        None where it is written in a form in which this cannot be done.
    """
    edit = _Edit(text, paths, noted)
    try:
        edit.differ(tomllib.loads(text), asked, (), ())
        made = edit.text()
        return made if identical(tomllib.loads(made), asked) else None
    except (tomllib.TOMLDecodeError, _NoWayError):
        return None


def identical(one: object, other: object) -> bool:
    """Whether two values of TOML are the same to the last sign, in kind too.

    Examples
    --------
    >>> identical({"a": [1]}, {"a": [1]}), identical([1], [True]), identical("a ", "a")
    (True, False, False)
    """
    if type(one) is not type(other):
        return False
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(identical, one, other))
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(identical(one[key], other[key]) for key in one)
    return one == other or (one != one and other != other)


def as_they_stand(document: Mapping[str, Any]) -> dict[Path, Path]:
    """The paths of all tables of several, for a text in which none comes or goes.

    Parameters
    ----------
    document : mapping
        What the text holds.

    Examples
    --------
    >>> as_they_stand({"panel": [{"power": "50 W"}]})
    {('panel', 0): ('panel', 0)}
    """
    found: dict[Path, Path] = {}

    def walk(node: Any, path: Path) -> None:
        if isinstance(node, dict):
            for key, one in node.items():
                walk(one, (*path, key))
        elif _are_tables(node):
            for place, one in enumerate(node):
                found[(*path, place)] = (*path, place)
                walk(one, (*path, place))

    walk(document, ())
    return found


class _NoWayError(Exception):
    """It is written in a form in which this cannot be done."""


class _Edit:
    """What is to be put where, in a text that stays as it is until the end."""

    def __init__(self, text: str, paths: Mapping[Path, Path], noted: Noted):
        self.source, self.paths, self.noted = text, paths, noted
        self.newline = "\r\n" if "\r\n" in text else "\n"
        self.spans: Spans = spans_of(text)
        self.pieces: list[tuple[int, int, int, str]] = []
        self.changed: dict[Span, tuple[Statement, dict[str, Any]]] = {}

    def text(self) -> str:
        """The text with everything put into it."""
        self._put_notes()
        done, found = 0, []
        for start, end, _, new in sorted(self.pieces):
            if start < done:
                raise _NoWayError
            found += [self.source[done:start], new]
            done = end
        return "".join([*found, self.source[done:]])

    def differ(
        self, before: Mapping[str, Any], after: Mapping[str, Any], path: Path, now: Path
    ) -> None:
        """Put in what differs between two tables, by their paths in the text and as asked."""
        if self._is_rewritten(path, before, after, keeps=len(before.keys() & after.keys())):
            self._replace(path, before, after)
            return
        if path and before and not after and not self._stands_empty(path):
            self._remove(path, before)
            self._leave_empty(path)
            return
        for key in before:
            if key not in after:
                self._remove((*path, key), before[key])
        for key, new in after.items():
            if key not in before:
                self._add(path, key, new)
                continue
            old, at, then = before[key], (*path, key), (*now, key)
            if isinstance(old, dict) and isinstance(new, dict):
                self.differ(old, new, at, then)
            elif _are_tables(old) and _are_tables(new) and (*then, 0) in self.paths:
                self._differ_several(old, new, at, then)
            elif not identical(old, new):
                self._replace(at, old, new)

    def _is_rewritten(self, path: Path, before: Sized, after: Sized, *, keeps: int) -> bool:
        """Whether what stands inline is written anew, since commas would be left over."""
        gone, new = len(before) - keeps, len(after) - keeps
        some_go = gone > 0 and (gone > 1 or new > 0 or not keeps)
        return path in self.spans.values and (some_go or (not before and new > 0))

    def _stands_empty(self, path: Path) -> bool:
        """Whether a table stays when all of its keys are gone: with a heading, or inline."""
        return path in self.spans.values or any(one.path == path for one in self.spans.blocks)

    def _leave_empty(self, path: Path) -> None:
        """An empty table in the place of one that was written by keys with dots alone."""
        for block in self.spans.blocks:
            for one in block.statements:
                if one.path[: len(path)] == path:
                    names = tuple(map(str, path[len(block.path) :]))
                    self._insert(one.lines[0], f"{written_key(*names)} = {{}}")
                    return
        self._add_table(path, {})

    def _differ_several(self, before, after, path: Path, now: Path) -> None:
        """Tables of several, each found again by where it came from."""
        kept = {self.paths.get((*now, place)): place for place in range(len(after))}
        if self._is_rewritten(path, before, after, keeps=len(kept.keys() - {None})):
            self._replace(path, before, after)
            return
        for place, old in enumerate(before):
            if (*path, place) not in kept:
                self._remove((*path, place), old)
            else:
                at = kept[(*path, place)]
                self.differ(old, after[at], (*path, place), (*now, at))
        for place, new in enumerate(after):
            if (*now, place) not in self.paths:
                self._append(path, new)

    def _replace(self, path: Path, old: Any, new: Any) -> None:
        if path not in self.spans.values:  # a table with a heading, or with dots
            self._remove(path, old)
            self._add(path[:-1], str(path[-1]), new)
            return
        start, end = self.spans.values[path]
        self._put(start, end, _in_its_quotes(self.source[start:end], new))
        self._note(self.spans.owners[path], path, old)

    def _remove(self, path: Path, old: Any) -> None:
        if path in self.spans.members:
            self._put(*self._with_comma(path), "")
            self._note(self.spans.owners[path], path, old)
            return
        for block in self.spans.blocks:
            if block.path[: len(path)] == path and block.path:
                self._put(*self._with_blank_lines(block), "")
                continue
            for one in block.statements:
                if one.path[: len(path)] == path:
                    self._put(*one.lines, "")

    def _add(self, path: Path, key: str, new: Any) -> None:
        """Behind the last key of its table, or as a table of its own."""
        if path in self.spans.values:
            self._add_member(path, key, new)
            return
        several = any(isinstance(part, int) for part in path)
        if isinstance(new, dict) and not several and not self._is_dotted(path):
            self._add_table((*path, key), new)
            return
        if _are_tables(new) and not path:
            for one in new:
                self._append((key,), one)
            return
        blocks = [block for block in self.spans.blocks if block.path == path and path]
        if blocks:
            self._add_line(blocks[-1].end, _indent(self.source, blocks[-1]), (key,), new)
            return
        for block in self.spans.blocks:
            dotted = [one for one in block.statements if one.path[: len(path)] == path and path]
            if dotted:
                names = tuple(map(str, path[len(block.path) :]))
                indent = _blanks_at(self.source, dotted[-1].lines[0])
                self._add_line(dotted[-1].lines[1], indent, (*names, key), new)
                return
        if not path or several:
            raise _NoWayError
        self._add_table(path, {key: new})

    def _is_dotted(self, path: Path) -> bool:
        """Whether a table is written by keys with dots, and has no heading."""
        return (
            bool(path)
            and not any(block.path == path for block in self.spans.blocks)
            and any(
                one.path[: len(path)] == path
                for block in self.spans.blocks
                for one in block.statements
                if len(block.path) < len(path)
            )
        )

    def _add_line(self, at: int, indent: str, names: tuple[str, ...], new: Any) -> None:
        note = self.noted(None, {names[-1]: None})
        behind = f"  # {note}" if note else ""
        self._insert(at, f"{indent}{written_key(*names)} = {written_value(new)}{behind}")

    def _add_table(self, path: Path, new: Mapping[str, Any], *, brackets: str = "[]") -> None:
        names = [part for part in path if isinstance(part, str)]
        left, right = brackets[: len(brackets) // 2], brackets[len(brackets) // 2 :]
        lines = [f"{left}{written_key(*names)}{right}"]
        lines += [f"{written_key(key)} = {written_value(one)}" for key, one in new.items()]
        at = len(self.source)
        if brackets == "[[]]":
            same = [one for one in self.spans.blocks if one.path[: len(path)] == path and path]
            at = same[-1].end if same else at
        self._leave_blank_lines(at)
        self._insert(at, self.newline.join([*([""] if self._needs_blank(at) else []), *lines]))

    def _leave_blank_lines(self, at: int) -> None:
        """Where something comes in the place of a table, its empty lines stay behind it."""
        self.pieces = [
            (start, at, count, new) if start < at < end and not new else (start, end, count, new)
            for start, end, count, new in self.pieces
        ]

    def _needs_blank(self, at: int) -> bool:
        """Whether no empty line will stand above what is put there."""
        here = [piece for piece in self.pieces if piece[1] == at]
        if any(start == end for start, end, _, _ in here):
            return True
        above = self.source[: min((piece[0] for piece in here), default=at)]
        return bool(above.strip()) and not above.endswith(2 * self.newline)

    def _append(self, path: Path, new: Mapping[str, Any]) -> None:
        """One more table behind the last of several."""
        if path not in self.spans.values:
            self._add_table(path, new, brackets="[[]]")
            return
        last = max(one for one in self.spans.members if one[:-1] == path)
        end = self.spans.members[last][1]
        self._put(end, end, f", {written_value(new)}")

    def _add_member(self, path: Path, key: str, new: Any) -> None:
        """One more key in an inline table."""
        last = max(
            end
            for one, (_, end) in self.spans.members.items()
            if one[: len(path)] == path and len(one) > len(path)
        )
        self._put(last, last, f", {written_key(key)} = {written_value(new)}")
        self._note(self.spans.owners[path], (*path, key), None)

    def _with_comma(self, path: Path) -> Span:
        """A member with the comma that parts it from the next one, or from the one before."""
        start, end = self.spans.members[path]
        behind = re.compile(r"\s*,\s*").match(self.source, end)
        if behind:
            return start, behind.end()
        before = re.compile(r"\s*,\s*$").search(self.source, 0, start)
        return (before.start() if before else start), end

    def _with_blank_lines(self, block: Block) -> Span:
        """The lines of a table; of the empty lines around it no more go than stay."""
        start, end = block.lines[0], block.end
        above = self.source[:start]
        if not above.strip() or above.endswith(2 * self.newline):
            blank = re.compile(r"(?:[ \t]*\r?\n)*").match(self.source, end)
            assert blank is not None, "it matches nothing, too"
            end = blank.end()
        return start, end

    def _insert(self, at: int, lines: str) -> None:
        """Whole lines, where one ends."""
        ended = at == 0 or self.source[at - 1] == "\n"
        self._put(at, at, lines + self.newline if ended else self.newline + lines)

    def _put(self, start: int, end: int, new: str) -> None:
        self.pieces.append((start, end, len(self.pieces), new))

    def _note(self, one: Statement, path: Path, old: Any) -> None:
        """Remember what stood on a line."""
        rest = [part for part in path[len(one.path) :] if isinstance(part, str)]
        if len(path) > len(one.path) and not rest:  # a whole table of a list
            return
        name = ".".join(rest)
        self.changed.setdefault(one.value, (one, {}))[1].setdefault(name, old)

    def _put_notes(self) -> None:
        for one, keys in self.changed.values():
            end = one.lines[1]
            rest = self.source[one.value[1] : end]
            body = rest.rstrip("\r\n")
            blanks = body[: len(body) - len(body.lstrip())]
            has = body.strip().startswith("#")
            old = body.strip()[1:].strip() if has else None
            note = self.noted(old, keys)
            if note is None:
                continue
            grown = sum(
                len(new) - (stop - start)
                for start, stop, _, new in self.pieces
                if one.value[0] <= start and stop <= one.value[1]
            )
            several = "\n" in self.source[one.value[0] : one.value[1]]
            # So that notes below each other stay so.
            kept = len(blanks) - (0 if several else grown) if has else 2
            gap = blanks if "\t" in blanks else " " * max(kept, min(2, len(blanks)) if has else 2)
            self._put(one.value[1], one.value[1] + len(body), f"{gap}# {note}")


def _are_tables(node: object) -> bool:
    return isinstance(node, list) and bool(node) and all(isinstance(one, dict) for one in node)


def _blanks_at(text: str, at: int) -> str:
    match = re.compile(r"[ \t]*").match(text, at)
    assert match is not None, "it matches nothing, too"
    return match[0]


def _indent(text: str, block: Block) -> str:
    last = block.statements[-1].lines[0] if block.statements else block.lines[0]
    return _blanks_at(text, last)


def _in_its_quotes(old: str, new: Any) -> str:
    """A value in the quotation marks that the old one has, where it can stand in them."""
    plain = isinstance(new, str) and "'" not in new
    if plain and old.startswith("'") and not old.startswith("'''"):
        return f"'{new}'"
    return written_value(new)
