"""What "holds" means: decided here, for every question that is asked of a passage or of a rule.

A passage fails if its bank falls below the floor, if anything goes dark, or if the reserve of
diesel is eaten: any of them is one too many for the sailor aboard. It holds if no larger share of
the members fails than is put up with. Nothing else in the tree compares a share with that risk
(tests/unit/test_verdict.py reads it).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from powersim.records import Fuel
from powersim.simulation.bands import Chance, chance_of

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools, Floats


#: Fields of a Verdict that are chances: of any cause, and of each.
CHANCES = ("fails", "floor", "dark", "reserve")


class Failing(NamedTuple):
    """Where a passage fails, and of what; each shaped (members,) or (rules, members).

    Attributes
    ----------
    floor : ndarray of bool
        Below the floor, from when on it counts; a bank that is dark is below it too.
    dark : ndarray of bool
        Without electronics, at any time.
    reserve : ndarray of bool
        With less diesel than the reserve at landfall, or with none when it was wanted.
    """

    floor: Bools
    dark: Bools
    reserve: Bools

    @property
    def any(self) -> Bools:
        """Where any of the three happens: there the passage fails."""
        return self.floor | self.dark | self.reserve

    def only(self, place: int) -> Failing:
        """The same of one of many rules.

        Parameters
        ----------
        place : int
            Which.

        Returns
        -------
        Failing
            Of arrays shaped (members,).
        """
        return Failing(*(where[place] for where in self))


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Whether a passage holds, and how sure that is.

    Attributes
    ----------
    members : int
        How many it was tried in; 1 is average weather alone.
    seed : int or None
        Of the random numbers; None in average weather.
    risk_frac : float
        Share of the members that may fail. [-]
    counted_from_h : float
        When the floor begins to count (first_day.py); darkness always counts. [h]
    fails : Chance
        How often it fails of any cause.
    floor, dark, reserve : Chance
        How often of each; the causes overlap.
    """

    members: int
    seed: int | None
    risk_frac: float
    counted_from_h: float
    fails: Chance
    floor: Chance
    dark: Chance
    reserve: Chance

    @property
    def holds(self) -> bool:
        """Whether no larger share of the members fails than may."""
        return not too_often(self.fails.frac, self.risk_frac)

    @property
    def sure(self) -> bool:
        """Whether ever more members would say the same (19 times in 20); of one, nobody knows."""
        sides = {too_often(frac, self.risk_frac) for frac in self.fails}
        return self.members > 1 and len(sides) == 1

    def as_dict(self) -> dict[str, Any]:
        """It in plain numbers, as `summary.json` holds it."""
        return {
            "holds": self.holds,
            "sure": self.sure,
            "members": self.members,
            "seed": self.seed,
            "risk_frac": self.risk_frac,
            "counted_from_h": self.counted_from_h,
            **{
                name: getattr(self, name)._asdict()
                for name in ("fails", "floor", "dark", "reserve")
            },
        }


def too_often(frac: Floats, risk_frac: float) -> Any:
    """Whether something happens in more of the members than it may.

    Parameters
    ----------
    frac : float or ndarray
        Share of the members. [-]
    risk_frac : float
        Share that is put up with. [-]

    Returns
    -------
    bool or ndarray of bool
        As many as may are not too many.
    """
    return frac > risk_frac


def most_that_may(members: int, risk_frac: float, *, surely: bool = False) -> int:
    """In how many of the members a passage may fail and still hold.

    Parameters
    ----------
    members : int
        How many there are.
    risk_frac : float
        Share that is put up with. [-]
    surely : bool
        Whether it is to hold in ever more members too: as far as Wilson's interval reaches.

    Returns
    -------
    int
        -1 where even none in so few members says too little.

    Examples
    --------
    >>> most_that_may(1000, 0.05), most_that_may(1000, 0.05, surely=True)
    (50, 36)
    >>> most_that_may(40, 0.05, surely=True)
    -1
    """
    shares = np.arange(members + 1) / members
    most = int(np.count_nonzero(~too_often(shares, risk_frac))) - 1
    if surely:
        happened = np.arange(members)
        while most >= 0 and too_often(chance_of(happened < most).most_frac, risk_frac):
            most -= 1
    return most


def failing_of(
    *, floor_h: Array, flat_h: Array, fuel_left_L: Array, fuel_short_L: Array, fuel: Fuel | None
) -> Failing:
    """Where a passage fails, from what the kernel tells of it.

    Parameters
    ----------
    floor_h : ndarray
        When charge is first below the floor since that counts; infinite if never. [h]
    flat_h : ndarray
        When electronics are first dark; infinite if never. [h]
    fuel_left_L : ndarray
        At landfall. [L]
    fuel_short_L : ndarray
        What was wanted and not there. [L]
    fuel : Fuel or None
        Of the boat; None without an engine.

    Returns
    -------
    Failing
        Shaped as the arrays are.
    """
    dark = np.isfinite(flat_h)
    return Failing(
        floor=np.isfinite(floor_h) | dark,
        dark=dark,
        reserve=reserve_eaten(fuel_left_L=fuel_left_L, fuel_short_L=fuel_short_L, fuel=fuel),
    )


def reserve_eaten(*, fuel_left_L: Array, fuel_short_L: Array, fuel: Fuel | None) -> Bools:
    """Where the reserve of diesel is eaten into, or all of it used up.

    Parameters
    ----------
    fuel_left_L, fuel_short_L : ndarray
        At landfall; wanted and not there. [L]
    fuel : Fuel or None
        Of the boat; None without an engine, which keeps no reserve.

    Returns
    -------
    ndarray of bool
        All False for a boat without fuel.
    """
    left_L, short_L = np.asarray(fuel_left_L), np.asarray(fuel_short_L)
    if fuel is None:
        return np.zeros(left_L.shape, dtype=bool)
    used_up = (left_L <= 0.0) & (fuel.usable_L > 0.0)
    return (left_L < fuel.reserve_L) | (short_L > 0.0) | used_up


def failing_shares(failing: Failing) -> Array:
    """How often each of many rules fails.

    Parameters
    ----------
    failing : Failing
        Of arrays shaped (rules, members).

    Returns
    -------
    ndarray, shape (rules,)
        Share of the members, of any cause. [-]
    """
    return failing.any.mean(axis=-1)


def verdict_of(
    failing: Failing, *, risk_frac: float, seed: int | None, counted_from_h: float = 0.0
) -> Verdict:
    """The verdict on a passage.

    Parameters
    ----------
    failing : Failing
        Of arrays shaped (members,).
    risk_frac : float
        Share of the members that may fail. [-]
    seed : int or None
        Of the random numbers; None in average weather.
    counted_from_h : float
        When the floor begins to count. [h]

    Returns
    -------
    Verdict
        With each share and its interval.
    """
    return Verdict(
        members=len(failing.floor),
        seed=seed,
        risk_frac=risk_frac,
        counted_from_h=counted_from_h,
        fails=chance_of(failing.any),
        floor=chance_of(failing.floor),
        dark=chance_of(failing.dark),
        reserve=chance_of(failing.reserve),
    )
