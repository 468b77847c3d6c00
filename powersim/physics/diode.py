"""A module's current when it is held at a voltage, from what its sticker says."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from powersim.records import Panel

if TYPE_CHECKING:
    from powersim.records.arrays import FloatsT

#: Stickers are printed for cells at this temperature (IEC 61215). [degC]
TEST_CELL_C = 25.0

# A sticker seldom has these; crystalline silicon, common practice, no source.
ISC_TEMP_COEFF_PER_C = 0.0005  # change of short-circuit current per degree, as a share
VOC_TEMP_COEFF_PER_C = -0.0032  # change of open-circuit voltage per degree, as a share
CELL_VOC_V = 0.61  # open-circuit voltage of one cell: 22 V makes 36 cells
DIODE_IDEALITY = 1.0  # of a good silicon cell, where a sticker leaves it open

_BOLTZMANN_EV_PER_K = 8.617333262e-5  # SI 2019
_MOST_VOC_PER_SLOPE = 300.0  # exp() of it is still a float; a real sticker has 20 to 30


@dataclass(frozen=True, slots=True, kw_only=True)
class DiodeModel:
    """A module's current against voltage at standard test conditions (De Soto's parameters).

    Attributes
    ----------
    photo_A : float
        Light-generated current. [A]
    saturation_A : float
        Diode saturation current. [A]
    series_ohm, shunt_ohm : float
        Resistances. [ohm]
    slope_V : float
        Ideality times cells times thermal voltage. [V]
    isc_slope_A_per_C : float
        Change of short-circuit current per degree. [A/degC]
    """

    photo_A: float
    saturation_A: float
    series_ohm: float
    shunt_ohm: float
    slope_V: float
    isc_slope_A_per_C: float


class Curve(NamedTuple):
    """A module's current against voltage in some light.

    Attributes
    ----------
    photo_A, saturation_A : float or ndarray
        Light-generated current, and the diode's. [A]
    series_ohm, shunt_ohm : float or ndarray
        Resistances. [ohm]
    slope_V : float or ndarray
        Ideality times cells times thermal voltage. [V]
    """

    photo_A: Any
    saturation_A: Any
    series_ohm: Any
    shunt_ohm: Any
    slope_V: Any


class _Sticker(NamedTuple):
    """What a panel's sticker says of one module, by the names that a Panel has."""

    module_Vmp: float
    module_Imp: float
    module_Voc: float
    module_Isc: float


def cells_in_series(panel: Panel | _Sticker) -> int:
    """Cells of one module, told from its open-circuit voltage.

    Parameters
    ----------
    panel : Panel
        Its sticker.

    Returns
    -------
    int
        At least 1.

    Examples
    --------
    >>> from powersim.records import panel_of
    >>> cells_in_series(panel_of("stern", power_W=100.0))
    36
    """
    return max(1, round(panel.module_Voc / CELL_VOC_V))


def diode_model_of(panel: Panel) -> DiodeModel:
    """The single-diode model that goes through a sticker.

    Parameters
    ----------
    panel : Panel
        Vmp, Imp, Voc and Isc of one module.

    Returns
    -------
    DiodeModel
        At standard test conditions.

    Notes
    -----
    De Soto's five equations, solved by pvlib from the sticker and the temperature coefficients
    above. pvlib's own first guess fails on most round-figured stickers; the four-parameter model
    (no shunt, in closed form) is close enough for all that are plausible. Where a sticker has no
    solution with resistances above zero, the four-parameter model itself is used: photo current
    = Isc, through Isc, Voc and (Vmp, Imp), ideality 1 or less where only that leaves the series
    resistance at zero or above. Its maximum may then lie beside the sticker's. A sticker with
    next to no room between Vmp and Voc gets a curve that is as square as floats allow.

    References
    ----------
    .. [1] W. De Soto, S. A. Klein and W. A. Beckman, Improvement and validation of a model for
       photovoltaic array performance, Solar Energy 80 (2006) 78-88, eqs. 4 to 8.
    .. [2] J. A. Duffie and W. A. Beckman, Solar Engineering of Thermal Processes, 4th ed., 2013,
       section 23.2.
    """
    return _through(_Sticker(*(getattr(panel, name) for name in _Sticker._fields)))


@lru_cache(maxsize=256)  # it takes a solver, and is asked for again in every light
def _through(sticker: _Sticker) -> DiodeModel:
    start = _four_parameters(sticker)
    return _five_parameters(sticker, start) or start


def _five_parameters(panel: _Sticker, start: DiodeModel) -> DiodeModel | None:
    """De Soto's parameters, or None where there is no physical solution."""
    from pvlib.ivtools import sdm

    try:
        with np.errstate(all="ignore"):  # the solver tries impossible values on its way
            fit, _ = sdm.fit_desoto(
                panel.module_Vmp,
                panel.module_Imp,
                panel.module_Voc,
                panel.module_Isc,
                start.isc_slope_A_per_C,
                VOC_TEMP_COEFF_PER_C * panel.module_Voc,
                cells_in_series(panel),
                init_guess={
                    "IL_0": start.photo_A,
                    "Io_0": start.saturation_A,
                    "Rs_0": start.series_ohm,
                    "Rsh_0": 3.0 * panel.module_Voc / panel.module_Isc,
                    "a_0": start.slope_V,
                },
            )
    except RuntimeError:  # pvlib's word for "did not converge"
        return None
    names = ("I_L_ref", "I_o_ref", "R_s", "R_sh_ref", "a_ref")
    photo_A, saturation_A, series_ohm, shunt_ohm, slope_V = (float(fit[name]) for name in names)
    possible = min(photo_A, saturation_A, shunt_ohm, slope_V) > 0 and series_ohm >= 0
    if not possible or panel.module_Voc / slope_V > _MOST_VOC_PER_SLOPE:
        return None
    return DiodeModel(
        photo_A=photo_A,
        saturation_A=saturation_A,
        series_ohm=series_ohm,
        shunt_ohm=shunt_ohm,
        slope_V=slope_V,
        isc_slope_A_per_C=start.isc_slope_A_per_C,
    )


def _four_parameters(panel: _Sticker) -> DiodeModel:
    """The model without a shunt, in closed form."""
    Vmp, Imp, Voc, Isc = panel.module_Vmp, panel.module_Imp, panel.module_Voc, panel.module_Isc
    thermal_V = _BOLTZMANN_EV_PER_K * (TEST_CELL_C + 273.15)
    slope_V = min(
        DIODE_IDEALITY * cells_in_series(panel) * thermal_V,
        (Voc - Vmp) / np.log(Isc / (Isc - Imp)),  # here the series resistance is zero
    )
    slope_V = max(slope_V, Voc / _MOST_VOC_PER_SLOPE)
    saturation_A = Isc / np.expm1(Voc / slope_V)
    series_ohm = (slope_V * np.log1p((Isc - Imp) / saturation_A) - Vmp) / Imp
    return DiodeModel(
        photo_A=Isc,
        saturation_A=float(saturation_A),
        series_ohm=max(0.0, float(series_ohm)),
        shunt_ohm=np.inf,
        slope_V=float(slope_V),
        isc_slope_A_per_C=ISC_TEMP_COEFF_PER_C * Isc,
    )


def curve_of(model: DiodeModel, *, light_W_m2: FloatsT, cell_C: FloatsT) -> Curve:
    """A module's curve in some light, translated from test conditions by De Soto's equations.

    Parameters
    ----------
    model : DiodeModel
        The module.
    light_W_m2 : float or ndarray
        Effective light, salt taken off, above zero. [W/m^2]
    cell_C : float or ndarray
        Cells. [degC]

    Returns
    -------
    Curve
        Of one module.

    References
    ----------
    .. [1] W. De Soto, S. A. Klein and W. A. Beckman, Solar Energy 80 (2006) 78-88, eqs. 9 to 14.
    """
    from pvlib import pvsystem

    return Curve(
        *pvsystem.calcparams_desoto(
            light_W_m2,
            cell_C,
            model.isc_slope_A_per_C,
            model.slope_V,
            model.photo_A,
            model.saturation_A,
            model.shunt_ohm,
            model.series_ohm,
        )
    )


def current_at_voltage_A(
    model: DiodeModel,
    *,
    module_V: FloatsT,
    light_W_m2: FloatsT,
    cell_C: FloatsT,
    wire_ohm: float = 0.0,
) -> FloatsT:
    """Current of one module held at a voltage.

    Parameters
    ----------
    model : DiodeModel
        The module.
    module_V : float or ndarray
        Voltage at the far end of its wire. [V]
    light_W_m2 : float or ndarray
        Effective light, salt taken off, above zero. [W/m^2]
    cell_C : float or ndarray
        Cells. [degC]
    wire_ohm : float
        Of its wire, there and back; it adds to the module's own series resistance. [ohm]

    Returns
    -------
    float or ndarray
        Never negative: a module does not draw from the bank at night. [A]

    Notes
    -----
    Solved with Lambert's W.

    References
    ----------
    .. [1] A. Jain and A. Kapoor, Exact analytical solutions of the parameters of real solar cells
       using Lambert W-function, Sol. Energy Mater. Sol. Cells 81 (2004) 269-277, eq. 2.
    """
    from pvlib import pvsystem

    curve = curve_of(model, light_W_m2=light_W_m2, cell_C=cell_C)
    current_A = pvsystem.i_from_v(
        module_V,
        curve.photo_A,
        curve.saturation_A,
        curve.series_ohm + wire_ohm,
        curve.shunt_ohm,
        curve.slope_V,
    )
    return np.maximum(current_A, 0.0)
