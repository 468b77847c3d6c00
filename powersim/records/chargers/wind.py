"""A wind generator, as a record, and all that is known of it without its physics."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from powersim.records.care import Care
from powersim.records.chargers.charger import (
    DIAMETER,
    NAME,
    NO_SENSOR,
    PRACTICE,
    REGULATED,
    RUNAWAY,
    WIRING,
    Charger,
)
from powersim.records.chargers.power_curve import AIR, Stream, check_curve
from powersim.records.declared import ABSORPTION, FLOAT, by_default, check_fields
from powersim.records.described import described

BLADES = Care(
    full="A wind generator's blades maim, and in the dark nobody sees them: put them out of reach, "
    "stop them before you work near, never by hand, and stop them before a gale does it.",
)


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class WindGenerator(Charger):
    """A wind generator, blades and regulator together.

    Attributes
    ----------
    speeds_m_s, powers_W : tuple of float
        Its power curve: apparent wind at the hub, rising, and output into a bank at charging
        voltage. [m/s], [W]
    diameter_m : float or None
        Of the rotor; only to refuse a curve beyond physics. [m]
    wind_angle_deg : float
        True wind off the bow under way; 180 is a following wind. [deg]
    regulated : bool
        Whether it holds the setpoints below; else it gives on, far above them.
    absorption_V, float_V : float or None
        Setpoints at 25 degC; None takes the bank's. [V]
    temp_comp_V_per_C : float
        Change of the setpoints with the bank's warmth; 0 is no sensor. [V/degC]
    """

    kinds: ClassVar[tuple[str, ...]] = ("wind",)
    source: ClassVar[str] = "wind"
    called: ClassVar[str] = "wind generator"
    lean_days: ClassVar[str] = "calm"
    stream: ClassVar[Stream] = AIR
    usual_diameter_m: ClassVar[dict[str, float]] = {"wind": 1.15}

    name: str = field(default="wind", metadata=NAME)
    speeds_m_s: tuple[float, ...]
    powers_W: tuple[float, ...]
    diameter_m: float | None = field(default=None, metadata=DIAMETER)
    height_m: float = by_default(
        3.0,
        "how high a wind generator's hub is above the sea",
        "3 m",
        above=(0.0, 60.0),
        reason=f"a pole at the stern; {PRACTICE}",
    )
    wind_angle_deg: float = by_default(
        110.0,
        "true wind off the bow, as it mostly is under way",
        "110 deg",
        within=(0.0, 180.0),
        reason=f"a passage is laid out for winds abaft the beam; {PRACTICE}",
    )
    cut_out_m_s: float = by_default(
        20.0,
        "apparent wind from which you stop it",
        "35 kn",
        name="cutout",
        above=(0.0, AIR.most),
        reason=f"stopped by hand in a gale; {PRACTICE}",
    )
    wiring_frac: float = field(default=0.03, metadata=WIRING)
    regulated: bool = field(default=True, metadata=REGULATED)
    absorption_V: float | None = field(default=None, metadata=ABSORPTION)
    float_V: float | None = field(default=None, metadata=FLOAT)
    temp_comp_V_per_C: float = field(default=0.0, metadata=NO_SENSOR)

    def __post_init__(self) -> None:
        check_fields(self)
        check_curve(self)

    @property
    def most(self) -> float:
        """Its greatest output. [W]"""
        return max(self.powers_W)

    @property
    def cares(self) -> tuple[Care, ...]:
        """Of blades, and of what turns without a load."""
        return RUNAWAY, BLADES
