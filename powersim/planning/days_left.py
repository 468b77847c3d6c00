"""Days that the bank lasts once nothing charges it any more: from departure, and at the worst."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.physics.bank import soc_of
from powersim.planning.cases import ALL_LOADS, LOAD_SETS
from powersim.planning.depletion_batch import Question, before, depletion_times_h
from powersim.planning.endurance_table import DaysFrom, Endurance
from powersim.planning.failures import NO_CHARGING, NOTHING_CHARGES
from powersim.planning.scenario import (
    FEW,
    first_of,
    first_step_from,
    forcing_of,
    scalar_if_single,
    state_at,
)
from powersim.planning.worst_moment import worst_moment
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.kernel.state import BatchState
    from powersim.planning.worst_moment import WorstMoment
    from powersim.simulation.mean_sky import MeanSky
    from powersim.simulation.member_signals import EnsembleForcing
    from powersim.simulation.prepared_passage import PreparedPassage
    from powersim.simulation.result import SimulationResult


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DaysLeft:
    """How long the bank lasts if all charging is lost: at the quay, and when it hurts most.

    Attributes
    ----------
    departure : DaysFrom
        Counted from departure, with the bank as it is then.
    worst : DaysFrom
        Counted from the moment from which everything would go dark soonest; `from_h` is when.
    seed : int or None
        Seed of the members; None for the mean sky.
    """

    departure: DaysFrom
    worst: DaysFrom
    seed: int | None = None

    __repr__ = brief

    @property
    def passages(self) -> int:
        """How many were simulated; 1 in average weather."""
        soc = self.departure.soc
        return 1 if isinstance(soc, float) else len(soc)


def days_left(
    result: SimulationResult | PreparedPassage[Any],
    *,
    members: int,
    seed: int,
    progress: Callable[[float], Any] | None = None,
) -> DaysLeft:
    """Days to the floor and to flat with all charging lost, from departure and the worst moment.

    The lines of `endurance` that matter most, in a fraction of its time: the same numbers.

    Parameters
    ----------
    result : SimulationResult or PreparedPassage
        The passage at its step.
    members, seed : int
        As for `endurance`: member 7 has the same weather here as in an ensemble.
    progress : callable, optional
        Called with the share of the work that is done, now and then.

    Returns
    -------
    DaysLeft
        Whose lines have the loss NO_CHARGING, one for each of `cases.LOAD_SETS`.

    Notes
    -----
    Until each moment everything works and all loads are on. The worst moment is searched in the
    first `scenario.FEW` members, and told in all.
    """
    tell = progress or (lambda done_frac: None)
    forcing = forcing_of(result, members=members, seed=seed)
    worst = searched_worst(result, forcing, progress=lambda done_frac: tell(0.7 * done_frac))
    departure, at_worst = _lost_at(
        [(0, None), (worst.step, worst)],
        result,
        forcing,
        loads=LOAD_SETS,
        told=lambda: tell(0.8),
    )
    tell(1.0)
    return DaysLeft(departure=departure, worst=at_worst, seed=None if members == 1 else seed)


def days_left_at_worst(
    result: SimulationResult | PreparedPassage[Any], *, members: int, seed: int
) -> DaysFrom:
    """The days from the worst moment with all loads on, as `days_left` tells them, in less time.

    Parameters
    ----------
    result : SimulationResult or PreparedPassage
        The passage at its step.
    members, seed : int
        As for `days_left`.
    """
    forcing = forcing_of(result, members=members, seed=seed)
    worst = searched_worst(result, forcing, progress=lambda done_frac: None)
    (at_worst,) = _lost_at([(worst.step, worst)], result, forcing, loads=(ALL_LOADS,))
    return at_worst


def searched_worst(
    result: SimulationResult | PreparedPassage[Any],
    forcing: MeanSky | EnsembleForcing,
    *,
    progress: Callable[[float], Any],
) -> WorstMoment:
    """The worst moment of a passage, searched in its first members.

    Parameters
    ----------
    result : SimulationResult or PreparedPassage
        The passage at its step.
    forcing : MeanSky or EnsembleForcing
        Its members.
    progress : callable
        Called with the share of the work that is done.
    """
    track, battery = result.prepared.track, result.passage.boat.battery
    landfall = first_step_from(track.arrival_h, track.step_h)
    return worst_moment(
        first_of(forcing, FEW),
        soc=battery.soc_at_departure,
        floor_soc=battery.floor_soc,
        until=landfall,
        landfall=landfall,
        progress=progress,
    )


def _lost_at(
    moments: Sequence[tuple[int, WorstMoment | None]],
    result: SimulationResult | PreparedPassage[Any],
    forcing: MeanSky | EnsembleForcing,
    *,
    loads: Collection[str],
    told: Callable[[], Any] = lambda: None,
) -> list[DaysFrom]:
    """All charging lost at some steps, with some of LOAD_SETS; `told` is called half-way."""
    track, battery = result.prepared.track, result.passage.boat.battery
    states = [state_at(forcing, step, soc=battery.soc_at_departure) for step, _ in moments]
    told()
    lasts_h = iter(
        depletion_times_h(
            [
                Question(
                    forcing=forcing,
                    state=state,
                    switches=NOTHING_CHARGES._replace(groups=LOAD_SETS[name]),
                    step=step,
                )
                for (step, _), state in zip(moments, states, strict=True)
                for name in loads
            ],
            until=first_step_from(track.arrival_h, track.step_h),
            floor_soc=battery.floor_soc,
        )
    )
    return [
        days_from(
            {(NO_CHARGING, name): next(lasts_h) for name in loads},
            forcing=forcing,
            state=state,
            step=step,
            worst=worst,
        )
        for (step, worst), state in zip(moments, states, strict=True)
    ]


def days_from(
    lasts_h: Mapping[tuple[str, str], tuple[np.ndarray, np.ndarray]],
    *,
    forcing: MeanSky | EnsembleForcing,
    state: BatchState,
    step: int,
    worst: WorstMoment | None = None,
    limit_h: float | None = None,
    at_once: Collection[tuple[str, str]] = (),
) -> DaysFrom:
    """The record of one moment, from (loss, loads) to hours to the floor and to flat.

    What comes after `limit_h`, or landfall, counts as never; keys in `at_once` go dark at once.
    """
    track = forcing.prepared.track
    to_landfall_h = track.arrival_h - step * track.step_h
    limit_h = to_landfall_h if limit_h is None else limit_h
    return DaysFrom(
        from_h=step * track.step_h,
        soc=scalar_if_single(forcing, soc_of(forcing.plant.bank, state.total_Ah)),
        days_to_landfall=to_landfall_h / 24.0,
        lines=tuple(
            Endurance(
                loss=loss,
                loads=loads,
                days_to_floor=scalar_if_single(forcing, floor_h / 24.0),
                days_to_flat=scalar_if_single(forcing, flat_h / 24.0),
                at_once=(loss, loads) in at_once,
            )
            for (loss, loads), hours in lasts_h.items()
            for floor_h, flat_h in (before(limit_h, hours),)
        ),
        worst=worst,
    )
