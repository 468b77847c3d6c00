"""The endurance table in many weathers: every line with its members, each with its own bank."""

from __future__ import annotations

import numpy as np

from powersim.physics.bank import soc_of
from powersim.planning.endurance import (
    CASES,
    Endurance,
    EnduranceTable,
    first_step,
    switches_of,
)
from powersim.simulation.ensemble import blocks, members_state
from powersim.simulation.kernel import steps as kernel_steps
from powersim.simulation.state import Switches
from powersim.simulation.tally import Milestones
from powersim.simulation.weathers import weathers_of


def endurance_in_weathers(result, *, members, seed, from_h=0.0, progress=None) -> EnduranceTable:
    """The endurance table of a passage in many weathers.

    Parameters
    ----------
    result : Result
        The passage in the mean sky.
    members : int
        How many weathers are tried.
    seed : int
        Of the random numbers, as for an ensemble: member 7 meets the same weather in both.
    from_h : float
        Hours after departure; taken at the step's edge before it. [h]
    progress : callable, optional
        Called with the share of the work that is done, now and then.

    Returns
    -------
    EnduranceTable
        Of arrays shaped (members,).

    Raises
    ------
    ValueError
        If that hour lies before departure or not before landfall.

    Notes
    -----
    Until that hour everything works and all loads are on; then each line goes on from where its
    member has come to.
    """
    passage, prepared = result.passage, result.prepared
    battery, track = passage.boat.battery, prepared.track
    first = first_step(track, from_h)
    weathers = weathers_of(passage, prepared, members=members, seed=seed)
    begin = members_state(weathers, soc=battery.soc_at_departure)
    before = Run(weathers, begin, Switches(), battery.floor_soc)
    work, all_work = 0, first + len(CASES) * (track.n_steps - first)
    for steps in blocks(first, step_h=track.step_h):
        before.through(weathers.signals(steps))
        work += steps.stop - steps.start
        _tell(progress, work / all_work)
    state = before.state
    runs = [Run(weathers, state, switches_of(*case), battery.floor_soc) for case in CASES]
    for steps in blocks(track.n_steps, step_h=track.step_h, first=first):
        signals = weathers.signals(steps)
        for run in runs:
            if not run.all_told:
                run.through(signals)
        work += len(CASES) * (steps.stop - steps.start)
        _tell(progress, work / all_work)
    return EnduranceTable(
        from_h=first * track.step_h,
        soc=soc_of(weathers.plant.bank, state.total_Ah),
        days_to_landfall=(track.arrival_h - first * track.step_h) / 24.0,
        lines=tuple(
            Endurance(
                loss=loss,
                loads=loads,
                days_to_floor=run.days_to_floor,
                days_to_flat=run.days_to_flat,
            )
            for (loss, loads), run in zip(CASES, runs, strict=True)
        ),
        seed=seed,
    )


class Run:
    """One line of the table, carried through the passage stretch by stretch.

    Parameters
    ----------
    weathers : Weathers
    state : State
        Of all members as it begins.
    switches : Switches
        What works and what is wanted.
    floor_soc : float
        [-]
    """

    def __init__(self, weathers, state, switches, floor_soc):
        self.plant, self.state, self.switches = weathers.plant, state, switches
        self.milestones = Milestones(
            plant=weathers.plant,
            state=state,
            floor_soc=floor_soc,
            step_h=weathers.prepared.track.step_h,
        )

    @property
    def all_told(self) -> bool:
        """Whether every member is flat, and has nothing left to tell."""
        return bool(np.isfinite(self.milestones.flat_h).all())

    def through(self, signals) -> None:
        """Carry on through a stretch.

        Parameters
        ----------
        signals : Signals
            Of the stretch that comes next.
        """
        for flows, after in kernel_steps(
            signals, plant=self.plant, state=self.state, switches=self.switches
        ):
            self.milestones.add(flows)
            self.state = after

    @property
    def days_to_flat(self):
        """Infinite where landfall comes first. (members,) [days]"""
        return self.milestones.flat_h / 24.0

    @property
    def days_to_floor(self):
        """The same of the floor. (members,) [days]"""
        # A bank that goes dark by its voltage or by cold is past its floor, whatever it holds.
        return np.minimum(self.milestones.floor_h, self.milestones.flat_h) / 24.0


def _tell(progress, done_frac) -> None:
    if progress is not None:
        progress(done_frac)
