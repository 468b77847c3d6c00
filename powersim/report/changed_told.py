"""What an answer says first where it is not of the files as they are: what was changed in them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from powersim.records.set_value import WHAT_IF
from powersim.report.plain import plain
from powersim.report.view import Bullets, Paragraph

if TYPE_CHECKING:
    from powersim.records import Passage, SetValue


def changed_told(changed: Sequence[SetValue] | Sequence[Mapping[str, Any]]) -> str:
    """What was changed, in one sentence; empty where nothing was.

    Parameters
    ----------
    changed : sequence of SetValue, or of mapping
        Of the passage, or of its summary.

    Examples
    --------
    >>> changed_told([{"told": "battery.capacity 300 Ah (was 220 Ah)"}, {"told": "music left off"}])
    'What if, not as the files say: battery.capacity 300 Ah (was 220 Ah); music left off.'
    """
    words = [one["told"] if isinstance(one, Mapping) else one.told for one in changed]
    return f"{WHAT_IF} {'; '.join(words)}." if words else ""


def changed_sections(passage: Passage) -> tuple[Paragraph | Bullets, ...]:
    """The same as sections of an answer, and what it is warned of; none where nothing was changed.

    Parameters
    ----------
    passage : Passage
        That the answer is of.
    """
    told = changed_told(passage.changed)
    warned = passage.change_warnings
    return (*((Paragraph(told),) if told else ()), *((Bullets(warned),) if warned else ()))


def changed_dicts(passage: Passage) -> list[dict[str, Any]]:
    """The same for a program: place, old and new value, and how it is told.

    Parameters
    ----------
    passage : Passage
        That the answer is of.
    """
    return plain(list(passage.changed))


def changed_note(passage: Passage) -> str:
    """The same as lines of a note in a file, each behind a #; empty where nothing was changed.

    Parameters
    ----------
    passage : Passage
        That the file was made for.
    """
    words = [one.told for one in passage.changed]
    return "".join(f"# {line}\n" for line in ([WHAT_IF, *words] if words else []))
