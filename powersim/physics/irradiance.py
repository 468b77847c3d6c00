"""Light on a tilted plane: sun, ring around the sun, sky, and what the sea throws back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats

#: Albedo of the sea. R. E. Payne, Albedo of the sea surface, J. Atmos. Sci. 29 (1972) 959-970:
#: 0.06 is its value under cloud, and under a sun 36 degrees high. A lower sun raises it, but a
#: panel that is nearly level sees little sea: with the whole table in place of 0.06 a day's light
#: on a plane tilted by 30 degrees changes by under 1 % (tests/reference/test_sea_albedo.py).
SEA_ALBEDO_FRAC = 0.06

#: Hay and Davies: it parts the sky's light into an even sky and a ring that stands with the sun,
#: and shade needs just that: the ring goes behind the sail with the sun. Perez also lights up the
#: horizon, by coefficients fitted to stations ashore.
SKY_MODEL = "haydavies"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaneLight:
    """Light on a plane, by where it comes from.

    Attributes
    ----------
    incidence_deg : ndarray, shape (n,)
        Angle between the sun and the plane's normal. [deg]
    direct_W_m2 : ndarray, shape (n,)
        From the sun's disc. [W/m^2]
    circumsolar_W_m2 : ndarray, shape (n,)
        Diffuse light from around the sun, nothing unless the model is Hay and Davies'. [W/m^2]
    isotropic_W_m2 : ndarray, shape (n,)
        The rest of the sky's diffuse light. [W/m^2]
    sea_W_m2 : ndarray, shape (n,)
        Thrown back by the sea. [W/m^2]
    """

    incidence_deg: Array
    direct_W_m2: Array
    circumsolar_W_m2: Array
    isotropic_W_m2: Array
    sea_W_m2: Array

    __repr__ = brief

    @property
    def total_W_m2(self) -> Array:
        """All of it. [W/m^2]"""
        return self.direct_W_m2 + self.circumsolar_W_m2 + self.isotropic_W_m2 + self.sea_W_m2


def light_on_plane(
    *,
    tilt_deg: Floats,
    azimuth_deg: Floats,
    sun_elevation_deg: Floats,
    sun_azimuth_deg: Floats,
    dni_W_m2: Floats,
    ghi_W_m2: Floats,
    dhi_W_m2: Floats,
    extra_dni_W_m2: Floats,
    albedo_frac: Floats = SEA_ALBEDO_FRAC,
    sky_model: str = SKY_MODEL,
) -> PlaneLight:
    """Light on a plane in the open, any argument an array along time.

    Parameters
    ----------
    tilt_deg : float or ndarray, shape (n,)
        Plane against the level. [deg]
    azimuth_deg : float or ndarray, shape (n,)
        Where it faces, clockwise from north. [deg]
    sun_elevation_deg : float or ndarray, shape (n,)
        Apparent height of the sun. [deg]
    sun_azimuth_deg : float or ndarray, shape (n,)
        Clockwise from north. [deg]
    dni_W_m2, ghi_W_m2, dhi_W_m2 : float or ndarray, shape (n,)
        Beam square to the sun, global and diffuse on the level. [W/m^2]
    extra_dni_W_m2 : float or ndarray, shape (n,)
        Above the atmosphere, square to the sun. [W/m^2]
    albedo_frac : float or ndarray, shape (n,)
        Share of light that the sea (or ground) throws back. [-]
    sky_model : str
        A name that pvlib.irradiance.get_total_irradiance knows.

    Returns
    -------
    PlaneLight
        Nothing of it shaded, nothing lost in the glass.

    Notes
    -----
    With Hay and Davies, A = beam / extraterrestrial beam and Rb the ratio of the cosines of
    incidence and zenith angle: ring = dhi A Rb, sky = dhi (1 - A) (1 + cos tilt)/2. The sea is
    taken as a dull mirror that sends light evenly; the glitter path of a low sun is left out.

    References
    ----------
    .. [1] J. E. Hay and J. A. Davies, Calculations of the solar radiation incident on an inclined
       surface, Proc. First Canadian Solar Radiation Data Workshop, 1980, p. 59.
    .. [2] J. A. Duffie and W. A. Beckman, Solar Engineering of Thermal Processes, 4th ed., 2013,
       sections 2.15 and 2.16.
    """
    from pvlib import irradiance

    zenith_deg = 90.0 - sun_elevation_deg
    incidence_deg = irradiance.aoi(tilt_deg, azimuth_deg, zenith_deg, sun_azimuth_deg)
    diffuse_W_m2 = irradiance.get_sky_diffuse(
        tilt_deg,
        azimuth_deg,
        zenith_deg,
        sun_azimuth_deg,
        dni_W_m2,
        ghi_W_m2,
        dhi_W_m2,
        dni_extra=extra_dni_W_m2,
        model=sky_model,
    )
    sea_W_m2 = irradiance.get_ground_diffuse(tilt_deg, ghi_W_m2, albedo_frac)
    light = irradiance.poa_components(incidence_deg, dni_W_m2, diffuse_W_m2, sea_W_m2)
    isotropic_W_m2 = diffuse_W_m2
    if sky_model == "haydavies":
        even_share = np.clip(1.0 - dni_W_m2 / extra_dni_W_m2, 0.0, 1.0)
        isotropic_W_m2 = np.minimum(
            irradiance.isotropic(tilt_deg, dhi_W_m2) * even_share, diffuse_W_m2
        )
    return PlaneLight(
        incidence_deg=incidence_deg,
        direct_W_m2=light["poa_direct"],
        circumsolar_W_m2=diffuse_W_m2 - isotropic_W_m2,
        isotropic_W_m2=isotropic_W_m2,
        sea_W_m2=sea_W_m2,
    )
