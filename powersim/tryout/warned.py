"""What a change on the page is warned of: of its files, and of what it comes to."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from powersim.inputs.change_cautions import (
    change_cautions,
    change_doubts,
    is_odd,
    new_standing_cautions,
)

if TYPE_CHECKING:
    from powersim.tryout.trials import Trial


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
    odd = change_doubts(passage, before)
    told: list[dict[str, str | None]] = [
        {"place": one.place, "text": f"{one.text}; {one.expected}"} for one in odd
    ]
    cautions = change_cautions(passage, before)
    told += [{"place": None, "text": one.sentence} for one in cautions]
    standing = () if before is None else new_standing_cautions(passage, before)
    told += [{"place": None, "text": text} for text in standing]
    told += [{"place": None, "text": text} for text in _simulated_not_in(trial, own)]
    return told


def _simulated_not_in(trial: Trial, own: Trial | None) -> Iterator[str]:
    """What only shows in average weather, and is of another kind than before."""
    passage = trial.result.passage
    known = {_kind(one["text"]) for one in (own.summary["warnings"] if own else ())}
    for one in trial.summary["warnings"]:
        if _kind(one["text"]) not in known and not is_odd(one["text"], passage):
            yield f"Already in average weather: {one['text']}; {one['advice']}."


def _kind(text: str) -> str:
    """A warning up to its first figure, which moves with every change."""
    return re.split(r"\d", text, maxsplit=1)[0]
