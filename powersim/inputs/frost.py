"""Whether a bank may come near to frost at all, by the files alone: `check` answers at once."""

from __future__ import annotations

from itertools import pairwise

#: Least temperature of the month's mean air for which nothing is said of frost, by whether the bank
#: is lithium and whether it stands outside: lithium takes no charge below 0 degC and is spoken of
#: from 5 degC down, lead-acid from 0 degC; below deck it is 3 degrees warmer. With it go the
#: parallels between which no month is colder; tests hold them against the climatology. [degC]
MILD = {
    (True, False): (2.0, (-29.0, 24.0)),
    (True, True): (5.0, (-18.0, 24.0)),
    (False, False): (-3.0, (-45.0, 24.0)),
    (False, True): (0.0, (-40.0, 24.0)),
}
#: A great circle over so many degrees of longitude bends poleward by less than 2. [deg]
LONGEST_DEG = 40.0
_WARM_CABIN_C = 10.0  # a cabin so warm makes no bank colder than a guessed one would
_WARM_BANK_C = 5.0


def may_see_frost(passage) -> bool:
    """Whether the climatology must be asked how cold the bank gets.

    Parameters
    ----------
    passage : Passage

    Returns
    -------
    bool
        False for certain where no month at sea is cold enough, or the bank is kept warm.
    """
    battery = passage.boat.battery
    kept_C = battery.place.fixed_C if battery.place.least_C is None else battery.place.least_C
    if kept_C is not None and kept_C >= _WARM_BANK_C:
        return False
    if battery.place.fixed_C is not None:
        return True
    legs = passage.waypoints
    if any(leg.cabin_C is not None and leg.cabin_C < _WARM_CABIN_C for leg in legs):
        return True
    _, (south_deg, north_deg) = MILD[
        battery.chemistry == "lifepo4", battery.place.place == "outside"
    ]
    return not (
        all(south_deg <= leg.lat_deg <= north_deg for leg in legs)
        and all(_apart_deg(*ends) <= LONGEST_DEG for ends in pairwise(legs))
    )


def _apart_deg(one, other) -> float:
    apart_deg = abs(one.lon_deg - other.lon_deg) % 360.0
    return min(apart_deg, 360.0 - apart_deg)
