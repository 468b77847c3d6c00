"""A passage with values changed as its files would say them, all else as it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any, TypeVar

from powersim.inputs.change_cautions import new_warnings
from powersim.inputs.folder import load_folder
from powersim.inputs.places import Given
from powersim.records import Boat, Passage

#: What a reader of the files makes, and a value in them may change.
_READ = ("name", "depart_utc", "waypoints", "loads", "ship_offset_h", "cloud_model", "units")
#: What it remarks on the way.
_REMARKED = ("assumptions", "doubts", "values", "changed")
P = TypeVar("P", bound=Passage)


def passage_with(passage: P, values: Mapping[str, Given]) -> P:
    """A passage with values changed as its files would say them.

    The files are read twice, as they were and with the new values, and what differs is taken over:
    weather files, and what was changed by other means, stay.

    Parameters
    ----------
    passage : Passage
        Read from a folder.
    values : mapping of str to value
        Such as {"battery.capacity": "300 Ah", "loads.vhf radio.draw": "4 A"}; None takes out what
        is there, and a mapping stands for a whole load, panel or table. What was set before stays,
        if it is not among them.

    Raises
    ------
    InputError
        If a value would be refused in the files, or there is no such place in them.
    ValueError
        If the passage was not read from a folder, or what a value changes is not as its files say.
    """
    if passage.folder is None:
        raise ValueError("the passage was not read from a folder; change it by dataclasses.replace")
    set_before = dict(passage.values)
    # One after the other: what is set last counts, however its place is spelled.
    kept = {place: value for place, value in set_before.items() if place not in values}
    after = load_folder(passage.folder, values=kept | dict(values))
    before = load_folder(passage.folder, values=set_before)
    changed = _changed(passage, before, after, _READ, "")
    boat = _changed(passage.boat, before.boat, after.boat, [f.name for f in fields(Boat)], "boat.")
    if boat:
        changed["boat"] = replace(passage.boat, **boat)
    own = load_folder(passage.folder) if set_before else before
    warned = new_warnings(after, own) if after.changed else ()
    remarked = {name: getattr(after, name) for name in _REMARKED}
    return replace(passage, **changed, **remarked, change_warnings=warned)


def _changed(now: object, before: object, after: object, names: Any, where: str) -> dict[str, Any]:
    """What the new values change, where that is still as the files say."""
    found = {}
    for name in names:
        new, old = getattr(after, name), getattr(before, name)
        if new == old:
            continue
        if getattr(now, name) != old:
            raise ValueError(
                f"{where}{name} is not what the files say: they have been written since, or it was "
                "changed by other means; load the passage again, or change it by those means"
            )
        found[name] = new
    return found
