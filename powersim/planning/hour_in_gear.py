"""What an hour of the engine puts into the bank: in gear, where it gives miles as well, or at rest.

An hour in gear is there for the miles. What the alternator takes of it for the bank costs the fuel
of its own load alone, while an hour at rest has the engine burn for the bank and for nothing else.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.physics.demand import demand_of
from powersim.records import BOAT_STATES, Passage
from powersim.simulation.mean_signals import load_signals
from powersim.simulation.plant import plant_of, without_engine_rule
from powersim.simulation.run import run
from powersim.simulation.signals import Signals, mapped
from powersim.simulation.state import start_state

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

#: A bank that is nearly full. [-]
NEARLY_FULL_SOC = 0.95
#: Length of a step: what the bank takes falls off within the hour. [h]
_STEP_h = 0.1
_STEPS = round(1.0 / _STEP_h)


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineHour:
    """An hour of the engine, with no sun and no other charger.

    Attributes
    ----------
    in_gear : bool
        Whether under power; else at rest, to charge.
    soc : float
        Charge of the bank as it begins. [-]
    alternator_Ah, loads_Ah : float
        What the alternator gives, and what the loads take of it meanwhile. [Ah]
    into_bank_Ah, into_bank_Wh : float
        What the bank gains, and the energy that goes in for it; below 0 where the loads take more
        than the alternator gives. [Ah], [Wh]
    of_bank_frac : float
        The same as a share of the bank. [-]
    miles_nm : float
        Made good in a calm; 0 at rest. [nm]
    fuel_L : float
        Burnt in all. [L]
    for_bank_L : float
        Of that, what would not be burnt without an alternator: its own load in gear, all of it at
        rest. [L]
    """

    in_gear: bool
    soc: float
    alternator_Ah: float
    loads_Ah: float
    into_bank_Ah: float
    into_bank_Wh: float
    of_bank_frac: float
    miles_nm: float
    fuel_L: float
    for_bank_L: float


def engine_hours(passage: Passage, prepared: Prepared) -> tuple[EngineHour, ...]:
    """What an hour in gear gives a low bank and one that is nearly full, and one at rest a low one.

    Parameters
    ----------
    passage : Passage
        Her bank, engine and loads.
    prepared : Prepared
        The same passage, prepared: for its nights and how warm the bank is on average.

    Returns
    -------
    tuple of EngineHour
        In gear at the floor, in gear when nearly full, at rest at the floor; the last not where the
        alternator gives nothing so, and none at all where it gives nothing in gear.
    """
    boat = passage.boat
    alternator, low_soc = boat.driven_alternator, boat.battery.floor_soc
    if boat.engine is None or alternator is None or not alternator.motoring_A > 0.0:
        return ()
    under_power = _Hour(passage, prepared, in_gear=True)
    hours = [under_power.from_soc(soc) for soc in (low_soc, NEARLY_FULL_SOC)]
    if alternator.charging_A > 0.0:
        hours.append(_Hour(passage, prepared, in_gear=False).from_soc(low_soc))
    return tuple(hours)


class _Hour:
    """An hour of a passage's mean loads and warmth, in a bank of its own."""

    def __init__(self, passage: Passage, prepared: Prepared, *, in_gear: bool) -> None:
        boat, signals = passage.boat, prepared.signals
        assert boat.engine is not None, "an hour of the engine is asked for"
        self.in_gear, self.boat = in_gear, boat
        self.miles_nm = boat.engine.motoring_kn if in_gear else 0.0
        plant = plant_of(boat, step_h=_STEP_h)
        # What is in the tank, and what starts the engine, is no matter of an hour that it runs.
        self.plant = replace(
            plant,
            usable_L=math.inf,
            start_above_soc=-math.inf,
            rule=without_engine_rule(plant.rule),
        )
        loads = _under_power(passage, prepared) if in_gear else {}
        mean = mapped(replace(signals, **loads), _mean, controllers=(), others=())
        one = np.ones((_STEPS, 1))
        self.signals: Signals = replace(
            mean,
            step_h=_STEP_h,
            motoring=one * in_gear,
            ordered=one * (not in_gear),
            may_run=one < 0.0,
            reads=one * 0.0,
            takes_charge=np.round(mean.takes_charge),
        )

    def from_soc(self, soc: float) -> EngineHour:
        """What it gives a bank of such a charge."""
        start = start_state(self.plant, soc=soc)
        flow, end = run(self.signals, plant=self.plant, state=start)

        def summed(of: Any) -> float:
            return float(np.sum(of)) * _STEP_h

        gained_Ah = float(end.total_Ah[0]) - float(np.sum(start.total_Ah))
        charging_L, belt_L = float(flow.charging_L.sum()), float(flow.alternator_motoring_L.sum())
        return EngineHour(
            in_gear=self.in_gear,
            soc=soc,
            alternator_Ah=summed(flow.alternator_A),
            loads_Ah=summed(flow.load_A),
            into_bank_Ah=gained_Ah,
            into_bank_Wh=summed((flow.in_A - flow.out_A) * flow.bank_V),
            of_bank_frac=gained_Ah / self.plant.bank.capacity_Ah,
            miles_nm=self.miles_nm,
            fuel_L=float(flow.motoring_L.sum()) + belt_L + charging_L,
            for_bank_L=belt_L + charging_L,
        )


def _under_power(passage: Passage, prepared: Prepared) -> dict[str, Any]:
    """The loads' signals of a passage that is under power all the way."""
    track = prepared.track
    demand = demand_of(
        passage.drawn,
        passage.boat.supplies,
        track=replace(track, state=np.full_like(track.state, BOAT_STATES.index("motoring"))),
        sky=prepared.sky,
    )
    return load_signals(demand, passage.boat.battery, step_h=track.step_h)


def _mean(signal: np.ndarray) -> np.ndarray:
    """A signal's mean over the passage, in each step of the hour."""
    return np.repeat(signal.mean(axis=0, keepdims=True), _STEPS, axis=0)
