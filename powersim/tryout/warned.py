"""What a change deserves to be warned of, and the files as they are do not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from powersim.inputs.cautions import cautions_of
from powersim.records import Caution, Passage
from powersim.records.load import PROTECTED_ROLES

if TYPE_CHECKING:
    from powersim.errors import Problem
    from powersim.tryout.trials import Trial

#: What a load of these roles is for; lights that are missing are told by the rules themselves.
_KEPT_ON = {
    "lookout": "your lookout while you sleep",
    "vhf": "your VHF",
    "bilge pump": "your bilge pump",
}
assert _KEPT_ON.keys() <= set(PROTECTED_ROLES)
_OFF_BY_ITSELF = "its count is 0"


def warnings_told(trial: Trial, *, own: Trial | None) -> list[dict[str, str | None]]:
    """What is warned of that was not before, odd figures first, each with its place if it has one.

    Parameters
    ----------
    trial : Trial
        The passage as it was changed.
    own : Trial or None
        As the files say; None where something is wrong with them, and all is told.
    """
    passage = trial.result.passage
    before = None if own is None else own.result.passage
    odd = _doubts_not_in(passage, before)
    told: list[dict[str, str | None]] = [
        {"place": one.place, "text": f"{one.text}; {one.expected}"} for one in odd
    ]
    cautions = [*_left_off(passage, before), *_cautions_not_in(passage, before)]
    told += [{"place": None, "text": one.sentence} for one in cautions]
    told += [{"place": None, "text": text} for text in _simulated_not_in(trial, own)]
    return told


def _doubts_not_in(passage: Passage, before: Passage | None) -> list[Problem]:
    known = set() if before is None else {(one.text, one.expected) for one in before.doubts}
    return [one for one in passage.doubts if (one.text, one.expected) not in known]


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
        if one not in known and _OFF_BY_ITSELF not in one.text and not _is_odd(one.text, passage):
            yield one


def _simulated_not_in(trial: Trial, own: Trial | None) -> Iterator[str]:
    """What only shows in average weather, and is of another kind than before."""
    passage = trial.result.passage
    known = {_kind(one["text"]) for one in (own.summary["warnings"] if own else ())}
    for one in trial.summary["warnings"]:
        if _kind(one["text"]) not in known and not _is_odd(one["text"], passage):
            yield Caution(text=one["text"], advice=one["advice"]).sentence


def _is_odd(text: str, passage: Passage) -> bool:
    """Whether it is about a figure that may be a slip, which has been told with its place."""
    return any(one.text in text for one in passage.doubts)


def _kind(text: str) -> str:
    """A warning up to its first figure, which moves with every change."""
    return re.split(r"\d", text, maxsplit=1)[0]
