"""What a log can tell apart and what it cannot, in plain words."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from powersim.records import Boat
from powersim.records.units_aboard import aboard

if TYPE_CHECKING:
    from powersim.logbook.posterior import Posterior

#: The sailor's words for the factors, in the order of Factors; `named` has them in full.
NAMES = {
    "demand": "what the loads draw",
    "solar": "what the panels give",
    "capacity": "what the bank holds",
    "burn": "{litres} of an hour of charging",
    "alternator": "what the alternator gives",
}
#: Shares of the prior variance that the log removes where it determines a factor well, or in part.
#: [-]
WELL_TOLD, PARTLY_TOLD = 0.75, 0.30
#: Correlation from which on the log cannot tell two factors apart. [-]
_TOGETHER = 0.5
#: Misfit from which on the files lack something that matters. [-]
_MISFIT = 1.5
_WAYS_OUT = {
    "demand": "a clamp meter on the bank's cable for a day tells the draw by itself",
    "solar": "the controller's own counter (solar_Ah) tells the sun by itself",
    "capacity": "a rested voltage or the monitor at a low charge, and amperes at absorption "
    "(absorb_A), tell the capacity",
    "burn": "a dip of the tank before and after some hours of charging tells the burn",
    "alternator": "a clamp meter on its cable in a run on a low bank tells it by itself",
}


def named(factor: str) -> str:
    """What a factor is of.

    Parameters
    ----------
    factor : str
        One of NAMES.

    Examples
    --------
    >>> named("burn")
    'litres of an hour of charging'
    """
    return NAMES[factor].format(litres=aboard().volume.name)


def told_in_words(told_frac: float) -> str:
    """How much a log says of one factor.

    Parameters
    ----------
    told_frac : float
        Share of the prior variance that the log removes. [-]

    Examples
    --------
    >>> [told_in_words(frac) for frac in (0.9, 0.5, 0.1)]
    ['tells it', 'in part', 'tells little']
    """
    if told_frac >= WELL_TOLD:
        return "tells it"
    return "in part" if told_frac >= PARTLY_TOLD else "tells little"


def cannot_tell(posterior: Posterior) -> list[str]:
    """Sentences on what the log leaves open.

    Parameters
    ----------
    posterior : Posterior
        A log compared with its passage.

    Returns
    -------
    list of str
        That it does not fit, if so; pairs of factors that it cannot tell apart; then factors that
        it says little of, with what would help.
    """
    estimate, names = posterior.estimate, list(NAMES)
    told, together = estimate.told_frac, estimate.correlation()
    said = []
    if posterior.misfit >= _MISFIT:
        said.append(
            f"The readings lie {posterior.misfit:.1f} times as far as they should from every "
            "explanation tried here, so the ranges are too narrow: look for a load, a charger or "
            "a run of the engine that the files do not have, and for a meter that is off."
        )
    for one, other in combinations(range(len(names)), 2):
        if abs(together[one, other]) < _TOGETHER or min(told[one], told[other]) >= WELL_TOLD:
            continue
        way = "more" if together[one, other] > 0 else "less"
        said.append(
            f"The log cannot tell {named(names[one])} from {named(names[other])} well: more of "
            f"the first with {way} of the second would explain it just as well."
        )
    for place, name in enumerate(names):
        if told[place] < PARTLY_TOLD and matters(name, posterior.passage.boat):
            said.append(
                f"It says little about {named(name)}, which stays close to the files; "
                f"{_WAYS_OUT[name]}."
            )
    return said


def matters(name: str, boat: Boat) -> bool:
    """Whether a boat has what a factor multiplies.

    Parameters
    ----------
    name : str
        One of NAMES.
    boat : Boat
        The boat.
    """
    if name in ("burn", "alternator"):
        return boat.alternator is not None
    return name != "solar" or bool(boat.panels)
