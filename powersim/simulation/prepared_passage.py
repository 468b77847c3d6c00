"""A passage worked out up to its first step, to be simulated again and again as it is changed.

Whoever drags a value on a page waits for what that value changes and for nothing else: a load
leaves track, sky, members and panels as they are, another bank the panels and the loads too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Generic

from powersim.defaults import MEMBERS, RISK_FRAC, SEED, STEP_h
from powersim.records import Boat, ChargingRule, Load, Passage
from powersim.records.brief import brief
from powersim.simulation.member_signals import EnsembleForcing
from powersim.simulation.prepare import prepare
from powersim.simulation.prepared import Prepared
from powersim.simulation.result import R, simulate


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PreparedPassage(Generic[R]):
    """A passage, average weather over it and the members that it is tried in.

    Attributes
    ----------
    passage : Passage
        As it is simulated.
    prepared : Prepared
        In average weather.
    forcing : EnsembleForcing or None
        None for average weather alone.
    kind : type
        The class of its results, Result or one that adds to it.
    """

    passage: Passage
    prepared: Prepared
    forcing: EnsembleForcing | None = None
    kind: type[R]

    __repr__ = brief

    @property
    def members(self) -> int:
        """How many members; 1 for average weather alone."""
        return 1 if self.forcing is None else self.forcing.members

    def simulate(
        self,
        *,
        risk_frac: float = RISK_FRAC,
        progress: Callable[[float], object] | None = None,
    ) -> R:
        """Simulate it with everything working.

        Parameters
        ----------
        risk_frac : float
            Share of the members that may fail: floor, darkness or reserve. [-]
        progress : callable, optional
            Called now and then with the share of the members' work that is done.

        Returns
        -------
        Result
            As `powersim.simulate` gives it of the same passage, to the last digit.

        Raises
        ------
        BalanceError
            If the books do not close.
        """
        result = simulate(self.passage, prepared=self.prepared, risk_frac=risk_frac, kind=self.kind)
        if self.forcing is None:
            return result
        from powersim.simulation.ensemble import run_ensemble

        ensemble = run_ensemble(
            self.passage,
            self.prepared,
            members=self.forcing.members,
            seed=self.forcing.seed,
            risk_frac=risk_frac,
            forcing=self.forcing,
            progress=progress,
        )
        return replace(result, ensemble=ensemble)

    def changed(self, passage: Passage) -> PreparedPassage[R]:
        """The same step, members and seed for the passage as it is now.

        Parameters
        ----------
        passage : Passage
            With anything changed. Nothing but time is lost if that leaves nothing to keep, as
            another route does.

        Returns
        -------
        PreparedPassage
            This one stays as it is.

        Raises
        ------
        InputError
            If a weather file does not cover the boat, unless it may be left out.
        """
        before = self.prepared
        step_h, hold_h = before.track.step_h, before.hold_h
        prepared = prepare(passage, step_h=step_h, hold_h=hold_h, like=before)
        return replace(
            self,
            passage=passage,
            prepared=prepared,
            forcing=_again(self.forcing, passage, prepared),
        )

    def with_loads(self, loads: Sequence[Load]) -> PreparedPassage[R]:
        """With another load list.

        Parameters
        ----------
        loads : sequence of Load
            Quickest in the same lines: one that stays ashore has a count of 0. A load without a
            spread draws the same in every weather.

        Returns
        -------
        PreparedPassage
            This one stays as it is.

        Raises
        ------
        ValueError
            If a load hangs on a supply that the boat does not have.
        """
        return self.changed(replace(self.passage, loads=tuple(loads)))

    def with_boat(self, boat: Boat) -> PreparedPassage[R]:
        """With another boat, or with something else aboard.

        Parameters
        ----------
        boat : Boat
            In place of the passage's own.

        Returns
        -------
        PreparedPassage
            This one stays as it is.
        """
        return self.changed(replace(self.passage, boat=boat))

    def with_rule(self, charging: ChargingRule) -> PreparedPassage[R]:
        """With another rule for the engine.

        Parameters
        ----------
        charging : ChargingRule
            A file of charging runs goes before it, as in any passage.

        Returns
        -------
        PreparedPassage
            This one stays as it is.
        """
        return self.with_boat(replace(self.passage.boat, charging=charging))


def prepared_passage(
    passage: Passage,
    *,
    kind: type[R],
    step_h: float = STEP_h,
    members: int = MEMBERS,
    seed: int = SEED,
) -> PreparedPassage[R]:
    """Work out all of a passage that comes before its first step.

    Parameters
    ----------
    passage : Passage
        Boat, route, loads and weather files.
    step_h : float
        Step of the simulation; a whole number of them makes an hour. [h]
    members : int
        How many members are tried beside average weather; 1 for none.
    seed : int
        Which members.
    kind : type
        The class of its results, Result or one that adds to it.

    Returns
    -------
    PreparedPassage
        To be asked again and again.

    Raises
    ------
    ValueError
        If members is below 1.
    InputError
        If a weather file does not cover the boat, unless it may be left out.
    """
    if not members >= 1:
        raise ValueError(f"members must be 1 or more, got {members!r}")
    prepared = prepare(passage, step_h=step_h)
    forcing = None if members == 1 else _drawn(passage, prepared, members=members, seed=seed)
    return PreparedPassage(passage=passage, prepared=prepared, forcing=forcing, kind=kind)


def _drawn(passage: Passage, prepared: Prepared, **how: Any) -> EnsembleForcing:
    from powersim.simulation.ensemble_forcing import draw_ensemble  # which one sky does without

    return draw_ensemble(passage, prepared, **how)


def _again(
    forcing: EnsembleForcing | None, passage: Passage, prepared: Prepared
) -> EnsembleForcing | None:
    """The same members over a passage that has changed."""
    if forcing is None:
        return None
    members, seed = forcing.members, forcing.seed
    return _drawn(passage, prepared, members=members, seed=seed, like=forcing)
