"""The charging rule as it is followed by someone who cannot read the bank exactly."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.physics.rest import surface_V
from powersim.physics.voltage import discharge_resistance_ohm
from powersim.records import Battery
from powersim.records.brief import brief
from powersim.simulation import reading_parts as parts
from powersim.simulation.calibration import METER_SD_V, rested_volts
from powersim.simulation.member_banks import BankDraws
from powersim.simulation.usual_load import load_A, mean_load_A, usual_load_A
from powersim.sky import streams

if TYPE_CHECKING:
    from powersim.kernel.plant import Rule
    from powersim.records.arrays import Array, Ints
    from powersim.simulation.prepared import Prepared

#: Charges at which it is worked out what a bank seems to hold; straight lines between. [-]
SOCS = np.linspace(0.0, 1.0, 41)
#: Draws of a member that last: a zero (the meter's, or how full the bank was when the counter was
#: set), the cable, warmth, the counter's efficiency, its shunt; the layout never changes.
_PER_MEMBER = 5
#: Draws for the errors of the sailor's own points, in the same stream.
_POINTS_INDEX = 1
_DAY_h = 24.0
#: Panels that still charge are switched off for so long before a reading. [h]
_SWITCHED_OFF_h = 0.2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Misreading:
    """How wrongly each member reads its bank, as far as that lasts.

    Attributes
    ----------
    seems_soc : ndarray, shape (len(SOCS), members)
        What the bank seems to hold where it holds SOCS, rising with it. [-]
    drift_per_h : ndarray, shape (members,)
        How much more it seems to hold for each hour since it was full: a counter. [1/h]
    """

    seems_soc: Array
    drift_per_h: Array

    __repr__ = brief

    @property
    def members(self) -> int:
        """How many."""
        return len(self.drift_per_h)

    def chosen(self, some: Ints | slice) -> Misreading:
        """Some members alone.

        Parameters
        ----------
        some : slice or ndarray of int
            Which members.

        Returns
        -------
        Misreading
            In the order in which they were named.
        """
        return Misreading(seems_soc=self.seems_soc[:, some], drift_per_h=self.drift_per_h[some])

    def holds_soc(self, seems: float) -> Array:
        """What the bank really holds where it seems to hold something, just after it was full.

        Parameters
        ----------
        seems : float
            As it is read. [-]

        Returns
        -------
        ndarray, shape (members,)
            0 or 1 where it never seems so. [-]
        """
        table, columns = self.seems_soc, np.arange(self.members)
        above = np.clip((table < seems).sum(axis=0), 1, len(SOCS) - 1)
        low, high = table[above - 1, columns], table[above, columns]
        rises = high > low
        share = np.where(rises, (seems - low) / np.where(rises, high - low, 1.0), 0.0)
        return SOCS[above - 1] + np.clip(share, 0.0, 1.0) * (SOCS[above] - SOCS[above - 1])


def read_exactly(members: int) -> Misreading:
    """Members who all read their bank as it is.

    Parameters
    ----------
    members : int
        How many.

    Returns
    -------
    Misreading
        Of no error.
    """
    return Misreading(
        seems_soc=np.repeat(SOCS[:, None], members, axis=1), drift_per_h=np.zeros(members)
    )


def misreading_of(
    prepared: Prepared, banks: BankDraws, *, seed: int, members: int
) -> tuple[Misreading, BankDraws]:
    """How each member misreads a bank of its own.

    Parameters
    ----------
    prepared : Prepared
        The passage, for its bank and its loads.
    banks : BankDraws
        How the members' banks differ.
    seed : int
        As `sky.streams` keeps it.
    members : int
        How many.

    Returns
    -------
    tuple of (Misreading, BankDraws)
        One error goes with a member all the way; and the banks as the sailor's own points of the
        rested volts leave them, which is as they were without any.
    """
    battery = prepared.passage.boat.battery
    drawn = {"seed": seed, "members": members}
    zero, cable, warmth, efficiency, shunt = streams.normal(
        streams.READING, index=0, per_member=_PER_MEMBER, **drawn
    )
    count = max(1, len(battery.rested))
    luck = streams.normal(streams.READING, index=_POINTS_INDEX, per_member=count, **drawn)
    height_V, rise, zero_V = rested_volts(battery).narrowed(
        height_V=banks.offset_V, rise=np.log(banks.slope), zero_V=METER_SD_V * zero, luck=luck
    )
    if battery.rested:
        banks = replace(banks, offset_V=height_V, slope=np.exp(rise))
    if battery.reading == "volts":
        more_V = (
            zero_V + parts.CABLE_SD_V * cable + parts.WARMTH_V_PER_C * parts.WARMTH_SD_C * warmth
        )
        return by_volts(prepared, banks, more_V=more_V), banks
    return (
        by_counter(
            prepared,
            banks,
            set_full=parts.SET_FULL_SD_SOC * zero,
            efficiency=parts.efficiency_sd_frac(battery) * efficiency,
            zero_A=parts.COUNTER_ZERO_SD_A * shunt,
        ),
        banks,
    )


def by_volts(prepared: Prepared, banks: BankDraws, *, more_V: Array) -> Misreading:
    """How members misread by voltmeter whose banks and meters differ from what the rule goes by.

    Parameters
    ----------
    prepared : Prepared
        The passage, for the middle bank and the usual load.
    banks : BankDraws
        How the members' banks differ.
    more_V : ndarray, shape (members,)
        What each meter shows too much, of a block of 12 V. [V]

    Returns
    -------
    Misreading
        With the usual load on, and nothing else.
    """
    bank, known = prepared.plant.bank, rested_volts(prepared.passage.boat.battery)
    sag_V = _sags_V(prepared) / bank.blocks
    socs = SOCS.tolist()
    table_V = np.array([known.shown_V(soc) for soc in socs]) - sag_V
    middle_V = np.array([[known.middle_V(soc)] for soc in socs])
    hang = np.array([known.hang_on(soc)[:2] for soc in socs])
    shown_V = (
        middle_V
        + hang @ np.stack([banks.offset_V, banks.slope - 1.0])
        - sag_V[:, None] * (banks.resistance / banks.capacity)
        + more_V
    )
    return Misreading(
        seems_soc=np.interp(shown_V, table_V, SOCS), drift_per_h=np.zeros(shown_V.shape[1])
    )


def by_counter(
    prepared: Prepared, banks: BankDraws, *, set_full: Array, efficiency: Array, zero_A: Array
) -> Misreading:
    """How members misread by a battery monitor.

    Parameters
    ----------
    prepared : Prepared
        The passage, for the middle bank and what its loads take in a day.
    banks : BankDraws
        How the members' banks differ: the counter is set to the middle one's capacity.
    set_full : ndarray, shape (members,)
        How much too full the counter was set. [-]
    efficiency : ndarray, shape (members,)
        How much more of what goes in is counted as stored than is. [-]
    zero_A : ndarray, shape (members,)
        What the shunt shows at no current, into the bank. [A]

    Returns
    -------
    Misreading
        That drifts from one full charge to the next. What the bank loses by itself no counter
        sees: that drift all have in common.
    """
    plant, bank = prepared.plant, prepared.plant.bank
    lacking = (1.0 - SOCS)[:, None] * banks.capacity
    into_A = efficiency * mean_load_A(prepared) + zero_A
    return Misreading(
        seems_soc=1.0 - lacking + set_full,
        drift_per_h=into_A / bank.capacity_Ah + plant.self_discharge_per_h,
    )


def told_V(prepared: Prepared, soc: float) -> float:
    """What the sailor is told that the voltmeter shows, with the usual load on.

    Parameters
    ----------
    prepared : Prepared
        The passage, for its bank, its usual load and the bank's mean temperature.
    soc : float
        State of charge. [-]

    Returns
    -------
    float
        By the sailor's own points of the rested volts, or those of the middle bank. [V]
    """
    bank, battery = prepared.plant.bank, prepared.passage.boat.battery
    rested_V = bank.blocks * rested_volts(battery).shown_V(soc)
    ohm = discharge_resistance_ohm(bank, soc, _mean_C(prepared))
    return rested_V - usual_load_A(prepared) * ohm


def errors_anew(*, first_hour: int, hours: int, seed: int, members: int) -> Array:
    """By how much readings err that are taken in some hours, besides what stays.

    Parameters
    ----------
    first_hour, hours : int
        The first, counted from 1970 in UTC, and how many.
    seed : int
        As `sky.streams` keeps it.
    members : int
        How many.

    Returns
    -------
    ndarray, shape (hours, members)
        In standard deviations: `anew_soc` has how large one is. All readings of a member within an
        hour err alike, whatever the rule that asks for them. [-]
    """
    return np.concatenate(
        [
            streams.normal(streams.READING_AGAIN, seed=seed, index=hour, members=members)
            for hour in range(first_hour, first_hour + hours)
        ]
    )


def anew_soc(prepared: Prepared) -> tuple[Array, Array]:
    """The part of a reading's error that is new each time, at every step.

    Parameters
    ----------
    prepared : Prepared
        The passage: what stands on a bank by volts goes by its sun and loads in average weather.

    Returns
    -------
    tuple of two ndarray, shape (n,)
        Its mean, since what the sun has left on a bank makes it look fuller, and one standard
        deviation. [-]
    """
    battery, bank = prepared.passage.boat.battery, prepared.plant.bank
    none = np.zeros(prepared.track.n_steps)
    if battery.reading != "volts":
        return none, none + parts.COUNTER_LOOK_SD_SOC
    soc = prepared.passage.boat.charging.start_soc
    given = {"soc": soc, "load_A": usual_load_A(prepared), "bank_C": _mean_C(prepared)}
    # All but the surface charge, for which the hour counts.
    rested = parts.volts_parts(battery, bank, **given, drawn_frac=math.inf)
    sd_soc = parts.total_soc(rested, lasts=False)
    if battery.traits.mute_soc:
        return none, none + sd_soc
    surface_soc = surface_by_step_V(prepared) * bank.blocks / parts.shown_slope_V(bank, **given)
    return (
        parts.SURFACE_MEAN_FRAC * surface_soc,
        np.hypot(sd_soc, parts.SURFACE_SD_FRAC * surface_soc),
    )


def surface_by_step_V(prepared: Prepared) -> Array:
    """What would stand on a full lead-acid bank as each step begins, of what the sun gave before.

    Parameters
    ----------
    prepared : Prepared
        The passage, in average weather.

    Returns
    -------
    ndarray, shape (n,)
        By the time and the ampere-hours since the panels last gave more than the loads took, for a
        block of 12 V. [V]
    """
    signals, bank, step_h = prepared.signals, prepared.plant.bank, prepared.track.step_h
    drawn_A = load_A(prepared)
    offered_A = sum(
        (one.first_A if one.knots_V else one.power_W / (12.0 * bank.blocks))[:, 0]
        for one in signals.controllers
    )
    charges = offered_A > drawn_A
    places = np.arange(len(drawn_A))
    # The step after the last one before this that charged; long ago where none did.
    since = np.maximum.accumulate(np.where(charges, places + 1, -len(drawn_A)))
    since = np.concatenate([[-len(drawn_A)], since[:-1]])
    rest_h = np.maximum((places - since) * step_h, _SWITCHED_OFF_h)
    drawn_Ah = np.concatenate([[0.0], np.cumsum(drawn_A) * step_h])
    gone_Ah = drawn_Ah[places] - drawn_Ah[np.maximum(since, 0)]
    gone_Ah = np.maximum(gone_Ah, drawn_A * _SWITCHED_OFF_h)
    drawn_frac = gone_Ah / bank.capacity_Ah
    stands_V = [surface_V(h, drawn_frac=of) for h, of in zip(rest_h, drawn_frac, strict=True)]
    return np.array(stands_V)


def as_read(rule: Rule, battery: Battery, *, misread: Misreading) -> Rule:
    """A rule's levels as they are kept to by someone who misreads the bank.

    Parameters
    ----------
    rule : Rule
        As it is meant.
    battery : Battery
        For how it is read, and how low it may go.
    misread : Misreading
        From `misreading_of`.

    Returns
    -------
    Rule
        With start and stop of arrays shaped (members,), where the engine goes by them at all. By
        voltmeter the start alone moves: a run is stopped by the minute hand and by amperes. A
        counter's drift is in the rule too; what is new at each reading is a signal of the step.
    """
    if rule.start_soc == -math.inf:  # never
        return rule
    # Nobody lets a bank run flat because of a needle, nor starts the engine on a full one.
    highest_soc = min(rule.stop_soc, 1.0)
    start_soc: Any = np.clip(misread.holds_soc(rule.start_soc), battery.flat_soc, highest_soc)
    if rule.wait_below_soc > rule.start_soc:
        wait_soc: Any = np.clip(misread.holds_soc(rule.wait_below_soc), start_soc, highest_soc)
        rule = replace(rule, wait_below_soc=wait_soc)
    if battery.reading == "volts":
        return replace(rule, start_soc=start_soc)
    drift: Any = misread.drift_per_h
    room_soc = np.where(drift > 0.0, start_soc - battery.flat_soc, highest_soc - start_soc)
    still = drift == 0.0
    drifts_h: Any = np.where(still, 0.0, room_soc / np.where(still, 1.0, np.abs(drift)))
    drifts_h = np.minimum(drifts_h, _DAY_h * parts.most_days(battery))
    drifting = replace(
        rule,
        start_soc=start_soc,
        drift_per_h=drift,
        drifts_h=drifts_h,
    )
    if rule.stop_soc == math.inf:
        return drifting
    stop_soc: Any = np.clip(misread.holds_soc(rule.stop_soc), start_soc, 1.0)
    return replace(drifting, stop_soc=stop_soc)


def _sags_V(prepared: Prepared) -> Array:
    """By how much the usual load pulls the volts down at SOCS."""
    bank, bank_C = prepared.plant.bank, _mean_C(prepared)
    ohms = [discharge_resistance_ohm(bank, soc, bank_C) for soc in SOCS.tolist()]
    return usual_load_A(prepared) * np.array(ohms)


def _mean_C(prepared: Prepared) -> float:
    return float(prepared.sky.bank_C.mean())
