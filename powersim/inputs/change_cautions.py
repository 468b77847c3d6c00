"""What a change deserves to be warned of, and the files as they are do not."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from powersim.inputs.cautions import cautions_of
from powersim.records import Caution, Passage
from powersim.records.load import PROTECTED_ROLES

if TYPE_CHECKING:
    from powersim.errors import Problem

#: What a load of these roles is for; lights that are missing are told by the rules themselves.
_KEPT_ON = {
    "lookout": "your lookout while you sleep",
    "vhf": "your VHF",
    "bilge pump": "your bilge pump",
}
assert _KEPT_ON.keys() <= set(PROTECTED_ROLES)
_OFF_BY_ITSELF = "its count is 0"


def change_doubts(passage: Passage, before: Passage | None) -> tuple[Problem, ...]:
    """Figures that may be slips, and that the files do not have.

    Parameters
    ----------
    passage : Passage
        With what was changed.
    before : Passage or None
        As the files say; None for all of them.
    """
    known = set() if before is None else {(one.text, one.expected) for one in before.doubts}
    return tuple(one for one in passage.doubts if (one.text, one.expected) not in known)


def change_cautions(passage: Passage, before: Passage | None) -> tuple[Caution, ...]:
    """What is left off that nobody should be without at sea, and what `check` would warn of.

    Parameters
    ----------
    passage : Passage
        With what was changed.
    before : Passage or None
        As the files say; None for all that is warned of.
    """
    return (*_left_off(passage, before), *_cautions_not_in(passage, before))


def change_warnings(passage: Passage, before: Passage) -> tuple[str, ...]:
    """All that a change is warned of, figures that may be slips first, a sentence each.

    Parameters
    ----------
    passage : Passage
        With what was changed.
    before : Passage
        As the files say.
    """
    doubts = change_doubts(passage, before)
    odd = [
        Caution(text=one.text, advice=one.expected or "see whether it is meant") for one in doubts
    ]
    return tuple(one.sentence for one in (*odd, *change_cautions(passage, before)))


def _left_off(passage: Passage, before: Passage | None) -> Iterator[Caution]:
    """A load that nobody should be without at sea, and that the files have on."""
    on = {one.known_as for one in (before.loads if before else passage.loads) if one.count}
    for load in passage.loads:
        if load.role in _KEPT_ON and not load.count and load.known_as in on:
            yield Caution(
                text=f"{load.name}, {_KEPT_ON[load.role]}, is left off",
                advice="keep it on at sea, and look for what else can go",
            )


def _cautions_not_in(passage: Passage, before: Passage | None) -> Iterator[Caution]:
    """What `check` would warn of, but for a load that was left off on purpose."""
    known = set() if before is None else set(cautions_of(before))
    for one in cautions_of(passage):
        if one not in known and _OFF_BY_ITSELF not in one.text and not is_odd(one.text, passage):
            yield one


def is_odd(text: str, passage: Passage) -> bool:
    """Whether a warning is about a figure that may be a slip, which is told by itself.

    Parameters
    ----------
    text : str
        Of the warning.
    passage : Passage
        Whose doubts count.
    """
    return any(one.text in text for one in passage.doubts)
