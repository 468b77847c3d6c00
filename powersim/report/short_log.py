"""What a log of a few days cannot tell yet, and what to read next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from powersim.records import STATES
from powersim.report import rounding

if TYPE_CHECKING:
    from powersim.logbook.days_before import DaysBefore
    from powersim.logbook.posterior import Posterior

#: A log shorter than this is told to be short. [h]
SHORT_h = 72.0


def begun_before(before: DaysBefore) -> str:
    """That a log is of the days before leaving, and what that is taken to mean.

    Parameters
    ----------
    before : DaysBefore
        The days.
    """
    doing = STATES[before.state].words
    return (
        f"The log was kept before leaving: it is held against a stay, {doing}, at the first "
        f"waypoint, from {before.since_utc:%Y-%m-%d %H:%M} UTC on, with the loads that are on "
        f"there. It begins at {rounding.soc(before.begin_soc)}, by {before.told_by}. If she was "
        "sailed meanwhile, give --depart with the day on which the log begins."
    )


def before_dict(before: DaysBefore | None) -> dict[str, Any]:
    """What `underway --json` says of it; nothing of any other log.

    Parameters
    ----------
    before : DaysBefore or None
        The days.
    """
    if before is None:
        return {}
    since = {"since_utc": before.since_utc.isoformat(), "state": before.state}
    told = {"begin_soc": round(before.begin_soc, 4), "told_by": before.told_by}
    return {"before_departure": since | told}


def short_log(posterior: Posterior, *, has_trial: bool) -> str:
    """What a log of a few days tells, and what to read next; empty for a longer one.

    Parameters
    ----------
    posterior : Posterior
        A log compared with its passage.
    has_trial : bool
        Whether loads were measured one by one.
    """
    if posterior.until_h >= SHORT_h:
        return ""
    told = (
        f"{rounding.days(posterior.until_h / 24.0)} of log is short: it tells something of the "
        "day's draw, hardly anything of bank and panels, and nothing of single loads."
    )
    wanted = list(_wanted(posterior))
    if not has_trial:
        wanted.append("each load by itself with a clamp meter (docs/how-to/sea-trial.md)")
    return f"{told} Read next: {'; '.join(wanted)}." if wanted else told


def _wanted(posterior: Posterior) -> Iterator[str]:
    """What has not been read twice, the most telling first."""
    boat = posterior.passage.boat
    entries = [one.entry for one in posterior.log.readings]

    def read(*columns: str) -> int:
        return sum(any(getattr(one, name) is not None for name in columns) for one in entries)

    if read("voltage_V", "soc", "monitor_Ah") < 2:
        yield "the volts before dawn, rested, or the monitor"
    if boat.engine is not None and read("engine_h") < 2:
        yield "the hour meter at every entry"
    if boat.panels and read("solar_Ah") < 2:
        yield "the controller's own counter, if it has one"
    if boat.fuel is not None and read("dip_m", "dip_L") < 2:
        yield "the dip stick once a day"
    if boat.driven_alternator is not None and not read("absorb_A"):
        yield "the amperes in absorption, once (absorb_A)"
