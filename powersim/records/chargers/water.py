"""A generator in the water, as a record, and all that is known of it without its physics."""

from __future__ import annotations

from collections.abc import Iterable
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
from powersim.records.chargers.power_curve import SEA, Stream, check_curve
from powersim.records.declared import ABSORPTION, FLOAT, by_default, check_fields
from powersim.records.described import described

DRAG = Care(
    full="A generator in the water costs some tenths of a knot: give the route's speeds as made "
    "good with it at work.",
)
_OF_KIND = {
    "towed": (
        Care(
            full="A towed line twists and pulls hard enough to take a finger: slow the boat before "
            "you stream it or bring it in, and keep it clear of propeller and rudder.",
        ),
    ),
    "shaft": (
        Care(
            full="Ask the gearbox's maker whether the shaft may turn with the engine off: in many "
            "it then runs without oil.",
        ),
    ),
}


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class WaterGenerator(Charger):
    """A generator driven by the water that runs past the boat.

    Its drag is not worked out: a towed rotor costs some tenths of a knot (common practice, no
    source), so the route's speeds should be those made good with it in the water.

    Attributes
    ----------
    kind : str
        "towed" on a line, "shaft" on the propeller shaft, "transom" on a bracket.
    speeds_kn, powers_W : tuple of float
        Its power curve: speed through the water, rising, and output. [kn], [W]
    diameter_m : float or None
        Of the rotor or propeller; only to refuse a curve beyond physics. [m]
    motoring : bool
        Whether it works under engine too; a shaft generator cannot, since the engine turns it.
    regulated, absorption_V, float_V, temp_comp_V_per_C
        As for a WindGenerator.
    """

    kinds: ClassVar[tuple[str, ...]] = ("towed", "shaft", "transom")
    source: ClassVar[str] = "water"
    called: ClassVar[str] = "water generator"
    lean_days: ClassVar[str] = "slow"
    never: ClassVar[dict[str, dict[str, str]]] = {
        "shaft": {"motoring": "the engine turns the shaft then"}
    }
    own_reasons: ClassVar[dict[str, dict[str, str]]] = {
        "shaft": {"to_kn": f"the shaft is locked before its bearings run hot; {PRACTICE}"}
    }
    stream: ClassVar[Stream] = SEA
    usual_diameter_m: ClassVar[dict[str, float]] = {"towed": 0.30, "shaft": 0.40, "transom": 0.24}

    kind: str = "towed"
    name: str = field(default="water", metadata=NAME)
    speeds_kn: tuple[float, ...]
    powers_W: tuple[float, ...]
    diameter_m: float | None = field(default=None, metadata=DIAMETER)
    from_kn: float = by_default(
        0.0,
        "least speed at which it is in the water",
        "3 kn",
        within=(0.0, SEA.most),
        reason="its curve tells where it begins",
    )
    to_kn: float = by_default(
        10.0,
        "most speed at which it is in the water",
        "8 kn",
        within=(0.0, SEA.most),
        reason=f"taken in before it skips or breaks; {PRACTICE}",
    )
    motoring: bool = by_default(
        False,
        "true if it works under engine too, false if it is taken in then",
        reason="taken in under engine",
    )
    wiring_frac: float = field(default=0.03, metadata=WIRING)
    regulated: bool = field(default=True, metadata=REGULATED)
    absorption_V: float | None = field(default=None, metadata=ABSORPTION)
    float_V: float | None = field(default=None, metadata=FLOAT)
    temp_comp_V_per_C: float = field(default=0.0, metadata=NO_SENSOR)

    def __post_init__(self) -> None:
        check_fields(self)
        if self.kind not in self.kinds:
            raise ValueError(f"unknown kind of water generator {self.kind!r}")
        if self.motoring and "motoring" in self.never.get(self.kind, {}):
            raise ValueError(f"a {self.kind} generator cannot work under engine")
        if not self.from_kn < self.to_kn:
            raise ValueError("from_kn must lie below to_kn")
        check_curve(self)

    @property
    def most(self) -> float:
        """Its greatest output. [W]"""
        return max(self.powers_W)

    @property
    def cares(self) -> tuple[Care, ...]:
        """Of its drag, of lines and shafts, and of what turns without a load."""
        return RUNAWAY, DRAG, *_OF_KIND.get(self.kind, ())

    def idle_on(self, speeds_kn: Iterable[float], states: Iterable[str]) -> tuple[str, str] | None:
        """Where no leg has a speed at which it gives anything."""
        points = zip(self.speeds_kn, self.powers_W, strict=True)
        still_kn = max(speed for speed, power_W in points if power_W == 0)
        if any(still_kn < kn and self.from_kn <= kn <= self.to_kn for kn in speeds_kn):
            return None
        return (
            "it gives nothing at any speed of the route",
            "look at its curve and its keys from and to, or leave it out",
        )
