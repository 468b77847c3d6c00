"""Other sizes of bank, panels and alternator, tried in the same simulated passages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from powersim.api.asked import passage_of
from powersim.defaults import RISK_FRAC, SEED, SIZE_MEMBERS, STEP_h

if TYPE_CHECKING:
    from powersim.planning.size_front import Sized
    from powersim.records import Passage
    from powersim.simulation.prepared_passage import PreparedPassage
    from powersim.simulation.result import SimulationResult


def size(
    passage: Passage | PreparedPassage[Any] | SimulationResult,
    *,
    batteries_Ah: Sequence[float] = (),
    solars_W: Sequence[float] = (),
    alternators_A: Sequence[float] = (),
    chemistries: Sequence[str] = (),
    members: int = SIZE_MEMBERS,
    seed: int = SEED,
    risk_frac: float = RISK_FRAC,
    step_h: float = STEP_h,
    replan: bool = False,
    jobs: int | None = None,
    backend: str = "local",
    scheduler: str | None = None,
) -> Sized:
    """Try other sizes of bank, panels and alternator in the same simulated passages.

    Parameters
    ----------
    passage : Passage, PreparedPassage or Result
        From `load`.
    batteries_Ah, solars_W, alternators_A : sequence of float
        Sizes to try, every combination; the boat's own where empty. [Ah], [W], [A]
    chemistries : sequence of str
        Of the bank: "flooded", "gel", "agm", "lifepo4"; the boat's own if empty.
    members : int
        How many simulated passages.
    seed : int
        Which ones: one seed draws the same on any machine.
    risk_frac : float
        Share of the simulated passages in which a choice may fail. [-]
    step_h : float
        Step of the simulation. [h]
    replan : bool
        Search a rule for each of the cheapest choices too; slow.
    jobs : int or None
        Processes at once on this machine; None for one a core.
    backend : str
        "local", or "dask" for a cluster of your own.
    scheduler : str or None
        Of that cluster, such as "tcp://192.168.1.20:8786". Whoever answers there can run code on
        this machine.

    Returns
    -------
    Sized
        `.points` has every choice, the boat as she is first; `.front` the cheapest adequate ones,
        lightest first, and `.rules` a rule for each of those, if it was asked for.

    Raises
    ------
    ValueError
        If there are no panels, or is no alternator, that could be scaled; if another chemistry is
        asked for of a passage that was read from no folder.
    InputError
        If what boat.toml says does not go with a chemistry.
    """
    from powersim.inputs.other_chemistry import boats_of
    from powersim.planning.size import points
    from powersim.planning.size_choices import choice_of, grid
    from powersim.planning.size_front import compare_choices
    from powersim.planning.size_point import Study
    from powersim.planning.size_replan import RuleStudy
    from powersim.planning.size_replan import replan as rules_of

    asked = passage_of(passage)
    boats, _ = boats_of(asked, chemistries)
    study = Study(passage=asked, boats=boats, members=members, seed=seed, step_h=step_h)
    choices = grid(
        boats,
        choice_of(asked.boat),
        chemistries=chemistries,
        batteries_Ah=batteries_Ah,
        solars_W=solars_W,
        alternators_A=alternators_A,
    )
    where: dict[str, Any] = {"jobs": jobs, "backend": backend, "scheduler": scheduler}
    found = {point.choice: point for point in points(study, choices, **where)}
    sized = compare_choices([found[choice] for choice in choices], risk_frac=risk_frac)
    if not (replan and sized.front):
        return sized
    best = [one.point.choice for one in sized.front]
    ask = RuleStudy(study=study, risk_frac=risk_frac)
    rules = {one.choice: one for one in rules_of(ask, best, **where)}
    return replace(sized, rules=tuple(rules[choice] for choice in best))
