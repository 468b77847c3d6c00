"""Drawing the weathers that a passage is tried in, and laying other boats into the same ones."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from powersim.physics.demand import demand_of, group_peaks_A, group_sums
from powersim.records import BOAT_STATES
from powersim.simulation.coarser import averaged, mean_of
from powersim.simulation.member_chargers import ask_for_wind
from powersim.simulation.member_loads import draw_factors
from powersim.simulation.member_signals import Weathers
from powersim.simulation.prepare import in_order_of_use, module_power_W, yields_of
from powersim.simulation.reading import as_read, reading_errors
from powersim.simulation.yield_table import YieldTable, shares_up_to, yield_table
from powersim.sky.synthetic import LARGEST_CLEAR_FRAC, synthetic_light
from powersim.sky.wind import wind_quantiles
from powersim.voyage.track import in_calms

_SAILING, _MOTORING = BOAT_STATES.index("sailing"), BOAT_STATES.index("motoring")


def weathers_of(passage, prepared, *, members, seed) -> Weathers:
    """Draw the weathers that a passage is tried in.

    Parameters
    ----------
    passage : Passage
    prepared : Prepared
        The passage in the mean sky.
    members : int
        How many; the first of them are the same for any number.
    seed : int
        Of the random numbers, as `sky.streams` keeps them.

    Returns
    -------
    Weathers
    """
    track = prepared.track
    light = synthetic_light(track, usual_frac=prepared.sky.usual_frac, seed=seed, members=members)
    hour = (track.mid_utc_s // 3600.0).astype(int) - light.first_hour
    calms = bool(track.calm_motoring_frac.any())
    chargers = in_order_of_use(passage.boat.chargers)
    battery, plant = passage.boat.battery, prepared.plant
    error_frac = reading_errors(battery, seed=seed, members=members)
    return Weathers(
        prepared=prepared,
        plant=replace(plant, rule=as_read(plant.rule, battery, error_frac=error_frac)),
        members=members,
        seed=seed,
        hour=hour,
        clear_frac=light.clear_frac,
        wind_quantile=(
            wind_quantiles(
                first_hour=light.first_hour, hours=len(light.clear_frac), seed=seed, members=members
            )
            if calms or ask_for_wind(chargers)
            else None
        ),
        panels=_panels_of(passage.boat, prepared),
        sailed_motoring=mean_of(_sun_tracks(prepared)[0].state == _MOTORING, prepared.sun_steps),
        under_way=mean_of(
            np.isin(prepared.sun_track.state, (_SAILING, _MOTORING)), prepared.sun_steps
        ),
        chargers=chargers,
        reading_error_frac=error_frac,
        **_loads_of(passage, prepared, seed=seed, members=members),
    )


def with_loads(weathers, passage) -> Weathers:
    """The same weathers for a passage with other loads on the same boat.

    Parameters
    ----------
    weathers : Weathers
    passage : Passage
        With its loads in the same lines; one that is left ashore has a count of 0.

    Returns
    -------
    Weathers
    """
    prepared, seed, members = weathers.prepared, weathers.seed, weathers.members
    return replace(weathers, **_loads_of(passage, prepared, seed=seed, members=members))


def _sun_tracks(prepared) -> list:
    """At the sun's steps: all calms sailed, all calms motored."""
    return [in_calms(prepared.sun_track, motored=motored) for motored in (False, True)]


def _loads_of(passage, prepared, *, seed, members) -> dict:
    """The fields of Weathers that the load list makes."""
    boat, track = passage.boat, prepared.track
    sailed, motored = (
        averaged(
            demand_of(passage.loads, boat.supplies, track=one, sky=prepared.sun_sky),
            prepared.sun_steps,
        )
        for one in _sun_tracks(prepared)
    )
    return {
        "sailed": sailed,
        "motored": motored,
        "peak_A": _larger_peaks_A(sailed, motored, at_V=boat.battery.cutout_V),
        "heater_L": tuple(
            group_sums(demand).fuel_L_per_h.T[..., None] * track.step_h
            for demand in (sailed, motored)
        ),
        "factors": draw_factors(
            passage.loads, n_rows=len(sailed.names), seed=seed, members=members
        ),
    }


def _panels_of(boat, prepared) -> YieldTable:
    sun_tracks = _sun_tracks(prepared)
    calms = bool(prepared.track.calm_motoring_frac.any())
    return yield_table(
        partial(_offers, boat),
        sun_tracks if calms else sun_tracks[:1],
        sky=prepared.sun_sky,
        shares=shares_up_to(max(LARGEST_CLEAR_FRAC, prepared.sky.clear_frac.max())),
        per_step=prepared.sun_steps,
    )


def _offers(boat, track, sky):
    """What the controllers offer, and the modules at their best, as the table takes it."""
    yields = yields_of(boat, track=track, sky=sky)
    offers = [
        np.moveaxis(one.current_A, -1, 0) if one.current_A.size else one.power_W[None]
        for one in yields
    ]
    module_W = np.broadcast_to(module_power_W(yields, track.n_steps), sky.ghi_W_m2.shape)
    return np.concatenate([*offers, module_W[None]])


def _larger_peaks_A(sailed, motored, *, at_V):
    """Peaks by group: as listed, and where the boat may be under sail or power the larger.

    What a peak's spread adds to the sag is small beside the peak, and is left out.
    """
    peaks_A = (group_peaks_A(demand, at_V=at_V) for demand in (sailed, motored))
    return np.maximum(*peaks_A).T[..., None]
