"""What a wind generator offers: the wind at its hub, made apparent, through its power curve."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.offering import Offering
from powersim.records import WindGenerator
from powersim.records.chargers.power_curve import M_S_PER_KN

if TYPE_CHECKING:
    from powersim.records.arrays import Array, FloatsT
    from powersim.sky.sky import Sky
    from powersim.voyage.track import Track

#: The height to which true wind is stated (World Meteorological Organization, Guide to
#: Instruments and Methods of Observation, WMO-No. 8; from memory). [m]
WIND_HEIGHT_m = 10.0
#: Exponent of the wind profile over the open sea, give or take 0.03: S. A. Hsu, E. A. Meindl and
#: D. B. Gilhousen, Determining the power-law wind-profile exponent under near-neutral stability
#: conditions at sea, J. Applied Meteorology 33 (1994) 757-765 (from memory). [-]
SEA_PROFILE_EXPONENT = 0.11
#: Wind speeds over their mean for the mean over a Rayleigh distribution: middles of 50 slices;
#: above five times the mean there are 3 hours in a thousand million. [-]
_RATIOS = (np.arange(50) + 0.5) * 0.1
_WEIGHTS = _RATIOS * np.exp(-0.25 * math.pi * _RATIOS**2)
_WEIGHTS /= _WEIGHTS.sum()


def wind_at_height_m_s(*, wind_m_s: FloatsT, height_m: float) -> FloatsT:
    """True wind at a height over the open sea.

    Parameters
    ----------
    wind_m_s : float or ndarray
        At 10 m. [m/s]
    height_m : float
        Above the sea. [m]

    Returns
    -------
    float or ndarray
        wind * (height / 10 m)^0.11. [m/s]

    Examples
    --------
    >>> wind_at_height_m_s(wind_m_s=8.0, height_m=3.0)
    7.008
    """
    return wind_m_s * (height_m / WIND_HEIGHT_m) ** SEA_PROFILE_EXPONENT


def apparent_wind_m_s(*, wind_m_s: FloatsT, angle_deg: float, boat_m_s: FloatsT) -> FloatsT:
    """Apparent wind of a boat under way.

    Parameters
    ----------
    wind_m_s : float or ndarray
        True wind. [m/s]
    angle_deg : float
        From which it blows, off the bow: 0 ahead, 180 astern. [deg]
    boat_m_s : float or ndarray
        The boat's speed; at 0 the angle has no effect. [m/s]

    Returns
    -------
    float or ndarray
        Length of the vector sum of true wind and headway: derived, by the law of cosines. [m/s]

    Examples
    --------
    >>> float(apparent_wind_m_s(wind_m_s=4.0, angle_deg=90.0, boat_m_s=3.0))
    5.0
    """
    squared = wind_m_s**2 + boat_m_s**2
    squared = squared + 2.0 * wind_m_s * boat_m_s * math.cos(math.radians(angle_deg))
    return np.sqrt(np.maximum(squared, 0.0))  # rounding may leave it a whisker below


def wind_generator_W(generator: WindGenerator, *, wind_m_s: FloatsT, speed_kn: FloatsT) -> FloatsT:
    """What a wind generator offers the bank in a wind that is known.

    Parameters
    ----------
    generator : WindGenerator
        Its power curve, its height, the angle of the wind, and its cable.
    wind_m_s : float or ndarray
        True wind at 10 m. [m/s]
    speed_kn : float or ndarray
        The boat's; its shape and the wind's broadcast, such as (n, 1) and (n, members). [kn]

    Returns
    -------
    float or ndarray
        After the loss in the cable. [W]

    Notes
    -----
    Straight lines between the points of the curve; before the first there is nothing, beyond the
    last its power is held until the cut-out, from which the rotor stands still. At a stop the bow
    lies to the wind, or the rotor turns to it: apparent is true wind.
    """
    apparent_m_s = apparent_wind_m_s(
        wind_m_s=wind_at_height_m_s(wind_m_s=wind_m_s, height_m=generator.height_m),
        angle_deg=generator.wind_angle_deg,
        boat_m_s=speed_kn * M_S_PER_KN,
    )
    power_W = np.interp(apparent_m_s, generator.speeds_m_s, generator.powers_W)
    turns = apparent_m_s < generator.cut_out_m_s
    return power_W * turns * (1.0 - generator.wiring_frac)


def mean_wind_generator_W(generator: WindGenerator, *, wind_m_s: Array, speed_kn: Array) -> Array:
    """What it offers on average where only the mean of the wind is known.

    Parameters
    ----------
    generator : WindGenerator
        As for `wind_generator_W`.
    wind_m_s : ndarray, shape (n,)
        Mean true wind at 10 m. [m/s]
    speed_kn : ndarray, shape (n,)
        The boat's. [kn]

    Returns
    -------
    ndarray, shape (n,)
        After the loss in the cable. [W]

    Notes
    -----
    Power goes with the cube of the wind, so that the power in the mean wind is little more than
    half of the mean power, whose mean cube is 6/pi times the cube of the mean. Hourly wind is taken
    as Rayleigh distributed about the mean, as in `sky.climatology.calm_frac`; the mean over it is a
    sum over 50 slices of a tenth of the mean each.

    References
    ----------
    .. [1] C. G. Justus, W. R. Hargraves, A. Mikhail and D. Graber, Methods for estimating wind
       speed frequency distributions, J. Applied Meteorology 17 (1978) 350-353 (from memory).
    """
    winds_m_s = np.asarray(wind_m_s, dtype=float)[..., None] * _RATIOS
    boat_kn = np.asarray(speed_kn, dtype=float)[..., None]
    return wind_generator_W(generator, wind_m_s=winds_m_s, speed_kn=boat_kn) @ _WEIGHTS


def wind_offer_W(generator: WindGenerator, *, track: Track, sky: Sky) -> Array:
    """What a wind generator offers along a track.

    Parameters
    ----------
    generator : WindGenerator
        As for `wind_generator_W`.
    track : Track
        For the boat's speed.
    sky : Sky
        For the wind, and whether it is the hour's or a mean.

    Returns
    -------
    ndarray, shape (n,)
        The mean over the winds about a mean; the power in the wind itself where a file has it. [W]
    """
    wind = {"wind_m_s": sky.wind_m_s, "speed_kn": track.speed_kn}
    known_W = wind_generator_W(generator, **wind)
    if not np.any(sky.wind_open_frac):
        return known_W
    mean_W = mean_wind_generator_W(generator, **wind)
    return known_W + sky.wind_open_frac * (mean_W - known_W)


def _in_members_W(
    generator: WindGenerator, *, wind_m_s: Array, speed_kn: Array, under_way: Array, motoring: Array
) -> Array:
    """In the wind that blows for each member."""
    return wind_generator_W(generator, wind_m_s=wind_m_s, speed_kn=speed_kn)


OFFERING = Offering(along=wind_offer_W, in_members=_in_members_W, asks_for_wind=True)
