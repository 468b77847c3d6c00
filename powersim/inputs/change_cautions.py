"""What a change deserves to be warned of, and the files as they are do not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from powersim.inputs.cautions import NEVER_RUNS, NO_LIGHT, cautions_of
from powersim.inputs.standing_cautions import standing_cautions
from powersim.records import Caution, Load, Passage
from powersim.records.lights import LIGHT_ROLES
from powersim.records.load import PROTECTED_ROLES

if TYPE_CHECKING:
    from powersim.errors import Problem

#: What a load of these roles is for; lights that are missing are told by the rules themselves.
_KEPT_ON = {
    "lookout": "your lookout while you sleep",
    "vhf": "by which ships can call you",
    "bilge pump": "which pumps while you sleep",
}
assert _KEPT_ON.keys() <= set(PROTECTED_ROLES)
_OFF_BY_ITSELF = "its count is 0"
_FLOOR = "battery.floor"


def change_doubts(passage: Passage, before: Passage | None) -> tuple[Problem, ...]:
    """Figures that may be slips, and that the files do not have.

    Parameters
    ----------
    passage : Passage
        With what was changed.
    before : Passage or None
        As the files say; None for all of them.
    """
    known = set() if before is None else {(one.text, one.expected) for one in before.doubts}
    return tuple(one for one in passage.doubts if (one.text, one.expected) not in known)


def change_cautions(passage: Passage, before: Passage | None) -> tuple[Caution, ...]:
    """What is left off that nobody should be without at sea, and what `check` would warn of.

    Parameters
    ----------
    passage : Passage
        With what was changed.
    before : Passage or None
        As the files say; None for all that is warned of.
    """
    return (
        *_left_off(passage, before),
        *_other_floor(passage, before),
        *_cautions_not_in(passage, before),
    )


class Warned(NamedTuple):
    """What a choice among several is warned of.

    Attributes
    ----------
    cautions : tuple of str
        A sentence each.
    needed_is_off : bool
        Whether a light, a lookout or a pump is left off that nobody should be without at sea.
    """

    cautions: tuple[str, ...]
    needed_is_off: bool


def warned(passage: Passage, before: Passage) -> Warned:
    """What a choice is warned of.

    Parameters
    ----------
    passage : Passage
        With what was changed.
    before : Passage
        As the files say.
    """
    needed = {one.sentence for one in _left_off(passage, before)}
    cautions = change_warnings(passage, before)
    dark = f"{NO_LIGHT[:1].upper()}{NO_LIGHT[1:]}"  # as a sentence begins
    return Warned(cautions, any(one in needed or one.startswith(dark) for one in cautions))


def change_warnings(passage: Passage, before: Passage) -> tuple[str, ...]:
    """All that a change is warned of, figures that may be slips first, a sentence each.

    Parameters
    ----------
    passage : Passage
        With what was changed.
    before : Passage
        As the files say.
    """
    doubts = change_doubts(passage, before)
    odd = [
        Caution(text=one.text, advice=one.expected or "see whether it is meant") for one in doubts
    ]
    return tuple(one.sentence for one in (*odd, *change_cautions(passage, before)))


def new_warnings(passage: Passage, before: Passage) -> tuple[str, ...]:
    """All that changes are warned of, with what stands of such a boat alone: of lithium, say.

    Parameters
    ----------
    passage : Passage
        With what was changed.
    before : Passage
        As the files say; what that is warned of is told by `check`.
    """
    return (*change_warnings(passage, before), *new_standing_cautions(passage, before))


def new_standing_cautions(passage: Passage, before: Passage) -> tuple[str, ...]:
    """What stands of such a boat and not of that of the files.

    Parameters
    ----------
    passage : Passage
        With what was changed.
    before : Passage
        As the files say.
    """
    known = standing_cautions(before)
    return tuple(one for one in standing_cautions(passage) if one not in known)


def _left_off(passage: Passage, before: Passage | None) -> Iterator[Caution]:
    """A load that nobody should be without at sea, and that the files have on."""
    for load in _put_off(passage, before):
        if load.role in _KEPT_ON:
            yield Caution(
                text=f"{load.name}, {_KEPT_ON[load.role]}, is left off",
                advice="keep it on at sea, and look for what else can go",
            )


def _put_off(passage: Passage, before: Passage | None) -> Iterator[Load]:
    """Loads that the files have on and that are so no longer, as the files have them.

    Of files that cannot be read by themselves it is all that are off.
    """
    if before is None:
        yield from (one for one in passage.loads if not _is_on(one))
        return
    off = {one.known_as for one in passage.loads} - {
        one.known_as for one in passage.loads if _is_on(one)
    }
    yield from (one for one in before.loads if _is_on(one) and one.known_as in off)


def _is_on(load: Load) -> bool:
    return bool(load.count and 0 not in (load.on_frac, load.on_h_per_day))


def _other_floor(passage: Passage, before: Passage | None) -> Iterator[Caution]:
    """A floor that nobody set, and that moves with the kind of bank."""
    if before is None:
        return
    now, was = passage.boat.battery.floor_soc, before.boat.battery.floor_soc
    if now != was and not any(_FLOOR in one.place for one in passage.changed):
        yield Caution(
            text=f"the floor goes with it to {100.0 * now:g} %, from {100.0 * was:g} %: what fails "
            "is measured by another floor",
            advice=f"set {_FLOOR} too, and see what is left of the difference",
        )


def _cautions_not_in(passage: Passage, before: Passage | None) -> Iterator[Caution]:
    """What `check` would warn of, but for a load that was left off on purpose."""
    known = set() if before is None else set(cautions_of(before))
    off = list(_put_off(passage, before))
    lights = [one.name for one in off if one.role in LIGHT_ROLES]
    on_purpose = tuple(f"{one.name} {NEVER_RUNS}" for one in off)
    for one in cautions_of(passage):
        by_itself = one.text.startswith(on_purpose) or _OFF_BY_ITSELF in one.text
        if one not in known and not by_itself and not is_odd(one.text, passage):
            put_off = lights and one.text.startswith(NO_LIGHT)
            yield replace(one, advice=f"keep on: {', '.join(lights)}") if put_off else one


def is_odd(text: str, passage: Passage) -> bool:
    """Whether a warning is about a figure that may be a slip, which is told by itself.

    Parameters
    ----------
    text : str
        Of the warning.
    passage : Passage
        Whose doubts count.
    """
    return any(one.text in text for one in passage.doubts)
