"""The kernel compiled for this computer, where it is wanted and can be had."""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np

from powersim.kernel.carry import carry_members
from powersim.kernel.compiling import CompiledEntry, prepare
from powersim.kernel.flows import Flows
from powersim.kernel.machine_code import MachineCode
from powersim.kernel.records import CHARGER, MEMBER, OFFER, ROW, STATE, TOLD

#: What can be asked for: plain Python for one member and compiled code for more, or either always.
AUTO, PLAIN, COMPILED = "auto", "plain", "compiled"
#: What it costs was measured on the demo (docs/performance.md).
UNCOMPILED = (
    "the simulation runs uncompiled here ({reason}):\n"
    "200 passages of a month at sea take some 15 s instead of 0.1 s"
)


def _say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)  # noqa: T201 - it takes seconds, once


class _Wanted:
    """How the kernel is run in this process, and who is told that it is being compiled."""

    how = AUTO
    tell: Callable[[str], object] = _say


def tell_by(tell: Callable[[str], object]) -> None:
    """Say by whom the sailor is told that the kernel is being compiled.

    Parameters
    ----------
    tell : callable
        Of one line of text.
    """
    _Wanted.tell = tell


def run_as(how: str) -> str:
    """Say how the kernel is to be run from now on, whatever the number of members.

    Parameters
    ----------
    how : str
        AUTO, PLAIN or COMPILED.

    Returns
    -------
    str
        What it was before.
    """
    before, _Wanted.how = _Wanted.how, how
    return before


def kernel(*, members: int) -> MachineCode | None:
    """What carries so many members: compiled code, or None for plain Python.

    Parameters
    ----------
    members : int
        How many members.

    Returns
    -------
    MachineCode or None
        To be called as kernel.carry.carry_members. One member alone is carried by plain Python,
        unless compiled code is at hand already: both give the same to the last bit.
    """
    if _Wanted.how == PLAIN or (_Wanted.how == AUTO and members == 1 and not _ready):
        return None
    return prepared().run


def prepared() -> CompiledEntry:
    """Have the kernel compiled, or read from the cache, unless that has been done.

    Returns
    -------
    CompiledEntry
        Where it cannot be compiled, which is told once.
    """
    if not _ready:
        answer = prepare(carry_members, _examples(), tell=_Wanted.tell)
        if answer.run is None:
            _Wanted.tell(UNCOMPILED.format(reason=answer.reason))
        _ready.append(answer)
    return _ready[0]


_ready: list[CompiledEntry] = []


def _examples() -> tuple[np.ndarray | int | float, ...]:
    """One argument of each kind, in the order of carry_members."""
    numbers, matrix, cube = (np.zeros((1,) * axes) for axes in (1, 2, 3))
    places, table = np.zeros(1, np.int64), np.zeros((1, 3), np.int64)
    return (
        *(0, 1),
        *(np.zeros(1, STATE), np.zeros(1, TOLD)),
        *(np.zeros(1, ROW), numbers, np.zeros((1, 1), OFFER), numbers),
        *(table, cube, places),
        *(table, cube, places),
        *(np.zeros(1, MEMBER), places, np.zeros(1, CHARGER)),
        *(places, matrix, np.zeros(len(Flows._fields))),
        *(0.25, 0, 0.0, 0.0, 0, 1),
        *(places, matrix, places, cube),
    )
