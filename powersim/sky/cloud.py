"""How much of the clear sky's light comes through cloud."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array, FloatsT

OKTAS = 8.0  # eighths of the sky, WMO [-]
KASTEN_FACTOR = 0.75  # Kasten and Czeplak 1980 [-]
KASTEN_POWER = 3.4  # the same [-]
REED_FACTOR = 0.62  # Reed 1977 [-]
REED_PER_DEG = 0.0019  # the same [1/deg]
# Less than this much clear sky in 24 hours is polar night, and no ratio to it is taken. [W/m^2]
DARK_BELOW_W_m2 = 0.1


def kasten_czeplak_frac(cloud_oktas: FloatsT) -> FloatsT:
    """Share of the clear sky's light that comes through.

    Parameters
    ----------
    cloud_oktas : float or ndarray
        Eighths of sky covered, 0 to 8. [-]

    Returns
    -------
    float or ndarray
        1 - 0.75 (N/8)^3.4. [-]

    Notes
    -----
    Fitted to hours at Hamburg; single hours scatter by 10 to 20 percent about it.

    References
    ----------
    .. [1] F. Kasten and G. Czeplak, Solar and terrestrial radiation dependent on the amount and
       type of cloud, Solar Energy 24 (1980) 177-189.

    Examples
    --------
    >>> float(kasten_czeplak_frac(8.0))
    0.25
    """
    return 1.0 - KASTEN_FACTOR * (cloud_oktas / OKTAS) ** KASTEN_POWER


def reed_frac(cloud_oktas: FloatsT, *, noon_elevation_deg: FloatsT) -> FloatsT:
    """Share of the clear sky's daily light that comes through, over the sea.

    Parameters
    ----------
    cloud_oktas : float or ndarray
        Eighths of sky covered, 0 to 8. [-]
    noon_elevation_deg : float or ndarray
        Height of the sun at noon; below the horizon it counts as 0. [deg]

    Returns
    -------
    float or ndarray
        1 - 0.62 C + 0.0019 beta, not above 1, with C the covered share of the sky. [-]

    Notes
    -----
    A daily mean, applied here to every hour of the day. Its author meant it for C of 0.3 or more;
    below that it is used all the same and meets its cap.

    References
    ----------
    .. [1] R. K. Reed, On estimating insolation over the ocean, J. Physical Oceanography 7 (1977)
       482-485.

    Examples
    --------
    >>> float(reed_frac(8.0, noon_elevation_deg=50.0))
    0.475
    """
    lift = REED_PER_DEG * np.maximum(noon_elevation_deg, 0.0)
    return np.minimum(1.0 - REED_FACTOR * cloud_oktas / OKTAS + lift, 1.0)


def climatology_frac(
    kt: Array, *, extra_horizontal_W_m2: Array, clear_W_m2: Array, half_day_steps: int
) -> Array:
    """Share of the clear sky's light that gives each day the climatology's clearness.

    Parameters
    ----------
    kt : ndarray, shape (n,)
        Light at the surface over light above the atmosphere, both on the horizontal. [-]
    extra_horizontal_W_m2, clear_W_m2 : ndarray, shape (n + 2 half_day_steps,)
        Light above the atmosphere and under a clear sky, on the horizontal, from 12 hours before
        the first step to 12 hours after the last. [W/m^2]
    half_day_steps : int
        Steps in 12 hours.

    Returns
    -------
    ndarray, shape (n,)
        0 in polar night; above 1 where the climatology is brighter than the clear sky. [-]

    Notes
    -----
    Every day is the month's mean day: all its hours are dimmed alike, and neither a bright day
    after a dark one nor cumulus that grows by noon is in it.
    """
    extra_W_m2 = _centred_mean(extra_horizontal_W_m2, half_day_steps)
    clear_W_m2 = _centred_mean(clear_W_m2, half_day_steps)
    lit = clear_W_m2 > DARK_BELOW_W_m2
    return np.where(lit, kt * extra_W_m2 / np.where(lit, clear_W_m2, 1.0), 0.0)


def _centred_mean(values: Array, half: int) -> Array:
    """Mean over `half` values either way, the two at the ends counting half."""
    area = np.concatenate([[0.0], np.cumsum(0.5 * (values[1:] + values[:-1]))])
    return (area[2 * half :] - area[: area.size - 2 * half]) / (2 * half)
