"""The rest of the passage from the last fix on, in many members that agree with the log."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from powersim.logbook.contradictions import distances_nm
from powersim.records import STATES, Passage, Waypoint
from powersim.records.brief import brief
from powersim.simulation.aboard import Aboard, ForcingAboard
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import blocks
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.ledgers import LEDGERS
from powersim.simulation.member_banks import with_banks
from powersim.simulation.prepare import prepare
from powersim.simulation.prepared import Prepared

if TYPE_CHECKING:
    from powersim.errors import Problem
    from powersim.logbook.posterior import Now, Posterior
    from powersim.records import Forecast

#: Within this distance of a waypoint the boat is there. [nm]
THERE_NM = 3.0
#: Fastest drift of a boat hove-to or adrift; common practice, no source. [kn]
MOST_DRIFT_KN = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PassageForecast:
    """The rest of the passage in many members; every array is shaped (members,).

    Attributes
    ----------
    passage : Passage
        The passage from the last fix on, with the median bank and fuel of the draws.
    prepared : Prepared
        The same passage prepared, with the weather files that were used or left out.
    days_to_landfall : float
        Days from the last entry to landfall. [days]
    floor_days, flat_days : ndarray
        Days until the bank is below its floor, and flat, by the boat's own rule; infinite where
        landfall comes first. [days]
    idle_floor_days, idle_flat_days : ndarray
        The same if the engine is never run again. [days]
    charging_h : ndarray
        Hours of charging still to come. [h]
    charging_L, motoring_L : ndarray
        Fuel still to be burnt for the bank, with the alternator's share while motoring, and for
        motoring. [L]
    loads_Ah : ndarray
        Charge that loads will still draw. [Ah]
    left_L : ndarray
        Fuel left at landfall above the unusable. [L]
    lowest_soc : ndarray
        Lowest state of charge. [-]
    forcing : ForcingAboard
        The members.
    """

    passage: Passage
    prepared: Prepared
    days_to_landfall: float
    floor_days: np.ndarray
    flat_days: np.ndarray
    idle_floor_days: np.ndarray
    idle_flat_days: np.ndarray
    charging_h: np.ndarray
    charging_L: np.ndarray
    motoring_L: np.ndarray
    loads_Ah: np.ndarray
    left_L: np.ndarray
    lowest_soc: np.ndarray
    forcing: ForcingAboard

    __repr__ = brief


def forecast_of(
    posterior: Posterior,
    *,
    seed: int,
    step_h: float,
    forecast: Forecast | None = None,
    left_out: tuple[Problem, ...] = (),
    progress: Callable | None = None,
) -> PassageForecast:
    """Simulate the rest of the passage.

    Parameters
    ----------
    posterior : Posterior
        A log compared with its passage.
    seed : int
        Seed of the members to come.
    step_h : float
        Length of a step. [h]
    forecast : Forecast, optional
        A weather forecast for the days that it covers.
    left_out : tuple of Problem
        Why an earlier weather forecast was left out.
    progress : callable, optional
        Called with the share that is done.

    Raises
    ------
    ValueError
        If she has arrived.
    BalanceError
        If the books of a member do not close.
    InputError
        If the forecast does not cover the boat and may not be left out.
    """
    tell = progress or (lambda done_frac: None)
    now = posterior.now
    passage = rest_of(posterior)
    if passage is None:
        raise ValueError("she has arrived")
    passage = replace(passage, forecast=forecast, left_out=left_out)
    forcing = forecast_forcing(passage, now, members=len(now.soc), seed=seed, step_h=step_h)
    engine_on = _to_landfall(forcing, passage, engine=True, tell=lambda frac: tell(0.5 * frac))
    idle = _to_landfall(
        forcing, passage, engine=False, tell=lambda frac: tell(0.5 + 0.5 * frac)
    ).told
    sums, told = engine_on.sums, engine_on.told
    return PassageForecast(
        passage=passage,
        prepared=forcing.prepared,
        days_to_landfall=forcing.prepared.track.arrival_h / 24.0,
        floor_days=np.minimum(told["floor_h"], told["flat_h"]) / 24.0,
        flat_days=told["flat_h"] / 24.0,
        idle_floor_days=np.minimum(idle["floor_h"], idle["flat_h"]) / 24.0,
        idle_flat_days=idle["flat_h"] / 24.0,
        charging_h=sums["charging"] * step_h,
        charging_L=sums["charging_L"] + sums["alternator_motoring_L"],
        motoring_L=sums["motoring_L"],
        loads_Ah=sums["load_A"] * step_h,
        left_L=np.maximum(forcing.plant.usable_L - engine_on.state.burnt_L, 0.0),
        lowest_soc=told["lowest_soc"],
        forcing=forcing,
    )


def forecast_forcing(
    passage: Passage, now: Now, *, members: int, seed: int, step_h: float, first: int = 0
) -> ForcingAboard:
    """Members for the rest of a passage, each with one draw of bank, fuel and factors.

    Parameters
    ----------
    passage : Passage
        The rest of the passage, as `rest_of` gives it.
    now : Now
        The draws; if there are fewer than members, they are used again.
    members : int
        Number of members.
    seed : int
        Seed of the members.
    step_h : float
        Length of a step. [h]
    first : int
        Number of members of this seed to skip, so that others come than before.
    """
    prepared = prepare(passage, step_h=step_h)
    forcing = draw_ensemble(passage, prepared, members=first + members, seed=seed)
    # The log has shown how far the load list and the capacity are off, so that is not drawn a
    # second time.
    banks = replace(forcing.banks, capacity=np.ones_like(forcing.banks.capacity))
    plant = with_banks(prepared.plant, passage.boat.battery, banks)
    forcing = replace(
        forcing,
        factors=np.ones_like(forcing.factors),
        banks=banks,
        plant=replace(plant, rule=forcing.plant.rule),
    )
    fuel = passage.boat.fuel
    aboard = Aboard(
        soc=now.soc,
        factors=now.factors,
        burnt_L=0.0 if fuel is None else fuel.aboard_L - now.left_L,
    )
    drawn = aboard.each(lambda draws: np.resize(draws, forcing.members))
    return ForcingAboard(forcing=forcing, aboard=drawn).between(first, first + members)


def _to_landfall(forcing, passage, *, engine, tell) -> Batch:
    """Simulate all members from now to landfall."""
    track, members = forcing.prepared.track, forcing.members
    plant, switches = forcing.aboard.plant(forcing.plant), forcing.aboard.switches(engine=engine)
    batch = Batch(
        plant=plant,
        state=forcing.aboard.state(plant, members=members),
        step_h=track.step_h,
        switches=switches,
        floor_soc=passage.boat.battery.floor_soc,
        sums=LEDGERS,
    )
    for steps in blocks(track.n_steps, step_h=track.step_h):
        batch.through(forcing.signals(steps))
        batch.check()
        tell(steps.stop / track.n_steps)
    return batch


def rest_of(posterior: Posterior) -> Passage | None:
    """The rest of the passage, from the last fix and the time of the last entry on.

    Parameters
    ----------
    posterior : Posterior
        A log compared with its passage.

    Returns
    -------
    Passage or None
        None where she has arrived. Without a fix she is where the plan has her.
    """
    passage, track = posterior.passage, posterior.prepared.track
    lat_deg, lon_deg = where(posterior)
    now_h = posterior.until_h
    leg = _leg_of(lat_deg, lon_deg, track, now_h)
    waypoints = passage.waypoints
    if leg >= len(waypoints) - 1:
        return None
    left = waypoints[leg]
    away_nm = distances_nm(lat_deg, lon_deg, np.array([left.lat_deg]), np.array([left.lon_deg]))
    in_stop_h = max(now_h - _reached_h(track, leg), 0.0)
    stop_h = max(left.stop_h - in_stop_h, 0.0)
    drifted_nm = MOST_DRIFT_KN * in_stop_h if STATES[left.stop_state].under_way and stop_h else 0.0
    if away_nm[0] <= THERE_NM + drifted_nm:
        begin = replace(left, lat_deg=lat_deg, lon_deg=lon_deg, stop_h=stop_h)
    else:
        begin = replace(
            left,
            name="the last fix",
            lat_deg=lat_deg,
            lon_deg=lon_deg,
            stop_h=0.0,
            motoring_start_h=0.0,
        )
    return replace(
        passage,
        depart_utc=passage.depart_utc + timedelta(hours=now_h),
        waypoints=(begin, *_but_here(waypoints[leg + 1 :], lat_deg, lon_deg)),
        boat=_boat_now(passage.boat, posterior.now),
        engine_plan=passage.engine_plan,
    )


def _but_here(waypoints: tuple[Waypoint, ...], lat_deg, lon_deg):
    """Waypoints to come, without those at the place of the fix."""
    kept = list(waypoints)
    while len(kept) > 1:
        first = kept[0]
        away_nm = distances_nm(
            lat_deg, lon_deg, np.array([first.lat_deg]), np.array([first.lon_deg])
        )
        if away_nm[0] > 0.05:
            break
        kept.pop(0)
    return tuple(kept)


def where(posterior: Posterior) -> tuple[float, float]:
    """Where she is: by the last fix, carried along the plan's track since."""
    track = posterior.prepared.track
    fixes = [
        (one.at_h, lat_deg, lon_deg)
        for one in posterior.log.readings
        if (lat_deg := one.entry.lat_deg) is not None and (lon_deg := one.entry.lon_deg) is not None
    ]
    edge = min(round(posterior.until_h / track.step_h), track.n_steps)
    if not fixes:
        return float(track.edge_lat_deg[edge]), float(track.edge_lon_deg[edge])
    at_h, lat_deg, lon_deg = fixes[-1]
    since_h = posterior.until_h - at_h
    if since_h < track.step_h:
        return lat_deg, lon_deg
    # The fix is older than the last entry: go on along the track from the place beside it.
    near = int(distances_nm(lat_deg, lon_deg, track.edge_lat_deg, track.edge_lon_deg).argmin())
    edge = min(near + round(since_h / track.step_h), track.n_steps)
    return float(track.edge_lat_deg[edge]), float(track.edge_lon_deg[edge])


def _leg_of(lat_deg, lon_deg, track, now_h):
    """The waypoint that she left last: of the places on the track that are about as near, that of
    the one nearest in time."""
    away_nm = distances_nm(lat_deg, lon_deg, track.lat_deg, track.lon_deg)
    apart_h = np.abs((np.arange(track.n_steps) + 0.5) * track.step_h - now_h)
    near = np.flatnonzero(away_nm <= away_nm.min() + THERE_NM)
    return int(track.leg[near[apart_h[near].argmin()]])


def _reached_h(track, leg):
    return float(np.flatnonzero(track.leg == leg)[0] * track.step_h)


def _boat_now(boat, now):
    """The boat with the median of what bank and tank hold."""
    battery = replace(boat.battery, soc_at_departure=float(np.clip(np.median(now.soc), 0.0, 1.0)))
    if boat.fuel is None:
        return replace(boat, battery=battery)
    fuel = boat.fuel
    aboard_L = float(np.clip(np.median(now.left_L), 0.0, fuel.tank_L + fuel.jerrycans_L))
    return replace(
        boat,
        battery=battery,
        fuel=replace(fuel, aboard_L=aboard_L, reserve_L=min(fuel.reserve_L, aboard_L)),
    )
