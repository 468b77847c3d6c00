"""A passage to its signals: track, sky, yield and demand, all worked out before the first step."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from powersim.errors import Problem
from powersim.physics.alternator import SETPOINT_C, bank_setpoint_V
from powersim.physics.chargers import OFFERS, charger_setpoints_V
from powersim.physics.demand import Demand, demand_of, group_peaks_A, group_sums
from powersim.physics.solar import controller_yield
from powersim.physics.temperature import reachable_frac
from powersim.records import BOAT_STATES, OTHER_SOURCES
from powersim.simulation.coarser import averaged, mean_of
from powersim.simulation.plant import Plant, plant_of, without_engine_rule
from powersim.simulation.signals import ControllerSignal, Signals
from powersim.simulation.timetable import ordered_steps
from powersim.sky.climatology import calm_frac
from powersim.sky.sky import Sky, sky_of
from powersim.sky.weather_files import WeatherFile, weather_files
from powersim.voyage.ship_time import in_hours
from powersim.voyage.track import Track, track_of

_MOTORING = BOAT_STATES.index("motoring")

#: Sun, loads, motoring and the hours of the charging rule are worked out at least this often, so
#: that they are the same for every step of the kernel. [h]
LONGEST_SUN_STEP_h = 1.0 / 12.0
#: How far below its absorption voltage a 12 V bank that takes little still counts as full. [V]
FULL_MARGIN_V = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """Everything about a passage that does not depend on the bank.

    Attributes
    ----------
    track : Track
        At the kernel's steps.
    sky : Sky
        At the kernel's steps.
    demand : Demand
        At the kernel's steps.
    module_W : ndarray, shape (n, 1)
        Power of all modules at their best, salt taken off. [W]
    supply_loss_W : ndarray, shape (n, 4, 1)
        Part of the group's power that is lost in supplies. [W]
    signals : Signals
        For the kernel.
    plant : Plant
        For the kernel.
    sun_track, sun_sky : Track, Sky
        At the sun's steps, which divide the kernel's.
    files : tuple of WeatherFile
        What the sailor's own files know of the sky, at the sun's steps.
    left_out : tuple of Problem
        Why other files of the sailor's are left out.
    """

    track: Track
    sky: Sky
    demand: Demand
    module_W: np.ndarray
    supply_loss_W: np.ndarray
    signals: Signals
    plant: Plant
    sun_track: Track
    sun_sky: Sky
    files: tuple[WeatherFile, ...] = ()
    left_out: tuple[Problem, ...] = ()

    @property
    def sun_steps(self) -> int:
        """How many of the sun's steps make one of the kernel's."""
        return self.sun_track.n_steps // self.track.n_steps


def prepare(passage, *, step_h=0.25, hold_h=0.0) -> Prepared:
    """Work out track, sky, yield and demand of a passage.

    Parameters
    ----------
    passage : Passage
    step_h : float
        Step of the kernel; a whole number of them makes an hour. [h]
    hold_h : float
        Time to lie at the last waypoint after landfall. [h]

    Returns
    -------
    Prepared

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
    per_step = math.ceil(step_h / LONGEST_SUN_STEP_h - 1e-9)

    def track_at(step_h):
        return track_of(
            passage.waypoints,
            depart_utc_s=passage.depart_utc.timestamp(),
            step_h=step_h,
            ship_offset_h=passage.ship_offset_h,
            hold_h=hold_h,
            calm_frac=calm_frac,
        )

    sun_track = track_at(step_h / per_step)
    files, left_out = weather_files(passage, sun_track)
    sun_sky = sky_of(
        sun_track,
        cloud_model=passage.cloud_model,
        known=[one.known for one in files],
        bank=boat.battery.place,
    )
    sun_demand = demand_of(passage.loads, boat.supplies, track=sun_track, sky=sun_sky)
    yields = yields_of(boat, track=sun_track, sky=sun_sky)
    others = other_offers(boat, track=sun_track, sky=sun_sky)
    track = sun_track if per_step == 1 else track_at(step_h)
    sky = averaged(sun_sky, per_step)
    demand = averaged(sun_demand, per_step)
    motoring = mean_of(sun_track.state == _MOTORING, per_step)
    plant = plant_of(boat, step_h=step_h)
    if passage.engine_plan is not None:
        plant = replace(plant, rule=without_engine_rule(plant.rule))
    return Prepared(
        track=track,
        sky=sky,
        demand=demand,
        module_W=mean_of(module_power_W(yields, sun_track.n_steps), per_step)[:, None],
        supply_loss_W=group_sums(demand).supply_loss_W.T[..., None],
        signals=_signals(
            passage, plant, sun_track, sky, demand, yields, others, motoring, per_step
        ),
        plant=plant,
        sun_track=sun_track,
        sun_sky=sun_sky,
        files=files,
        left_out=(*passage.left_out, *left_out),
    )


def with_loads(prepared, passage) -> Prepared:
    """The same for a passage with other loads on the same boat.

    Parameters
    ----------
    prepared : Prepared
    passage : Passage

    Returns
    -------
    Prepared
    """
    boat, per_step = passage.boat, prepared.sun_steps
    demand = averaged(
        demand_of(passage.loads, boat.supplies, track=prepared.sun_track, sky=prepared.sun_sky),
        per_step,
    )
    signals = _load_signals(demand, boat.battery, step_h=prepared.track.step_h)
    return replace(
        prepared,
        demand=demand,
        supply_loss_W=group_sums(demand).supply_loss_W.T[..., None],
        signals=replace(prepared.signals, **signals),
    )


def yields_of(boat, *, track, sky) -> list:
    """What every solar controller of a boat offers.

    Parameters
    ----------
    boat : Boat
    track : Track
    sky : Sky

    Returns
    -------
    list of ControllerYield
    """
    return [
        controller_yield(
            controller,
            tuple(panel for panel in boat.panels if panel.controller == controller.name),
            track=track,
            sky=sky,
            nominal_V=boat.battery.nominal_V,
        )
        for controller in boat.controllers
    ]


def module_power_W(yields, n_steps):
    """Power of all modules at their best.

    Parameters
    ----------
    yields : list of ControllerYield
    n_steps : int

    Returns
    -------
    ndarray, shape (n_steps,)
        Zero without panels. [W]
    """
    return sum((yielded.module_W for yielded in yields), np.zeros(n_steps))


def in_order_of_use(chargers) -> list:
    """Other chargers in the order of records.OTHER_SOURCES.

    Parameters
    ----------
    chargers : sequence of WindGenerator, WaterGenerator or ShorePower

    Returns
    -------
    list
    """
    return sorted(chargers, key=lambda charger: OTHER_SOURCES.index(charger.source))


def other_offers(boat, *, track, sky) -> list:
    """What every other charger of a boat offers, in the order in which they are used.

    Parameters
    ----------
    boat : Boat
    track : Track
    sky : Sky

    Returns
    -------
    list of (charger, ndarray of shape (n,))
        In watts, or in amperes from a charger on shore power.
    """
    return [
        (charger, OFFERS[charger.kind](charger, track=track, sky=sky))
        for charger in in_order_of_use(boat.chargers)
    ]


def _signals(passage, plant, sun_track, sky, demand, yields, others, motoring, per_step) -> Signals:
    boat, battery = passage.boat, passage.boat.battery
    n_steps, step_h = len(sky.bank_C), sun_track.step_h * per_step
    warm_C = sky.bank_C - SETPOINT_C
    if boat.alternator is None:
        absorption_V = float_V = np.zeros(n_steps)
    else:
        absorption_V, float_V = bank_setpoint_V(boat.alternator, battery, bank_C=sky.bank_C)
    full_V = battery.absorption_V - FULL_MARGIN_V * battery.blocks
    reachable = reachable_frac(battery.chemistry, sky.bank_C)
    return Signals(
        step_h=step_h,
        motoring=motoring[:, None],
        **{
            name: values[:, None]
            for name, values in allowed_hours(boat.charging, sun_track, per_step).items()
        },
        ordered=mean_of(ordered_steps(passage, sun_track), per_step)[:, None],
        bank_C=sky.bank_C[:, None],
        takes_charge=_warm_enough(plant.bank, sky.bank_C)[:, None],
        unreachable_Ah=((1.0 - reachable) * battery.real_capacity_Ah)[:, None],
        # A warm bank is held lower by a charger with a sensor, and is as full there.
        full_V=(full_V + battery.temp_comp_V_per_C * np.maximum(warm_C, 0.0))[:, None],
        alternator_absorption_V=_column(absorption_V, n_steps),
        alternator_float_V=_column(float_V, n_steps),
        controllers=tuple(
            _controller_signal(yielded, battery, warm_C, per_step) for yielded in yields
        ),
        others=tuple(
            _other_signal(charger, mean_of(offer, per_step)[:, None], battery, sky.bank_C)
            for charger, offer in others
        ),
        **_load_signals(demand, battery, step_h=step_h),
    )


def _load_signals(demand, battery, *, step_h) -> dict:
    """The fields of Signals that the load list makes."""
    groups = group_sums(demand)
    return {
        "load_A": groups.current_A.T[..., None],
        "load_W": groups.power_W.T[..., None],
        # Taken at the cut-out voltage, which is the one that the sag is held against.
        "peak_A": group_peaks_A(demand, at_V=battery.cutout_V).T[..., None],
        "heater_L": groups.fuel_L_per_h.T[..., None] * step_h,
    }


def allowed_hours(rule, sun_track, per_step):
    """When within each step the hours of a charging rule allow the engine to run.

    Parameters
    ----------
    rule : ChargingRule
    sun_track : Track
        At the sun's steps.
    per_step : int
        How many of them make one of the kernel's.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        The fields of Signals: `may_run`, `opens_h`, `closes_h`.
    """
    allowed = in_hours(sun_track, rule.hours_h)
    places = np.arange(allowed.size)
    # What comes after the passage is taken as allowed: what is left of a run fits.
    ends = np.where(allowed, allowed.size + 1, places)
    ends = np.minimum.accumulate(ends[::-1])[::-1]
    end_h = np.where(ends > allowed.size, np.inf, (ends - places) * sun_track.step_h)
    within = allowed.reshape(-1, per_step)
    first = within.argmax(axis=1)
    opens_h = first * sun_track.step_h
    closes_h = opens_h + end_h.reshape(-1, per_step)[np.arange(len(first)), first]
    return {"may_run": within.any(axis=1), "opens_h": opens_h, "closes_h": closes_h}


def allowed_steps(rule, track):
    """Where the hours of a charging rule allow whole steps of the engine.

    Parameters
    ----------
    rule : ChargingRule
    track : Track

    Returns
    -------
    tuple of two ndarray of bool, shape (n,)
        Where it may run; where a whole shortest run may begin.
    """
    may_run = in_hours(track, rule.hours_h)
    return may_run, _lasting(may_run, rule.shortest_h / track.step_h)


def _warm_enough(bank, bank_C):
    """1 where the bank may be charged, 0 where it is too cold for its chemistry."""
    if bank.least_charge_C is None:
        return np.ones_like(bank_C)
    return np.where(bank_C < bank.least_charge_C, 0.0, 1.0)


def _column(values, n_steps):
    return np.broadcast_to(values, n_steps)[:, None]


def _controller_signal(yielded, battery, warm_C, per_step) -> ControllerSignal:
    controller = yielded.controller
    rise_V_per_C = _given(controller.temp_comp_V_per_C, battery.temp_comp_V_per_C)
    current_A = mean_of(yielded.current_A.T, per_step).T
    slopes = np.diff(current_A, axis=1) / np.diff(yielded.knots_V)
    return ControllerSignal(
        rated_A=_given(controller.rated_A, math.inf),
        knots_V=tuple(yielded.knots_V.tolist()),
        power_W=mean_of(yielded.power_W, per_step)[:, None],
        first_A=current_A[:, :1] if current_A.size else np.zeros((len(warm_C), 1)),
        slope_A_per_V=slopes[..., None],
        absorption_V=(
            _given(controller.absorption_V, battery.absorption_V) + rise_V_per_C * warm_C
        )[:, None],
        float_V=(_given(controller.float_V, battery.float_V) + rise_V_per_C * warm_C)[:, None],
    )


def _other_signal(charger, offer, battery, bank_C) -> ControllerSignal:
    setpoints_V = charger_setpoints_V(charger, battery, bank_C=bank_C)
    absorption_V, float_V = (np.asarray(volts)[:, None] for volts in setpoints_V)
    in_amperes, none = charger.source == "shore", np.zeros_like(offer)
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


def _given(value, default):
    return default if value is None else value


def _lasting(allowed, steps):
    """Where a whole run of some steps fits into what is allowed, or into what is left of it."""
    fits = allowed.copy()
    for ahead in range(1, math.ceil(steps - 1e-9)):
        fits[:-ahead] &= allowed[ahead:]
    return fits
