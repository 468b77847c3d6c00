"""What `underway --json` prints: the whole answer, as strict JSON."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING

from powersim.logbook.words import NAMES, cannot_tell
from powersim.report.comms_view import sessions_dict
from powersim.report.ladder_dict import ladder_dict
from powersim.report.plan_files import rule_dict
from powersim.simulation.bands import BAND, quantiles
from powersim.simulation.cold import cold_of
from powersim.simulation.sky_summary import sky_summary

if TYPE_CHECKING:
    from powersim.logbook.forecast import PassageForecast
    from powersim.logbook.posterior import Posterior
    from powersim.planning.ladder import Ladder
    from powersim.planning.new_rule import NewRule
    from powersim.planning.sessions_left import SessionTable


def underway_dict(
    posterior: Posterior,
    forecast: PassageForecast | None,
    new: NewRule | None = None,
    sessions: SessionTable | None = None,
    ladder: Ladder | None = None,
) -> dict:
    """The answer for a program.

    Parameters
    ----------
    posterior : Posterior
        What the log tells of boat and bank.
    forecast : PassageForecast or None
        The rest of the passage; None where she has arrived.
    new : NewRule or None
        None where none was searched for.
    sessions : SessionTable or None
        How many messages today's bank has in it; None where she has arrived.
    ladder : Ladder or None
        The same.

    Returns
    -------
    dict
        A band (p10, p50, p90) for what the members and the log leave open; null for never.
    """
    at_h = posterior.until_h
    until_utc = posterior.passage.depart_utc + timedelta(hours=at_h)
    fuel = posterior.passage.boat.fuel
    return {
        "passage": posterior.passage.name,
        "until_utc": until_utc.isoformat(),
        "entries": len(posterior.log.readings),
        "set_aside": [str(one) for one in (*posterior.log.set_aside, *posterior.left_out)],
        "taken": list(posterior.log.taken),
        "readings": len(posterior.observations),
        "engine_from_log": posterior.engine.told,
        "gear_from_log": posterior.engine.gear_told,
        "planned": _history(posterior.planned, at_h),
        "reckoned": _history(posterior.best, at_h),
        "now": {
            "soc": _band(posterior.now.soc),
            "fuel_left_L": None if fuel is None else _band(posterior.now.left_L),
        },
        "factors": _factors(posterior),
        "misfit": round(posterior.misfit, 3),
        "cannot_tell": cannot_tell(posterior),
        "ahead": None if forecast is None else _forecast(forecast),
        "new_rule": None if new is None else rule_dict(new),
        "sessions": None if sessions is None else sessions_dict(sessions),
        "ladder": None if ladder is None else ladder_dict(ladder),
    }


def _history(history, at_h) -> dict:
    names = ("soc", "loads_Ah", "solar_Ah", "engine_h", "charging_L", "other_L")
    return {name: round(float(history.at(name, [at_h])[0, 0]), 4) for name in names}


def _factors(posterior) -> dict:
    estimate = posterior.estimate
    low, high = estimate.band()
    return {
        name: {
            "factor": round(math.exp(estimate.log_factor[place]), 4),
            "p10": round(float(low[place]), 4),
            "p90": round(float(high[place]), 4),
            "told_frac": round(float(estimate.told_frac[place]), 4),
        }
        for place, name in enumerate(NAMES)
    }


def _forecast(forecast) -> dict:
    names = (
        *("floor_days", "flat_days", "idle_floor_days", "idle_flat_days", "charging_h"),
        *("charging_L", "motoring_L", "loads_Ah", "left_L", "lowest_soc"),
    )
    sky, track = forecast.prepared.sky, forecast.prepared.track
    cold = cold_of(sky.bank_C, battery=forecast.passage.boat.battery, track=track)
    first = {
        "days_to_landfall": round(forecast.days_to_landfall, 2),
        "sky": sky_summary(forecast),
        "too_cold_h": cold["too_cold_h"],
    }
    return first | {name: _band(getattr(forecast, name)) for name in names}


def _band(values) -> dict:
    names = [f"p{round(100 * share)}" for share in BAND]
    return {
        name: round(float(value), 4) if math.isfinite(value) else None
        for name, value in zip(names, quantiles(values), strict=True)
    }
