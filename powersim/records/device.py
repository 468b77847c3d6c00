"""Things with a battery of their own: phone, handheld radio, torch, power bank, spare pack."""

from __future__ import annotations

from dataclasses import dataclass, field

from powersim.records.declared import by_default, check_fields, given
from powersim.records.described import described

_PRACTICE = "common practice, no source"


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """Something that is charged aboard, and then runs by itself.

    Attributes
    ----------
    battery_Wh : float
        What its own battery gives when full, as it is at departure. [Wh]
    use_Wh_per_day : float
        What it gives a day, as long as it has it. [Wh/day]
    charge_W : float
        What it takes from the boat's wiring while it is charged. [W]
    when_soc : float or None
        Charge of the bank from which on it is charged from there too; None where it takes only
        what the bank has no room for. [-]
    """

    name: str = field(metadata=given("what it is called", '"handheld VHF"', required=True))
    battery_Wh: float = field(
        metadata=given(
            "what its own battery gives when full",
            says='for example 15 Wh, or "4 Ah at 3.7 V"',
            name="battery",
            unit="Wh",
            above=(0.0, 20_000.0),
            usual=(1.0, 3_000.0),
            required=True,
        )
    )
    use_Wh_per_day: float = field(
        metadata=given(
            "what it gives a day",
            "5 Wh/day",
            name="use",
            unit="Wh/day",
            within=(0.0, 20_000.0),
            usual=(0.0, 1_000.0),
            required=True,
        )
    )
    charge_W: float = by_default(
        10.0,
        "what it takes from the boat's wiring while it is charged",
        "10 W",
        above=(0.0, 2_000.0),
        usual=(1.0, 300.0),
        reason=f"a plain charging socket; {_PRACTICE}",
    )
    efficiency_frac: float = by_default(
        0.75,
        "share of that which its battery gives again",
        "75 %",
        within=(0.30, 1.0),
        usual=(0.5, 0.95),
        reason=f"converter, charger and a small lithium battery; {_PRACTICE}",
    )
    when_soc: float | None = by_default(
        None,
        "surplus, or a charge of the bank from which on it is charged before the bank is full",
        says="surplus, or a charge of the bank such as 90 %",
        within=(0.0, 1.0),
        reason="it takes only what the bank has no room for",
    )

    def __post_init__(self) -> None:
        check_fields(self)

    @property
    def takes_Wh_per_day(self) -> float:
        """What has to be put into it a day, on the mean. [Wh/day]"""
        return self.use_Wh_per_day / self.efficiency_frac

    @property
    def lasts_days(self) -> float:
        """How long it runs by itself from full; infinite where it gives nothing. [days]"""
        return self.battery_Wh / self.use_Wh_per_day if self.use_Wh_per_day else float("inf")
