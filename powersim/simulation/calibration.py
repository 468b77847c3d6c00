"""What a sailor's own rested volts say of the bank and of the meter that was read.

Two figures are unknown of a bank's rested voltage, its height and its rise from empty to full, and
one of the meter, its zero. Each point that the sailor gives (`rested` of boat.toml) narrows all
three: they are normal, the points hang on them by straight lines, and so is what is left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Battery
from powersim.simulation.member_banks import PIVOT_SOC, BankDraws

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats

#: What a voltmeter may be wrong by all the way, a share of what it shows: the limit of a plain one.
#: Anything up to a limit is as likely, so one standard deviation is it by the root of 3 (JCGM
#: 100:2008, 4.3.7; from memory). [-]
METER_LIMIT_FRAC = 0.005
#: One standard deviation of a meter's zero, of a block of 12 V. [V]
METER_SD_V = METER_LIMIT_FRAC * 12.5 / math.sqrt(3.0)
#: How wrong a point of the sailor's own may be though it was taken with care: the last figure, and
#: what is left of the surface charge after a night or a few ampere-hours. [V]
POINT_SD_V = 0.02
#: How wrong the charge is that goes with it: by hydrometer (0.005 of specific gravity, of the 0.15
#: between empty and full) or by ampere-hours counted from full; and where it is full. Common
#: practice, no source. [-]
POINT_SD_SOC, FULL_SD_SOC = 0.04, 0.01
#: From here on a point counts as full. [-]
_FULL_SOC = 0.95


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RestedVolts:
    """What is known of a bank's rested volts as its meter shows them, per 12 V block.

    Attributes
    ----------
    socs, volts : ndarray, shape (knots,)
        The middle bank of the kind. [-], [V]
    mean : ndarray, shape (3,)
        What the points make of it: offset at half charge, rise beyond the middle bank's, zero of
        the meter. [V], [-], [V]
    covariance : ndarray, shape (3, 3)
        Of the same.
    """

    socs: Array
    volts: Array
    mean: Array
    covariance: Array

    def middle_V(self, soc: Floats) -> Floats:
        """What the middle bank shows.

        Parameters
        ----------
        soc : float or ndarray
            State of charge. [-]

        Returns
        -------
        float or ndarray
            Straight lines between the knots, for a block of 12 V. [V]
        """
        return np.interp(soc, self.socs, self.volts)

    def shown_V(self, soc: Floats) -> Floats:
        """What this boat's meter shows of this bank, as far as is known.

        Parameters
        ----------
        soc : float or ndarray
            State of charge. [-]

        Returns
        -------
        float or ndarray
            The middle bank's volts where the sailor gave none, for a block of 12 V. [V]
        """
        return self.middle_V(soc) + np.tensordot(self.mean, self.hang_on(soc), 1)

    def hang_on(self, soc: Floats) -> Array:
        """How the volts hang on what is unknown.

        Parameters
        ----------
        soc : float or ndarray
            State of charge. [-]

        Returns
        -------
        ndarray, shape (3,) or (3, ...)
            Volts for each unit of offset, rise and zero.
        """
        above_V = np.asarray(self.middle_V(soc) - self.middle_V(PIVOT_SOC))
        return np.stack([np.ones_like(above_V), above_V, np.ones_like(above_V)])

    def sd_V(self, soc: float) -> float:
        """How far what is shown may lie from what is known of it.

        Parameters
        ----------
        soc : float
            State of charge. [-]

        Returns
        -------
        float
            One standard deviation, for a block of 12 V. [V]
        """
        hang = self.hang_on(soc)
        return float(math.sqrt(hang @ self.covariance @ hang))


def rested_volts(battery: Battery) -> RestedVolts:
    """What is known of a bank's rested volts.

    Parameters
    ----------
    battery : Battery
        For its kind, and the sailor's own points.

    Returns
    -------
    RestedVolts
        As its kind has them, or narrowed by the points.
    """
    known = _of_kind(battery)
    hang, covariance, gain = _gain(known, battery)
    off_V = _points(battery)[1] - known.middle_V(_points(battery)[0])
    return replace(
        known,
        mean=gain @ off_V,
        covariance=covariance - gain @ hang.T @ covariance,
    )


def narrowed(
    battery: Battery, banks: BankDraws, *, zero_V: Array, luck: Array
) -> tuple[BankDraws, Array]:
    """Draws of banks and meters that agree with the sailor's own points.

    Parameters
    ----------
    battery : Battery
        For the points.
    banks : BankDraws
        As their kind spreads.
    zero_V : ndarray, shape (members,)
        Of each meter, as meters spread, for a block of 12 V. [V]
    luck : ndarray, shape (points, members)
        Standard normal, for the error of each point.

    Returns
    -------
    tuple of (BankDraws, ndarray)
        Each moved by as much as its own points would have been off (Matheron's rule).
    """
    if not battery.rested:
        return banks, zero_V
    known = _of_kind(battery)
    hang, _, gain = _gain(known, battery)
    drawn = np.stack([banks.offset_V, np.log(banks.slope), zero_V])
    socs, volts = _points(battery)
    own_V = known.middle_V(socs)[:, None] + hang.T @ drawn
    own_V += _points_sd_V(known, socs)[:, None] * luck[: len(socs)]
    offset_V, rise, zero_V = drawn + gain @ (volts[:, None] - own_V)
    return replace(banks, offset_V=offset_V, slope=np.exp(rise)), zero_V


def _of_kind(battery: Battery) -> RestedVolts:
    socs, volts = np.array(battery.traits.curves.emf_knots).T
    spread = battery.traits.spread
    sds = np.array([spread.offset_V, spread.slope_log, METER_SD_V])
    return RestedVolts(socs=socs, volts=volts, mean=np.zeros(3), covariance=np.diag(sds**2))


def _gain(known: RestedVolts, battery: Battery) -> tuple[Array, Array, Array]:
    """How the points hang on the unknowns, the covariance before, and the gain."""
    socs, _ = _points(battery)
    hang, before = known.hang_on(socs), known.covariance
    noise = np.diag(_points_sd_V(known, socs) ** 2)
    return hang, before, np.linalg.solve(hang.T @ before @ hang + noise, hang.T @ before).T


def _points(battery: Battery) -> tuple[Array, Array]:
    """Charge and volts of the sailor's points, per 12 V block."""
    socs, volts = np.array(battery.rested, dtype=float).reshape(-1, 2).T
    return socs, volts / battery.blocks


def _points_sd_V(known: RestedVolts, socs: Array) -> Array:
    """How far each point's volts may be off, its charge included."""
    step = 0.01
    slope_V = (known.middle_V(socs) - known.middle_V(socs - step)) / step
    sd_soc = np.where(socs >= _FULL_SOC, FULL_SD_SOC, POINT_SD_SOC)
    return np.hypot(POINT_SD_V, sd_soc * slope_V)
