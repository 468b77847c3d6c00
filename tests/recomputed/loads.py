"""docs/model/loads-and-fuel.md: what the loads ask for in every 5 minutes."""

from __future__ import annotations

import numpy as np

from recomputed.files import number, percent, spans_h
from recomputed.sky import STEP_h


def demand_of(loads, supplies, *, track, sky):
    """What all loads draw and burn: a current, a power, diesel. [A], [W], [L/h]"""
    supply_of = {supply["name"]: supply for supply in supplies}
    steps = len(track.state)
    amps, watts, litres = np.zeros((3, steps))
    wanted = {name: np.zeros(steps) for name in supply_of}
    hours = {load.name: hours_of(load, track=track, sky=sky) for load in loads}
    beside = {load.name: np.zeros(steps) for load in loads}
    for load in sorted(loads, key=lambda load: load.name):
        for name in load.beside:
            left = 1.0 - hours[name][1] - beside[name]
            beside[name] += np.minimum(hours[load.name][1], left)
    for load in loads:
        usable, own = hours[load.name]
        on = own + beside[load.name]
        standby = np.maximum(usable - own - usable * beside[load.name], 0.0)
        litres += load.count * on * load.fuel_L_per_h
        if load.supply is None:
            amps += load.count * (on * load.draw_A + standby * load.standby_A)
            watts += load.count * (on * load.draw_W + standby * load.standby_W)
            continue
        supply = supply_of[load.supply]
        output_V = number(supply["output"], "V")
        full_W = load.draw_W + load.draw_A * output_V
        waits_W = load.standby_W + load.standby_A * output_V
        watts += load.count * (on * full_W + standby * waits_W) / percent(supply["efficiency"])
        meanwhile = usable + (1.0 - usable) * beside[load.name]
        wanted[load.supply] = np.maximum(wanted[load.supply], meanwhile)
    for name, supply in supply_of.items():
        watts += number(supply["idle"], "W") * wanted[name]
    return amps, watts, litres


def hours_of(load, *, track, sky):
    """Share of each step that a load may be on, and that it is on by its own hours."""
    in_state = np.isin(track.state, load.states) | ("any" in load.states)
    open_frac, open_h = window_of(load.window, track=track, sky=sky)
    usable = in_state * open_frac
    return usable, usable * share_of(load, open_h=open_h, sky=sky)


def share_of(load, *, open_h, sky):
    """Share of its open window that a load is on."""
    share = load.share if load.day_h is None else np.minimum(1.0, load.day_h / open_h)
    return share * (sky.cabin_C < 15.0) if load.heater else share


def window_of(window, *, track, sky):
    """Share of each step that a window is open, and its hours in the day."""
    if window == "always":
        return 1.0, 24.0
    if window == "night":
        return sky.night_frac, sky.night_h
    if window == "day":
        return 1.0 - sky.night_frac, 24.0 - sky.night_h
    spans = spans_h(window)
    # A step has the ship's time of its middle.
    middle_h = (sky.utc_s % 86400.0) / 3600.0 + track.ship_offset_h
    start_h = (middle_h - 0.5 * STEP_h) % 24.0
    overlap_h = sum(
        np.maximum(np.minimum(start_h + STEP_h, end) - np.maximum(start_h, begin), 0.0)
        for begin, end in spans  # none of the demo's touches midnight
    )
    return overlap_h / STEP_h, sum(end - begin for begin, end in spans)
