"""Charging rules worth evaluating: few enough to search, simple enough to follow when tired.

The bank is read at set times. A run that a reading has asked for ends by the clock, by amperes, or,
where a counter is read, at a level that it can tell from the start. Rules of one kind differ only
in the start level, which the search sets as low as the limits allow.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from powersim.planning import daily_bands
from powersim.records import Boat, ChargingRule, DailyRun, Passage
from powersim.records.charging import LEAST_GAP_SOC
from powersim.records.clock import fits, span_h
from powersim.simulation.first_day import HIGHEST_STOP_SOC

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared
    from powersim.voyage.track import Track

#: When a bank may be read, where boat.toml leaves it open: before dawn, before the night, both. [h]
READ_AT_h = ((6.0,), (18.0,), (6.0, 18.0))
#: Lengths of a run by the clock. [h]
RUNS_h = (1.5, 2.0, 3.0)
#: A run by amperes stops where the bank takes less than this share of what the alternator gives.
#: [-]
AMPS_FRAC = 0.4
#: How far a stop by level lies above its start, beside the least that can be told. [-]
GAPS_SOC = (0.15, 0.25)
#: A day has little sun if the panels gave less of what the loads take between two readings. [-]
LITTLE_FRAC = 0.5
#: How far above its start a rule waits for one more reading: more saves more, and leaves less room
#: where a reading is slept through. Its run by the clock, and how far above the wait a counter ends
#: one. [-], [h]
WAIT_GAP_SOC, WAITING_RUN_h, WAITING_STOP_SOC = 0.10, 2.0, 0.05
#: How much sooner than required a rule asks for a full charge, since what falls due waits for a
#: reading and for the hours. [days]
EARLY_FULL_DAYS = (1.0, 3.0)
#: Daily runs that are easy to remember. [h]
DAILY_h = (1.5, 2.0)
#: Most latitudes on one passage at which a daily run may begin or end.
MOST_BANDS = 2
#: A run by amperes is not much shorter than one by the clock, whatever the ammeter shows. [h]
LEAST_BY_AMPS_h = 1.0
#: Steps from a good rule to its neighbours. [h], [-]
_NEAR_RUN_h, _NEAR_AMPS = (-0.5, 0.5), (0.6,)


def never_charge(boat: Boat) -> ChargingRule:
    """The rule by which the engine never charges."""
    return replace(boat.charging, by_engine=False, daily=(), full_every_days=None)


def at_level(rule: ChargingRule, start_soc: float) -> ChargingRule:
    """A rule with another start, and its stop as far above it as before.

    The stop is at most HIGHEST_STOP_SOC, and the start stays below it. A run that ends by the clock
    or by amperes has none. What a rule waits below moves with the start.
    """
    if rule.wait_below_soc is not None:
        still = at_level(replace(rule, wait_below_soc=None), start_soc)
        most_soc = HIGHEST_STOP_SOC if still.stop_soc is None else still.stop_soc - 0.01
        wait_soc = min(still.start_soc + wait_gap_of(rule), most_soc)
        return replace(still, wait_below_soc=wait_soc) if wait_soc > still.start_soc else still
    if rule.stop_soc is None:
        return replace(rule, start_soc=start_soc)
    stop_soc = min(start_soc + gap_of(rule), HIGHEST_STOP_SOC)
    return replace(rule, start_soc=min(start_soc, stop_soc - 0.01), stop_soc=stop_soc)


def gap_of(rule: ChargingRule) -> float:
    """How far above its start a rule stops the engine; 0 where no level ends a run. [-]"""
    return 0.0 if rule.stop_soc is None else rule.stop_soc - rule.start_soc


def wait_gap_of(rule: ChargingRule) -> float:
    """How far above its start a rule begins to wait; 0 where it does not. [-]"""
    return 0.0 if rule.wait_below_soc is None else rule.wait_below_soc - rule.start_soc


def highest_start(rule: ChargingRule) -> float:
    """The highest start that leaves room for a rule's stop, and for its wait. [-]"""
    return HIGHEST_STOP_SOC - max(gap_of(rule), wait_gap_of(rule))


def percent_of(rule: ChargingRule) -> int:
    """A rule's start in whole per cent, rounded up."""
    return math.ceil(100.0 * rule.start_soc - 1e-6)


def at_percent(rule: ChargingRule, percent: int) -> ChargingRule:
    """A rule at another start in whole per cent, and its stop in whole per cent too."""
    moved = at_level(rule, percent / 100.0)
    start_soc = round(moved.start_soc, 2)
    if moved.wait_below_soc is not None:
        wait_soc = max(round(moved.wait_below_soc, 2), round(start_soc + 0.01, 2))
        moved = replace(moved, start_soc=start_soc, wait_below_soc=wait_soc)
    if moved.stop_soc is None:
        return replace(moved, start_soc=start_soc)
    stop_soc = max(round(moved.stop_soc, 2), round(start_soc + 0.01, 2))
    return replace(moved, start_soc=start_soc, stop_soc=stop_soc)


def least_start(boat: Boat) -> float:
    """The least charge to keep, and so the lowest start of a rule. [-]

    It is the floor, or what the engine needs to start from the bank if that is more.

    Parameters
    ----------
    boat : Boat
        Her battery and engine count.
    """
    return max(boat.battery.floor_soc, boat.engine.least_start_soc if boat.engine else 0.0)


def reading_times(passage: Passage) -> tuple[tuple[float, ...], ...]:
    """The times at which the bank may be read, to choose from: hers, unless she leaves it open.

    Parameters
    ----------
    passage : Passage
        Whose assumptions tell what boat.toml leaves out.
    """
    rule = passage.boat.charging
    if not any(one.place == "boat.toml charging.read_at" for one in passage.assumptions):
        return (rule.read_at_h,)
    # The shortest run begins at once, so that the next reading does not come before it.
    return tuple(
        times
        for times in READ_AT_h
        if len(times) == 1 or fits(times[-1], LEAST_BY_AMPS_h, within_h=rule.hours_h)
    )


def kinds(passage: Passage, prepared: Prepared) -> list[ChargingRule]:
    """Kinds of rules to begin the search with, each at the lowest start.

    Parameters
    ----------
    passage : Passage
        Whose boat says what any rule of hers has to keep to.
    prepared : Prepared
        The passage, for its loads and latitudes.
    """
    boat, times = passage.boat, reading_times(passage)
    asked = boat.charging.full_every_days
    all_ends = [
        replace(kind, read_at_h=read_at_h)
        for read_at_h in times
        for kind in _ends(boat, [AMPS_FRAC])
    ]
    # The evening's reading decides nothing where its run would only begin after the morning's.
    plain = [kind for kind in all_ends if len(times) == 1 or _has_room(kind)]
    little_Ah = _little_sun_Ah(prepared)
    dull = [
        replace(kind, little_sun_Ah=little_Ah)
        for kind in plain
        if len(kind.read_at_h) > 1 and kind.stop_soc is None and boat.panels and little_Ah > 0.0
    ]
    kept = [*plain, *dull, *_waiting(all_ends)]
    if asked is not None:
        kept += [replace(kind, full_every_days=asked) for kind in plain]
    backup = replace(_ends(boat, [])[0], read_at_h=max(times, key=len))
    return kept + [replace(backup, daily=(run,)) for run in _daily(boat.charging, prepared.track)]


def neighbours(rule: ChargingRule, boat: Boat) -> list[ChargingRule]:
    """Rules that differ from a good one by a small step in one thing."""
    asked, near = boat.charging, list[ChargingRule]()
    if rule.run_h is not None:
        near += [
            replace(rule, run_h=rule.run_h + more_h)
            for more_h in _NEAR_RUN_h
            if max(asked.shortest_h, RUNS_h[0]) <= rule.run_h + more_h <= asked.longest_h
        ]
    if rule.stop_below_A is not None:
        amps = {max(1.0, float(round(times * rule.stop_below_A))) for times in _NEAR_AMPS}
        near += [replace(rule, stop_below_A=one) for one in amps]
    if rule.little_sun_Ah is not None:
        near.append(replace(rule, little_sun_Ah=None))
    if asked.full_every_days is not None:
        days = [asked.full_every_days - sooner for sooner in (0.0, *EARLY_FULL_DAYS)]
        near += [replace(rule, full_every_days=one) for one in days if one >= 2.0]
    for run in rule.daily:
        near += [replace(rule, daily=(moved,)) for moved in daily_bands.moved(run)]
        near.append(replace(rule, daily=()))
    return near


def _has_room(kind: ChargingRule) -> bool:
    """Whether a run by the clock ends within the hours if the day's last reading asks for it."""
    last_h, run_h = kind.read_at_h[-1], kind.run_h
    return len(kind.read_at_h) == 1 or run_h is None or fits(last_h, run_h, within_h=kind.hours_h)


def _waiting(plain: Sequence[ChargingRule]) -> list[ChargingRule]:
    """Rules that wait for one more reading, while a calm is motored or a bright day comes.

    Only where the bank is read more often than once a day: two days are long to wait. By a counter
    a run goes on to a little above where the waiting began.
    """
    bases = [kind for kind in plain if len(kind.read_at_h) > 1]
    by_clock = [kind for kind in bases if kind.run_h == WAITING_RUN_h]
    by_amps = [kind for kind in bases if kind.stop_below_A is not None]
    # One of each reading is enough: the stop goes with the wait.
    by_level = {kind.read_at_h: kind for kind in bases if kind.stop_soc is not None}.values()
    return [_waits(kind) for kind in (*by_clock, *by_amps, *by_level)]


def _waits(kind: ChargingRule) -> ChargingRule:
    """A kind that waits, at the start that it has, or as high as leaves room for the wait."""
    start_soc = min(kind.start_soc, HIGHEST_STOP_SOC - WAIT_GAP_SOC - WAITING_STOP_SOC)
    wait_soc = start_soc + WAIT_GAP_SOC
    stop_soc = None if kind.stop_soc is None else wait_soc + WAITING_STOP_SOC
    return replace(kind, start_soc=start_soc, stop_soc=stop_soc, wait_below_soc=wait_soc)


def _ends(boat: Boat, amps_fracs: Sequence[float]) -> list[ChargingRule]:
    """Rules at the lowest start by all that may end a run: clock, amperes, levels."""
    charging = boat.charging
    bare = replace(
        charging,
        by_engine=True,
        daily=(),
        little_sun_Ah=None,
        wait_below_soc=None,
        full_every_days=None,
        start_soc=least_start(boat),
        stop_soc=None,
        stop_below_A=None,
        run_h=charging.longest_h,
    )
    fitting = [h for h in RUNS_h if charging.shortest_h <= h <= charging.longest_h]
    ends = [replace(bare, run_h=run_h) for run_h in fitting] or [bare]
    alternator = boat.driven_alternator
    for frac in amps_fracs:
        if alternator is None:
            break
        into_A = max(1.0, float(round(frac * alternator.charging_A)))
        shortest_h = min(max(charging.shortest_h, LEAST_BY_AMPS_h), charging.longest_h)
        ends.append(replace(bare, run_h=None, stop_below_A=into_A, shortest_h=shortest_h))
    if boat.battery.volts_tell:  # but no level while something charges
        return ends
    for gap_soc in (LEAST_GAP_SOC[boat.battery.reading], *GAPS_SOC):
        level = replace(bare, run_h=None, start_soc=0.0, stop_soc=gap_soc)
        ends.append(at_level(level, bare.start_soc))
    return ends


def _little_sun_Ah(prepared: Prepared) -> float:
    """A share of what the loads take between dawn and evening. [Ah]"""
    signals = prepared.signals
    nominal_V = 12.0 * prepared.plant.bank.blocks
    draw_A = (signals.load_A + signals.load_W / nominal_V).sum(axis=1)
    return float(round(LITTLE_FRAC * 12.0 * float(draw_A.mean())))


def _daily(charging: ChargingRule, track: Track) -> Iterator[DailyRun]:
    """Daily runs everywhere and on one side of a latitude, at the first of the hours."""
    start_h, allowed_h = charging.hours_h[0], span_h(charging.hours_h)
    for run_h in DAILY_h:
        if charging.shortest_h <= run_h <= min(charging.longest_h, allowed_h):
            for south_deg, north_deg in ((-90.0, 90.0), *daily_bands.sides(track, most=MOST_BANDS)):
                yield DailyRun(at_h=start_h, run_h=run_h, south_deg=south_deg, north_deg=north_deg)
