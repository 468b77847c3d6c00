"""A charging rule in one short line, to tell several apart."""

from __future__ import annotations

from collections.abc import Callable

from powersim.records import Boat, ChargingRule
from powersim.records.clock import clock
from powersim.report.kinds import BY_WATCH
from powersim.report.rule_lines import LEVEL, LIMIT_A, running, times, where


def rule_in_short(rule: ChargingRule, boat: Boat, shown_V: Callable[[float], float]) -> str:
    """When the engine is started, and what ends a run.

    Parameters
    ----------
    rule : ChargingRule
        One that runs the engine.
    boat : Boat
        For how its bank is read.
    shown_V : callable
        What the voltmeter shows at a charge. [V]
    """
    level = str(LEVEL(rule.start_soc))
    if boat.battery.volts_tell:
        level = f"{shown_V(rule.start_soc):.2f} V ({level})"
    read = f"at {times(rule.read_at_h)}" if rule.read_at_h else "at any moment"
    if rule.little_sun_Ah is not None and len(rule.read_at_h) > 1:
        read = f"at {clock(rule.read_at_h[0])}, and on days of little sun at "
        read += times(rule.read_at_h[1:])
    parts = [f"{read}, {level} or less: {_ends(rule)}"]
    if rule.wait_below_soc is not None:
        waits = str(LEVEL(rule.wait_below_soc))
        if boat.battery.volts_tell:
            waits = f"{shown_V(rule.wait_below_soc):.2f} V ({waits})"
        parts.append(f"{waits} or less: the same once it is read {running(rule)}")
    for run in rule.daily:
        place = where(run)
        every = f"{BY_WATCH(run.run_h)} every day at {clock(run.at_h)}"
        parts.insert(0, f"{every} {place}" if place else every)
    if rule.full_every_days is not None:
        parts.append(f"to full every {rule.full_every_days:g} days")
    return "; ".join(parts)


def _ends(rule) -> str:
    if rule.run_h is not None:
        return str(BY_WATCH(rule.run_h))
    if rule.stop_below_A is not None:
        return f"until below {LIMIT_A(rule.stop_below_A)}, {BY_WATCH(rule.shortest_h)} at least"
    return f"to {LEVEL(rule.stop_soc)}"
