"""One passage folder on the page: every question that the page may ask of it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any, TypeVar

from powersim import __version__
from powersim.defaults import MEMBERS, RISK_FRAC, SEED, STEP_h
from powersim.errors import refused
from powersim.inputs.pasteable import pasteable
from powersim.planning.days_left import DaysLeft
from powersim.records.units_aboard import printed_in
from powersim.report import rounding
from powersim.tryout.answers import answer_of, differences_of
from powersim.tryout.cards import card_pages
from powersim.tryout.changes import PAGE, key_of_values, values_of
from powersim.tryout.costs import cost_of
from powersim.tryout.lasting import days_of, days_told
from powersim.tryout.problems import problem_told
from powersim.tryout.reading import Reading
from powersim.tryout.saving import FILES, refuse_changed, saved
from powersim.tryout.superseded import Superseded
from powersim.tryout.trials import How, Trial, Trials
from powersim.tryout.turns import GoOn, Turns

#: Trials that are kept when the files are read again: the latest is the nearest.
_LIKE = 1
#: Answers that are kept, each of some ten thousand letters.
_MOST_KEPT = 100
#: Of a page, which names itself.
_LONGEST_NAME = 40
T = TypeVar("T")
Question = Callable[[dict[str, Any]], dict[str, Any]]


class _Now:
    """The files as they were read at one moment, and all that was worked out from them."""

    def __init__(self, reading: Reading, how: How, *, like: tuple[Trial, ...]) -> None:
        self.reading = reading
        self.trials = Trials(reading.passage, how, like=like)
        self._answers: dict[str, dict[str, Any]] = {}
        self._days: dict[str, DaysLeft] = {}

    def answer(self, key: str, work: Callable[[], dict[str, Any]]) -> dict[str, Any]:
        """An answer, worked out unless it was of late."""
        return _kept(self._answers, key, work)

    def days_of(self, trial: Trial, go_on: GoOn) -> DaysLeft:
        """Worked out unless they were of late."""
        return _kept(self._days, key_of_values(trial.values), lambda: days_of(trial, go_on))


def _kept(known: dict[str, T], key: str, work: Callable[[], T]) -> T:
    """What is known by a key, or is worked out now; the oldest of too many is forgotten."""
    found = known.pop(key) if key in known else work()
    known[key] = found
    while len(known) > _MOST_KEPT:
        del known[next(iter(known))]
    return found


class Session:
    """A passage that is tried, as its files were when they were read last.

    Questions come in several threads. What is worked out is worked out one after the other, and a
    newer question breaks off an older one; what only reads waits for nothing.

    Parameters
    ----------
    folder : str or Path
        The passage folder.
    members, seed : int
        Which simulated passages, two or more.
    risk_frac : float
        Share of them that may fail. [-]
    step_h : float
        Step of the simulation. [h]
    depart : str, optional
        A departure that the page begins with, as if it had been moved there.
    **sources
        Weather files and the like, as `load_folder` takes them.
    """

    def __init__(
        self,
        folder: str | Path,
        *,
        members: int = MEMBERS,
        seed: int = SEED,
        risk_frac: float = RISK_FRAC,
        step_h: float = STEP_h,
        depart: str | None = None,
        **sources: Any,
    ) -> None:
        self.folder = Path(folder)
        self._how = How(members=members, seed=seed, risk_frac=risk_frac, step_h=step_h)
        self._sources = sources
        self._first: dict[str, Any] = {} if depart is None else {"passage.depart": depart}
        self._turns = Turns()
        self._writing = threading.Lock()
        self._seen: dict[str, Mapping[str, bytes]] = {}  # by page: the files that it shows
        self._now = self._read(like=())

    @property
    def questions(self) -> Mapping[str, Question]:
        """What may be asked, by name."""
        return {
            "boat": self.boat,
            "answer": self.answer,
            "days": self.days,
            "cost": self.cost,
            "card": self.card,
            "save": self.save,
            "alive": self.alive,
            "read_again": self.read_again,
        }

    def get_ready(self) -> None:
        """Work out the files' own answer before anybody asks for it; mistakes are told later."""
        with self._turns.whole():
            now = self._now
            own = now.trials.own(_nobody_waits)
            if own is not None:
                now.answer(_key("answer", {}), lambda: self._answered(now, {}, _nobody_waits))
                differences_of(own, own)  # so that the first change need load nothing for them

    def boat(self, asked: dict[str, Any]) -> dict[str, Any]:
        """All of the boat, as much as can be read, and what is wrong with her files."""
        now, reading = self._now, self._now.reading
        self._shown(now, asked)
        return {
            "name": reading.name,
            "folder": str(self.folder.resolve()),
            "folder_as_typed": pasteable(self.folder),
            "members": self._how.members,
            "seed": self._how.seed,
            "risk": rounding.soc(self._how.risk_frac),
            "version": __version__,
            "ready": now.trials.is_ready,
            "problems": [problem_told(problem) for problem in reading.problems],
            "groups": [asdict(group) for group in reading.groups()],
            "changes": [{"place": place, "value": value} for place, value in self._first.items()],
            "state": self._state(now, asked),
        }

    def answer(self, asked: dict[str, Any]) -> dict[str, Any]:
        """What becomes of the passage with some values changed."""
        found, now = self._worked_out("answer", asked, self._answered)
        return found | {"state": self._state(now, asked)}

    def _answered(self, now: _Now, values: Mapping[str, Any], go_on: GoOn) -> dict[str, Any]:
        own = now.trials.own(go_on)
        trial = now.trials.trial(values, go_on)
        go_on(1.0)
        with printed_in(trial.result.passage.units):
            found = answer_of(trial, own=own, folder=pasteable(self.folder))
        return found | {"defaults": now.reading.defaults_moved(values)}

    def days(self, asked: dict[str, Any]) -> dict[str, Any]:
        """How long the bank lasts if all charging is lost."""

        def work(now: _Now, values: Mapping[str, Any], go_on: GoOn) -> dict[str, Any]:
            trial, own = now.trials.trial(values, go_on), now.trials.own(go_on)
            days = now.days_of(trial, go_on)
            before = None if own is None or own is trial else now.days_of(own, go_on)
            with printed_in(trial.result.passage.units):
                return days_told(trial, days, own=before)

        return self._worked_out("days", asked, work)[0]

    def cost(self, asked: dict[str, Any]) -> dict[str, Any]:
        """What one load costs in litres and in chance."""
        load = asked.get("load")
        if not isinstance(load, str):
            raise refused(PAGE, "asked for the cost of no load", "its name or its place")

        def work(now: _Now, values: Mapping[str, Any], go_on: GoOn) -> dict[str, Any]:
            trial = now.trials.trial(values, go_on)
            with printed_in(trial.result.passage.units):
                return cost_of(trial, load, risk_frac=self._how.risk_frac, go_on=go_on)

        return {"load": load} | self._worked_out(f"cost {load}", asked, work)[0]

    def card(self, asked: dict[str, Any]) -> dict[str, Any]:
        """The card of the passage with some values changed, page by page."""
        values = values_of(asked.get("changes"))
        with self._turns.whole():  # whoever prints waits for it: nothing breaks it off
            trial = self._now.trials.trial(values, _nobody_waits)
            with printed_in(trial.result.passage.units):
                return {"pages": card_pages(trial, own=self._now.trials.own(_nobody_waits))}

    def _worked_out(
        self,
        what: str,
        asked: dict[str, Any],
        work: Callable[[_Now, Mapping[str, Any], GoOn], dict[str, Any]],
    ) -> tuple[dict[str, Any], _Now]:
        """An answer to some changes, in its turn and only once; and the files that it holds for."""
        values, number = values_of(asked.get("changes")), _number(asked)
        key = _key(what, values)
        with self._turns.turn(number, page=_page(asked)) as go_on:
            now = self._now
            found = now.answer(key, lambda: work(now, values, go_on))
            if now is not self._now:  # its files are no longer those that count
                raise Superseded
        return {"number": number} | found, now

    def save(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Write what was changed, and go on from there where it is in the files themselves."""
        values, into = values_of(asked.get("changes")), asked.get("into")
        with self._writing:
            refuse_changed(self._state(self._now, asked)["files"])
            found = saved(self._now.reading, values, into=into)
            if into == FILES:
                self._first = {}  # the files have it now
                self._now = self._read(like=self._now.trials.known[-_LIKE:])
                self._shown(self._now, asked)
        return asdict(found) | {"state": self._state(self._now, asked)}

    def alive(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Whether files were changed on disk."""
        return {"state": self._state(self._now, asked)}

    def read_again(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Take the files as they are now for what is changed from."""
        with self._writing:
            self._now = self._read(like=self._now.trials.known[-_LIKE:])
        return self.boat(asked)

    def _shown(self, now: _Now, asked: dict[str, Any]) -> None:
        """Keep what a page shows from now on."""
        self._seen[_page(asked)] = now.reading.files.contents
        while len(self._seen) > _MOST_KEPT:
            del self._seen[next(iter(self._seen))]

    def _state(self, now: _Now, asked: dict[str, Any]) -> dict[str, Any]:
        """Whether files are others than those that a page shows, and which.

        They may have been changed on disk, or have been written or read again by another page.
        """
        names = now.reading.files.state()["files"]
        held = now.reading.files.contents
        seen = self._seen.get(_page(asked), held)
        others = {name for name in {*seen, *held} if seen.get(name) != held.get(name)}
        names = [*names, *sorted(others.difference(names))]
        return {"changed_on_disk": bool(names), "files": names}

    def _read(self, *, like: tuple[Trial, ...]) -> _Now:
        return _Now(Reading(self.folder, self._sources), self._how, like=like)


def _key(what: str, values: Mapping[str, Any]) -> str:
    return f"{what} {key_of_values(values)}"


def _page(asked: dict[str, Any]) -> str:
    """Which page asks; of those that do not say, all are taken for one."""
    page = asked.get("page")
    return page if isinstance(page, str) and len(page) <= _LONGEST_NAME else ""


def _number(asked: dict[str, Any]) -> int:
    number = asked.get("number")
    if isinstance(number, bool) or not isinstance(number, int):
        raise refused(PAGE, "asked without a number", "a whole number that grows")
    return number


def _nobody_waits(_done_frac: float = 0.0) -> None:
    """Nothing breaks it off."""
