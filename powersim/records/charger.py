"""Other chargers: a wind generator, a water generator, shore power at a berth."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise
from typing import ClassVar

from powersim.records.declared import ABSORPTION, FLOAT, SENSOR, by_default, check_fields, given

_PRACTICE = "common practice, no source"
#: What else than panels and alternator may charge the bank, in the order in which it is used.
OTHER_SOURCES = ("wind", "water", "shore")
WATER_KINDS = ("towed", "shaft", "transom")
CHARGER_KINDS = ("wind", *WATER_KINDS, "shore")

#: Largest share of a stream's power that any free rotor can take: A. Betz, Das Maximum der
#: theoretisch moeglichen Ausnutzung des Windes durch Windmotoren, Zeitschrift fuer das gesamte
#: Turbinenwesen 26 (1920) 307-309 (from memory). [-]
BETZ_FRAC = 16.0 / 27.0
#: Air at 15 degC and 1013.25 hPa (ISO 2533 standard atmosphere), and sea water. [kg/m^3]
AIR_DENSITY_KG_M3, SEA_WATER_DENSITY_KG_M3 = 1.225, 1025.0
M_S_PER_KN = 1852.0 / 3600.0  # by definition [m/s]

#: Beyond these a point of a power curve is a slip; our judgement. [m/s], [kn], [W]
MOST_WIND_M_S, MOST_WATER_KN, MOST_W = 100.0, 40.0, 20_000.0
#: What several kinds have in common.
_NAME = given(
    "what you call it", '"mizzen"', without="its kind, numbered where there are several of it"
)
_DIAMETER = given(
    "the width of its circle of blades, or of the propeller", "1.15 m", above=(0.0, 4.0)
)
_WIRING = given("loss in its cable", "3 %", within=(0.0, 0.95), reason=f"cable; {_PRACTICE}")
_REGULATED = given(
    "true if it holds the bank's voltages by itself, false if nothing does",
    reason="holds the bank's voltages",
)
_NO_SENSOR = SENSOR | {"reason": f"no sensor on the bank; {_PRACTICE}"}


def most_rotor_W(*, density_kg_m3, diameter_m, speed_m_s):
    """The most that a free rotor can take from a stream: 16/27 * density/2 * area * speed^3.

    Examples
    --------
    >>> round(most_rotor_W(density_kg_m3=1.225, diameter_m=1.0, speed_m_s=10.0))
    285
    """
    area_m2 = 0.25 * math.pi * diameter_m**2
    return BETZ_FRAC * 0.5 * density_kg_m3 * area_m2 * speed_m_s**3


def curve_fault(speeds, powers_W, *, density_kg_m3, m_s_per_unit=1.0, diameter_m=None):
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


def _check(record, *, speeds, most_speed, density_kg_m3, m_s_per_unit):
    """What a wind and a water generator have in common."""
    if len(speeds) != len(record.powers_W) or len(speeds) < 2:
        raise ValueError("a power curve needs two points or more")
    # An invented curve, scaled to the largest rotor, goes beyond what a measured one may.
    ends = (("speed", speeds, most_speed), ("power", record.powers_W, 10.0 * MOST_W))
    for name, values, most in ends:
        if not all(value <= most for value in values):
            raise ValueError(f"a {name} of the power curve must be at most {most:g}, got {values}")
    fault = curve_fault(
        speeds,
        record.powers_W,
        density_kg_m3=density_kg_m3,
        m_s_per_unit=m_s_per_unit,
        diameter_m=record.diameter_m,
    )
    if fault is not None:
        place, what, wrong = fault
        raise ValueError(f"point {place + 1} of the power curve: {what} {wrong}")


@dataclass(frozen=True, slots=True, kw_only=True)
class WindGenerator:
    """A wind generator, blades and regulator together.

    Attributes
    ----------
    name : str
        What the sailor calls it.
    speeds_m_s, powers_W : tuple of float
        Its power curve: apparent wind at the hub, rising, and output into a bank at charging
        voltage. [m/s], [W]
    diameter_m : float or None
        Of the rotor; only to refuse a curve beyond physics. [m]
    height_m : float
        Of the hub above the sea. [m]
    wind_angle_deg : float
        True wind off the bow under way; 180 is a following wind. [deg]
    cut_out_m_s : float
        Apparent wind from which the sailor stops it. [m/s]
    wiring_frac : float
        Loss in its cable. [-]
    regulated : bool
        Whether it holds the setpoints below; else it gives on, far above them.
    absorption_V, float_V : float or None
        Setpoints at 25 degC; None takes the bank's. [V]
    temp_comp_V_per_C : float
        Change of the setpoints with the bank's warmth; 0 is no sensor.
    """

    kind: ClassVar[str] = "wind"
    source: ClassVar[str] = "wind"

    name: str = field(default="wind", metadata=_NAME)
    speeds_m_s: tuple[float, ...]
    powers_W: tuple[float, ...]
    diameter_m: float | None = field(default=None, metadata=_DIAMETER)
    height_m: float = by_default(
        3.0,
        "how high a wind generator's hub is above the sea",
        "3 m",
        above=(0.0, 60.0),
        reason=f"a pole at the stern; {_PRACTICE}",
    )
    wind_angle_deg: float = by_default(
        110.0,
        "true wind off the bow, as it mostly is under way",
        "110 deg",
        within=(0.0, 180.0),
        reason=f"a passage is laid out for winds abaft the beam; {_PRACTICE}",
    )
    cut_out_m_s: float = by_default(
        20.0,
        "apparent wind from which you stop it",
        "35 kn",
        name="cutout",
        above=(0.0, MOST_WIND_M_S),
        reason=f"stopped by hand in a gale; {_PRACTICE}",
    )
    wiring_frac: float = field(default=0.03, metadata=_WIRING)
    regulated: bool = field(default=True, metadata=_REGULATED)
    absorption_V: float | None = field(default=None, metadata=ABSORPTION)
    float_V: float | None = field(default=None, metadata=FLOAT)
    temp_comp_V_per_C: float = field(default=0.0, metadata=_NO_SENSOR)

    def __post_init__(self):
        check_fields(self)
        _check(
            self,
            speeds=self.speeds_m_s,
            most_speed=MOST_WIND_M_S,
            density_kg_m3=AIR_DENSITY_KG_M3,
            m_s_per_unit=1.0,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterGenerator:
    """A generator driven by the water that runs past the boat.

    Its drag is not worked out: a towed rotor costs some tenths of a knot (common practice, no
    source), so the route's speeds should be those made good with it in the water.

    Attributes
    ----------
    kind : str
        "towed" on a line, "shaft" on the propeller shaft, "transom" on a bracket.
    name : str
        What the sailor calls it.
    speeds_kn, powers_W : tuple of float
        Its power curve: speed through the water, rising, and output. [kn], [W]
    diameter_m : float or None
        Of the rotor or propeller; only to refuse a curve beyond physics. [m]
    motoring : bool
        Whether it works under engine too; a shaft generator cannot, since the engine turns it.
    from_kn, to_kn : float
        It is in the water between these speeds. [kn]
    wiring_frac : float
        Loss in its cable. [-]
    regulated, absorption_V, float_V, temp_comp_V_per_C
        As for a WindGenerator.
    """

    source: ClassVar[str] = "water"

    kind: str = "towed"
    name: str = field(default="water", metadata=_NAME)
    speeds_kn: tuple[float, ...]
    powers_W: tuple[float, ...]
    diameter_m: float | None = field(default=None, metadata=_DIAMETER)
    from_kn: float = by_default(
        0.0,
        "least speed at which it is in the water",
        "3 kn",
        within=(0.0, MOST_WATER_KN),
        reason="its curve tells where it begins",
    )
    to_kn: float = by_default(
        10.0,
        "most speed at which it is in the water",
        "8 kn",
        within=(0.0, MOST_WATER_KN),
        reason=f"taken in before it skips or breaks; {_PRACTICE}",
    )
    motoring: bool = by_default(
        False,
        "true if it works under engine too, false if it is taken in then",
        reason="taken in under engine",
    )
    wiring_frac: float = field(default=0.03, metadata=_WIRING)
    regulated: bool = field(default=True, metadata=_REGULATED)
    absorption_V: float | None = field(default=None, metadata=ABSORPTION)
    float_V: float | None = field(default=None, metadata=FLOAT)
    temp_comp_V_per_C: float = field(default=0.0, metadata=_NO_SENSOR)

    def __post_init__(self):
        check_fields(self)
        if self.kind not in WATER_KINDS:
            raise ValueError(f"unknown kind of water generator {self.kind!r}")
        if self.kind == "shaft" and self.motoring:
            raise ValueError("a shaft generator cannot work under engine")
        if not self.from_kn < self.to_kn:
            raise ValueError("from_kn must lie below to_kn")
        _check(
            self,
            speeds=self.speeds_kn,
            most_speed=MOST_WATER_KN,
            density_kg_m3=SEA_WATER_DENSITY_KG_M3,
            m_s_per_unit=M_S_PER_KN,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ShorePower:
    """A charger on shore power, plugged in at every stop that is berthed.

    Attributes
    ----------
    name : str
        What the sailor calls it.
    rated_A : float
        The most that it gives the bank. [A]
    hours_h : tuple of (float, float)
        Ship's time between which the berth has power; an end before its start spans midnight. [h]
    absorption_V, float_V : float or None
        Setpoints at 25 degC; None takes the bank's. [V]
    temp_comp_V_per_C : float
        Change of the setpoints with the bank's warmth; 0 is no sensor.
    """

    kind: ClassVar[str] = "shore"
    source: ClassVar[str] = "shore"
    regulated: ClassVar[bool] = True

    name: str = field(default="shore", metadata=_NAME)
    rated_A: float = field(
        metadata=given(
            "the most that a charger on shore power gives the bank",
            "20 A",
            above=(0.0, 1_000.0),
            usual=(1.0, 150.0),
            without="must be there for shore power",
        )
    )
    hours_h: tuple[float, float] = by_default(
        (0.0, 24.0),
        "ship's time between which the berth has power",
        "18:00-08:00",
        reason="plugged in all the time alongside",
    )
    absorption_V: float | None = field(default=None, metadata=ABSORPTION)
    float_V: float | None = field(default=None, metadata=FLOAT)
    temp_comp_V_per_C: float = field(default=0.0, metadata=_NO_SENSOR)

    def __post_init__(self):
        check_fields(self)
        if not all(0 <= hour <= 24 for hour in self.hours_h):
            raise ValueError(f"hours_h must be 0 to 24, got {self.hours_h!r}")
