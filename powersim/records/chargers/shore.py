"""Shore power at a berth, as a record, and all that is known of it without its physics."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import ClassVar

from powersim.records.care import Care
from powersim.records.chargers.charger import NAME, NO_SENSOR, Charger
from powersim.records.declared import ABSORPTION, FLOAT, by_default, check_fields, given
from powersim.records.described import described

MAINS = Care(
    full="Shore power kills: behind a residual-current device (RCD) only, with a sound cable, "
    "plugged in aboard first and ashore last.",
)
EARTH = Care(
    full="Shore power's earth joins her to every boat in the harbour and eats her metal under "
    "water: fit a galvanic isolator or an isolating transformer.",
)


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class ShorePower(Charger):
    """A charger on shore power, plugged in at every stop that is berthed.

    Attributes
    ----------
    hours_h : tuple of (float, float)
        Ship's time between which the berth has power; an end before its start spans midnight. [h]
    absorption_V, float_V : float or None
        Setpoints at 25 degC; None takes the bank's. [V]
    temp_comp_V_per_C : float
        Change of the setpoints with the bank's warmth; 0 is no sensor. [V/degC]
    """

    kinds: ClassVar[tuple[str, ...]] = ("shore",)
    source: ClassVar[str] = "shore"
    called: ClassVar[str] = "shore power"
    in_amperes: ClassVar[bool] = True
    leaves_surplus: ClassVar[bool] = False  # a berth's unused amperes are none
    where: ClassVar[str] = "at a berth"

    name: str = field(default="shore", metadata=NAME)
    rated_A: float = field(
        metadata=given(
            "the most that a charger on shore power gives the bank",
            "20 A",
            above=(0.0, 1_000.0),
            usual=(1.0, 150.0),
            without="required for shore power",
        )
    )
    hours_h: tuple[float, float] = by_default(
        (0.0, 24.0),
        "from when to when the berth has power, ship's time",
        "18:00-08:00",
        reason="plugged in all the time alongside",
    )
    absorption_V: float | None = field(default=None, metadata=ABSORPTION)
    float_V: float | None = field(default=None, metadata=FLOAT)
    temp_comp_V_per_C: float = field(default=0.0, metadata=NO_SENSOR)

    def __post_init__(self) -> None:
        check_fields(self)
        if not all(0 <= hour <= 24 for hour in self.hours_h):
            raise ValueError(f"hours_h must be 0 to 24, got {self.hours_h!r}")

    @property
    def most(self) -> float:
        """Its rated current. [A]"""
        return self.rated_A

    @property
    def cares(self) -> tuple[Care, ...]:
        """Of mains, and of their earth."""
        return MAINS, EARTH

    def idle_on(self, speeds_kn: Iterable[float], states: Iterable[str]) -> tuple[str, str] | None:
        """Where no stop is berthed."""
        if "berthed" in states:
            return None
        return (
            "the route has no stop at a berth, so it gives nothing",
            "write such a stop as '4 days berthed'; it is at anchor unless it says so",
        )
