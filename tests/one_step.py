"""Single steps of the kernel, with signals that a test writes by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from powersim.physics.ops import ARRAY, FLOAT
from powersim.simulation.kernel import step_of
from powersim.simulation.plant import plant_of
from powersim.simulation.signals import ControllerRow, ControllerSignal, Row
from powersim.simulation.state import Switches, start_state

_QUIET = (0.0, 0.0, 0.0, 0.0)


def row_of(**given):
    """Signals of a step in which nothing happens, at 25 degrees."""
    quiet = {
        "load_A": _QUIET,
        "load_W": _QUIET,
        "peak_A": _QUIET,
        "motoring": 0.0,
        "may_run": False,
        "opens_h": 0.0,
        "closes_h": float("inf"),
        "ordered": 0.0,
        "bank_C": 25.0,
        "takes_charge": 1.0,
        "unreachable_Ah": 0.0,
        "full_V": 14.15,
        "alternator_absorption_V": 14.0,
        "alternator_float_V": 14.0,
        "heater_L": _QUIET,
        "controllers": (),
    }
    return Row(**(quiet | given))


def mppt(power_W, *, rated_A=float("inf"), absorption_V=14.4, float_V=13.5):
    """One MPPT controller and what it has in a step."""
    signal = ControllerSignal(
        rated_A=rated_A,
        knots_V=(),
        power_W=None,
        first_A=None,
        slope_A_per_V=None,
        absorption_V=None,
        float_V=None,
    )
    return signal, ControllerRow(power_W, 0.0, (), absorption_V, float_V)


class OneStep:
    """One boat, carried through steps that a test writes by hand."""

    def __init__(self, boat, *, soc, step_h=0.25, **state):
        self.plant = plant_of(boat, step_h=step_h)
        self.state = start_state(self.plant, soc=soc)._replace(**state)
        self.step_h = step_h

    def take(self, *, switches=None, solar=(), **row):
        """One step with these signals: its flows; the state moves on."""
        flows, self.state = step_of(
            self.state,
            row_of(controllers=tuple(signal for _, signal in solar), **row),
            plant=self.plant,
            signals=SimpleNamespace(
                step_h=self.step_h,
                controllers=tuple(controller for controller, _ in solar),
                others=(),
            ),
            switches=switches or Switches(),
            ops=FLOAT if np.ndim(self.state.total_Ah) == 0 else ARRAY,
        )
        return flows
