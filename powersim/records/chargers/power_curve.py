"""A generator's power curve: what turns its rotor, and which curves no rotor can have."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

#: Largest share of a stream's power that any free rotor can take: A. Betz, Das Maximum der
#: theoretisch moeglichen Ausnutzung des Windes durch Windmotoren, Zeitschrift fuer das gesamte
#: Turbinenwesen 26 (1920) 307-309 (from memory). [-]
BETZ_FRAC = 16.0 / 27.0
M_S_PER_KN = 1852.0 / 3600.0  # by definition [m/s]
#: Beyond it a point of a power curve is a slip; our judgement. [W]
MOST_W = 20_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stream:
    """What a rotor turns in.

    Attributes
    ----------
    name : str
        As the heading of a power curve has it.
    meaning, example : str
        Of that column.
    unit : str
        Of the speeds in the record.
    field : str
        Of the record, that holds them.
    m_s_per_unit : float
        What that unit is in m/s.
    most : float
        Fastest speed that is believed, in that unit; our judgement.
    density_kg_m3 : float
        Of air or sea water. [kg/m3]
    aliases : dict of str to str
        Headings that people write, and what to rename them to.
    """

    name: str
    meaning: str
    example: str
    unit: str
    field: str
    m_s_per_unit: float
    most: float
    density_kg_m3: float
    aliases: dict[str, str]


AIR = Stream(
    name="wind",
    meaning="apparent wind at the hub, more in every row",
    example="12 kn",
    unit="m/s",
    field="speeds_m_s",
    m_s_per_unit=1.0,
    most=100.0,
    density_kg_m3=1.225,  # at 15 degC and 1013.25 hPa (ISO 2533 standard atmosphere)
    aliases={
        "speed": "wind",
        "speed_kn": "wind_kn",
        "speed_m_s": "wind_m_s",
        "knots": "wind_kn",
        "kn": "wind_kn",
    },
)
SEA = Stream(
    name="speed",
    meaning="speed through the water, more in every row",
    example="5 kn",
    unit="kn",
    field="speeds_kn",
    m_s_per_unit=M_S_PER_KN,
    most=40.0,
    density_kg_m3=1025.0,
    aliases={"knots": "speed_kn", "kn": "speed_kn", "boat_speed_kn": "speed_kn"},
)


def most_rotor_W(*, density_kg_m3: float, diameter_m: float, speed_m_s: float) -> float:
    """The most that a free rotor can take from a stream: 16/27 * density/2 * area * speed^3.

    Examples
    --------
    >>> round(most_rotor_W(density_kg_m3=1.225, diameter_m=1.0, speed_m_s=10.0))
    285
    """
    area_m2 = 0.25 * math.pi * diameter_m**2
    return BETZ_FRAC * 0.5 * density_kg_m3 * area_m2 * speed_m_s**3


def curve_fault(
    speeds: Sequence[float],
    powers_W: Sequence[float],
    *,
    density_kg_m3: float,
    m_s_per_unit: float = 1.0,
    diameter_m: float | None = None,
) -> tuple[int, str, str] | None:
    """Which point of a power curve cannot be, and why; None for a sound curve.

    Parameters
    ----------
    speeds : sequence of float
        Of wind or water, in any unit.
    powers_W : sequence of float
        What the generator gives at each of them. [W]
    density_kg_m3 : float
        Of air or water.
    m_s_per_unit : float
        What the unit of the speeds is in m/s.
    diameter_m : float or None
        Of the rotor; None if unknown, and then any power is believed. [m]

    Returns
    -------
    tuple of (int, str, str) or None
        Place in the curve from 0, "speed" or "power", and what is wrong.
    """
    if not speeds[0] >= 0:
        return 0, "speed", "is below 0"
    if powers_W[0] != 0:
        return 0, "power", "is not 0: a curve begins where the generator gives nothing"
    for place, (slow, fast) in enumerate(pairwise(speeds), start=1):
        if not fast > slow:
            return place, "speed", "is not above the one before it"
    for place, (speed, power_W) in enumerate(zip(speeds, powers_W, strict=True)):
        if not 0 <= power_W < math.inf:
            return place, "power", "is below 0"
        if diameter_m is None:
            continue
        most_W = most_rotor_W(
            density_kg_m3=density_kg_m3, diameter_m=diameter_m, speed_m_s=speed * m_s_per_unit
        )
        if power_W > most_W:
            return (
                place,
                "power",
                f"is more than the {most_W:.0f} W that any rotor of {diameter_m:.3g} m can take "
                "there (Betz)",
            )
    if not max(powers_W) > 0:
        return len(powers_W) - 1, "power", "is 0, and so are all others"
    return None


def check_curve(generator: Any) -> None:
    """Raise ValueError for a power curve that cannot be.

    Parameters
    ----------
    generator : Charger
        With a stream.
    """
    stream, powers_W = generator.stream, generator.powers_W
    speeds = getattr(generator, stream.field)
    if len(speeds) != len(powers_W) or len(speeds) < 2:
        raise ValueError("a power curve needs two points or more")
    # An invented curve, scaled to the largest rotor, goes beyond what a measured one may.
    ends = (("speed", speeds, stream.most), ("power", powers_W, 10.0 * MOST_W))
    for name, values, most in ends:
        if not all(value <= most for value in values):
            raise ValueError(f"a {name} of the power curve must be at most {most:g}, got {values}")
    fault = curve_fault(
        speeds,
        powers_W,
        density_kg_m3=stream.density_kg_m3,
        m_s_per_unit=stream.m_s_per_unit,
        diameter_m=generator.diameter_m,
    )
    if fault is not None:
        place, what, wrong = fault
        raise ValueError(f"point {place + 1} of the power curve: {what} {wrong}")
