"""A passage tried in its members, with all that it has in common with the one tried before it.

`size` and `compare` try many passages that differ in little, one after the other in each process.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from powersim.defaults import RISK_FRAC
from powersim.records import Passage
from powersim.simulation.ensemble import EnsembleResult, run_ensemble
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.member_signals import EnsembleForcing
from powersim.simulation.prepare import prepare
from powersim.simulation.prepared_passage import PreparedPassage
from powersim.simulation.result import SimulationResult

#: The passage that was tried last in this process: its track and sky serve the next as well.
_LAST: list[PreparedPassage[Any]] = []


class Tried(NamedTuple):
    """A passage, what its members meet, and what came of them.

    Attributes
    ----------
    ready : PreparedPassage
        Worked out up to its first step, with its members.
    forcing : EnsembleForcing
        Those members.
    ensemble : EnsembleResult
        What came of them.
    """

    ready: PreparedPassage[Any]
    forcing: EnsembleForcing
    ensemble: EnsembleResult


def tried(
    passage: Passage, *, members: int, seed: int, step_h: float, risk_frac: float = RISK_FRAC
) -> Tried:
    """Try a passage in its members.

    Parameters
    ----------
    passage : Passage
        Boat, route, loads and weather files.
    members, seed : int
        How many members, and which.
    step_h : float
        Length of a step. [h]
    risk_frac : float
        As for `run_ensemble`. [-]

    Returns
    -------
    Tried
        The same whatever was tried before, and in whatever process.

    Raises
    ------
    InputError
        If a weather file does not cover the boat, unless it may be left out.
    BalanceError
        If the books of a member do not close.
    """
    drawn: dict[str, Any] = {"members": members, "seed": seed}
    ready = _again(passage, **drawn, step_h=step_h)
    if ready is None:
        prepared = prepare(passage, step_h=step_h)
        ready = PreparedPassage(
            passage=passage,
            prepared=prepared,
            forcing=draw_ensemble(passage, prepared, **drawn),
            kind=SimulationResult,
        )
    _LAST[:] = [ready]
    assert ready.forcing is not None, "its members were drawn"
    ensemble = run_ensemble(
        passage, ready.prepared, forcing=ready.forcing, risk_frac=risk_frac, **drawn
    )
    return Tried(ready, ready.forcing, ensemble)


def _again(passage: Passage, *, members: int, seed: int, step_h: float) -> PreparedPassage | None:
    """What is left to work out of it after the last one; None if that has other members."""
    last = _LAST[0] if _LAST else None
    if last is None or last.forcing is None:
        return None
    how = (last.forcing.members, last.forcing.seed, last.prepared.track.step_h)
    return last.changed(passage) if how == (members, seed, step_h) else None
