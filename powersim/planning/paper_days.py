"""Passages by a table on paper: each dawn the bank is read, and the day's run is looked up.

The day begins and ends with the reading. Reading and sky are as wrong as the sailor's: the meter
errs as it does for any rule, and the kind of the day is told by eye.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics import bank as physics
from powersim.planning.paper_table import KIND_FROM_FRAC, KINDS, PaperTable
from powersim.planning.policy_evaluation import PolicyEvaluation, tallied
from powersim.records import Boat
from powersim.simulation.aboard import aboard_of
from powersim.simulation.allowed import allowed_hours, reading_steps
from powersim.simulation.carry import Batch
from powersim.simulation.differing import of_members
from powersim.simulation.flat import Laid
from powersim.simulation.ledgers import LEDGERS
from powersim.simulation.plant import rule_of, without_engine_rule
from powersim.simulation.reading import SOCS
from powersim.simulation.reading_parts import most_days
from powersim.voyage.ship_time import in_hours

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools, Ints
    from powersim.simulation.ensemble_forcing import EnsembleForcing
    from powersim.simulation.prepared import Prepared
    from powersim.simulation.signals import Signals

#: Ship's time between which a sky is called clear, mixed or grey. [h]
LOOKED_AT_h = (9.0, 15.0)
#: How far off somebody is at dawn who tells the day's share of a clear sky's light by eye, one
#: standard deviation (judgement). [-]
BY_EYE_FRAC = 0.15
#: Of the random numbers of such looks, beside the ensemble's own.
_LOOKS = 19


def days_of(prepared: Prepared, at_h: float) -> list[slice]:
    """The steps from each dawn's reading to the next, and those before the first."""
    reads = reading_steps((at_h,), prepared.sun_track, prepared.sun_steps)
    first = np.flatnonzero(reads).tolist()
    edges = sorted({0, *first, prepared.track.n_steps})
    return [slice(*ends) for ends in pairwise(edges)]


def kinds_of(forcing: EnsembleForcing, steps: slice) -> Array:
    """Share of a clear sky's light in the middle of a day, member by member. (members,) [-]"""
    track = forcing.prepared.track
    looked = in_hours(track, LOOKED_AT_h)[steps]
    light = forcing.light(steps)
    return light[looked].mean(axis=0) if looked.any() else light.mean(axis=0)


def kind_of(light_frac: Array) -> Ints:
    """Place in KINDS of some shares of a clear sky's light."""
    return (np.asarray(light_frac)[..., None] < np.array(KIND_FROM_FRAC)).sum(axis=-1)


def gains_soc(forcing: EnsembleForcing, days: Sequence[slice]) -> tuple[float, ...]:
    """What each kind of day does to the bank without the engine, on average. [-]

    What panels and other chargers offer less what all loads take, as a share of the bank. A kind
    that never comes is as the day before it in KINDS, or after.
    """
    prepared = forcing.prepared
    sums, counts = np.zeros(len(KINDS)), np.zeros(len(KINDS))
    whole = round(24.0 / prepared.track.step_h)
    for steps in days:
        if steps.stop - steps.start != whole:
            continue
        net_Ah = _net_Ah(forcing.signals(steps), prepared)
        kind = kind_of(kinds_of(forcing, steps))
        net_Ah = np.broadcast_to(net_Ah, kind.shape)
        for place in range(len(KINDS)):
            sums[place] += net_Ah[kind == place].sum()
            counts[place] += np.count_nonzero(kind == place)
    if not counts.any():
        return (0.0,) * len(KINDS)
    known = np.flatnonzero(counts)
    means = sums[known] / counts[known] / prepared.plant.bank.capacity_Ah
    return tuple(np.interp(np.arange(len(KINDS)), known, means).tolist())


def _net_Ah(signals: Signals, prepared: Prepared) -> Array:
    """Offered less drawn in some steps, at the nominal voltage. (members or 1,) [Ah]"""
    nominal_V = 12.0 * prepared.plant.bank.blocks
    net_A = -(signals.load_A + signals.load_W / nominal_V).sum(axis=1) - prepared.plant.idle_A
    for one in signals.chargers:
        offered_A = one.first_A if one.knots_V else one.power_W / nominal_V
        net_A = net_A + np.minimum(offered_A, one.rated_A)
    return net_A.sum(axis=0) * signals.step_h


def by_paper(
    boat: Boat,
    forcing: EnsembleForcing,
    tables: Sequence[PaperTable],
    *,
    counted_from_h: float = 0.0,
    progress: Callable[[float], object] | None = None,
) -> PolicyEvaluation:
    """What some tables come to in every member, each followed day by day.

    Parameters
    ----------
    boat : Boat
        For her bank, her hours and her prices.
    forcing : EnsembleForcing
        The members.
    tables : sequence of PaperTable
        All read at the same time.
    counted_from_h : float
        From when on the floor counts. [h]
    progress : callable, optional
        Called with the share that is done.

    Returns
    -------
    PolicyEvaluation
        A row a table, with the boat's own rule in the place of rules.

    Raises
    ------
    BalanceError
        If the books of one of them do not close.
    """
    prepared, battery = forcing.prepared, boat.battery
    count, members = len(tables), forcing.members
    columns, track = count * members, prepared.track
    member_of = np.tile(np.arange(members), count)
    aboard = aboard_of(forcing, battery).each(lambda values: np.tile(values, count))
    rule = without_engine_rule(rule_of(boat))
    plant = aboard.plant(replace(of_members(forcing.plant, member_of), rule=rule))
    batch = Batch(
        plant=plant,
        state=aboard.state(plant, members=columns),
        step_h=track.step_h,
        switches=aboard.switches(),
        floor_soc=battery.floor_soc,
        counted_from_h=counted_from_h,
        sums=LEDGERS,
        source_of=member_of,
        order_of=np.arange(columns),
    )
    days = days_of(prepared, tables[0].read_at_h)
    open_hours = allowed_hours(boat.charging, prepared.sun_track, prepared.sun_steps)["may_run"]
    rng = np.random.default_rng([forcing.seed, _LOOKS])
    for place, steps in enumerate(days):
        signals = forcing.signals(steps)
        runs_h = np.zeros(columns)
        if place:  # the passage begins between two readings
            looks = kinds_of(forcing, steps) + BY_EYE_FRAC * rng.standard_normal(members)
            seems = _seems_soc(batch, forcing, signals, plant, member_of)
            runs_h = np.concatenate(
                [
                    table.runs_at(one, kind_of(looks))
                    for table, one in zip(tables, seems.reshape(count, members), strict=True)
                ]
            )
        ordered = ordered_steps(open_hours[steps] > 0.0, runs_h, step_h=track.step_h)
        batch.through(Laid(signals).ordered({"ordered": ordered}))
        batch.check()
        if progress is not None:
            progress((place + 1.0) / len(days))
    return tallied(boat, batch, (boat.charging,) * count, plant=plant, step_h=track.step_h)


def ordered_steps(may_run: Bools, runs_h: Array, *, step_h: float) -> Array:
    """Share of each step of a day in which the engine runs, from the first hour that allows it.

    Parameters
    ----------
    may_run : ndarray of bool, shape (steps,)
        Where the hours allow it.
    runs_h : ndarray, shape (columns,)
        How long each is to run. [h]
    step_h : float
        Length of a step. [h]

    Returns
    -------
    ndarray, shape (steps, columns)
        A run that the hours cut short ends with them. [-]

    Examples
    --------
    >>> may_run = np.array([False, True, True, True, False])
    >>> ordered_steps(may_run, np.array([0.0, 1.5, 9.0]), step_h=1.0).T.tolist()
    [[0.0, 0.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.5, 0.0, 0.0], [0.0, 1.0, 1.0, 1.0, 0.0]]
    """
    gone_h = step_h * np.concatenate([[0.0], np.cumsum(may_run, dtype=float)[:-1]])
    return np.clip((runs_h - gone_h[:, None]) / step_h, 0.0, 1.0) * may_run[:, None]


def _seems_soc(batch, forcing, signals, plant, member_of) -> Array:
    """What each bank seems to hold as a day begins. (columns,) [-]"""
    misread, state = forcing.misread, batch.state
    since_h = np.minimum(
        state.since_full_h, 24.0 * most_days(forcing.prepared.passage.boat.battery)
    )
    anew_soc = np.broadcast_to(signals.misread_soc[0], forcing.members)[member_of]
    soc = physics.soc_of(plant.bank, state.total_Ah)
    soc = soc + anew_soc + misread.drift_per_h[member_of] * since_h
    low = np.clip(np.searchsorted(SOCS, soc) - 1, 0, len(SOCS) - 2)
    share = (soc - SOCS[low]) / (SOCS[low + 1] - SOCS[low])
    table = misread.seems_soc
    return (1.0 - share) * table[low, member_of] + share * table[low + 1, member_of]
