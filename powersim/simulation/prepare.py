"""A passage to its signals: track, sky, yield and demand, all worked out before the first step."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from powersim.defaults import STEP_h
from powersim.physics.demand import Demand, demand_of
from powersim.physics.demand_again import demand_again
from powersim.physics.group_demand import group_sums
from powersim.physics.solar import ControllerYield
from powersim.records import (
    BOAT_STATES,
    STATES,
    Boat,
    Charger,
    Load,
    Passage,
    Supply,
)
from powersim.simulation.allowed import rule_steps
from powersim.simulation.coarser import averaged, mean_of
from powersim.simulation.heavy_sea import (
    MeanSeas,
    demand_in_seas,
    in_seas,
    lying_track,
    mean_seas,
)
from powersim.simulation.kept import kept_of
from powersim.simulation.mean_signals import load_signals, mean_signals
from powersim.simulation.offers import module_power_W, other_offers, yields_of
from powersim.simulation.plant import plant_of, without_engine_rule
from powersim.simulation.prepared import Prepared
from powersim.simulation.timetable import ordered_steps
from powersim.sky.sky import Sky, sky_of
from powersim.sky.weather_files import weather_files
from powersim.sky.wind import calm_frac
from powersim.voyage.track import Track, track_of

if TYPE_CHECKING:
    from powersim.records.arrays import Array

_MOTORING = BOAT_STATES.index("motoring")

#: Sun, loads, motoring and the hours of the charging rule are worked out at least this often, so
#: that they are the same for every step of the kernel. [h]
LONGEST_SUN_STEP_h = 1.0 / 12.0


def prepare(
    passage: Passage, *, step_h: float = STEP_h, hold_h: float = 0.0, like: Prepared | None = None
) -> Prepared:
    """Work out track, sky, yield and demand of a passage.

    Parameters
    ----------
    passage : Passage
        Boat, route, loads and weather files.
    step_h : float
        Step of the kernel; a whole number of them makes an hour. [h]
    hold_h : float
        Time to lie at the last waypoint after landfall. [h]
    like : Prepared, optional
        Another passage, as this gives it: all is taken over that is the same in both.

    Returns
    -------
    Prepared
        The same with and without another.

    Raises
    ------
    ValueError
        If the step does not divide an hour.
    InputError
        If a weather file of the passage does not cover the boat and may not be left out.
    """
    if not (0 < step_h <= 1 and math.isclose(1 / step_h, round(1 / step_h))):
        raise ValueError(f"step_h must divide an hour, got {step_h!r}")
    boat = passage.boat
    kept = kept_of(like, passage, step_h=step_h, hold_h=hold_h)
    per_step = math.ceil(step_h / LONGEST_SUN_STEP_h - 1e-9)
    if like is not None and kept.track:
        track, sun_track = like.track, like.sun_track
    else:
        sun_track = _track_at(passage, step_h=step_h / per_step, hold_h=hold_h)
        track = sun_track if per_step == 1 else _track_at(passage, step_h=step_h, hold_h=hold_h)
    if like is not None and kept.sky:
        sky, sun_sky, files, left_out = like.sky, like.sun_sky, like.files, like.left_out
    else:
        files, not_used = weather_files(passage, sun_track)
        left_out = (*passage.left_out, *not_used)
        sun_sky = sky_of(
            sun_track,
            cloud_model=passage.cloud_model,
            known=[one.known for one in files],
            bank=boat.battery.place,
        )
        sky = averaged(sun_sky, per_step)
    seas = mean_seas(boat.heavy_weather, track=sun_track, sky=sun_sky)
    lying = boat.heavy_weather.lying
    lies = None if lying is None else lying_track(sun_track, lying)
    asks = partial(
        averaged_demand, track=sun_track, sky=sun_sky, per_step=per_step, seas=seas, lying=lies
    )
    if like is not None and kept.demand:
        demand = demand_again(
            like.demand, like.passage.drawn, passage.drawn, boat.supplies, make=asks
        )
    else:
        demand = asks(passage.drawn, boat.supplies)
    if like is not None and kept.panels:
        yields, module_W = like.yields, like.module_W
    else:
        fine = yields_of(boat, track=sun_track, sky=sun_sky)
        if seas is not None:
            fine = in_seas(fine, _otherwise_heeled(boat, lies, sun_sky), seas)
        yields = tuple(_coarser(one, per_step) for one in fine)
        module_W = mean_of(module_power_W(fine, sun_track.n_steps), per_step)[:, None]
    if like is not None and kept.others:
        others = like.others
    else:
        others = _other_offers(boat, sun_track, sun_sky, per_step)
        if seas is not None and lies is not None:
            often = mean_of(seas.mean(lambda sea: sea.lies_to), per_step)
            at_rest = _other_offers(boat, lies, sun_sky, per_step)
            others = tuple(
                (charger, offer + often * (other - offer))
                for (charger, offer), (_, other) in zip(others, at_rest, strict=True)
            )
    plant = plant_of(boat, step_h=step_h)
    if passage.engine_plan is not None:
        plant = replace(plant, rule=without_engine_rule(plant.rule))
    return Prepared(
        passage=passage,
        hold_h=hold_h,
        track=track,
        sky=sky,
        demand=demand,
        module_W=module_W,
        supply_loss_W=group_sums(demand).supply_loss_W.T[..., None],
        yields=yields,
        others=others,
        signals=mean_signals(
            boat,
            plant,
            step_h=step_h,
            sky=sky,
            demand=demand,
            yields=yields,
            others=others,
            motoring=mean_of(_in_gear(sun_track, seas), per_step),
            allowed=rule_steps(boat.charging, sun_track, per_step),
            ordered=mean_of(ordered_steps(passage, sun_track), per_step),
        ),
        plant=plant,
        sun_track=sun_track,
        sun_sky=sun_sky,
        seas=seas,
        files=files,
        left_out=left_out,
    )


def with_loads(prepared: Prepared, passage: Passage) -> Prepared:
    """The same for a passage with other loads on the same boat.

    Parameters
    ----------
    prepared : Prepared
        The passage in average weather.
    passage : Passage
        With the other loads.

    Returns
    -------
    Prepared
        With track, sky and yields in common.
    """
    boat = passage.boat
    asks = partial(
        averaged_demand,
        track=prepared.sun_track,
        sky=prepared.sun_sky,
        per_step=prepared.sun_steps,
        seas=prepared.seas,
        lying=lying_of(prepared),
    )
    demand = demand_again(
        prepared.demand, prepared.passage.drawn, passage.drawn, boat.supplies, make=asks
    )
    signals = load_signals(demand, boat.battery, step_h=prepared.track.step_h)
    return replace(
        prepared,
        passage=replace(prepared.passage, loads=passage.loads),
        demand=demand,
        supply_loss_W=group_sums(demand).supply_loss_W.T[..., None],
        signals=replace(prepared.signals, **signals),
    )


def lying_of(prepared: Prepared) -> Track | None:
    """The track with the boat lying to wherever she is under sail.

    Parameters
    ----------
    prepared : Prepared
        The passage in average weather.

    Returns
    -------
    Track or None
        At the sun's steps; None where she never lies to.
    """
    state = prepared.passage.boat.heavy_weather.lying
    return None if state is None else lying_track(prepared.sun_track, state)


def averaged_demand(
    loads: Sequence[Load],
    supplies: Sequence[Supply],
    *,
    track: Track,
    sky: Sky,
    per_step: int,
    seas: MeanSeas | None = None,
    lying: Track | None = None,
) -> Demand:
    """The demand of some loads at the kernel's steps.

    Parameters
    ----------
    loads : sequence of Load
        In the order of the rows.
    supplies : sequence of Supply
        All that the loads name.
    track, sky : Track, Sky
        At the sun's steps.
    per_step : int
        How many of them make one of the kernel's.
    seas : MeanSeas, optional
        How often each sea is met, at the sun's steps; in the mean over them.
    lying : Track, optional
        With the boat lying to, where she ever does.

    Returns
    -------
    Demand
        Row by row.
    """
    demand = demand_of(loads, supplies, track=track, sky=sky)
    if seas is not None:
        at_rest = None if lying is None else demand_of(loads, supplies, track=lying, sky=sky)
        demand = demand_in_seas(demand, at_rest, loads, seas)
    return averaged(demand, per_step)


def _in_gear(sun_track: Track, seas: MeanSeas | None) -> Array:
    """Share of the sun's steps with the engine in gear, as far as the sea lets it be."""
    motoring = (sun_track.state == _MOTORING).astype(float)
    if seas is None:
        return motoring
    # A calm that is motored has no such sea.
    lets = seas.mean(lambda sea: sea.engine)
    return motoring * np.where(sun_track.calm_motoring_frac > 0.0, 1.0, lets)


def _otherwise_heeled(boat: Boat, lies: Track | None, sun_sky: Sky) -> list[ControllerYield] | None:
    """What the panels give as she lies to, where that is with another heel than under sail."""
    if lies is None or STATES[boat.heavy_weather.lie_to].heeled:
        return None
    return yields_of(boat, track=lies, sky=sun_sky)


def _track_at(passage: Passage, *, step_h: float, hold_h: float) -> Track:
    return track_of(
        passage.waypoints,
        depart_utc_s=passage.depart_utc.timestamp(),
        step_h=step_h,
        ship_offset_h=passage.ship_offset_h,
        hold_h=hold_h,
        calm_frac=calm_frac,
    )


def _coarser(yielded: ControllerYield, per_step: int) -> ControllerYield:
    """What a controller offers at the kernel's steps."""
    return replace(
        yielded,
        power_W=mean_of(yielded.power_W, per_step),
        apart_W=mean_of(yielded.apart_W, per_step),
        current_A=mean_of(yielded.current_A.T, per_step).T,
        module_W=mean_of(yielded.module_W, per_step),
    )


def _other_offers(
    boat: Boat, sun_track: Track, sun_sky: Sky, per_step: int
) -> tuple[tuple[Charger, Array], ...]:
    offers = other_offers(boat, track=sun_track, sky=sun_sky)
    return tuple((charger, mean_of(offer, per_step)) for charger, offer in offers)
