"""How light on the horizontal splits in beam and diffuse."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.sky.clear_sky import ClearLight


def direct_and_diffuse_W_m2(
    ghi_W_m2: Array, *, clear: ClearLight, elevation_deg: Array, day_of_year: Array
) -> tuple[Array, Array]:
    """Split the light on the horizontal: by Erbs under cloud, as the clear sky's where it is clear.

    Parameters
    ----------
    ghi_W_m2 : ndarray, shape (..., n)
        Light on the horizontal. [W/m^2]
    clear : ClearLight
        What a clear sky would have, shape (n,).
    elevation_deg : ndarray, shape (n,)
        Apparent elevation of the sun. [deg]
    day_of_year : ndarray, shape (n,)
        For the light above the atmosphere. [d]

    Returns
    -------
    dni_W_m2, dhi_W_m2 : ndarray, shape (..., n)
        Beam facing the sun, and diffuse on the horizontal; with the sun below 3 degrees all is
        diffuse. [W/m^2]

    Notes
    -----
    beam = the clear sky's beam * Erbs's beam of this light / Erbs's beam of the clear sky's light,
    and never more than the clear sky's: what a step has above a clear sky comes off the edges of
    clouds. So a clear hour has the beam that its haze leaves, where Erbs knows only how bright it
    is; an hour of half the light has Erbs's share, near enough, be it evenly grey or broken cloud;
    and an overcast one hardly any. Beam and diffuse add up, since Erbs's share of beam grows with
    the light.

    References
    ----------
    .. [1] D. G. Erbs, S. A. Klein and J. A. Duffie, Estimation of the diffuse radiation fraction
       for hourly, daily and monthly-average global radiation, Solar Energy 28 (1982) 293-302,
       eq. 1; pvlib.irradiance.erbs.
    .. [2] R. Perez et al., A new operational model for satellite-derived irradiances: description
       and validation, Solar Energy 73 (2002) 307-317: a split scaled by what it makes of the clear
       sky; pvlib.irradiance.dirindex, with another split.
    """
    from pvlib.irradiance import erbs

    zenith_deg = 90.0 - elevation_deg
    beam_W_m2, clear_beam_W_m2 = (
        erbs(light_W_m2, zenith_deg, day_of_year)["dni"]
        for light_W_m2 in (ghi_W_m2, clear.ghi_W_m2)
    )
    some = clear_beam_W_m2 > 0.0
    of_clear = np.minimum(beam_W_m2 / np.where(some, clear_beam_W_m2, 1.0), 1.0)
    dni_W_m2 = np.where(some, clear.dni_W_m2 * of_clear, 0.0)
    return dni_W_m2, ghi_W_m2 - dni_W_m2 * np.cos(np.radians(zenith_deg))
