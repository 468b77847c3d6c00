"""The engine and what it burns."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from powersim.records.declared import Bounds, FieldError, by_default, check_fields, given
from powersim.records.described import described
from powersim.records.fuel_kinds import FUEL_KINDS
from powersim.records.needle import needle_fault
from powersim.records.tank import TANK_L, Tank

_PRACTICE = "common practice, no source"
START_BATTERIES = ("separate", "shared", "hand")
_BURN: dict[str, Any] = {"above": (0.0, 500.0), "without": "by its kind and its rated power"}


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """The engine.

    Attributes
    ----------
    charging_burn_loaded : bool
        It was measured with the alternator working, so the belt's share is in it.
    slope_L_per_kWh : float
        Extra fuel for each unit of shaft energy; the default is a diesel's. [L/kWh]
    max_heel_deg : float
        Heel above which its oil pump may suck air; a warning. [deg]
    charges_flat_bank : bool
        Whether the alternator can be trusted to excite on a flat bank or an open protection.
    """

    kind: str = by_default(
        "diesel", "what it burns", one_of=tuple(FUEL_KINDS), reason="as in most boats that go far"
    )
    rated_kW: float = field(
        metadata=given(
            "rated shaft power", "14 kW", within=(0.3, 1_000.0), usual=(1.5, 150.0), required=True
        )
    )
    charging_L_per_h: float = field(
        metadata=given(
            "burn at charging revs out of gear", "0.7 L/h", name="charging_burn", **_BURN
        )
    )
    charging_burn_loaded: bool = by_default(
        False, "true if that was measured with the alternator working, else false"
    )
    motoring_L_per_h: float = field(
        metadata=given("burn at cruising revs in gear", "2.1 L/h", name="motoring_burn", **_BURN)
    )
    motoring_kn: float = by_default(
        4.5,
        "speed under power in a calm",
        "4.5 kn",
        name="motoring_speed",
        above=(0.0, 40.0),
        usual=(1.5, 12.0),
        reason=f"a 9 m hull; {_PRACTICE}",
    )
    rev_share_frac: float = by_default(
        0.45,
        "charging revs over rated revs",
        "45 %",
        above=(0.0, 1.0),
        reason=f"charging revs over rated revs; {_PRACTICE}",
    )
    belt_share_frac: float = by_default(
        0.80,
        "the share of the power at charging revs that the belt may take for hours",
        "80 %",
        above=(0.0, 1.0),
        reason=f"no engine gives its utmost for hours, and belts lose some; {_PRACTICE}",
    )
    slope_L_per_kWh: float = by_default(
        FUEL_KINDS["diesel"].slope_L_per_kWh,
        "extra fuel for each kWh on the shaft",
        "0.246 L/kWh",
        # A litre of diesel holds some 10 kWh: 42.6 MJ/kg at 0.84 kg/L (from memory).
        within=(0.1, 1.0),
        usual=(0.18, 0.6),
        reason=FUEL_KINDS["diesel"].slope_reason,
    )
    start_battery: str = by_default(
        "separate", "what starts it", one_of=START_BATTERIES, reason="a starting battery of its own"
    )
    shared_start_soc: float = by_default(
        0.40,
        "with a shared bank, the charge below which it will not start",
        "40 %",
        within=(0.0, 1.0),
        reason=_PRACTICE,
    )
    max_heel_deg: float = by_default(
        15.0,
        "heel above which it must not run",
        "15 deg",
        above=(0.0, 90.0),
        usual=(5.0, 45.0),
        reason=f"ask the maker; {_PRACTICE}",
    )
    charges_flat_bank: bool = by_default(
        False,
        "true if the alternator is known to charge a flat bank, else false",
        reason=f"a flat bank may not excite an alternator; {_PRACTICE}",
    )

    def __post_init__(self) -> None:
        check_fields(self)
        for name in ("charging_L_per_h", "motoring_L_per_h"):
            if getattr(self, name) not in self.possible_burn:
                wanted = f"{self.possible_burn} at {self.rated_kW:g} kW"
                raise FieldError(name, getattr(self, name), wanted)

    @property
    def possible_burn(self) -> Bounds:
        """What an engine of its power and its fuel can burn at all. [L/h]"""
        least, most = FUEL_KINDS[self.kind].possible_L_per_h_per_kW
        # What nobody has measured goes down with the revs.
        return Bounds(least * self.rated_kW * self.rev_share_frac, most * self.rated_kW)

    @property
    def least_start_soc(self) -> float:
        """Charge of the bank below which it does not start; 0 where the bank is not asked. [-]"""
        return self.shared_start_soc if self.start_battery == "shared" else 0.0


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Fuel:
    """Diesel or petrol aboard at departure and what must be left.

    Attributes
    ----------
    jerrycans_L : float
        In cans at departure, all of it usable. [L]
    needle : tuple of (float, float)
        Places on the gauge's dial, 0 at E and 1 at F, and litres then. [-], [L]
    shape : Tank or None
        What a depth on the dip stick means, if known.
    """

    tank_L: float = field(
        metadata=given(
            "what the tank holds",
            "85 L, or a table [fuel.tank] with its shape",
            within=TANK_L,
            usual=(5.0, 2_000.0),
            required=True,
        )
    )
    unusable_frac: float = by_default(
        0.05,
        "share of the tank below the pick-up",
        "5 %",
        within=(0.0, 0.95),
        usual=(0.0, 0.3),
        reason=f"below the pick-up; {_PRACTICE}",
    )
    jerrycans_L: float = by_default(
        0.0,
        "what is in the cans",
        "3 x 20 L or 60 L",
        within=(0.0, 10_000.0),
        usual=(0.0, 400.0),
        reason="no cans named",
    )
    aboard_L: float = field(
        metadata=given("what tank and cans hold when you leave", "140 L", within=(0.0, 100_000.0))
    )
    reserve_L: float = field(
        metadata=given("what must be left at landfall", "30 L", within=(0.0, 100_000.0))
    )
    needle: tuple[tuple[float, float], ...] = by_default(
        (),
        "litres in the tank at marks of its gauge",
        "4 L at E; 18 L at 1/4; 41 L at 1/2; 62 L at 3/4; 85 L at F",
        without="none: the needle says nothing",
    )
    needle_doubt_frac: float = by_default(
        0.06,
        "how far the needle is off at rest, as a share of the dial, one standard deviation; at "
        "sea twice that",
        "6 %",
        within=(0.0, 0.5),
        usual=(0.02, 0.25),
        reason=f"half an eighth of the dial: a needle is not to be trusted; {_PRACTICE}",
    )
    shape: Tank | None = None

    def __post_init__(self) -> None:
        check_fields(self)
        fault = needle_fault(self.needle, tank_L=self.tank_L) if self.needle else None
        if fault is not None:
            raise ValueError(f"needle has {fault}")
        if not self.aboard_L <= self.tank_L + self.jerrycans_L:
            raise ValueError("aboard_L must be 0 to what tank and cans hold")
        if not self.reserve_L <= self.aboard_L:
            raise ValueError("reserve_L must be 0 to aboard_L")

    @property
    def unusable_L(self) -> float:
        """What the pick-up cannot reach. [L]"""
        return min(self.tank_L * self.unusable_frac, self.aboard_L)

    @property
    def usable_L(self) -> float:
        """What can be burnt, the reserve included. [L]"""
        return self.aboard_L - self.unusable_L
