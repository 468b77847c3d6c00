"""What the panels behind one controller can give the bank, step by step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics import diode, module
from powersim.physics.common_point import modules_of, shared_frac
from powersim.physics.panel_light import PanelLight, light_and_cell, lit_rows, place_of
from powersim.physics.shade import sectors_of
from powersim.records import Controller, Panel
from powersim.records.brief import brief
from powersim.records.wiring import held_apart

if TYPE_CHECKING:
    from powersim.records.arrays import Array, FloatsT
    from powersim.sky.sky import Sky
    from powersim.voyage.track import Track

#: Voltages of a 12 V bank between which a PWM controller's current is interpolated: close
#: together where a hot module's current begins to fall. [V]
KNOTS_12_V = (10.5, 12.0, 12.5, 13.0, 13.5, 14.0, 14.5, 15.0, 15.5)
#: Less than this on a module is dark: its diode's shunt has no end then. [W/m^2]
_LEAST_LIGHT_W_m2 = 0.1
#: Modules of a lower Vmp are made for 12 V banks (36 cells). Common practice, no source. [V]
LEAST_24_V_CLASS_VMP_V = 24.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ControllerYield:
    """What one controller offers, step by step, before its rated current and its setpoint.

    Attributes
    ----------
    controller : Controller
        Whose it is.
    power_W : ndarray, shape (..., n)
        MPPT: offered to the bank, after salt, wiring and efficiency; zero for PWM. [W]
    knots_V : ndarray, shape (K,)
        PWM: bank voltages for which the current is known; empty for MPPT. [V]
    current_A : ndarray, shape (..., n, K)
        PWM: current offered at these voltages, after salt, drop and wiring. [A]
    module_W : ndarray, shape (..., n)
        What the modules could give at their best voltage, after salt. [W]
    apart_W : ndarray, shape (..., n)
        MPPT: what it would offer if each panel had a controller of its own. [W]
    """

    controller: Controller
    power_W: Array
    apart_W: Array
    knots_V: Array
    current_A: Array
    module_W: Array

    __repr__ = brief


def controller_yield(
    controller: Controller,
    panels: Sequence[Panel],
    *,
    track: Track,
    sky: Sky,
    nominal_V: float,
    light: PanelLight | None = None,
    sky_number: int = 0,
) -> ControllerYield:
    """What the panels on one controller offer the bank at every step.

    Parameters
    ----------
    controller : Controller
        The charge controller.
    panels : sequence of Panel
        Those that feed it.
    track : Track
        Where the boat is, how she heads and heels.
    sky : Sky
        Sun, light, air and wind there; its light may have axes before that of time, for several
        members under the same sun.
    nominal_V : float
        Of the bank, 12 or 24. [V]
    light : PanelLight, optional
        Where the light on panels is kept.
    sky_number : int
        By what that knows this track and sky.

    Returns
    -------
    ControllerYield
        Along the whole track.

    Notes
    -----
    Where the tack is not known (0) the result is the mean of both tacks. MPPT: module power less
    wiring, times efficiency, times what panels held at one common point leave of what each could
    give at its own; the modules' voltage is taken to lie above the bank's. PWM: the
    module is held at bank voltage plus drop, in strings of `modules_in_series`. A panel's
    `yield_frac` multiplies what is left after all of it.
    """
    any_lee = any(sector.side == "lee" for panel in panels for sector in sectors_of(panel))
    shape = sky.ghi_W_m2.shape
    pwm = controller.kind == "pwm"
    knots_V = np.array(KNOTS_12_V if pwm else ()) * nominal_V / 12.0
    power_W, module_W = np.zeros(shape), np.zeros(shape)
    current_A = np.zeros((len(knots_V), *shape))
    apart = held_apart(controller, panels)
    apart_W = power_W if apart else np.zeros(shape)

    kept = PanelLight() if light is None else light
    for number, rows in enumerate(lit_rows(track, sky, any_lee=any_lee)):
        lit = [
            kept.of(
                (sky_number, number, any_lee, place),
                partial(light_and_cell, place, rows, track, sky),
            )
            for place in map(place_of, panels)
        ]
        share = None if apart else _shared_frac(controller, panels, lit)
        for panel, (light_W_m2, cell_C) in zip(panels, lit, strict=True):
            full_W = module.full_power_W(panel, light_W_m2=light_W_m2, cell_C=cell_C)
            module_W[..., rows.lit] += rows.by_step(full_W) * panel.yield_frac
            if pwm:
                bank_A = _pwm_current_A(
                    panel,
                    nominal_V=nominal_V,
                    knots_V=knots_V,
                    drop_V=controller.drop_V,
                    light_W_m2=light_W_m2,
                    cell_C=cell_C,
                )
                current_A[..., rows.lit] += rows.by_step(bank_A) * panel.yield_frac
            else:
                offered_W = after_wiring_W(panel, power_W=full_W) * (
                    controller.efficiency_frac * panel.yield_frac
                )
                apart_W[..., rows.lit] += rows.by_step(offered_W)
                if share is not None:
                    power_W[..., rows.lit] += rows.by_step(offered_W * share)
    return ControllerYield(
        controller=controller,
        power_W=power_W,
        apart_W=apart_W,
        knots_V=knots_V,
        current_A=np.moveaxis(current_A, 0, -1),
        module_W=module_W,
    )


def after_wiring_W(panel: Panel, *, power_W: FloatsT) -> FloatsT:
    """Power left at the controller's end of the panel's cable.

    Parameters
    ----------
    panel : Panel
        `wiring_frac` is its loss at rated power.
    power_W : float or ndarray
        Of all its modules. [W]

    Returns
    -------
    float or ndarray
        Never negative. [W]

    Notes
    -----
    Loss by resistance goes with the square of the current, and an MPPT module's voltage changes
    little: loss = wiring_frac * power^2 / rated power.

    Examples
    --------
    >>> from powersim.records import panel_of
    >>> float(after_wiring_W(panel_of("stern", power_W=100.0, wiring_frac=0.04), power_W=50.0))
    49.0
    """
    rated_W = panel.power_W * max(panel.count, 1)
    return power_W * np.maximum(1.0 - panel.wiring_frac * power_W / rated_W, 0.0)


def modules_in_series(panel: Panel, *, nominal_V: float) -> int:
    """How many modules a PWM controller needs in series to reach over the bank's voltage.

    Parameters
    ----------
    panel : Panel
        Its Vmp tells whether it is made for 12 V or for 24 V banks.
    nominal_V : float
        Of the bank. [V]

    Returns
    -------
    int
        1 where a single module reaches.

    Notes
    -----
    Modules left over when `count` does not divide by this give nothing: two 12 V modules charge a
    24 V bank, one does not, and three do no better than two.

    Examples
    --------
    >>> from powersim.records import panel_of
    >>> modules_in_series(panel_of("stern", power_W=100.0), nominal_V=24.0)
    2
    """
    class_V = 12.0 if panel.module_Vmp < LEAST_24_V_CLASS_VMP_V else 24.0
    return max(1, round(nominal_V / class_V))


def _shared_frac(
    controller: Controller, panels: Sequence[Panel], lit: Sequence[tuple[Array, Array]]
) -> Array:
    """What a common point leaves of what each panel could give, from effective light and cells."""
    held = [
        modules_of(panel, light_W_m2=np.maximum(light_W_m2, _LEAST_LIGHT_W_m2), cell_C=cell_C)
        for panel, (light_W_m2, cell_C) in zip(panels, lit, strict=True)
        if panel.count > 0
    ]
    return shared_frac(held, wired=controller.wired)


def _pwm_current_A(
    panel: Panel,
    *,
    nominal_V: float,
    knots_V: Array,
    drop_V: float,
    light_W_m2: Array,
    cell_C: Array,
) -> Array:
    """Current of a panel's strings at each bank voltage, shape (K, ..., rows)."""
    series = modules_in_series(panel, nominal_V=nominal_V)
    string_A = diode.current_at_voltage_A(
        diode.diode_model_of(panel),
        module_V=((knots_V + drop_V) / series).reshape(-1, *(1,) * light_W_m2.ndim),
        light_W_m2=light_W_m2,
        cell_C=cell_C,
        wire_ohm=panel.wiring_frac * panel.module_Vmp / panel.module_Imp,
    )
    return string_A * (panel.count // series)
