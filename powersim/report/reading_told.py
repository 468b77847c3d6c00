"""How sure a reading of the bank is, and what would make it surer: a line of `check`."""

from __future__ import annotations

from dataclasses import replace

from powersim.records import Boat
from powersim.simulation.calibration import usual_points
from powersim.simulation.reading_parts import counter_parts, rested_parts, total_soc

#: What goes in and out in a day of most boats, as a share of the bank; judgement. [-]
_USED_FRAC = 0.25


def reading_told(boat: Boat) -> str:
    """How far a charge may be off that is read aboard, and what makes it surer.

    Empty where volts tell nothing, and where no engine is started by them or by a counter.

    Parameters
    ----------
    boat : Boat
        For how her bank is read, and at which charge her engine is started.
    """
    battery = boat.battery
    if not (boat.charging.by_engine and boat.alternator):
        return ""
    soc = boat.charging.start_soc
    if battery.reading == "monitor":
        return _by_counter(battery, soc)
    if not battery.volts_tell:
        return ""
    now = _percent(battery, soc)
    if not battery.rested:
        could = _percent(replace(battery, rested=usual_points(battery)), soc)
        return (
            f"by voltmeter: one time in three a charge read so is off by more than {now} points; "
            f"two points of your own volts ('rested') make that {could}"
        )
    without = _percent(replace(battery, rested=()), soc)
    return (
        f"by voltmeter, with your own volts: one time in three a charge read so is off by more "
        f"than {now} points, in place of {without}"
    )


def _by_counter(battery, soc) -> str:
    later, later_days = ("month", 30.0) if battery.traits.mute_soc else ("week", 7.0)
    day, then = (
        round(
            100.0
            * total_soc(counter_parts(battery, soc=soc, days=days, used_frac_per_day=_USED_FRAC))
        )
        for days in (0.0, later_days)
    )
    return (
        f"by monitor: just set right by a full charge it is off by more than {day} points one time "
        f"in three, a {later} later by more than {then}; fill the bank to set it right"
    )


def _percent(battery, soc) -> int:
    return round(100.0 * total_soc(rested_parts(battery, soc=soc)))
