"""From light on the glass to the cells' temperature and a module's full power."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.irradiance import PlaneLight
from powersim.records import Panel

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats, FloatsT


def effective_light_W_m2(light: PlaneLight, *, tilt_deg: Floats) -> Array:
    """Light that reaches the cells, as if it came square through the glass.

    Parameters
    ----------
    light : PlaneLight
        Light on the glass, shade taken off.
    tilt_deg : float or ndarray, shape (n,)
        Plane against the level. [deg]

    Returns
    -------
    ndarray, shape (n,)
        As if it came square through the glass. [W/m^2]

    Notes
    -----
    Martin and Ruiz with a_r = 0.16 (clean silicon module, IEC 61853-3): one model for the beam
    and, in closed form, for the sky and the sea's light. The ring around the sun comes in at
    the sun's own angle.

    References
    ----------
    .. [1] N. Martin and J. M. Ruiz, Calculation of the PV modules angular losses under field
       conditions by means of an analytical model, Sol. Energy Mater. Sol. Cells 70 (2001) 25-38,
       with the corrigendum in vol. 110 (2013) 154, as pvlib.iam has it.
    """
    from pvlib import iam

    # A tilt of a rounding error divides 0 by 0 in the closed form.
    diffuse = iam.martin_ruiz_diffuse(np.clip(tilt_deg, 0.01, 179.99))
    # pvlib names the two shares from 0.16 on; before, they come as a pair in this order.
    isotropic_share, sea_share = (
        (diffuse["sky"], diffuse["ground"]) if isinstance(diffuse, dict) else diffuse
    )
    return (
        (light.direct_W_m2 + light.circumsolar_W_m2) * iam.martin_ruiz(light.incidence_deg)
        + light.isotropic_W_m2 * isotropic_share
        + light.sea_W_m2 * sea_share
    )


def cell_C(*, light_W_m2: FloatsT, air_C: FloatsT, wind_m_s: FloatsT) -> FloatsT:
    """Temperature of the cells.

    Parameters
    ----------
    light_W_m2 : float or ndarray, shape (n,)
        Light on the glass. [W/m^2]
    air_C : float or ndarray, shape (n,)
        Air. [degC]
    wind_m_s : float or ndarray, shape (n,)
        True wind. [m/s]

    Returns
    -------
    float or ndarray, shape (n,)
        Above the air by what the light heats and the wind leaves. [degC]

    Notes
    -----
    air + light / (25 + 6.84 wind): the coefficients of a module with air behind it. The wind
    that the moving boat makes is left out (less before the wind, more close-hauled), and so is
    the lee of a sprayhood. A panel glued to the deck runs some 15 degrees hotter in a calm.

    References
    ----------
    .. [1] D. Faiman, Assessing the outdoor operating temperature of photovoltaic modules, Prog.
       Photovolt. 16 (2008) 307-315, eq. 6; coefficients as in IEC 61853.

    Examples
    --------
    >>> round(float(cell_C(light_W_m2=900.0, air_C=20.0, wind_m_s=5.0)), 3)
    35.203
    """
    from pvlib import temperature

    return temperature.faiman(light_W_m2, air_C, wind_m_s)


def full_power_W(panel: Panel, *, light_W_m2: FloatsT, cell_C: FloatsT) -> FloatsT:
    """Power of all modules of a panel, each at its best voltage.

    Parameters
    ----------
    panel : Panel
        Its sticker, its count and its temperature coefficient.
    light_W_m2 : float or ndarray, shape (n,)
        Effective light, salt taken off. [W/m^2]
    cell_C : float or ndarray, shape (n,)
        Cells. [degC]

    Returns
    -------
    float or ndarray, shape (n,)
        Before wiring and controller; never negative. [W]

    Notes
    -----
    Rated power times light / 1000 times (1 + coefficient (cell - 25)). Linear in light: below
    some 100 W/m^2 a real module gives less, by 5 to 10 % of what little that is.

    References
    ----------
    .. [1] A. P. Dobos, PVWatts Version 5 Manual, NREL/TP-6A20-62641, 2014, eq. 2.
    """
    from pvlib import pvsystem

    power_W = pvsystem.pvwatts_dc(
        light_W_m2, cell_C, panel.power_W * panel.count, panel.power_temp_coeff_per_C
    )
    return np.maximum(power_W, 0.0)
