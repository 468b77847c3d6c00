"""The docstring of a record: what is declared of its fields, beside what is written there."""

from __future__ import annotations

import re
from dataclasses import fields
from typing import Any, TypeVar

from powersim.records.declared import Declared, declared

_HEAD = "\n\n    Attributes\n    ----------\n"
_ENTRY = re.compile(
    r"^    (\w[\w, ]*)(?: : (.*))?\n((?:        .*\n|\n(?=        ))*)", re.MULTILINE
)
_UNITS = re.compile(r"(?:,? ?\[[^\]]*\])+$")
Record = TypeVar("Record")


def described(record: type[Record]) -> type[Record]:
    """Give the docstring of a record an entry for every field that is declared.

    What stands there says more than the sailor's words of a field, and goes before them; bounds,
    default, reason and unit are added to either.

    Parameters
    ----------
    record : dataclass
        Some of its fields are declared with `given`.

    Examples
    --------
    >>> from powersim.records import Battery
    >>> print(Battery.__doc__.partition("standby_A : float")[2].splitlines()[1].strip())
    What the bank's own protection takes: 0 to 5, usual 0 to 0.3. [A]
    """
    if record.__doc__ is None:  # python -OO
        return record
    head, _, tail = record.__doc__.partition(_HEAD)
    written = {
        name: (type_said, " ".join(words.split()))
        for names, type_said, words in _ENTRY.findall(tail.rstrip() + "\n")
        for name in names.split(", ")
    }
    kind: Any = record
    known = declared(kind)
    for one in fields(kind):  # in their order, below what is no field
        if one.name in known or one.name in written:
            type_said, words = written.pop(one.name, (str(one.type).replace(" | ", " or "), ""))
            if one.name in known:
                words = _words(known[one.name], words)
            written[one.name] = type_said, words
    entries = (
        f"    {name} : {type_said}\n" + _wrapped(words)
        for name, (type_said, words) in written.items()
    )
    record.__doc__ = head.rstrip() + _HEAD + "\n".join(entries) + "\n    "
    return record


def _words(known: Declared, words: str) -> str:
    """The description of a declared field; `words` stand in place of the sailor's."""
    said = words or known.meaning[:1].upper() + known.meaning[1:]
    units = _UNITS.search(said) if "[" in said else None
    said = said[: units.start() if units else None].rstrip(" .")
    if known.derived is not None:
        said += f": {known.derived}"
        said += ", usual {:.10g} to {:.10g}".format(*known.usual) if known.usual else ""
    if known.one_of and not words:
        said += f": {', '.join(known.one_of)}"
    if known.reason:
        said += f"; {known.default!r} by default ({known.reason})"
    if known.derived is None:
        return f"{said}.{units[0] if units else ''}"
    unit = (known.unit or "frac").replace("oktas", "frac")
    return f"{said}. [{'-' if unit == 'frac' else unit.replace('frac', '1')}]"


def _wrapped(words: str) -> str:
    """Lines of a description; textwrap takes ten times as long, at every start of a command."""
    lines = ["       "]
    for word in words.split():
        if len(lines[-1]) + len(word) > 98:
            lines.append("       ")
        lines[-1] += f" {word}"
    return "\n".join(lines)
