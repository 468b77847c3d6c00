"""The habits of charging with an engine, and of switching off."""

from __future__ import annotations

from dataclasses import dataclass, field

from powersim.records.declared import by_default, check_fields, given
from powersim.records.described import described
from powersim.records.timetable import DailyRun

_PRACTICE = "common practice, no source"


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class ChargingRule:
    """When the engine is run to charge.

    Attributes
    ----------
    start_soc, stop_soc : float
        Start at or below, stop at or above. [-]
    hours_h : tuple of (float, float)
        Ship's time between which it may run; an end before its start spans midnight. [h]
    full_every_days : float or None
        Run on to a full charge at least this often; None for never. [days]
    """

    by_engine: bool = by_default(
        True,
        "true if the engine is run to charge, else false",
        reason="the engine charges when the rule says so",
    )
    start_soc: float = field(
        metadata=given("charge at which the engine is started", "55 %", within=(0.0, 1.0))
    )
    stop_soc: float = field(
        metadata=given("charge at which it is stopped", "80 %", within=(0.0, 1.0))
    )
    hours_h: tuple[float, float] = by_default(
        (8.0, 20.0),
        "from when to when it may run, ship's time",
        "08:00-20:00",
        reason="waking hours, ship's time",
    )
    shortest_h: float = by_default(
        0.5,
        "the shortest run worth starting for",
        "30 min",
        above=(0.0, 24.0),
        reason=f"an engine should warm through; {_PRACTICE}",
    )
    longest_h: float = by_default(
        4.0,
        "the longest run at a time",
        "4 h",
        above=(0.0, 24.0),
        reason=f"light load wears an engine; {_PRACTICE}",
    )
    full_every_days: float | None = by_default(
        None,
        "how often it runs on to a full charge",
        "14 days, or never",
        name="full_every",
        unit="days",
        above=(0.0, 366.0),
    )
    daily: tuple[DailyRun, ...] = by_default(
        (),
        "runs by the clock, whatever the bank holds",
        '["1 h at 08:00 north of 50 N"]',
        without="none; the charge alone decides",
    )

    def __post_init__(self) -> None:
        check_fields(self)
        if not self.start_soc < self.stop_soc:
            raise ValueError("start_soc must lie below stop_soc, both 0 to 1")
        if not self.shortest_h <= self.longest_h:
            raise ValueError(
                "shortest_h must be above 0 and at most longest_h, and that at most 24"
            )
        start_h, end_h = self.hours_h
        if not (0 <= start_h < 24 and 0 <= end_h <= 24 and start_h != end_h):
            raise ValueError(f"hours_h must lie in 0 to 24, got {self.hours_h!r}")


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Shedding:
    """What the sailor switches off as the bank falls; None for never.

    Attributes
    ----------
    comfort_below_soc, useful_below_soc : float or None
        Charge at or below which loads of that priority are dropped. [-]
    """

    comfort_below_soc: float | None = by_default(
        None,
        "charge at which comfort loads are switched off",
        "60 %",
        within=(0.0, 1.0),
        without="never",
    )
    useful_below_soc: float | None = by_default(
        None,
        "charge at which useful loads are switched off",
        "45 %",
        within=(0.0, 1.0),
        without="never",
    )
    restore_above_frac: float = by_default(
        0.05,
        "how far above that level they come back",
        "5 %",
        within=(0.0, 1.0),
        reason=f"keeps loads from flapping; {_PRACTICE}",
    )

    def __post_init__(self) -> None:
        check_fields(self)
        comfort, useful = self.comfort_below_soc, self.useful_below_soc
        if comfort is not None and useful is not None and useful > comfort:
            raise ValueError(f"useful_below_soc {useful!r} is above comfort_below_soc {comfort!r}")
