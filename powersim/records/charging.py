"""The habits of charging with an engine, and of switching off."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise

from powersim.records.declared import by_default, check_fields, given
from powersim.records.described import described
from powersim.records.timetable import DailyRun

_PRACTICE = "common practice, no source"
#: More readings a day than this nobody keeps up.
MOST_READINGS = 4
#: How far above the start a stop lies at least, to be told from it: by voltmeter and by monitor;
#: common practice, no source. [-]
LEAST_GAP_SOC = {"volts": 0.08, "monitor": 0.05}


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class ChargingRule:
    """When the engine is run to charge.

    Attributes
    ----------
    read_at_h : tuple of float
        Ship's times, in order, at which the bank is read: a run falls due at a reading or not at
        all. Empty where its charge is known at any moment. [h]
    start_soc : float
        Start at or below. [-]
    stop_soc, run_h, stop_below_A : float or None
        What ends a run, one of the three: a charge at or above which it stops, its length, or a
        current into the bank below which it stops. [-], [h], [A]
    little_sun_Ah : float or None
        Readings after the day's first count only where the panels gave less since it; None for
        always. [Ah]
    wait_below_soc : float or None
        At or below it, but above the start, a run waits until the bank was read so low at
        `wait_readings` readings running; None where none waits. [-]
    hours_h : tuple of (float, float)
        Ship's time between which it may run; an end before its start spans midnight. [h]
    shortest_h, longest_h : float
        Bounds of a run; `run_h` has none. [h]
    full_every_days : float or None
        Run on to a full charge at least this often; None for never. [days]
    full_longest_h : float
        The longest run to a full charge. [h]
    """

    by_engine: bool = by_default(
        True,
        "true if the engine is run to charge, else false",
        reason="the engine charges when the rule says so",
    )
    read_at_h: tuple[float, ...] = by_default(
        (6.0, 18.0),
        "ship's times of reading the bank",
        '["06:00", "18:00"]',
        name="read_at",
        reason=f"nobody looks all the time: before dawn, and before the night; {_PRACTICE}",
    )
    start_soc: float = field(
        metadata=given("charge at which the engine is started", "55 %", within=(0.0, 1.0))
    )
    stop_soc: float | None = by_default(
        None, "charge at which it is stopped", "80 %", within=(0.0, 1.0)
    )
    run_h: float | None = by_default(
        None,
        "how long it runs, in place of stop",
        "2 h",
        above=(0.0, 24.0),
        without="until stop",
    )
    stop_below_A: float | None = by_default(
        None,
        "current into the bank below which it is stopped, in place of stop",
        "18 A",
        above=(0.0, 2000.0),
        without="until stop",
    )
    little_sun_Ah: float | None = by_default(
        None,
        "readings after the day's first count only if the panels gave less than this since it",
        "20 Ah",
        above=(0.0, 10_000.0),
        without="all readings count",
    )
    wait_below_soc: float | None = by_default(
        None,
        "at it or below, but above the start, the engine is run once so many readings running "
        "were so low (wait_readings)",
        "80 %",
        within=(0.0, 1.0),
        without="no run waits",
    )
    wait_readings: int = by_default(
        2,
        "at how many readings running, with wait_below",
        "3",
        within=(2, 6),
        reason=f"a calm or a bright day may come between; {_PRACTICE}",
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
    full_longest_h: float = by_default(
        8.0,
        "the longest run to a full charge",
        "8 h",
        above=(0.0, 24.0),
        reason=f"what is missing at the end goes in slowly; {_PRACTICE}",
    )
    daily: tuple[DailyRun, ...] = by_default(
        (),
        "runs by the clock, whatever the bank holds",
        '["1 h at 08:00 north of 50 N"]',
        without="none; the charge alone decides",
    )

    @property
    def full_on_day(self) -> int | None:
        """On which day after a full charge the next one is due, where the bank is read at times."""
        return None if self.full_every_days is None else max(1, math.floor(self.full_every_days))

    def __post_init__(self) -> None:
        check_fields(self)
        if sum(end is not None for end in (self.stop_soc, self.run_h, self.stop_below_A)) != 1:
            raise ValueError("one of stop_soc, run_h and stop_below_A must end a run")
        if self.stop_soc is not None and not self.start_soc < self.stop_soc:
            raise ValueError("start_soc must lie below stop_soc, both 0 to 1")
        if (wait_soc := self.wait_below_soc) is not None:
            if not self.start_soc < wait_soc < (1.0 if self.stop_soc is None else self.stop_soc):
                raise ValueError("wait_below_soc must lie above start_soc and below stop_soc")
            if not self.read_at_h:
                raise ValueError("wait_below_soc counts readings, and read_at_h has none")
        if not self.shortest_h <= self.longest_h:
            raise ValueError(
                "shortest_h must be above 0 and at most longest_h, and that at most 24"
            )
        start_h, end_h = self.hours_h
        if not (0 <= start_h < 24 and 0 <= end_h <= 24 and start_h != end_h):
            raise ValueError(f"hours_h must lie in 0 to 24, got {self.hours_h!r}")
        read_at_h = self.read_at_h
        if len(read_at_h) > MOST_READINGS or not all(0 <= at_h < 24 for at_h in read_at_h):
            raise ValueError(f"read_at_h must be at most {MOST_READINGS} times, 0 to 24")
        if any(one >= other for one, other in pairwise(read_at_h)):
            raise ValueError(f"read_at_h must be in order, got {read_at_h!r}")


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
