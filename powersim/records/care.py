"""What to mind while a bank is charged, each matter once: in full, and short for the card."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from powersim.records.engine import Engine
    from powersim.records.passage import Boat


@dataclass(frozen=True, slots=True, kw_only=True)
class Care:
    """One thing to mind.

    Attributes
    ----------
    full : str
        With its reason, for who reads at leisure.
    short : str
        One sentence, for who is tired; empty where only the full one is said.
    """

    full: str
    short: str = ""


CARBON_MONOXIDE = Care(
    full="Carbon monoxide kills unnoticed: an engine that runs at rest, or exhaust on a following "
    "wind, can fill the cabin. Open up while it runs, for it breathes your air too; carry an alarm "
    "and test it. A headache or sickness: stop the engine and get into the open.",
    short="Engine on: open up, carbon monoxide alarm on.",
)
#: "Open up" is no advice in a gale.
HATCHES_SHUT = Care(
    full="Where the hatches must stay shut, make no long charging run: the engine draws its air "
    "from the cabin, and fumes stay in it. Save what you can, and charge in a lull, or hove-to "
    "with an opening to leeward. If a short run cannot wait: awake, the carbon monoxide alarm at "
    "work, and air for the engine.",
    short="Hatches shut: no long run, await a lull or heave to.",
)
EXHAUST_WATER = Care(
    full="Clipped on, look over the side for water at the exhaust, after starting and every few "
    "minutes: heeled or in a sea the cooling water's intake can lift out, and without water the "
    "engine is ruined in minutes. No water: stop it.",
    short="Look for water at the exhaust every few minutes; none: stop.",
)
DOZING = Care(
    full="Set an alarm before you doze with the engine on, and look at its heat, its exhaust and "
    "the volts when it rings: nobody else would notice.",
    short="Set an alarm before you doze.",
)
HYDROGEN = Care(
    full="Ventilate the battery space: lead-acid gives off hydrogen under charge, most of it when "
    "it is boosted near full, and a spark sets it off. With the hatches shut leave the last of the "
    "charge for later. Protect your eyes when you work at the vents.",
    short="Ventilate the bank: hydrogen.",
)
PETROL_VAPOUR = Care(
    full="Petrol vapour is heavier than air and lies in the bilge, where one spark sets it off: "
    "before every start run the blower for some minutes, open up, and smell the bilge and the "
    "engine's space. A smell: no switch, no flame, no start, until it is found and gone. Tank, "
    "cans and outboard stand where a leak drains overboard.",
    short="Petrol: blower and nose before every start; a smell: no spark, no start.",
)
GLAZING = Care(
    full="Long idling under light load glazes a diesel: charge at 1,500 rpm or more and under "
    "load.",
    short="Charge under load.",
)
TURNING_ALTERNATOR = Care(
    full="Never switch off or disconnect the bank while the alternator turns.",
    short="Never part bank and turning alternator.",
)
_OF_ENGINE = (CARBON_MONOXIDE, HATCHES_SHUT, EXHAUST_WATER, DOZING)


def care_of_engine(engine: Engine | None) -> tuple[Care, ...]:
    """What to mind with an engine, by what it burns.

    Parameters
    ----------
    engine : Engine or None
        None where there is none.

    Returns
    -------
    tuple of Care
        None without an engine.
    """
    if engine is None:
        return ()
    return (PETROL_VAPOUR, *_OF_ENGINE) if engine.kind == "petrol" else _OF_ENGINE


def care_in_short(boat: Boat) -> str:
    """What to mind on a boat while she charges, a sentence each.

    Parameters
    ----------
    boat : Boat
        With all that charges her.

    Returns
    -------
    str
        Of an engine and an alternator only where she has them, and of the bank's own chemistry.
    """
    said = [
        *care_of_engine(boat.engine),
        *boat.battery.traits.cares,
        *((TURNING_ALTERNATOR,) if boat.alternator is not None else ()),
    ]
    return " ".join(care.short for care in said if care.short)
