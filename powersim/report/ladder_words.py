"""What giving up a load costs in words, and what is left to be heard and seen by."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.planning.heard_by import HANDHELD_m, SHIP_m, radio_horizon_nm
from powersim.report.kinds import MILES, Text, joined, say

if TYPE_CHECKING:
    from powersim.planning.heard_by import HeardBy
    from powersim.planning.ladder_steps import LadderStep
    from powersim.records import Passage

_Words = tuple[tuple[tuple[str, ...], str], ...]
#: What a word in a load's name says of what is missed; the first that is found counts.
_COMMS: _Words = (
    (("weather", "forecast", "download", "grib"), "no weather: barometer and sky alone"),
    (("message", "report", "e-mail", "email", "mail"), "nobody ashore hears from you"),
)
_BY_NAME: _Words = (
    *_COMMS,
    (("watermaker", "desalinator"), "no new water: measure what is in the tanks before"),
    (("fridge", "freezer", "icebox", "refrigerator"), "food spoils: eat it first, then tins"),
    (("heater", "heating"), "cold and damp below: wool, a dry hat, hot food"),
    (("short-wave", "shortwave", "ssb", "navtex", "fax"), "no weather by radio: barometer and sky"),
    (("pilot", "autopilot", "self-steering"), "steer by hand or by the vane"),
    (("phone", "camera", "headlamp", "torch"), "charge these in full sun alone"),
    (("laptop", "computer"), "no routing on a screen: paper log and paper chart"),
    (("tablet", "plotter", "chart display"), "no plotter: a fix from a handheld, on paper"),
    (("log", "depth", "echo", "wind instrument", "instruments"), "no log, depth or wind shown"),
    (("gps", "gnss", "receiver"), "no fix from it: a second one, or sun and sextant"),
    (("light", "lamp"), "no lights below: a head torch"),
    (("water pump", "pump"), "pump by hand or by foot"),
    (("fan",), "hot below"),
    (("music", "stereo", "radio", "television", "tv"), "no sound but the sea"),
)
_BY_ROLE = {
    "pilot": "steer by hand or by the vane",
    "navigation": "a fix from a handheld, on paper",
    "comms": "no weather, and nobody ashore hears from you",
}
_BY_GROUP = {
    "essential": "you called it essential: know how to do without",
    "useful": "do its work by hand",
    "comfort": "comfort alone",
}


def what_it_costs(step: LadderStep) -> str:
    """What is missed without a load, in a few words.

    Parameters
    ----------
    step : LadderStep
        For the load's name and its role, and the group that it is given up in.
    """
    load = step.load
    if step.halved:
        return "half as many"
    if step.kept_for and load.role == "navigation":
        return "a paper log and a paper chart between"
    by_name = {"comms": _COMMS, "pilot": ()}.get(load.role or "", _BY_NAME)
    said = f"{load.known_as} {'' if load.session is None else load.session.words.casefold()}"
    for words, costs in by_name:
        if any(word in said for word in words):
            return costs
    return _BY_ROLE.get(load.role or "", _BY_GROUP[step.group])


def left_to_be_heard_by(left: HeardBy) -> Text:
    """Everything that still speaks or shows the boat, with how far it reaches.

    Parameters
    ----------
    left : HeardBy
        Of the loads that are on.
    """
    parts: list[Text] = [*left.anywhere]
    if left.vhf:
        parts.append(say("VHF, about {} to a ship", MILES(left.vhf_nm)))
    if left.seen:
        parts.append("AIS, seen about as far" if left.vhf else "AIS, seen by ships")
    if left.lights:
        parts.append("navigation lights")
    return joined(parts, "; ") if parts else "nothing on the bank"


def beside_the_bank(passage: Passage) -> Text:
    """What there is, or should be, that does not hang on the bank.

    Parameters
    ----------
    passage : Passage
        For devices with batteries of their own.
    """
    own = ", ".join(device.name for device in passage.boat.devices)
    return say(
        "{} A handheld VHF reaches a ship at about {} at best, and a torch lights the sails; EPIRB "
        "and PLB are for distress alone, and hang on no bank.",
        f"Beside the bank, with batteries of their own: {own}. Fill them while the bank still can; "
        "surplus may not come."
        if own
        else "Have a handheld VHF and a torch with batteries of their own beside the bank.",
        MILES(radio_horizon_nm(HANDHELD_m, SHIP_m)),
    )
