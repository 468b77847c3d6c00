"""Single steps of the kernel, with signals that a test writes by hand."""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from powersim.kernel.bus import bus_of
from powersim.kernel.chargers import SOLAR, SOURCES, ChargerConstants, Offer
from powersim.kernel.flows import Flows
from powersim.kernel.state import Switches
from powersim.kernel.step import step_of
from powersim.kernel.step_signals import StepSignals
from powersim.simulation.plant import plant_of
from powersim.simulation.signals import ControllerSignal, Signals
from powersim.simulation.state import start_state

_QUIET = (0.0, 0.0, 0.0, 0.0)


def row_of(**given):
    """Signals of a step in which nothing happens, at 25 degrees."""
    quiet = {
        "load_A": _QUIET,
        "load_W": _QUIET,
        "peak_A": _QUIET,
        "motoring": 0.0,
        "may_run": False,
        "sea_lets": 1.0,
        "opens_h": 0.0,
        "closes_h": float("inf"),
        "ordered": 0.0,
        "reads": 0.0,
        "misread_soc": 0.0,
        "bank_C": 25.0,
        "takes_charge": 1.0,
        "unreachable_frac": 0.0,
        "full_V": 14.15,
        "alternator_absorption_V": 14.0,
        "alternator_float_V": 14.0,
        "heater_L": _QUIET,
    }
    return StepSignals(**(quiet | given))


def mppt(power_W, *, rated_A=float("inf"), absorption_V=14.4, float_V=13.5, source=SOLAR):
    """One charger that offers a power, and what it has in a step."""
    charger = ChargerConstants(source=source, rated_A=rated_A, knots=0, knots_V=())
    return charger, Offer(power_W, 0.0, (), absorption_V, float_V)


def signals_of(*, step_h, solar=(), **row):
    """The same step as Signals, for whoever carries many members through it."""
    controllers = tuple(
        ControllerSignal(
            rated_A=charger.rated_A,
            knots_V=charger.knots_V,
            source=SOURCES[charger.source],
            **{name: _of_a_step(value) for name, value in offer._asdict().items()},
        )
        for charger, offer in solar
    )
    given = row_of(**row)._asdict()
    assert {field.name for field in fields(Signals)} == {
        *("step_h", "controllers", "others"),
        *given,
    }
    arrays = {name: _of_a_step(value) for name, value in given.items()}
    return Signals(step_h=step_h, controllers=controllers, **arrays)


def _of_a_step(value):
    """Time first, members last: one of each."""
    return np.array(value, dtype=float)[None, ..., None]


class OneStep:
    """One boat, carried through steps that a test writes by hand."""

    def __init__(self, boat, *, soc, step_h=0.25, **state):
        self.plant = plant_of(boat, step_h=step_h)
        self.state = start_state(self.plant, soc=soc)._replace(**state)
        self.step_h = step_h

    def take(self, *, switches=None, solar=(), **row):
        """One step with these signals: its flows; the state moves on."""
        flow = [float("nan")] * len(Flows._fields)
        self.state = step_of(
            self.state,
            row_of(**row),
            [offer for _, offer in solar],
            plant=self.plant,
            switches=switches or Switches(),
            chargers=[charger for charger, _ in solar],
            bus=bus_of(len(solar) + 1),
            flow=flow,
            step_h=self.step_h,
        )
        return Flows(*flow)
