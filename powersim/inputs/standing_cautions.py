"""What to mind on every such boat, whatever its files say: the cautions that stand."""

from __future__ import annotations

from powersim.records.care import GLAZING, TURNING_ALTERNATOR, care_of_engine


def standing_cautions(passage):
    """What every such boat should know, as far as it concerns this one.

    Parameters
    ----------
    passage : Passage

    Returns
    -------
    list of str
        Sentences in plain words.
    """
    boat = passage.boat
    bank = boat.battery.traits
    said = ["Put a fuse at the battery's own terminal, sized for the cable."]
    said += [care.full for care in bank.cares]
    if boat.engine is not None:
        said.append("Keep a separate starting battery, and do not let the loads touch it.")
        said += [care.full for care in care_of_engine(boat.engine)]
        said += [GLAZING.full] if boat.engine.kind == "diesel" else []
        said.append("Mind the maker's limit of heel while the engine runs.")
    if boat.alternator is not None:
        said += [care.full for care in (TURNING_ALTERNATOR, *bank.cares_with_alternator)]
    if boat.fuel is not None and boat.fuel.jerrycans_L > 0:
        said.append(_DECANT[boat.engine.kind])
    return said + _about_chargers(boat.chargers) + _ABOUT_EVERYTHING


def _about_chargers(chargers):
    kinds = {charger.kind for charger in chargers}
    sources = {charger.source for charger in chargers}
    said = _ABOUT_GENERATORS if sources & {"wind", "water"} else []
    return said + [
        sentence
        for which, about in _ABOUT_CHARGERS.items()
        if which in kinds | sources
        for sentence in about
    ]


_DECANT = {
    "diesel": "Decant fuel with care: upright, engine cold, no flame, nothing into the sea.",
    "petrol": "Decant petrol in the open and on deck, to leeward of every hatch: can and funnel "
    "touching, engine cold, no flame, no switch, nothing into the sea or the bilge.",
}
_ABOUT_GENERATORS = [
    "Stop a wind or water generator before you take it off the bank or switch the bank off: while "
    "it turns with nothing to charge, its voltage and its speed run away. Without a regulator it "
    "must have a dump load.",
]
#: By kind or source.
_ABOUT_CHARGERS = {
    "wind": [
        "A wind generator's blades maim, and in the dark nobody sees them: put them out of reach, "
        "stop them before you work near, never by hand, and stop them before a gale does it.",
    ],
    "water": [
        "A generator in the water costs some tenths of a knot: give the route's speeds as made "
        "good with it at work.",
    ],
    "towed": [
        "A towed line twists and pulls hard enough to take a finger: slow the boat before you "
        "stream it or bring it in, and keep it clear of propeller and rudder.",
    ],
    "shaft": [
        "Ask the gearbox's maker whether the shaft may turn with the engine off: in many it then "
        "runs without oil.",
    ],
    "shore": [
        "Shore power kills: behind a residual-current device (RCD) only, with a sound cable, "
        "plugged in aboard first and ashore last.",
        "Shore power's earth joins her to every boat in the harbour and eats her metal under "
        "water: fit a galvanic isolator or an isolating transformer.",
    ],
}
_ABOUT_EVERYTHING = [
    "Shore power and high-current wiring are work for qualified people.",
    "The boat must meet the collision regulations and the small-craft electrical standards in "
    "force where it sails; where they differ from this page, they are right.",
    "A forecast is no promise: carry a second means of light, position and communication.",
]
