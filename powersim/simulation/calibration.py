"""What a sailor's own rested volts say of the bank and of the meter that was read.

Two figures are unknown of a bank's rested voltage, its height and its rise from empty to full, and
one of the meter, its zero. Each point that the sailor gives (`rested` of boat.toml) narrows all
three: they are normal, the points hang on them by straight lines, and so is what is left. Point
after point is taken in by the update of Kalman's filter. `check` answers by it too, so that it
keeps to plain numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, cast

from powersim.records import Battery

if TYPE_CHECKING:
    from powersim.records.arrays import Array

#: Charge at which the rested volts of two banks differ by their height alone. [-]
PIVOT_SOC = 0.5
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

#: Points that a sailor can get in a day, lead-acid: half charge and nearly full. [-]
_USUAL_SOC = (0.5, 0.98)

#: Of height, rise and zero.
_Three = tuple[float, float, float]
_Matrix = tuple[_Three, _Three, _Three]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Update:
    """One point taken in: how its volts hang on the unknowns, and how far these move by it.

    `off_V` is how far the point lies from the middle bank, `sd_V` what it may be wrong by.
    """

    hang: _Three
    gain: _Three
    off_V: float
    sd_V: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RestedVolts:
    """What is known of a bank's rested volts as its meter shows them, for a block of 12 V.

    Attributes
    ----------
    knots : tuple of (float, float)
        Charge and volts of the middle bank of the kind, straight lines between. [-], [V]
    mean : tuple of float
        What the points make of it: height at half charge, rise beyond the middle bank's, zero of
        the meter. [V], [-], [V]
    covariance : tuple of tuple of float
        Of the same.
    """

    knots: tuple[tuple[float, float], ...]
    mean: _Three
    covariance: _Matrix
    _updates: tuple[_Update, ...] = ()

    def middle_V(self, soc: float) -> float:
        """What the middle bank shows.

        Parameters
        ----------
        soc : float
            State of charge, 0 to 1. [-]

        Returns
        -------
        float
            For a block of 12 V. [V]
        """
        low_V, slope_V, low = self._line(soc)
        return low_V + slope_V * (soc - low)

    def slope_V(self, soc: float) -> float:
        """How steeply the middle bank's volts rise.

        Parameters
        ----------
        soc : float
            State of charge; at a knot the line above it counts, at 1 the last. [-]

        Returns
        -------
        float
            For a whole capacity and a block of 12 V. [V]
        """
        return self._line(soc)[1]

    def shown_V(self, soc: float) -> float:
        """What this boat's meter shows of this bank, as far as is known.

        Parameters
        ----------
        soc : float
            State of charge, 0 to 1. [-]

        Returns
        -------
        float
            The middle bank's volts where the sailor gave none, for a block of 12 V. [V]
        """
        return self.middle_V(soc) + _dot(self.mean, self.hang_on(soc))

    def hang_on(self, soc: float) -> _Three:
        """How the volts hang on what is unknown.

        Parameters
        ----------
        soc : float
            State of charge. [-]

        Returns
        -------
        tuple of float
            Volts for each unit of height, rise and zero.
        """
        return (1.0, self.middle_V(soc) - self.middle_V(PIVOT_SOC), 1.0)

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
        return math.sqrt(_dot(hang, _times(self.covariance, hang)))

    def narrowed(
        self, *, height_V: Array, rise: Array, zero_V: Array, luck: Array
    ) -> tuple[Array, Array, Array]:
        """Draws of banks and meters, made to agree with the points.

        Parameters
        ----------
        height_V, rise, zero_V : ndarray, shape (members,)
            As banks and meters spread that nothing is known of. [V], [-], [V]
        luck : ndarray, shape (points or more, members)
            Standard normal, for the error of each point.

        Returns
        -------
        tuple of three ndarray, shape (members,)
            Each moved by as much as its own points would have been off (Matheron's rule, point by
            point).
        """
        drawn = [height_V, rise, zero_V]
        for one, z in zip(self._updates, luck, strict=False):
            own_V = sum(hang * of for hang, of in zip(one.hang, drawn, strict=True))
            more_V = one.off_V - own_V - one.sd_V * z
            drawn = [of + gain * more_V for gain, of in zip(one.gain, drawn, strict=True)]
        height_V, rise, zero_V = drawn
        return height_V, rise, zero_V

    def _line(self, soc: float) -> tuple[float, float, float]:
        """Volts at its beginning, slope and beginning of the line that a charge lies on."""
        for (low, low_V), (high, high_V) in pairwise(self.knots):
            if soc < high or high == self.knots[-1][0]:
                return low_V, (high_V - low_V) / (high - low), low
        raise AssertionError("the last line takes whatever is left")


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
    spread = battery.traits.spread
    known = RestedVolts(
        knots=battery.traits.curves.emf_knots,
        mean=(0.0, 0.0, 0.0),
        covariance=_diagonal(spread.offset_V**2, spread.slope_log**2, METER_SD_V**2),
    )
    for soc, volts in battery.rested:
        known = _with_point(known, soc, volts / battery.blocks)
    return known


def usual_points(battery: Battery) -> tuple[tuple[float, float], ...]:
    """Two points that a sailor can get in a day in harbour, as the middle bank has them.

    Parameters
    ----------
    battery : Battery
        Its kind and its voltage.

    Returns
    -------
    tuple of (float, float)
        As `Battery.rested` has them. How sure they make a reading does not hang on their volts.
    """
    known = rested_volts(battery)
    return tuple((soc, battery.blocks * known.middle_V(soc)) for soc in _USUAL_SOC)


def _with_point(known: RestedVolts, soc: float, volts: float) -> RestedVolts:
    """One point more, of a block of 12 V."""
    sd_soc = FULL_SD_SOC if soc >= _FULL_SOC else POINT_SD_SOC
    sd_V = math.hypot(POINT_SD_V, sd_soc * known.slope_V(soc))
    hang = known.hang_on(soc)
    common = _times(known.covariance, hang)
    variance = _dot(hang, common) + sd_V**2
    gain = cast(_Three, tuple(one / variance for one in common))
    off_V = volts - known.middle_V(soc)
    left_V = off_V - _dot(hang, known.mean)
    mean = tuple(of + one * left_V for of, one in zip(known.mean, gain, strict=True))
    covariance = tuple(
        tuple(of - one * other for of, other in zip(row, common, strict=True))
        for row, one in zip(known.covariance, gain, strict=True)
    )
    return replace(
        known,
        mean=cast(_Three, mean),
        covariance=cast(_Matrix, covariance),
        _updates=(*known._updates, _Update(hang=hang, gain=gain, off_V=off_V, sd_V=sd_V)),
    )


def _dot(some: _Three, others: _Three) -> float:
    return sum(one * other for one, other in zip(some, others, strict=True))


def _times(matrix: _Matrix, some: _Three) -> _Three:
    return cast(_Three, tuple(_dot(row, some) for row in matrix))


def _diagonal(first: float, second: float, third: float) -> _Matrix:
    return ((first, 0.0, 0.0), (0.0, second, 0.0), (0.0, 0.0, third))
