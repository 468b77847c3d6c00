"""Reading a file of the sailor's safely, and small helpers for the wording of messages."""

from __future__ import annotations

import difflib
import errno
import io
import stat
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from os import PathLike
from pathlib import Path

from powersim.errors import InputError, Problem, refused
from powersim.inputs.encodings import has_utf8_signs, is_utf16, utf16_text, windows_text

#: A load list or a route is a few kB and a long GPX track a few hundred. [byte]
LARGEST_FILE_BYTES = 5_000_000
LONGEST_NAME = 60  # characters; a name has to fit a line of a table
_LONGEST_QUOTE = 60
_ZIP_START = b"PK\x03\x04"  # xlsx and ods files are zip archives
_PLAIN_TEXT = "a plain text file; in a spreadsheet, save as CSV in UTF-8"


class ReadingError(ValueError):
    """A value cannot be read.

    Attributes
    ----------
    reason : str
        What is wrong, with the value as typed; the readers put place and expectation around it.
    """

    def __init__(self, reason: str):
        super().__init__(reason)
        self.reason = reason


def quoted(text: str) -> str:
    """The value as typed, in quotation marks, cut short where it is very long.

    Parameters
    ----------
    text : str
        As it stands in the file.
    """
    short = text if len(text) <= _LONGEST_QUOTE else text[: _LONGEST_QUOTE - 3] + "..."
    return repr(short)


def printable(text: str, *, longest: int) -> str:
    """The text on one line, without signs that could upset a terminal, cut to a length.

    Examples
    --------
    >>> printable("vhf,\\t6 W", longest=7)
    'vhf,...'
    """
    shown = "".join(sign if sign.isprintable() else " " for sign in text[: longest + 1]).strip()
    return shown if len(text) <= longest else shown[: longest - 3] + "..."


def closest(word: str, known: Iterable[str]) -> str | None:
    """The known word that this one was most likely meant to be, or None.

    Examples
    --------
    >>> closest("sialing", ["sailing", "motoring"])
    'sailing'
    """
    by_key = {name.casefold(): name for name in known}
    found = difflib.get_close_matches(word.casefold()[:_LONGEST_QUOTE], by_key, n=1)
    return by_key[found[0]] if found else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """The end of a message that names the closest known word; nothing if none is close."""
    match = closest(word, known)
    return "" if match is None else f"; did you mean {match!r}?"


def read_text(path: str | PathLike[str], *, file: str | None = None, is_table: bool = False) -> str:
    """The text of a file, or one Problem that says why it cannot be had.

    Parameters
    ----------
    path : str or Path
        The file to read.
    file : str or None
        What to call it in messages; None shows the path as given.
    is_table : bool
        Whether it is one that spreadsheets save, perhaps in UTF-16 or as Windows keeps text.

    Returns
    -------
    str
        Its text, with line ends as they stand and without a byte-order mark.

    Raises
    ------
    InputError
        If it is missing, no plain file, unreadable, empty, too large, binary or not UTF-8.
    """
    name = str(path) if file is None else file
    return text_of(_read_bytes(Path(path), name), file=name, is_table=is_table)


def text_of(raw: bytes, *, file: str, is_table: bool = False) -> str:
    """The text of a file that has been read already, as `read_text` has it.

    Parameters
    ----------
    raw : bytes
        All of it.
    file : str
        What to call it in messages.
    is_table : bool
        As for `read_text`.
    """
    if len(raw) > LARGEST_FILE_BYTES:
        raise _too_large(file, len(raw))
    if not is_table:
        return _decoded(_refuse_other_kinds(raw, file), file)
    _refuse_archive(raw, file)
    if is_utf16(raw):
        try:
            return _refuse_empty(utf16_text(raw), file)
        except UnicodeDecodeError:
            raise refused(file, "begins as UTF-16 and does not go on so", _PLAIN_TEXT) from None
    try:
        return _decoded(raw, file)
    except InputError as error:
        text = windows_text(raw) if "is not UTF-8" in error.problems[0].text else None
        if text is None:
            raise
        return _refuse_empty(text, file)


def read_sound_lines(path: str | PathLike[str]) -> tuple[str, tuple[Problem, ...]]:
    """The text of a table without the lines that are none, as a power cut or a stray sign leaves.

    Returns
    -------
    str
        With a note in place of each line that is no text, so that lines keep their number.

    Raises
    ------
    InputError
        As `read_text`, and if more than half of the lines are none.
    """
    name = str(path)
    raw = _read_bytes(Path(path), name)
    _refuse_archive(raw, name)
    sound = _sound_utf16(raw) if is_utf16(raw) else _sound_lines(raw, name)
    problems = [
        Problem(file=name, line=number, text=fault, expected="UTF-8; write the line anew")
        for number, (_, fault) in enumerate(sound, start=1)
        if fault is not None
    ]
    if 2 * len(problems) > len(sound):  # no text at all: one message tells that
        return text_of(raw, file=name, is_table=True), ()
    text = "".join("#\n" if fault is not None else line for line, fault in sound)
    return _refuse_empty(text, name), tuple(problems)


def _sound_lines(raw: bytes, name: str) -> list[tuple[str, str | None]]:
    """Each line, and why it is no text."""
    lines = raw.splitlines(keepends=True)
    found: list[tuple[str, str | None]] = []
    in_utf8 = has_utf8_signs(raw)
    for line in lines:
        try:
            found.append((_decoded(line, name, is_line=True), None))
        except InputError as error:
            text = None if in_utf8 else windows_text(line)
            reason = error.problems[0].text.replace("is not text (it holds", "not text: it holds")
            found.append((text or "", reason.removesuffix(")") if text is None else None))
    return found


def _sound_utf16(raw: bytes) -> list[tuple[str, str | None]]:
    whole = utf16_text(raw, errors="replace")
    lines = io.StringIO(whole, newline="")
    return [
        (line, "not text in UTF-16" if "\ufffd" in line or "\0" in line else None) for line in lines
    ]


def _refuse_archive(raw: bytes, name: str) -> None:
    if raw.startswith(_ZIP_START):
        raise refused(name, "is a spreadsheet or an archive, not text", _PLAIN_TEXT)


def _refuse_other_kinds(raw: bytes, name: str) -> bytes:
    if is_utf16(raw):
        raise refused(name, "is written in UTF-16, not UTF-8", _PLAIN_TEXT)
    _refuse_archive(raw, name)
    return raw


def _decoded(raw: bytes, name: str, *, is_line: bool = False) -> str:
    if b"\0" in raw:
        raise refused(name, "is not text (it holds zero bytes)", _PLAIN_TEXT)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        start = error.start + (len(raw) - len(error.object))  # the mark is cut off before decoding
        line = raw.count(b"\n", 0, start) + 1
        reason = f"byte {raw[start]:#04x} in this line is not UTF-8"
        raise refused(name, reason, _PLAIN_TEXT, line) from None
    return text if is_line else _refuse_empty(text, name)


def _refuse_empty(text: str, name: str) -> str:
    if not any(_says_something(line) for line in text.splitlines()):
        raise refused(name, "is empty", "at least a heading and one row, or one key")
    return text


def _says_something(line: str) -> bool:
    line = line.strip()
    return bool(line) and not line.startswith("#")


def _read_bytes(path: Path, name: str) -> bytes:
    with refused_if_unreadable(name):
        size_bytes = ordinary_size(path, name)
        if size_bytes > LARGEST_FILE_BYTES:
            raise _too_large(name, size_bytes)
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_FILE_BYTES + 1)
    if len(raw) > LARGEST_FILE_BYTES:  # it grew since its size was asked
        raise _too_large(name, len(raw))
    return raw


def ordinary_size(path: Path, name: str) -> int:
    """Size of a file in bytes; InputError where it is a folder or not an ordinary file."""
    status = path.stat()
    if stat.S_ISDIR(status.st_mode):
        raise refused(name, "is a folder, not a file")
    if not stat.S_ISREG(status.st_mode):
        raise refused(name, "is not an ordinary file")
    return status.st_size


@contextmanager
def refused_if_unreadable(name: str) -> Iterator[None]:
    """Say as an InputError why a file cannot be read."""
    try:
        yield
    except FileNotFoundError:
        raise refused(name, "no such file") from None
    except PermissionError:
        raise refused(name, "may not be read (permission denied)") from None
    except (OSError, ValueError) as error:  # ValueError: a path with a zero byte in it
        if getattr(error, "errno", None) == errno.ENAMETOOLONG:
            raise  # told where the command ends, shortened
        reason = getattr(error, "strerror", None) or str(error)
        raise refused(name, f"cannot be read ({reason})") from None


def _too_large(name: str, size_bytes: int) -> InputError:
    reason = f"holds {size_bytes / 1e6:.1f} MB"
    return refused(
        name, reason, f"at most {LARGEST_FILE_BYTES / 1e6:.0f} MB; is it the right file?"
    )
