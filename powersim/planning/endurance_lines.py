"""The lines of the endurance table, begun at one moment of the passage or at several at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.planning.cases import LOAD_SETS
from powersim.planning.depletion_batch import Question, depletion_times_h
from powersim.planning.scenario import changed

if TYPE_CHECKING:
    from powersim.kernel.state import BatchState
    from powersim.planning.cases import Case
    from powersim.records import Boat
    from powersim.simulation.mean_sky import MeanSky
    from powersim.simulation.member_signals import EnsembleForcing

#: What is lost, and which loads are on.
Key = tuple[str, str]


class EnduranceLines:
    """All cases with all sets of loads, in some members.

    Parameters
    ----------
    forcing : MeanSky or EnsembleForcing
        The members of the passage with nothing lost.
    cases : sequence of Case
        The first of them with nothing lost.
    boat : Boat
        With nothing lost.
    """

    def __init__(
        self, forcing: MeanSky | EnsembleForcing, cases: Sequence[Case], *, boat: Boat
    ) -> None:
        self.forcing, self.cases, self.boat = forcing, cases, boat
        whole = cases[0].passage
        self._forcings = {
            case.loss: forcing if case.passage is whole else changed(forcing, case.passage)
            for case in cases
        }

    def questions(self, step: int, state: BatchState) -> dict[Key, Question | None]:
        """One for each line that begins at a step; None where all goes dark at once."""
        found: dict[Key, Question | None] = {}
        for case in self.cases:
            forcing = self._forcings[case.loss]
            begins = begun(case, self.forcing, forcing, state)
            for loads, groups in LOAD_SETS.items():
                switches = case.switches._replace(groups=groups)
                found[case.loss, loads] = (
                    None
                    if case.dark
                    else Question(forcing=forcing, state=begins, switches=switches, step=step)
                )
        return found

    def lasts_h(
        self,
        questions: Sequence[dict[Key, Question | None]],
        *,
        until: int,
        progress: Callable[[float], Any],
    ) -> list[dict[Key, tuple[np.ndarray, np.ndarray]]]:
        """Hours to the floor and to flat, shaped (members,), of the lines of each moment.

        What does not come before the step `until` is infinite; `progress` is called with the share
        of the work that is done.
        """
        asked = [
            (place, key, question)
            for place, lines in enumerate(questions)
            for key, question in lines.items()
            if question is not None
        ]
        found = depletion_times_h(
            [question for _, _, question in asked],
            until=until,
            floor_soc=self.boat.battery.floor_soc,
            progress=lambda answered: progress(answered / len(asked)),
        )
        at_once = (np.zeros(self.forcing.members),) * 2
        lasts_h: list[dict[Key, tuple[np.ndarray, np.ndarray]]]
        lasts_h = [dict.fromkeys(lines, at_once) for lines in questions]
        for (place, key, _), hours in zip(asked, found, strict=True):
            lasts_h[place][key] = hours
        return lasts_h


def begun(
    case: Case,
    before: MeanSky | EnsembleForcing,
    after: MeanSky | EnsembleForcing,
    state: BatchState,
) -> BatchState:
    """The state that a case begins with, for its own bank and fuel.

    Parameters
    ----------
    case : Case
        What is lost.
    before, after : MeanSky or EnsembleForcing
        The members with nothing lost, and with that.
    state : State
        As everything worked until then.
    """
    share = after.plant.bank.full_Ah / before.plant.bank.full_Ah
    state = state._replace(total_Ah=state.total_Ah * share, available_Ah=state.available_Ah * share)
    if not case.cans_only:
        return state
    fuel = before.prepared.passage.boat.fuel
    assert fuel is not None, "there are cans aboard"
    in_cans_L = np.minimum(fuel.jerrycans_L, fuel.usable_L - state.burnt_L)
    return state._replace(burnt_L=fuel.usable_L - in_cans_L)
