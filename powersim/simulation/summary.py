"""A result in plain numbers: what `summary.json` holds and the screen is made from.

Infinite times ("never on this passage") are None, so that the file is strict JSON.
"""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.physics.cycle_life import wear_of
from powersim.records import OTHER_SOURCES
from powersim.simulation.books_record import columns_of
from powersim.simulation.cold import cold_of
from powersim.simulation.devices import devices_summary
from powersim.simulation.light_load import light_load
from powersim.simulation.milestones import (
    below_frac,
    days_to_flat,
    days_to_floor,
    longest_gap_days,
)
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.sky_summary import sky_summary
from powersim.simulation.tables import FUEL_COLUMNS

if TYPE_CHECKING:
    import pandas as pd

    from powersim.simulation.result import SimulationResult

#: What one part of the passage is averaged over. [days]
PART_DAYS = 7
_LOADS = ("loads", "surplus", "unserved")
#: Over how many days the engine's minutes a day "now" are averaged. [days]
NOW_DAYS = 7


def summary_of(result: SimulationResult) -> dict[str, Any]:
    """The whole summary.

    Parameters
    ----------
    result : SimulationResult
        Its part in average weather is told.

    Returns
    -------
    dict
        Of numbers, strings, lists and dicts only.
    """
    floor_soc = result.passage.boat.battery.floor_soc
    weeks = parts(result.hourly)
    verdict = result.verdict
    return {
        "passage": passage_summary(result),
        "changed": [asdict(one) for one in result.passage.changed],
        "holds": verdict.holds,
        "verdict": verdict.as_dict(),
        "average": {
            "holds": result.average_verdict.holds,
            "charge": charge_summary(result, floor_soc=floor_soc),
            "engine": engine_summary(result),
            "fuel": fuel_summary(result),
        },
        "cold": cold_of(
            result.prepared.sky.bank_C,
            battery=result.passage.boat.battery,
            track=result.prepared.track,
            soc=result.flow.soc[:, 0],
        ),
        "without_charging": without_charging(result),
        "totals": {
            name: float(result.books.column(name).sum())
            for name in columns_of(result.prepared.signals)
        },
        "parts": weeks,
        "worst_part": worst_part(weeks),
        "loads": result.loads.to_dict(orient="records"),
        "sky": sky_summary(result),
        **_devices(result),
    }


def _devices(result: SimulationResult) -> dict[str, Any]:
    """Devices with batteries of their own, in the members where some were tried."""
    if not result.passage.boat.devices:
        return {}
    ensemble = result.ensemble
    return {"devices": devices_summary(result.devices if ensemble is None else ensemble.devices)}


def passage_summary(result: SimulationResult) -> dict[str, Any]:
    """Where, when and how far.

    Parameters
    ----------
    result : SimulationResult
        Its part in average weather is told.

    Returns
    -------
    dict
        Of numbers, strings, lists and dicts only.
    """
    track, passage = result.prepared.track, result.passage
    return {
        "name": passage.name,
        "boat": passage.boat.name,
        "depart_utc": passage.depart_utc.isoformat(),
        "from": passage.waypoints[0].name,
        "to": passage.waypoints[-1].name,
        "days": track.arrival_h / 24.0,
        "distance_nm": float(track.sailed_nm[-1]),
        "step_h": track.step_h,
        "calm_below_kn": passage.calm_below_kn,
    }


def charge_summary(result: SimulationResult, *, floor_soc: float) -> dict[str, Any]:
    """How low the bank falls, when and where, and how often it is full.

    Parameters
    ----------
    result : SimulationResult
        Its part in average weather is told.
    floor_soc : float
        Charge that the bank is not to fall below. [-]

    Returns
    -------
    dict
        Of numbers, strings, lists and dicts only.
    """
    flow, hourly = result.flow, result.hourly
    lowest, softest = (int(hourly[name].to_numpy().argmin()) for name in ("lowest_soc", "lowest_V"))
    battery = result.passage.boat.battery
    soc_start = battery.soc_at_departure
    step_h = result.prepared.track.step_h
    course = np.concatenate([[soc_start], flow.soc[:, 0]])
    below = below_frac(course[:-1], course[1:], floor_soc=floor_soc)
    to_floor = days_to_floor(flow.soc, soc_start=soc_start, floor_soc=floor_soc, step_h=step_h)
    capacity_Ah = result.prepared.plant.bank.capacity_Ah
    wear = wear_of(
        course,
        health_frac=battery.health_frac,
        cycle_life=battery.cycle_life,
    )
    return {
        "floor_soc": floor_soc,
        "floor_broken": bool(np.isfinite(to_floor[0])),
        "days_to_floor": _finite(to_floor[0]),
        "days_to_flat": _finite(days_to_flat(flow.dark, step_h=step_h)[0]),
        "below_floor_h": float(below.sum() * step_h),
        "dark_h": float((flow.dark > 0).sum() * step_h),
        "lowest_soc": float(hourly["lowest_soc"].to_numpy(dtype=float)[lowest]),
        "lowest_soc_at": _place(hourly, lowest),
        "lowest_V": float(hourly["lowest_V"].to_numpy(dtype=float)[softest]),
        "lowest_V_at": _place(hourly, softest),
        "soc_at_departure": soc_start,
        "soc_at_landfall": float(flow.soc[-1, 0]),
        "longest_gap_between_full_days": float(longest_gap_days(flow.since_full_h)[0]),
        "equivalent_full_cycles": float(result.books.from_battery_Ah.sum() / capacity_Ah),
        **wear._asdict(),
    }


def _place(hourly: pd.DataFrame, row: int) -> dict[str, Any]:
    places = ("ship_offset_h", "lat_deg", "lon_deg")
    return {
        "time_utc": hourly.index[row].isoformat(),
        **{name: float(hourly[name].to_numpy(dtype=float)[row]) for name in places},
    }


def _total(table: pd.DataFrame, name: str) -> float:
    """A column's sum; pandas' own looks for gaps first, of which there are none."""
    return float(table[name].to_numpy(dtype=float).sum())


def engine_summary(result: SimulationResult) -> dict[str, Any]:
    """Charging runs and motoring, in hours and litres.

    Parameters
    ----------
    result : SimulationResult
        Its part in average weather is told.

    Returns
    -------
    dict
        Of numbers, strings, lists and dicts only.
    """
    hourly, runs = result.hourly, result.engine
    days = len(hourly) / 24.0
    now = hourly.iloc[: 24 * NOW_DAYS]
    charging = runs[runs["kind"] == "charging"]
    light = light_load(result.passage.boat.engine, runs)
    return {
        "charges": has_charging_alternator(result.passage.boat),
        "charging_h": _total(hourly, "charging_h"),
        "charging_L": _total(hourly, "fuel_charging_L"),
        "charging_runs": len(charging),
        "longest_run_h": float(charging["run_h"].max()) if len(charging) else 0.0,
        "charging_min_per_day": 60.0 * _total(hourly, "charging_h") / days,
        "charging_min_per_day_now": 60.0 * _total(now, "charging_h") / (len(now) / 24.0),
        "motoring_h": _total(hourly, "motoring_h"),
        "motoring_missed_h": _total(hourly, "motoring_missed_h"),
        "alternator_Ah_while_charging": _total(charging, "alternator_Ah"),
        "charging_load_frac": light.load_frac,
        "longest_light_h": light.longest_h,
        "longest_light_until": light.until,
    }


def fuel_summary(result: SimulationResult) -> dict[str, Any]:
    """The ledgers against what is aboard and the reserve, in litres.

    Parameters
    ----------
    result : SimulationResult
        Its part in average weather is told.

    Returns
    -------
    dict
        Of numbers, strings, lists and dicts only.
    """
    fuel, hourly = result.passage.boat.fuel, result.hourly
    ledgers = {name.removeprefix("fuel_"): _total(hourly, name) for name in FUEL_COLUMNS}
    # A heater on a boat without an engine burns from a tank of its own.
    short_L = _total(hourly, "fuel_short_L") if fuel else 0.0
    left_L = float(hourly["fuel_left_L"].iloc[-1])
    reserve_L = fuel.reserve_L if fuel else 0.0
    return {
        "kind": result.passage.boat.fuel_word if fuel else None,
        "aboard_L": fuel.aboard_L if fuel else 0.0,
        "unusable_L": fuel.unusable_L if fuel else 0.0,
        **ledgers,
        "wanted_and_not_there_L": short_L,
        "left_L": left_L,
        "reserve_L": reserve_L,
        "left_above_reserve_L": left_L - reserve_L,
        "reserve_broken": result.average_verdict.reserve.frac > 0.0,
    }


def without_charging(result: SimulationResult) -> dict[str, Any]:
    """Days to floor and to flat if nothing charges from departure; None past landfall.

    Parameters
    ----------
    result : SimulationResult
        Its part in average weather is told.

    Returns
    -------
    dict
        Of numbers, strings, lists and dicts only.
    """
    floor_days, flat_days = result.without_charging
    return {"days_to_floor": _finite(floor_days), "days_to_flat": _finite(flat_days)}


def parts(hourly: pd.DataFrame) -> list[dict[str, Any]]:
    """The passage week by week, in means a day.

    Parameters
    ----------
    hourly : pandas.DataFrame
        Of `tables.hourly_table`.

    Returns
    -------
    list of dict
        The last part may be shorter.
    """
    others = [source for source in OTHER_SOURCES if f"{source}_Ah" in hourly]
    known = ("ship_offset_h", "lat_deg", "lowest_soc")
    summed = [f"{name}_Ah" for name in ("solar", "alternator", *others, *_LOADS)]
    values = {name: hourly[name].to_numpy() for name in (*known, *summed, "charging_h")}
    rows = []
    for first in range(0, len(hourly), 24 * PART_DAYS):
        part = {name: column[first : first + 24 * PART_DAYS] for name, column in values.items()}
        days = len(part["lat_deg"]) / 24.0
        rows.append(
            {
                "start_utc": hourly.index[first].isoformat(),
                "ship_offset_h": float(part["ship_offset_h"][0]),
                "days": days,
                "lat_from_deg": float(part["lat_deg"][0]),
                "lat_to_deg": float(part["lat_deg"][-1]),
                **{f"{name}_per_day": float(part[name].sum() / days) for name in summed},
                "charging_min_per_day": float(60.0 * part["charging_h"].sum() / days),
                "lowest_soc": float(part["lowest_soc"].min()),
            }
        )
    return rows


def worst_part(weeks: list[dict[str, Any]]) -> int:
    """Which part of the passage is furthest short of what is wanted without the engine.

    Parameters
    ----------
    weeks : list of dict
        From `parts`.

    Returns
    -------
    int
        Its place in the list, the first being 0. A short part must be short of as much charge.
    """

    def short_Ah(part: dict[str, Any]) -> float:
        wanted_Ah_per_day = part["loads_Ah_per_day"] + part["unserved_Ah_per_day"]
        return (wanted_Ah_per_day - free_Ah_per_day(part)) * part["days"]

    return max(range(len(weeks)), key=lambda place: short_Ah(weeks[place]))


def free_Ah_per_day(part: dict[str, Any]) -> float:
    """What comes in without the engine in a part of the passage.

    Parameters
    ----------
    part : dict
        From `parts`.

    Returns
    -------
    float
        From sun, wind, water and shore power together. [Ah/day]
    """
    return sum(part.get(f"{source}_Ah_per_day", 0.0) for source in ("solar", *OTHER_SOURCES))


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
