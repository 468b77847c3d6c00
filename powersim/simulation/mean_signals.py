"""The kernel's signals of a passage in average weather, from what has been worked out of it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.physics.alternator import SETPOINT_C, bank_setpoint_V
from powersim.physics.chargers import charger_setpoints_V
from powersim.physics.demand import Demand
from powersim.physics.group_demand import group_peaks_A, group_sums
from powersim.physics.temperature import reachable_frac
from powersim.records import Battery, Boat, Charger
from powersim.simulation.signals import ControllerSignal, Signals

if TYPE_CHECKING:
    from powersim.kernel.plant import Plant
    from powersim.physics.bank_constants import Bank
    from powersim.physics.solar import ControllerYield
    from powersim.records.arrays import Array, Floats
    from powersim.sky.sky import Sky


def mean_signals(
    boat: Boat,
    plant: Plant,
    *,
    step_h: float,
    sky: Sky,
    demand: Demand,
    yields: Sequence[ControllerYield],
    others: Sequence[tuple[Charger, Array]],
    motoring: Array,
    allowed: Mapping[str, Any],
    ordered: Array,
) -> Signals:
    """The signals of a passage.

    Parameters
    ----------
    boat : Boat
        Her bank, her alternator and her chargers.
    plant : Plant
        Its constants.
    step_h : float
        Length of a step. [h]
    sky : Sky
        At the kernel's steps, as everything here.
    demand : Demand
        Of all loads.
    yields : sequence of ControllerYield
        One for each solar controller.
    others : sequence of (charger, ndarray of shape (n,))
        What other chargers offer, in the order in which they are used.
    motoring : ndarray, shape (n,)
        Share of each step with the engine in gear. [-]
    allowed : dict of str to ndarray, shape (n,)
        When the charging rule allows the engine to run, and when it has the bank read: `may_run`,
        `opens_h`, `closes_h`, `reads`.
    ordered : ndarray, shape (n,)
        Share of each step in which a timetable has the engine charge. [-]

    Returns
    -------
    Signals
        For one member.
    """
    battery = boat.battery
    warm_C = sky.bank_C - SETPOINT_C
    absorption_V: Floats = 0.0
    float_V: Floats = 0.0
    if boat.alternator is not None:
        absorption_V, float_V = bank_setpoint_V(boat.alternator, battery, bank_C=sky.bank_C)
    reachable = reachable_frac(battery.chemistry, sky.bank_C)
    return Signals(
        step_h=step_h,
        motoring=motoring[:, None],
        **{name: values[:, None] for name, values in allowed.items()},
        # In average weather a run that waits for the sea is only a little later.
        sea_lets=np.ones((len(warm_C), 1)),
        ordered=ordered[:, None],
        misread_soc=np.zeros((len(warm_C), 1)),
        bank_C=sky.bank_C[:, None],
        takes_charge=_warm_enough(plant.bank, sky.bank_C)[:, None],
        unreachable_frac=(1.0 - reachable)[:, None],
        # A warm bank is held lower by a charger with a sensor, and is as full there.
        full_V=(battery.full_V + battery.temp_comp_V_per_C * np.maximum(warm_C, 0.0))[:, None],
        alternator_absorption_V=_column(absorption_V, len(warm_C)),
        alternator_float_V=_column(float_V, len(warm_C)),
        controllers=tuple(_controller_signal(yielded, battery, warm_C) for yielded in yields),
        others=tuple(
            _other_signal(charger, offer[:, None], battery, sky.bank_C) for charger, offer in others
        ),
        **load_signals(demand, battery, step_h=step_h),
    )


def load_signals(demand: Demand, battery: Battery, *, step_h: float) -> dict[str, Any]:
    """The fields of Signals that the load list makes.

    Parameters
    ----------
    demand : Demand
        At the kernel's steps.
    battery : Battery
        Its cut-out voltage is where a power counts as a current.
    step_h : float
        Length of a step. [h]

    Returns
    -------
    dict of str to ndarray, shape (n, 4, 1)
        Fields of Signals that the loads make.
    """
    groups = group_sums(demand)
    return {
        "load_A": groups.current_A.T[..., None],
        "load_W": groups.power_W.T[..., None],
        # Taken at the cut-out voltage, which is the one that the sag is held against.
        "peak_A": group_peaks_A(demand, at_V=battery.cutout_V).T[..., None],
        "heater_L": groups.fuel_L_per_h.T[..., None] * step_h,
    }


def _warm_enough(bank: Bank, bank_C: Array) -> Array:
    """1 where the bank may be charged, 0 where it is too cold for its chemistry."""
    if bank.least_charge_C is None:
        return np.ones_like(bank_C)
    return np.where(bank_C < bank.least_charge_C, 0.0, 1.0)


def _column(values: Floats, n_steps: int) -> Array:
    return np.broadcast_to(values, n_steps)[:, None]


def _controller_signal(
    yielded: ControllerYield, battery: Battery, warm_C: Array
) -> ControllerSignal:
    controller, current_A = yielded.controller, yielded.current_A
    rise_V_per_C = _given(controller.temp_comp_V_per_C, battery.temp_comp_V_per_C)
    slopes = np.diff(current_A, axis=1) / np.diff(yielded.knots_V)
    return ControllerSignal(
        rated_A=_given(controller.rated_A, math.inf),
        knots_V=tuple(yielded.knots_V.tolist()),
        power_W=yielded.power_W[:, None],
        first_A=current_A[:, :1] if current_A.size else np.zeros((len(warm_C), 1)),
        slope_A_per_V=slopes[..., None],
        absorption_V=(
            _given(controller.absorption_V, battery.absorption_V) + rise_V_per_C * warm_C
        )[:, None],
        float_V=(_given(controller.float_V, battery.float_V) + rise_V_per_C * warm_C)[:, None],
    )


def _other_signal(
    charger: Charger,
    offer: Array,
    battery: Battery,
    bank_C: Array,
) -> ControllerSignal:
    setpoints_V = charger_setpoints_V(charger, battery, bank_C=bank_C)
    absorption_V, float_V = (np.asarray(volts)[:, None] for volts in setpoints_V)
    in_amperes, none = charger.in_amperes, np.zeros_like(offer)
    return ControllerSignal(
        rated_A=math.inf,
        knots_V=(battery.nominal_V,) if in_amperes else (),
        power_W=none if in_amperes else offer,
        first_A=offer if in_amperes else none,
        slope_A_per_V=np.zeros((len(offer), 0, 1)),
        absorption_V=absorption_V,
        float_V=float_V,
        source=charger.source,
    )


def _given(value: float | None, default: float) -> float:
    return default if value is None else value
