"""What draws on the bank: one load, and the supply it may hang on."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from powersim.records.declared import by_default, check_fields, given
from powersim.records.described import described
from powersim.records.session import Session
from powersim.records.states import BOAT_STATES

#: Bounds that catch a slip of the pen, far above what a small boat carries, and twice that where a
#: pilot is taken to draw double; our judgement. [A], [W]
_AMPERES: dict[str, Any] = {"within": (0.0, 2_000.0), "derived": (0.0, 4_000.0)}
_WATTS: dict[str, Any] = {"within": (0.0, 20_000.0), "derived": (0.0, 40_000.0)}
PRIORITIES = ("essential", "useful", "comfort")
ROLES = (
    "sailing lights",
    "power lights",
    "anchor light",
    "lookout",
    "vhf",
    "bilge pump",
    "pilot",
    "navigation",
    "comms",
)
#: Roles that are never shed and never recommended for dropping, whatever their priority says.
PROTECTED_ROLES = ("sailing lights", "power lights", "anchor light", "lookout", "vhf", "bilge pump")
#: What they are in a sentence, and in the middle of a list.
PROTECTED = "navigation lights, lookout (AIS, radar), VHF and bilge pump"


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The hours of the day in which a load may be on.

    Attributes
    ----------
    kind : str
        "always", "night" (sunset to sunrise where the boat is), "day", or "clock".
    spans_h : tuple of (float, float)
        For "clock": start, below 24, and end, at most 24; an end before its start spans
        midnight. [h]
    utc : bool
        For "clock": the spans are UTC, not ship's time.
    """

    kind: str = "always"
    spans_h: tuple[tuple[float, float], ...] = ()
    utc: bool = False

    def __post_init__(self) -> None:
        if self.kind not in ("always", "night", "day", "clock"):
            raise ValueError(f"unknown kind of window {self.kind!r}")
        if (self.kind == "clock") != bool(self.spans_h):
            raise ValueError("spans go with a clock window, and only with one")
        for start_h, end_h in self.spans_h:
            if not (0 <= start_h < 24 and 0 <= end_h <= 24 and start_h != end_h):
                raise ValueError(f"a span runs between 0 and 24 h, got {start_h!r} to {end_h!r}")


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """One line of the load list.

    Attributes
    ----------
    name : str
        What the sailor calls it.
    draw_A, draw_W : float
        While on, each of them; exactly one is not zero unless the load draws nothing. Current
        stays current and power stays power as the voltage sags. [A], [W]
    standby_A, standby_W : float
        Inside its window while not on, each of them. [A], [W]
    states : frozenset of str
        Boat states in which it is used, each of them; `states_meant` makes them of what a sailor
        names.
    window : Window
        Hours in which it may be on.
    on_frac : float or None
        Share of the window that it is on, 0 to 1; None when one of the next two is given. [-]
    on_h_per_day : float or None
        Time that it is on in a day with its window open. [h]
    session : Session or None
        How often it is used and how long each time, which makes a time a day too.
    temperature_rule : str or None
        "fridge", "heater" or None.
    fuel_L_per_h : float
        Diesel burnt while on, each. [L/h]
    role : str or None
        What the rules of the road and the failure table know it by; one of ROLES. A "lookout" is
        what keeps watch while a lone sailor sleeps: AIS, radar, or the alarm of either.
    priority : str
        One of PRIORITIES.
    supply : str
        "dc" or the name of a Supply.
    note : str
        Free text.
    """

    name: str
    draw_A: float = by_default(0.0, "current while on", "3 A", **_AMPERES)
    draw_W: float = by_default(0.0, "power while on", "36 W", **_WATTS)
    standby_A: float = by_default(0.0, "current in its window while not on", "40 mA", **_AMPERES)
    standby_W: float = by_default(0.0, "power in its window while not on", "0.5 W", **_WATTS)
    count: int = by_default(1, "how many", "2", within=(0, 1_000))
    states: frozenset[str] = frozenset(BOAT_STATES)
    window: Window = field(default_factory=Window)
    on_frac: float | None = by_default(1.0, "a share of the time", "5 %", within=(0.0, 1.0))
    on_h_per_day: float | None = by_default(
        None, "time in a day", "2 h/day", unit="h/day", within=(0.0, 24.0)
    )
    session: Session | None = None
    temperature_rule: str | None = None
    fuel_L_per_h: float = by_default(0.0, "fuel burnt while on", "0.15 L/h", within=(0.0, 5.0))
    role: str | None = None
    priority: str = "useful"
    supply: str = "dc"
    spread_frac: float = by_default(
        0.0, "how uncertain the draw is, one standard deviation", "20 %", within=(0.0, 1.0)
    )
    note: str = ""

    def __post_init__(self) -> None:
        check_fields(self)
        if self.draw_A and self.draw_W:
            raise ValueError("a load draws a current or a power, not both")
        if self.standby_A and self.standby_W:
            raise ValueError("a load stands by at a current or a power, not both")
        if (self.on_frac, self.on_h_per_day, self.session).count(None) != 2:
            raise ValueError("give on_frac, on_h_per_day or session, one of the three")
        if not self.states <= set(BOAT_STATES):
            raise ValueError(f"unknown boat state in {sorted(self.states)!r}")
        if self.temperature_rule not in (None, "fridge", "heater"):
            raise ValueError(f"unknown temperature rule {self.temperature_rule!r}")
        if self.role is not None and self.role not in ROLES:
            raise ValueError(f"unknown role {self.role!r}")
        if self.priority not in PRIORITIES:
            raise ValueError(f"unknown priority {self.priority!r}")

    @property
    def protected(self) -> bool:
        """Whether it is never shed, nor named among what to leave off."""
        return self.role in PROTECTED_ROLES

    @property
    def time_on_h_per_day(self) -> float | None:
        """Time that it is on in a day, by its sessions too; None where it has a share. [h]"""
        return self.on_h_per_day if self.session is None else self.session.on_h_per_day

    @property
    def known_as(self) -> str:
        """Its name as names are compared: one blank for any, and capitals as small letters."""
        return " ".join(self.name.split()).casefold()


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """An inverter or DC-DC supply that loads hang on.

    Attributes
    ----------
    name : str
        What loads call it in their `supply` column.
    idle_W : float
        What it takes from the bank while switched on, above what it passes on. [W]
    output_V : float
        Voltage at its outlet, to turn a load's amperes into power. [V]
    left_on : bool
        Whether it idles all day; if not, only while one of its loads may be on.
    """

    name: str = field(
        metadata=given("what loads call it in their column supply", '"inverter"', required=True)
    )
    efficiency_frac: float = by_default(
        0.85,
        "power out, as a share of power in",
        "88 %",
        # One that gives less of what it takes is a slip: 8 % for 80 %; our judgement.
        within=(0.30, 1.0),
        usual=(0.6, 0.99),
        reason="small inverters and converters, common practice, no source",
    )
    idle_W: float = by_default(
        0.0,
        "what it draws while on with no load",
        "1 W",
        within=(0.0, 1_000.0),
        usual=(0.0, 60.0),
        reason="none stated; an inverter takes some, measure it",
    )
    output_V: float = by_default(
        230.0, "voltage at its outlet", "19 V", above=(0.0, 1_000.0), reason="a household inverter"
    )
    left_on: bool = by_default(
        False,
        "true if it stays on all day, false if it is on with its loads",
        reason="switched on with its loads",
    )

    def __post_init__(self) -> None:
        check_fields(self)
