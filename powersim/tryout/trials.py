"""The passage tried with its values changed: what can be kept of the last trials is kept."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from powersim.defaults import MEMBERS, RISK_FRAC, SEED, STEP_h
from powersim.errors import InputError
from powersim.planning.measures import measured
from powersim.records import Passage
from powersim.simulation.prepared_passage import PreparedPassage, prepared_passage
from powersim.simulation.result import SimulationResult
from powersim.tryout.changes import key_of_values
from powersim.tryout.places import first_of

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.report.figure_fan import FanFigure
    from powersim.tryout.turns import GoOn

#: Trials kept whole beside the files' own: with so many members in all, and no more than so many.
#: Each is of some tens of megabytes with 200 of them.
_KEPT_MEMBERS, _MOST_KEPT = 800, 3
#: How much must be made anew for a value in a table, roughly; 1 for a table that is not named.
_EFFORT = {"passage": 20, "panel": 5, "controller": 5, "charger": 5}


@dataclass(frozen=True, kw_only=True, eq=False)
class Trial:
    """The passage with some values changed, and what came of it.

    Attributes
    ----------
    values : mapping
        What was changed, by place.
    ready : PreparedPassage
        Worked out up to its first step.
    result : SimulationResult
        Average weather and all members, with what those meet.
    """

    values: Mapping[str, Any]
    ready: PreparedPassage[SimulationResult]
    result: SimulationResult

    @cached_property
    def summary(self) -> dict[str, Any]:
        """What `summary.json` would hold."""
        from powersim.report.files import answer

        return answer(self.result)

    @cached_property
    def measured(self) -> dict[str, Array]:
        """Every measure, member by member."""
        assert self.result.ensemble is not None
        return measured(self.result.ensemble, self.result.passage.boat)

    @cached_property
    def figure(self) -> FanFigure:
        """The numbers of its picture."""
        from powersim.report.figure_fan import fan_figure

        return fan_figure(self.result)


@dataclass(frozen=True, slots=True, kw_only=True)
class How:
    """How a passage is simulated, the same in all trials.

    Attributes
    ----------
    members, seed : int
        Which simulated passages; two or more.
    risk_frac : float
        Share of them that may fail. [-]
    step_h : float
        Step of the simulation. [h]
    """

    members: int = MEMBERS
    seed: int = SEED
    risk_frac: float = RISK_FRAC
    step_h: float = STEP_h

    def __post_init__(self) -> None:
        if not self.members >= 2:  # a difference needs pairs
            raise ValueError(f"members must be 2 or more, got {self.members!r}")


class Trials:
    """Trials of one passage as its files were at one moment.

    Parameters
    ----------
    read : callable
        From values by place to the passage; raises InputError.
    how : How
        Members, seed, risk and step.
    like : sequence of Trial
        Trials of the same passage under other files, to keep of them what can be kept.
    """

    def __init__(
        self,
        read: Callable[[Mapping[str, Any]], Passage],
        how: How,
        *,
        like: tuple[Trial, ...] = (),
    ) -> None:
        self.read, self.how = read, how
        self._like = like
        self._own: Trial | InputError | None = None
        self._kept: OrderedDict[str, Trial] = OrderedDict()

    @property
    def is_ready(self) -> bool:
        """Whether the files' own answer is at hand, or known not to be had."""
        return self._own is not None

    @property
    def known(self) -> tuple[Trial, ...]:
        """All that are kept whole, the latest last."""
        own = (self._own,) if isinstance(self._own, Trial) else ()
        return (*self._like, *own, *self._kept.values())

    def own(self, go_on: GoOn) -> Trial | None:
        """The passage as its files say; None where something is wrong with them."""
        if self._own is None:
            try:
                self._own = self._made({}, go_on)
            except InputError as error:
                self._own = error
            self._like = ()
        return self._own if isinstance(self._own, Trial) else None

    def trial(self, values: Mapping[str, Any], go_on: GoOn) -> Trial:
        """The passage with values changed.

        Parameters
        ----------
        values : mapping
            By place.
        go_on : callable
            Called while the work goes on; what it raises ends it.

        Raises
        ------
        InputError
            With all that is wrong with the files as they would be.
        """
        if not values:
            own = self.own(go_on)
            if own is None:
                assert isinstance(self._own, InputError)
                raise self._own
            return own
        key = key_of_values(values)
        found = self._kept.pop(key, None) or self._made(values, go_on)
        self._kept[key] = found
        while len(self._kept) > max(1, min(_MOST_KEPT, _KEPT_MEMBERS // self.how.members)):
            self._kept.popitem(last=False)
        return found

    def ready(self, values: Mapping[str, Any], go_on: GoOn) -> PreparedPassage[SimulationResult]:
        """The passage with values changed, worked out up to its first step."""
        passage = self.read(values)
        go_on(0.0)
        nearest = self._nearest(values)
        if nearest is None:
            return prepared_passage(
                passage,
                kind=SimulationResult,
                step_h=self.how.step_h,
                members=self.how.members,
                seed=self.how.seed,
            )
        return nearest.ready.changed(passage)

    def _made(self, values: Mapping[str, Any], go_on: GoOn) -> Trial:
        ready = self.ready(values, go_on)
        go_on(0.0)
        result = ready.simulate(risk_frac=self.how.risk_frac, progress=go_on)
        # Days left, and what the card says of failures, are asked of the same members.
        return Trial(values=values, ready=ready, result=replace(result, forcing=ready.forcing))

    def _nearest(self, values: Mapping[str, Any]) -> Trial | None:
        """The trial from which least must be made anew; of several, the latest."""
        return min(reversed(self.known), key=lambda one: _apart(one.values, values), default=None)


def _apart(one: Mapping[str, Any], other: Mapping[str, Any]) -> int:
    """How much must be made anew to come from one to the other, roughly."""
    unlike = {
        place
        for place in {*one, *other}
        if place not in one or place not in other or one[place] != other[place]
    }
    return sum(_EFFORT.get(first_of(place), 1) for place in unlike)
