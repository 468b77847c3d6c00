"""The lines of the endurance table: failures, alone or together, against sets of loads."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

from powersim.errors import InputError, Problem
from powersim.kernel.state import Switches
from powersim.planning.failures import FAILURES, WORKING
from powersim.records import Device, Passage

if TYPE_CHECKING:
    from powersim.planning.failures import Failure
    from powersim.simulation.prepared import Prepared

ALL_LOADS = "all loads"
NO_COMFORT = "without comfort"
ESSENTIAL_ONLY = "essential only"
#: Which loads are kept: name -> shares of protected, essential, useful and comfort.
LOAD_SETS = {
    ALL_LOADS: (1.0, 1.0, 1.0, 1.0),
    NO_COMFORT: (1.0, 1.0, 1.0, 0.0),
    ESSENTIAL_ONLY: (1.0, 1.0, 0.0, 0.0),
}
_LONGEST_QUOTE = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One line of the table: a passage with some failures, ready to be simulated.

    Attributes
    ----------
    loss : str
        The name of the line.
    notes : tuple of str
        What the name means, one sentence for each failure.
    passage : Passage
        The passage without what is lost.
    switches : Switches
        What still works, with all loads on.
    cans_only, dark : bool
        Whether any of the failures is `Failure.cans_only` or `Failure.dark`.
    """

    loss: str
    notes: tuple[str, ...]
    passage: Passage
    switches: Switches
    cans_only: bool
    dark: bool


def cases_of(
    passage: Passage, prepared: Prepared, *, without: Sequence[str] = ()
) -> tuple[Case, ...]:
    """Every line of the table for one passage, everything working first.

    Failures of what is not aboard are left out. `without` adds a line: names of failures, loads or
    roles of loads that are lost together. InputError names all in it that the boat has not.
    """
    single = [(_name_of(one, passage), (one,)) for one in FAILURES if one.aboard(passage)]
    found = [case_of(WORKING, (), passage, prepared)]
    found += [case_of(name, failures, passage, prepared) for name, failures in single]
    if without:
        failures, rest, lost = _listed(without, passage)
        name = f"without {' and '.join(dict.fromkeys(lost))}"
        found.append(case_of(name, failures, rest, prepared))
    return tuple(found)


def case_of(loss: str, failures: Sequence[Failure], passage: Passage, prepared: Prepared) -> Case:
    """The line of the table for some failures at once."""
    switches, notes = Switches(), []
    for failure in failures:
        before, works = passage, failure.works
        if failure.changed is not None:
            passage = failure.changed(passage, prepared)
        switches = switches._replace(
            solar=switches.solar * works.solar,
            alternator=switches.alternator * works.alternator,
            engine=switches.engine and works.engine,
            others=switches.others * works.others,
        )
        if failure.means:
            turning = ", and an alternator that turns then may be destroyed"
            means = failure.means.format(
                panel=_panel_gone(before.boat, passage.boat),
                alternator=turning if before.boat.alternator is not None else "",
                others=" and ".join(charger.name for charger in before.boat.chargers),
            )
            notes.append(f"{_name_of(failure, before)}: {means}")
    return Case(
        loss=loss,
        notes=tuple(notes),
        passage=passage,
        switches=switches,
        cans_only=any(failure.cans_only for failure in failures),
        dark=any(failure.dark for failure in failures),
    )


def lost_together(names: Sequence[str], passage: Passage, prepared: Prepared) -> Case:
    """One line in which everything named is lost together; of no name, nothing is.

    Parameters
    ----------
    names : sequence of str
        Of failures, loads or roles of loads.
    passage : Passage
        With nothing lost.
    prepared : Prepared
        The same passage.

    Raises
    ------
    InputError
        If any of them is not aboard.
    """
    failures, rest, lost = _listed(names, passage)
    lines = {failure.key: _name_of(failure, passage) for failure in failures}
    words = dict.fromkeys(lines.get(word, f"{word} lost") for word in lost)
    return case_of(" and ".join(words) or WORKING, failures, rest, prepared)


def without_loads(passage: Passage, places: Collection[int]) -> Passage:
    """The passage with some of its loads left ashore."""
    return replace(
        passage,
        loads=tuple(
            replace(load, count=0) if place in places else load
            for place, load in enumerate(passage.loads)
        ),
    )


def _name_of(failure: Failure, passage: Passage) -> str:
    """The failure's line in the table, with the word for the boat's kind of bank."""
    return failure.name.format(bank=passage.boat.battery.traits.word)


def _panel_gone(before, after):
    pairs = zip(before.panels, after.panels, strict=True)
    return next((old.name for old, new in pairs if new.count < old.count), "")


def _listed(names, passage):
    """The failures named, the passage without what else was, and what was lost in words."""
    failures, places, lost, problems, devices = [], set(), [], [], set()
    known = {word.casefold(): one for one in FAILURES for word in (one.key, _name_of(one, passage))}
    for typed in names:
        word = " ".join(typed.split()).casefold()
        here = [
            place
            for place, load in enumerate(passage.loads)
            if word and word in (load.name.casefold(), load.role)
        ]
        own = {one for one in passage.boat.devices if word == one.name.casefold()}
        failure = known.get(word)
        if failure is not None and not failure.aboard(passage):
            problems.append(_problem(f"{_short(typed)} is not something this boat has", passage))
        elif failure is not None:
            failures.append(failure)
            lost.append(failure.key)
        elif here or own:
            places.update(here)
            devices |= own
            lost.append(word)
        else:
            text = f"nothing aboard is called {_short(typed)}"
            problems.append(_problem(text, passage, near=word[:_LONGEST_QUOTE]))
    if problems:
        raise InputError(problems)
    return failures, _without_devices(without_loads(passage, places), devices), lost


def _without_devices(passage: Passage, gone: Collection[Device]) -> Passage:
    """The passage without some of what has a battery of its own."""
    if not gone:
        return passage
    kept = tuple(one for one in passage.boat.devices if one not in gone)
    return replace(passage, boat=replace(passage.boat, devices=kept))


def _short(typed) -> str:
    """A name in quotes, cut short where a page was pasted by mistake."""
    return repr(typed if len(typed) <= _LONGEST_QUOTE else f"{typed[: _LONGEST_QUOTE - 3]}...")


def _problem(text, passage, *, near=None):
    keys = [one.key for one in FAILURES if one.aboard(passage)]
    names = [one.name.casefold() for one in (*passage.loads, *passage.boat.devices)]
    roles = [load.role for load in passage.loads if load.role]
    close = get_close_matches(near or "", [*keys, *names, *roles], n=1) if near else []
    hint = f"; did you mean {close[0]!r}?" if close else ""
    own = ", a device" if passage.boat.devices else ""
    expected = f"{', '.join(keys)}{own}, or a load or a role of loads.csv; for example {keys[0]!r}"
    return Problem(file="without", text=text + hint, expected=expected)
