"""What to mind on every such boat, whatever its files say: the cautions that stand."""

from __future__ import annotations

from powersim.inputs.toml_keys import written
from powersim.records import RECORD_OF_KIND, Passage
from powersim.records.care import GLAZING, TURNING_ALTERNATOR, care_of_engine


def standing_cautions(passage: Passage) -> list[str]:
    """What every such boat should know, as far as it concerns this one.

    Parameters
    ----------
    passage : Passage
        What she has aboard decides what concerns her.

    Returns
    -------
    list of str
        Sentences in plain words.
    """
    boat = passage.boat
    bank = boat.battery.traits
    said = ["Put a fuse at the battery's own terminal, sized for the cable."]
    said += [care.full.replace("0 degC", written(0.0, "degC")) for care in bank.cares]
    if boat.engine is not None:
        said.append("Keep a separate starting battery, and do not let the loads touch it.")
        said += [care.full for care in care_of_engine(boat.engine)]
        said += [GLAZING.full] if boat.engine.kind == "diesel" else []
        said.append("Mind the maker's limit of heel while the engine runs.")
    if boat.alternator is not None:
        said += [care.full for care in (TURNING_ALTERNATOR, *bank.cares_with_alternator)]
    if boat.fuel is not None and boat.fuel.jerrycans_L > 0 and boat.engine is not None:
        said.append(_DECANT[boat.engine.kind])
    return [*said, *_about_chargers(boat.chargers), *_ABOUT_EVERYTHING]


def _about_chargers(chargers):
    """What to mind of each, once: of those that share it, where the first of them stands."""
    kinds = list(RECORD_OF_KIND)
    in_order = sorted(chargers, key=lambda charger: kinds.index(charger.kind))
    return dict.fromkeys(care.full for charger in in_order for care in charger.cares)


_DECANT = {
    "diesel": "Decant fuel with care: upright, engine cold, no flame, nothing into the sea.",
    "petrol": "Decant petrol in the open and on deck, to leeward of every hatch: can and funnel "
    "touching, engine cold, no flame, no switch, nothing into the sea or the bilge.",
}
_ABOUT_EVERYTHING = [
    "Shore power and high-current wiring are work for qualified people.",
    "The boat must meet the collision regulations and the small-craft electrical standards in "
    "force where it sails; where they differ from this page, they are right.",
    "A forecast is no promise: carry a second means of light, position and communication.",
]
