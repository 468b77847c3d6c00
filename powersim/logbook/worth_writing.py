"""What a log shows that is worth writing into the files, and what is not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.logbook.load_shares import UNLISTED
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
        elif abs(factor - 1.0) < _SAME and (name != "demand" or _all_same(posterior)):
            left.append(f"{named(name)}: the log bears out what the files say")
        else:
            worth[name] = factor
    return worth, tuple(left)


def _all_same(posterior: Posterior) -> bool:
    """Whether each load by itself is as the files have it, so that a sea trial shows none else."""
    return bool((posterior.loads.factors == 1.0).all())


def unlisted_load(posterior: Posterior) -> dict[str, str] | None:
    """The line of loads.csv that stands for what the list lacks; None where it lacks nothing.

    It is on all day and is the last to be shed: nobody knows what it is.

    Parameters
    ----------
    posterior : Posterior
        A log compared with its passage.
    """
    loads = posterior.loads
    if loads.unlisted_Ah <= 0.0:
        return None
    draw_W = loads.unlisted_Ah * posterior.passage.boat.battery.nominal_V / 24.0
    spread = min(loads.unlisted_sd_Ah / loads.unlisted_Ah, 1.0)
    return {
        "load": UNLISTED,
        "draw": f"{draw_W:.3g} W",
        "when": "any",
        "window": "always",
        "on": "100 %",
        "priority": "essential",
        "supply": "dc",
        "spread": f"{100.0 * spread:.0f} %",
        "note": "by the log: drawn beyond this list; look for it with a clamp meter",
    }


def told_of_loads(posterior: Posterior) -> tuple[str, ...]:
    """What to know of loads that are written, a sentence each.

    Parameters
    ----------
    posterior : Posterior
        A log compared with its passage.
    """
    loads = posterior.loads
    unlisted = f"{abs(loads.unlisted_Ah):.1f} Ah a day"
    if loads.unlisted_Ah > 0.0:
        return (
            "A log shows what all loads draw together. Each was moved by no more than its own "
            f"doubt (spread); the other {unlisted} are a line of their own, '{UNLISTED}': longer "
            "hours, cables or something forgotten. A clamp meter shows what it is: put that into "
            "the list in its place.",
        )
    if loads.unlisted_Ah < 0.0:
        return (
            f"The log shows {unlisted} less than this list has even now. No load was lowered "
            "beyond its own doubt (spread), so that these files have her draw more than the log "
            "shows: the days that they tell are too few rather than too many.",
        )
    return ()
