"""Who is still heard and seen, and how far, with what is left aboard.

VHF and AIS reach about as far as the radio horizon: a straight line over an earth whose radius is
taken four thirds as large, for the air bends the ray. An antenna at a height h has it at
sqrt(2 * 4/3 * R * h), and two antennas reach each other over the sum of both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.records import Load, Passage

#: Mean radius of the earth (IUGG, from memory). [m]
EARTH_m = 6_371_000.0
#: Effective radius over the real one in a standard atmosphere (ITU-R P.453 and P.834, from memory).
BENDING = 4.0 / 3.0
#: Antennas above the water (common practice, no source): a small boat's masthead, the bridge of a
#: merchant ship, a handheld held up in a cockpit. [m]
MASTHEAD_m, SHIP_m, HANDHELD_m = 12.0, 25.0, 2.0
_M_PER_NM = 1852.0
#: What a name or the sessions of a load say that receives alone.
_RECEIVES = ("receiver", "navtex", "fax", "weather", "forecast", "download", "grib")
_SENDS = ("transponder", "ais b", "class b", "class-b")


def radio_horizon_nm(*heights_m: float) -> float:
    """How far two antennas reach each other, or how far one has its horizon.

    Parameters
    ----------
    *heights_m : float
        Of each above the water. [m]

    Returns
    -------
    float
        Over the water, straight. [nm]

    Notes
    -----
    Power, cable and sea shorten it; 25 W from a masthead mostly reach it, 5 W of a handheld not
    always.

    References
    ----------
    .. [1] The four-thirds earth, as in ITU-R P.310 and P.834 (from memory).

    Examples
    --------
    >>> round(radio_horizon_nm(12.0, 25.0), 1)
    18.8
    """
    return sum(math.sqrt(2.0 * BENDING * EARTH_m * height) for height in heights_m) / _M_PER_NM


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardBy:
    """What speaks or shows itself on a boat.

    Attributes
    ----------
    anywhere : tuple of str
        Names of loads that reach anybody from anywhere, as long as they work: role comms, without
        what only receives.
    vhf, seen : tuple of str
        Names of loads: of VHF, and of an AIS that sends.
    lights : bool
        Whether navigation lights are among the loads.
    vhf_nm, handheld_nm : float
        How far a ship hears the VHF at the masthead, and a handheld. [nm]
    """

    anywhere: tuple[str, ...]
    vhf: tuple[str, ...]
    seen: tuple[str, ...]
    lights: bool
    vhf_nm: float
    handheld_nm: float

    __repr__ = brief


def heard_by(passage: Passage) -> HeardBy:
    """What is left to be heard and seen by, from names and roles of loads that are used at sea.

    Parameters
    ----------
    passage : Passage
        Without what is lost, which has a count of 0.
    """
    at_sea = [
        load for load in passage.loads if load.count and load.states & {"sailing", "motoring"}
    ]

    def named(role: str) -> tuple[str, ...]:
        return tuple(dict.fromkeys(load.name for load in at_sea if load.role == role))

    return HeardBy(
        anywhere=tuple(
            dict.fromkeys(load.name for load in at_sea if load.role == "comms" and _speaks(load))
        ),
        vhf=named("vhf"),
        seen=tuple(
            name for name in named("lookout") if any(word in name.casefold() for word in _SENDS)
        ),
        lights=any(load.role == "sailing lights" for load in at_sea),
        vhf_nm=radio_horizon_nm(MASTHEAD_m, SHIP_m),
        handheld_nm=radio_horizon_nm(HANDHELD_m, SHIP_m),
    )


def _speaks(load: Load) -> bool:
    session = load.session
    said = f"{load.known_as} {'' if session is None else session.words.casefold()}"
    return not any(word in said for word in _RECEIVES)
