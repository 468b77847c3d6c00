"""Of what a function is asked: a passage, or one that has been worked out or simulated before."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from powersim.records import Passage

if TYPE_CHECKING:
    from powersim.simulation.prepared_passage import PreparedPassage
    from powersim.simulation.result import SimulationResult


def passage_of(asked: object) -> Passage:
    """The passage itself.

    Parameters
    ----------
    asked : Passage, PreparedPassage or Result
        What a function was given.

    Returns
    -------
    Passage
        Without what was worked out of it.

    Raises
    ------
    TypeError
        If it is none of them, such as the name of a folder.
    """
    passage = getattr(asked, "passage", asked)
    if not isinstance(passage, Passage):
        raise TypeError(
            f"expected a passage, as powersim.load('my-passage') gives it; got {asked!r:.60}"
        )
    return passage


def ready_of(
    asked: Passage | PreparedPassage[Any] | SimulationResult, *, step_h: float
) -> PreparedPassage[Any] | SimulationResult:
    """The passage worked out: as it is where it is so already, in its own step.

    Parameters
    ----------
    asked : Passage, PreparedPassage or Result
        What a function was given.
    step_h : float
        For a passage. [h]

    Returns
    -------
    PreparedPassage or Result
        Ready to be asked.

    Raises
    ------
    TypeError
        If it is none of them.
    """
    passage = passage_of(asked)
    if asked is not passage:
        return asked  # type: ignore[return-value]
    from powersim.simulation.prepared_passage import prepared_passage
    from powersim.simulation.result import SimulationResult

    return prepared_passage(passage, step_h=step_h, members=1, kind=SimulationResult)
