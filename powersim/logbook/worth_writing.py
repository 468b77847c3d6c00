"""Which of the factors from a log are worth writing into the files, and which are not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.logbook.words import NAMES, PARTLY_TOLD, matters, named

if TYPE_CHECKING:
    from powersim.logbook.posterior import Posterior

#: A factor this close to 1 is what the files say already. [-]
_SAME = 0.005


def worth_writing(posterior: Posterior) -> tuple[dict[str, float], tuple[str, ...]]:
    """The factors that a log determines at least in part, and a sentence on each of the others.

    Parameters
    ----------
    posterior : Posterior
        A log compared with its passage.

    Returns
    -------
    tuple of (dict of str to float, tuple of str)
        The factors by name, and why each of the others is left. What the boat has not got is left
        out.
    """
    told_frac = posterior.estimate.told_frac
    worth, left = {}, []
    for name, told, factor in zip(NAMES, told_frac, posterior.factors, strict=True):
        if not matters(name, posterior.passage.boat):
            continue
        if told < PARTLY_TOLD:
            left.append(f"{named(name)}: the log says little about it")
        elif abs(factor - 1.0) < _SAME:
            left.append(f"{named(name)}: the log bears out what the files say")
        else:
            worth[name] = factor
    return worth, tuple(left)
