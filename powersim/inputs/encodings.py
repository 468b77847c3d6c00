"""How the text of a sailor's table lies in its file: UTF-8, UTF-16, or as Windows keeps it.

Spreadsheets save all three. What is written anew keeps what it had.
"""

from __future__ import annotations

import codecs
import re

from powersim.errors import refused

WINDOWS = "cp1252"  # Western European Windows
_UTF16 = {codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}
_UTF32 = (codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)
#: Two bytes or more that are one sign of UTF-8, and hardly ever anything in cp1252.
_ONE_SIGN = re.compile(
    rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}"
)
_CONTROLS = re.compile(rb"[\x00-\x08\x0e-\x1f\x7f]")


def mark_of(raw: bytes) -> bytes:
    """The byte-order mark that a file begins with, or nothing.

    Parameters
    ----------
    raw : bytes
        Of the file.
    """
    marks = (codecs.BOM_UTF8, *_UTF16)
    return next((mark for mark in marks if raw.startswith(mark)), b"")


def is_utf16(raw: bytes) -> bool:
    """Whether a file says that it is in UTF-16.

    Parameters
    ----------
    raw : bytes
        Of the file.
    """
    return mark_of(raw) in _UTF16 and not raw.startswith(_UTF32)


def utf16_text(raw: bytes, *, errors: str = "strict") -> str:
    """The text of a file in UTF-16, without its mark.

    Parameters
    ----------
    raw : bytes
        With its mark.
    errors : str
        As bytes.decode has it.

    Raises
    ------
    UnicodeDecodeError
        If it is none, and errors are not replaced.
    """
    mark = mark_of(raw)
    return raw[len(mark) :].decode(_UTF16[mark], errors)


def has_utf8_signs(raw: bytes) -> bool:
    """Whether bytes hold a sign of UTF-8 beyond the first 128: then all of a file is UTF-8.

    Parameters
    ----------
    raw : bytes
        Of a file.
    """
    return _ONE_SIGN.search(raw) is not None


def windows_text(raw: bytes) -> str | None:
    """The text of bytes that are not UTF-8, if they are text of Windows as far as can be told.

    Parameters
    ----------
    raw : bytes
        A whole file, or a line of it.

    Returns
    -------
    str or None
        None where signs of UTF-8 are among them, or what no text has. Whatever else they may be,
        digits, signs and the letters a to z are the same in all that Windows and DOS have had.
    """
    if has_utf8_signs(raw) or _CONTROLS.search(raw):
        return None
    try:
        return raw.decode(WINDOWS)
    except UnicodeDecodeError:
        return None


def encoded_like(text: str, before: bytes, *, file: str) -> bytes:
    """A text as it goes into a file that held something else before, in the same encoding.

    Parameters
    ----------
    text : str
        Without a byte-order mark.
    before : bytes
        What the file held, which could be read.
    file : str
        Its name in messages.

    Raises
    ------
    InputError
        If that encoding has no such sign.
    """
    mark = mark_of(before)
    if is_utf16(before):
        return mark + text.encode(_UTF16[mark])
    try:
        before.decode("utf-8")
    except UnicodeDecodeError:
        return _for_windows(text, file)
    return mark + text.encode("utf-8")


def _for_windows(text: str, file: str) -> bytes:
    try:
        return text.encode(WINDOWS)
    except UnicodeEncodeError as error:
        sign = text[error.start]
        what = f"is in the encoding of Windows (cp1252), which has no {sign!r}"
        raise refused(file, what, "the file saved as UTF-8 first, then the same again") from None
