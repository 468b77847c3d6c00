"""Drawing the members that a passage is tried in, and laying other boats into the same ones."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.physics.demand import Demand
from powersim.physics.demand_again import demand_again, rows_again, rows_of
from powersim.physics.group_demand import group_peaks_A, group_sums
from powersim.physics.panel_light import PanelLight
from powersim.records import BOAT_STATES, STATES, Boat, Load, Passage, Supply
from powersim.simulation.coarser import mean_of
from powersim.simulation.heavy_sea import MemberSeas, lying_track, member_seas, pilot_rows
from powersim.simulation.kept import same_panels
from powersim.simulation.member_banks import draw_banks, with_banks
from powersim.simulation.member_chargers import ask_for_wind
from powersim.simulation.member_loads import draw_factors
from powersim.simulation.member_signals import EnsembleForcing
from powersim.simulation.offers import in_order_of_use, module_power_W, yields_of
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.prepare import averaged_demand
from powersim.simulation.prepared import Prepared
from powersim.simulation.reading import anew_soc, as_read, errors_anew, misreading_of
from powersim.simulation.yield_table import shares_up_to, yield_table
from powersim.sky.synthetic import LARGEST_CLEAR_FRAC, synthetic_light
from powersim.sky.wind import calm_turns, wind_quantiles
from powersim.voyage.track import Track, in_calms

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Ints
    from powersim.sky.sky import Sky

_SAILING, _MOTORING = BOAT_STATES.index("sailing"), BOAT_STATES.index("motoring")


def draw_ensemble(
    passage: Passage,
    prepared: Prepared,
    *,
    members: int,
    seed: int,
    like: EnsembleForcing | None = None,
) -> EnsembleForcing:
    """Draw the members that a passage is tried in.

    Parameters
    ----------
    passage : Passage
        Boat, route, loads and weather files.
    prepared : Prepared
        The passage in average weather.
    members : int
        How many; the first of them are the same for any number.
    seed : int
        Of the random numbers, as `sky.streams` keeps them.
    like : EnsembleForcing, optional
        All those of another passage, from which is taken over what is the same; for that,
        `prepared` must have been made like that one's. What belongs to hours of the calendar is
        taken over where both are on their way.

    Returns
    -------
    EnsembleForcing
        The same with and without another.
    """
    boat = passage.boat
    drawn: dict[str, Any] = {"members": members, "seed": seed}
    earlier = like if like and (like.members, like.seed) == (members, seed) else None
    if earlier is None or not _same_forcing(earlier, prepared):
        like = None
    before = boat if like is None else like.prepared.passage.boat
    hours = _hours(prepared, like=like, **drawn)
    chargers = in_order_of_use(boat.chargers)
    misread, banks = misreading_of(prepared, draw_banks(boat.battery, **drawn), **drawn)
    rule = as_read(prepared.plant.rule, boat.battery, misread=misread)

    def by_hour(field: str, draw: Callable[..., Array]) -> Array:
        return _by_hour(field, draw, prepared=prepared, hours=hours, like=earlier, **drawn)

    calms = _calms(prepared)
    # Each of these only where something asks for it.
    windy = calms or ask_for_wind(chargers) or prepared.seas is not None
    by_reading = has_charging_alternator(boat)
    read_anew = by_hour("read_anew", errors_anew) if by_reading else None
    forcing = EnsembleForcing(
        prepared=prepared,
        plant=with_banks(replace(prepared.plant, rule=rule), boat.battery, banks),
        banks=banks,
        **drawn,
        **hours,
        wind_quantile=by_hour("wind_quantile", wind_quantiles) if windy else None,
        calm_turn=by_hour("calm_turn", calm_turns) if calms else None,
        **_panels_of(boat, prepared, like=like),
        sailed_motoring=mean_of(_sun_tracks(prepared)[0].state == _MOTORING, prepared.sun_steps),
        under_way=mean_of(
            np.isin(prepared.sun_track.state, (_SAILING, _MOTORING)), prepared.sun_steps
        ),
        chargers=chargers,
        misread=misread,
        read_anew=read_anew,
        anew_soc=None if read_anew is None else anew_soc(prepared),
        **_loads_of(
            passage,
            prepared,
            like=like if like and _same_lists(before, boat) else None,
            **drawn,
        ),
    )
    return forcing if prepared.seas is None else replace(forcing, seas=_seas(forcing, like=like))


def with_loads(forcing: EnsembleForcing, passage: Passage) -> EnsembleForcing:
    """The same members for a passage with other loads on the same boat.

    Parameters
    ----------
    forcing : EnsembleForcing
        The members as they are.
    passage : Passage
        With its loads in the same lines; one that is left ashore has a count of 0.

    Returns
    -------
    EnsembleForcing
        With what the loads do not touch in common.
    """
    prepared, seed, members = forcing.prepared, forcing.seed, forcing.members
    loads = _loads_of(passage, prepared, seed=seed, members=members, like=forcing)
    return replace(forcing, **loads, root=forcing.root or forcing)


def _same_forcing(like: EnsembleForcing, prepared: Prepared) -> bool:
    """Whether the light of one passage falls on another too."""
    return like.prepared.track is prepared.track and like.prepared.sky is prepared.sky


def _same_lists(before: Boat, boat: Boat) -> bool:
    """Whether a load asks for the same on both boats, sailed, motored or lying to."""
    return before.supplies == boat.supplies and (
        before.heavy_weather.lying == boat.heavy_weather.lying
    )


def _seas(forcing: EnsembleForcing, *, like: EnsembleForcing | None) -> MemberSeas:
    """The sea that each member meets; `like` has the same wind, if it has any."""
    heavy, track = forcing.prepared.passage.boat.heavy_weather, forcing.prepared.track
    if like is not None and like.seas is not None:
        before = like.prepared.passage.boat.heavy_weather
        if (before.strengths_kn, before.sea_lasts_h) == (heavy.strengths_kn, heavy.sea_lasts_h):
            return replace(like.seas, seas=heavy.seas)
    a_day = round(24.0 / track.step_h)
    return member_seas(
        heavy,
        forcing.sea_wind_m_s,
        track=track,
        members=forcing.members,
        blocks=[slice(at, min(at + a_day, track.n_steps)) for at in range(0, track.n_steps, a_day)],
    )


def _hours(
    prepared: Prepared, *, members: int, seed: int, like: EnsembleForcing | None
) -> dict[str, Any]:
    """The fields of Members that tell of light: by the hour, and which hour each step takes."""
    if like is not None:
        return {"hour": like.hour, "clear_frac": like.clear_frac}
    track, sky = prepared.track, prepared.sky
    light = synthetic_light(
        track,
        usual_frac=sky.usual_frac,
        apart_frac=sky.apart_frac,
        seed=seed,
        members=members,
    )
    return {
        "hour": (track.mid_utc_s // 3600.0).astype(int) - light.first_hour,
        "clear_frac": light.clear_frac,
    }


def _by_hour(
    field: str,
    draw: Callable[..., Array],
    *,
    prepared: Prepared,
    hours: dict[str, Array | Ints],
    members: int,
    seed: int,
    like: EnsembleForcing | None,
) -> Array:
    """What is drawn hour by hour, but for hours that another passage has in the same field."""
    asked = _hours_of(prepared, hours["hour"], len(hours["clear_frac"]))

    def drawn(some: range) -> list[Array]:
        if not some:
            return []
        return [draw(first_hour=some.start, hours=len(some), seed=seed, members=members)]

    kept: Array | None = None if like is None else getattr(like, field)
    if like is None or kept is None:
        return drawn(asked)[0]
    known = _hours_of(like.prepared, like.hour, len(kept))
    if known == asked:
        return kept
    shared = range(max(known.start, asked.start), min(known.stop, asked.stop))
    if not shared:
        return drawn(asked)[0]
    before, after = range(asked.start, shared.start), range(shared.stop, asked.stop)
    taken = kept[shared.start - known.start : shared.stop - known.start]
    return np.concatenate([*drawn(before), taken, *drawn(after)])


def _hours_of(prepared: Prepared, hour: Array | Ints, count: int) -> range:
    """The hours of the calendar that so many rows of what is drawn by the hour stand for."""
    first = int(prepared.track.mid_utc_s[0] // 3600.0) - int(hour[0])
    return range(first, first + count)


def _calms(prepared: Prepared) -> bool:
    """Whether there are calms in which she may be under power."""
    return bool(prepared.track.calm_motoring_frac.any())


def _sun_tracks(prepared: Prepared) -> list[Track]:
    """At the sun's steps: all calms sailed, all calms motored."""
    return [in_calms(prepared.sun_track, motored=motored) for motored in (False, True)]


def _loads_of(
    passage: Passage,
    prepared: Prepared,
    *,
    seed: int,
    members: int,
    like: EnsembleForcing | None = None,
) -> dict[str, Any]:
    """The fields of Members that the load list makes; `like` is on the same track and supplies."""
    boat, track, loads = passage.boat, prepared.track, passage.drawn
    lying = boat.heavy_weather.lying
    # Only these are not the same whether a calm is sailed or motored, and whether she lies to.
    either = [("sailing", "motoring")] * _calms(prepared) + [("sailing", lying)] * (
        lying is not None
    )
    apart = {
        place
        for place, load in enumerate(loads)
        if any((one in load.states) != (other in load.states) for one, other in either)
    }
    if prepared.seas is not None:  # in average weather pilots work as in the mean of the seas
        apart |= set(pilot_rows(loads))

    in_average = prepared.passage.drawn == loads  # else these are other loads in the same members

    def asked(name: str, sun_track: Track) -> Demand:
        def asks(some: Sequence[Load], supplies: Sequence[Supply]) -> Demand:
            if in_average and not any(loads[place] in some for place in apart):
                return rows_of(prepared.demand, loads, some, supplies)
            sky, per_step = prepared.sun_sky, prepared.sun_steps
            return averaged_demand(some, supplies, track=sun_track, sky=sky, per_step=per_step)

        if like is not None:
            return demand_again(getattr(like, name), like.loads, loads, boat.supplies, make=asks)
        return rows_again(prepared.demand, loads, boat.supplies, changed=apart, make=asks)

    sun_tracks = _sun_tracks(prepared)
    sailed, motored = (asked(*one) for one in zip(("sailed", "motored"), sun_tracks, strict=True))
    at_rest = None if lying is None else asked("lying", lying_track(sun_tracks[0], lying))
    return {
        "loads": loads,
        "sailed": sailed,
        "motored": motored,
        "lying": at_rest,
        "peak_A": _larger_peaks_A(sailed, motored, at_rest, at_V=boat.battery.cutout_V),
        "heater_L": tuple(
            group_sums(demand).fuel_L_per_h.T[..., None] * track.step_h
            for demand in (sailed, motored, at_rest or sailed)
        ),
        "factors": draw_factors(loads, n_rows=len(sailed.names), seed=seed, members=members),
    }


def _panels_of(boat: Boat, prepared: Prepared, *, like: EnsembleForcing | None) -> dict[str, Any]:
    """The fields of Members that panels make; `like` is under the same light."""
    lying = _otherwise_heeled(boat)
    before = None if like is None else like.prepared.passage.boat
    same = before is not None and same_panels(before, boat) and _otherwise_heeled(before) == lying
    if like is not None and same:
        return {"panels": like.panels, "panel_light": like.panel_light}
    sun_tracks = _sun_tracks(prepared)
    tracks = sun_tracks if _calms(prepared) else sun_tracks[:1]
    if lying is not None:
        tracks = [*tracks, lying_track(sun_tracks[0], lying)]
    light = PanelLight(None if like is None else like.panel_light)
    table = yield_table(
        partial(_offers, boat, light),
        tracks,
        sky=prepared.sun_sky,
        shares=shares_up_to(max(LARGEST_CLEAR_FRAC, prepared.sky.clear_frac.max())),
        per_step=prepared.sun_steps,
        lying=lying is not None,
    )
    light.done()
    return {"panels": table, "panel_light": light}


def _otherwise_heeled(boat: Boat) -> str | None:
    """How she lies to, if that is with another heel than under sail."""
    lying = boat.heavy_weather.lying
    return None if lying is None or STATES[lying].heeled else lying


def _offers(boat: Boat, light: PanelLight, track: Track, sky: Sky) -> Array:
    """What the controllers offer, and the modules at their best, as the table takes it."""
    yields = yields_of(boat, track=track, sky=sky, light=light)
    offers = [
        np.moveaxis(one.current_A, -1, 0) if one.current_A.size else one.power_W[None]
        for one in yields
    ]
    module_W = np.broadcast_to(module_power_W(yields, track.n_steps), sky.ghi_W_m2.shape)
    return np.concatenate([*offers, module_W[None]])


def _larger_peaks_A(sailed: Demand, motored: Demand, lying: Demand | None, *, at_V: float) -> Array:
    """Peaks by group: as listed, and where the boat may be under sail or power the larger.

    What a peak's spread adds to the sag is small beside the peak, and is left out.
    """
    peak_A = group_peaks_A(sailed, at_V=at_V)
    if motored is not sailed:
        peak_A = np.maximum(peak_A, group_peaks_A(motored, at_V=at_V))
    if lying is not None:
        peak_A = np.maximum(peak_A, group_peaks_A(lying, at_V=at_V))
    return peak_A.T[..., None]
