"""How warm it is below: in the cabin, and where the bank stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.records import BankPlace

if TYPE_CHECKING:
    from powersim.records.arrays import Array

# A cabin and a bank are warmer than the air about them; common practice, no source. [degC]
CABIN_ABOVE_AIR_C = 3.0


def cabin_C(air_C: Array, given_cabin_C: Array) -> Array:
    """Temperature in the cabin.

    Parameters
    ----------
    air_C : ndarray, shape (n,)
        Of the air outside. [degC]
    given_cabin_C : ndarray, shape (n,)
        What the leg says; nan where it says nothing. [degC]

    Returns
    -------
    ndarray, shape (n,)
        What the leg says, else CABIN_ABOVE_AIR_C above the air. [degC]
    """
    return np.where(np.isnan(given_cabin_C), air_C + CABIN_ABOVE_AIR_C, given_cabin_C)


def bank_C(where: BankPlace, *, air_C: Array, given_cabin_C: Array) -> Array:
    """Temperature of the bank where it stands.

    Parameters
    ----------
    where : BankPlace
        Where it stands, or the temperature at which it is held.
    air_C, given_cabin_C : ndarray, shape (n,)
        As for `cabin_C`. [degC]

    Returns
    -------
    ndarray, shape (n,)
        As its place has it, or as it is held there. [degC]

    Notes
    -----
    In the bilge it is halfway between the sea, which is taken to be as warm as the air over it,
    and a known cabin; a guessed cabin says nothing about the bank, which then is as warm as the
    guess. That the sea never is below about -1.9 degrees is not counted on: lockers get colder.

    Examples
    --------
    >>> from powersim.records import BankPlace
    >>> bank_C(BankPlace(), air_C=np.array([4.0, 4.0]), given_cabin_C=np.array([np.nan, 16.0]))
    array([ 7., 10.])
    """
    if where.fixed_C is not None:
        return np.full_like(air_C, where.fixed_C)
    below_C = cabin_C(air_C, given_cabin_C)
    follows_C = {
        "bilge": np.where(np.isnan(given_cabin_C), below_C, 0.5 * (air_C + below_C)),
        "cabin": below_C,
        "outside": air_C,
    }[where.place]
    return follows_C if where.least_C is None else np.maximum(follows_C, where.least_C)
