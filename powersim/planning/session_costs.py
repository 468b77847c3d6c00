"""What a message costs: each kind of session of a passage by what it takes less without them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.demand import group_of
from powersim.records import Load, Passage, Session
from powersim.simulation import prepare as preparing

if TYPE_CHECKING:
    from powersim.planning.hour_in_gear import EngineHour
    from powersim.records.arrays import Array
    from powersim.simulation.prepared import Prepared


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionCost:
    """What one session takes from the bank.

    Attributes
    ----------
    load : str
        The load whose sessions they are.
    word, words : str
        What one of them is called, and several.
    group : str
        One of physics.demand.GROUPS.
    often : float
        How many get through in a day. [-]
    on_h : float
        How long the load is on until one has got through. [h]
    charge_Ah, energy_Wh : float
        What one takes with all that is on for it, failed tries among it, at the bank's nominal
        voltage; standby that ceases meanwhile is off. [Ah], [Wh]
    fuel_L : float or None
        What the engine burns at rest to give that; None where it gives nothing. [L]
    own_battery : int
        How many a battery of the load's own holds when full, where its sessions name one; 0
        without. [-]
    """

    load: str
    word: str
    words: str
    group: str
    often: float
    on_h: float
    charge_Ah: float
    energy_Wh: float
    fuel_L: float | None
    own_battery: int = 0


def litres_per_Ah(hours: Sequence[EngineHour]) -> float | None:
    """What the engine burns at rest for an ampere-hour that a low bank or its loads take.

    Parameters
    ----------
    hours : sequence of EngineHour
        From `hour_in_gear.engine_hours`.

    Returns
    -------
    float or None
        None where the engine charges nothing at rest. [L/Ah]
    """
    for hour in hours:
        given_Ah = hour.into_bank_Ah + hour.loads_Ah
        if not hour.in_gear and given_Ah > 0.0:
            return hour.fuel_L / given_Ah
    return None


def session_costs(prepared: Prepared, *, fuel_L_per_Ah: float | None) -> tuple[SessionCost, ...]:
    """What each kind of session costs.

    Parameters
    ----------
    prepared : Prepared
        The passage in average weather.
    fuel_L_per_Ah : float or None
        From `litres_per_Ah`. [L/Ah]

    Returns
    -------
    tuple of SessionCost
        Those that there are any of on this route.

    Notes
    -----
    By what the whole passage takes less without them, over how many they are: so companions count
    as far as they are not on anyway, and a supply as far as it idles for nothing else.
    """
    passage = prepared.passage
    costs = []
    for place, load in enumerate(passage.loads):
        session = load.session
        many = session_count(prepared, place)[-1] if session is not None and load.count else 0.0
        if session is None or not many > 0.0:
            continue
        idle = replace(load, session=None, on_frac=0.0)
        rest = preparing.with_loads(prepared, _with_load(passage, place, idle))
        energy_Wh = (_energy_Wh(prepared) - _energy_Wh(rest)) / many
        charge_Ah = energy_Wh / passage.boat.battery.nominal_V
        costs.append(
            SessionCost(
                load=load.name,
                word=session.word,
                words=session.words,
                group=group_of(load),
                often=session.per_day,
                on_h=session.on_h,
                charge_Ah=charge_Ah,
                energy_Wh=energy_Wh,
                fuel_L=None if fuel_L_per_Ah is None else charge_Ah * fuel_L_per_Ah,
                own_battery=_in_own_battery(passage, load, session),
            )
        )
    return tuple(costs)


def session_count(prepared: Prepared, place: int) -> Array:
    """How many of a load's sessions have got through by each step's edge, from 0 at departure on.

    Parameters
    ----------
    prepared : Prepared
        The passage in average weather.
    place : int
        The load's place in the list; it has a session.

    Returns
    -------
    ndarray, shape (steps + 1,)
        Not whole.
    """
    session = prepared.passage.loads[place].session
    assert session is not None, "it is sessions that are counted"
    on_h = prepared.demand.on_frac[place] * prepared.track.step_h
    return np.concatenate([[0.0], np.cumsum(on_h)]) / session.on_h


def _in_own_battery(passage: Passage, load: Load, session: Session) -> int:
    """How many a load's own battery holds, with what the bank would have to give for each."""
    boat = passage.boat
    supply = next((one for one in boat.supplies if one.name == load.supply), None)
    outlet_V = boat.battery.nominal_V if supply is None else supply.output_V
    one_Wh = load.count * session.on_h * (load.draw_W + load.draw_A * outlet_V)
    named = {name.casefold() for name in session.beside}
    held_Wh = math.fsum(one.battery_Wh for one in boat.devices if one.name.casefold() in named)
    return math.floor(held_Wh / one_Wh + 1e-9) if one_Wh > 0.0 else 0


def _with_load(passage: Passage, place: int, load: Load) -> Passage:
    return replace(passage, loads=(*passage.loads[:place], load, *passage.loads[place + 1 :]))


def _energy_Wh(prepared: Prepared) -> float:
    """What all loads take in the passage, at the bank's nominal voltage."""
    demand, nominal_V = prepared.demand, prepared.passage.boat.battery.nominal_V
    mean_W = demand.power_W + demand.current_A * nominal_V
    return math.fsum(mean_W.sum(axis=1)) * prepared.track.step_h
