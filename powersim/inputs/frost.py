"""Whether a bank may come near to frost at all, by the files alone: `check` answers at once."""

from __future__ import annotations

from itertools import pairwise

from powersim.records import Passage

#: Temperatures of the air, and the parallels between which no month's mean at sea is colder; tests
#: hold them against the climatology. [degC], [deg]
MILD = ((-3.0, (-45.0, 24.0)), (0.0, (-40.0, 24.0)), (2.0, (-29.0, 24.0)), (5.0, (-18.0, 24.0)))
#: How much warmer than the air a bank below deck is, as in sky.below_deck. [degC]
WARMER_BELOW_C = 3.0
#: A great circle over so many degrees of longitude bends poleward by less than 2. [deg]
LONGEST_DEG = 40.0
_WARM_CABIN_C = 10.0  # a cabin so warm makes no bank colder than a guessed one would


def may_see_frost(passage: Passage) -> bool:
    """Whether the climatology must be asked how cold the bank gets.

    Parameters
    ----------
    passage : Passage
        Its bank, its waypoints and its season.

    Returns
    -------
    bool
        False for certain where no month at sea is cold enough, or the bank is kept warm.
    """
    battery = passage.boat.battery
    frost_C = battery.traits.frost_C
    if frost_C is None:
        return False
    kept_C = battery.place.fixed_C if battery.place.least_C is None else battery.place.least_C
    if kept_C is not None and kept_C >= frost_C:
        return False
    if battery.place.fixed_C is not None:
        return True
    legs = passage.waypoints
    if any(leg.cabin_C is not None and leg.cabin_C < _WARM_CABIN_C for leg in legs):
        return True
    least_air_C = frost_C - (0.0 if battery.place.place == "outside" else WARMER_BELOW_C)
    return not (
        any(
            all(south_deg <= leg.lat_deg <= north_deg for leg in legs)
            for air_C, (south_deg, north_deg) in MILD
            if air_C >= least_air_C
        )
        and all(_apart_deg(*ends) <= LONGEST_DEG for ends in pairwise(legs))
    )


def _apart_deg(one, other) -> float:
    apart_deg = abs(one.lon_deg - other.lon_deg) % 360.0
    return min(apart_deg, 360.0 - apart_deg)
