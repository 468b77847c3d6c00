"""What is told of a member, whatever else is kept of it: its extremes, its firsts and its sums."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from powersim.kernel.flows import BANK_V, CHARGING, DARK, SAG_V, SINCE_FULL_H, SOC, WAITS

if TYPE_CHECKING:
    from powersim.records.arrays import Readable

_NEVER_h = float("inf")


class Told:
    """What is told of a member, whatever else is kept: a record of records.TOLD, or one like it.

    Attributes
    ----------
    lowest_soc, lowest_V : float
        Of charge and of the bus. [-], [V]
    lowest_h, floor_h, flat_h : float
        When the charge was lowest, when it first fell below the floor, and when all first went
        dark, after the run's begin; inf for never. [h]
    below_h, longest_since_full_h : float
        Time below the floor, and the longest time between full charges. [h]
    before_soc : float
        As the step begins. [-]
    runs : float
        How often the engine was started to charge. [-]
    waits : float
        How often a run had to wait for the sea. [-]
    joins_h, leaves_h : float
        When the member joins the run, and from when on it is carried no further: before and after
        it stays as it is. [h]
    ran, waited : bool
        Whether it charged in the step before, and whether a run waited in it.
    """

    lowest_soc: float
    lowest_h: float
    lowest_V: float
    floor_h: float
    flat_h: float
    below_h: float
    before_soc: float
    longest_since_full_h: float
    runs: float
    waits: float
    joins_h: float
    leaves_h: float
    ran: bool
    waited: bool


class Keep(NamedTuple):
    """What is kept of the members, and of which steps.

    Attributes
    ----------
    step_h : float
        Length of a step. [h]
    first : int
        Steps that went before these, since the run's begin.
    floor_soc : float
        Charge that the bank is not to fall below. [-]
    counted_from_h : float
        From when on charge counts: before that, no charge is the lowest and none below its floor.
        Darkness always counts. [h]
    until_dark : bool
        Whether a member is carried no further than the step in which it first goes dark.
    every : int
        Flows are kept of every so many steps, of the last of them.
    """

    step_h: float
    first: int
    floor_soc: float
    counted_from_h: float
    until_dark: bool
    every: int


def tell(told: Told, flow: Readable[float], *, begins_h: float, keep: Keep) -> None:
    """Take one step into what is told of a member.

    Parameters
    ----------
    told : Told
        Written.
    flow : sequence of float
        What happened in the step.
    begins_h : float
        When it began, after the run's begin. [h]
    keep : Keep
        The length of a step, the floor, and from when on charge counts.
    """
    ends_h = begins_h + keep.step_h
    soc = flow[SOC]
    if flow[SAG_V] < told.lowest_V:
        told.lowest_V = flow[SAG_V]
    if flow[BANK_V] < told.lowest_V:
        told.lowest_V = flow[BANK_V]
    if flow[DARK] > 0.0 and begins_h < told.flat_h:
        told.flat_h = begins_h
    if flow[SINCE_FULL_H] > told.longest_since_full_h:
        told.longest_since_full_h = flow[SINCE_FULL_H]
    runs = flow[CHARGING] > 0.0
    if runs and not told.ran:
        told.runs += 1.0
    told.ran = runs
    waits = flow[WAITS] > 0.0
    if waits and not told.waited:
        told.waits += 1.0
    told.waited = waits
    if begins_h + 0.5 * keep.step_h < keep.counted_from_h:
        # Charge counts from the end of this step on, or of a later one.
        told.lowest_soc, told.lowest_h = soc, ends_h
        told.floor_h = ends_h if soc < keep.floor_soc else _NEVER_h
    else:
        if soc < told.lowest_soc:
            told.lowest_soc, told.lowest_h = soc, ends_h
        before_soc = told.before_soc
        if soc < keep.floor_soc and told.floor_h == _NEVER_h:
            part = (before_soc - keep.floor_soc) / (before_soc - soc)
            told.floor_h = begins_h + part * keep.step_h
        if soc < keep.floor_soc or before_soc < keep.floor_soc:
            told.below_h += keep.step_h * below_frac(before_soc, soc, floor_soc=keep.floor_soc)
    told.before_soc = soc


def below_frac(before_soc: float, after_soc: float, *, floor_soc: float) -> float:
    """Share of a step for which a charge that moves evenly is below the floor.

    Parameters
    ----------
    before_soc, after_soc : float
        State of charge as the step begins and ends. [-]
    floor_soc : float
        The charge that it is held against. [-]

    Returns
    -------
    float
        0 for a charge that stays above it, 1 for one that stays below. [-]

    Examples
    --------
    >>> below_frac(0.4, 0.6, floor_soc=0.5), below_frac(0.4, 0.4, floor_soc=0.5)
    (0.5, 1.0)
    """
    low_soc, high_soc = before_soc, after_soc
    if low_soc > high_soc:
        low_soc, high_soc = high_soc, low_soc
    under = floor_soc - low_soc
    if not under > 0.0:
        return 0.0
    span = high_soc - low_soc
    return under / span if under < span else 1.0
