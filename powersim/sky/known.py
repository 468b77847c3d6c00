"""What a file knows of the sky along a track: a forecast, a measurement, a hindcast."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.records.arrays import Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Known:
    """The sky as a file has it, step by step; nan where it says nothing.

    Attributes
    ----------
    clear_frac : ndarray, shape (n,)
        Share of the clear sky's light on the horizontal. [-]
    weight : ndarray, shape (n,)
        1 where it counts in full, 0 where not at all, between them where it fades into what would
        be taken without it. [-]
    dni_W_m2, dhi_W_m2 : ndarray, shape (n,)
        Beam facing the sun and diffuse on the horizontal, where they are known too. [W/m^2]
    air_C : ndarray, shape (n,)
        Air temperature. [degC]
    wind_m_s : ndarray, shape (n,)
        True wind. [m/s]
    clock_untried : bool
        Whether its hours could be those of another clock, and nobody would know.
    """

    clear_frac: Array
    weight: Array
    dni_W_m2: Array
    dhi_W_m2: Array
    air_C: Array
    wind_m_s: Array
    clock_untried: bool = False

    __repr__ = brief


def blended(usual: Array, known: Array, *, weight: Array) -> Array:
    """What is usual, with what is known laid over it.

    Parameters
    ----------
    usual, known : ndarray, shape (n,)
        The same quantity; nan in `known` where nothing is known.
    weight : ndarray, shape (n,)
        Of what is known. [-]

    Returns
    -------
    ndarray, shape (n,)
        In the unit of both.

    Examples
    --------
    >>> known = np.array([8.0, 8.0, np.nan])
    >>> blended(np.full(3, 4.0), known, weight=np.array([1.0, 0.5, 1.0])).tolist()
    [8.0, 6.0, 4.0]
    """
    return np.where(np.isnan(known), usual, usual + weight * (known - usual))
