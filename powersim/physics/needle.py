"""Litres from the place of the needle of a tank's gauge, and how little they are sure."""

from __future__ import annotations

from powersim.physics.tank import SPREAD_AT_WORST, Sounding, interpolated
from powersim.records import Fuel
from powersim.records.needle import AT_SEA


def needle_sounding(fuel: Fuel, place: float, *, at_sea: bool = True) -> Sounding:
    """What the needle says.

    Parameters
    ----------
    fuel : Fuel
        With litres at the needle's marks, and its doubt.
    place : float
        On the dial, from 0 at E to 1 at F. [-]
    at_sea : bool
        Whether she rolls; at rest it is half as far off.

    Returns
    -------
    Sounding
        In proportion between the marks, and from nothing at E where that has none; above the last
        mark no more than there. At worst the needle is two deviations off, and where that takes it
        off the dial the tank is empty, or full; the deviation of the litres is never below a fifth
        of what lies between.

    Raises
    ------
    ValueError
        If there are no marks, or the place is off the dial.

    Notes
    -----
    A needle follows a float on an arm, which sticks, and a dial that is even where the tank is not;
    heeled or down by the head it shows where the fuel has gone. So it is a poorer witness than the
    stick: common practice, no source.

    Examples
    --------
    >>> fuel = Fuel(
    ...     tank_L=80.0, aboard_L=80.0, reserve_L=8.0, needle=((0.0, 0.0), (1.0, 80.0)),
    ...     needle_doubt_frac=0.05,
    ... )
    >>> found = needle_sounding(fuel, 0.5)
    >>> round(found.litres, 6), round(found.least_L, 6), round(found.most_L, 6)
    (40.0, 24.0, 56.0)
    """
    if not fuel.needle:
        raise ValueError("the needle has no marks")
    if not 0.0 <= place <= 1.0:
        raise ValueError(f"place must be 0 to 1, got {place!r}")
    sd = fuel.needle_doubt_frac * (AT_SEA if at_sea else 1.0)

    def litres(at: float) -> float:
        return interpolated(fuel.needle, min(max(at, 0.0), 1.0))

    low, high = place - 2.0 * sd, place + 2.0 * sd
    least_L = litres(low) if low > 0.0 else 0.0  # the dial ends before the tank does
    most_L = litres(high) if high < 1.0 else fuel.tank_L
    by_slope_L = 0.5 * (litres(place + sd) - litres(place - sd))
    return Sounding(
        litres=litres(place),
        sd_L=max(by_slope_L, (most_L - least_L) / SPREAD_AT_WORST),
        least_L=least_L,
        most_L=most_L,
    )
