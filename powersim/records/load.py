"""What draws on the bank: one load, and the supply it may hang on."""

from __future__ import annotations

from dataclasses import dataclass, field

from powersim.records.states import BOAT_STATES

#: A supply that gives less of what it takes is a slip: 8 % for 80 %; our judgement. [-]
LEAST_SUPPLY_FRAC = 0.30
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
PROTECTED_ROLES = (
    "sailing lights",
    "power lights",
    "anchor light",
    "lookout",
    "vhf",
    "bilge pump",
)
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

    def __post_init__(self):
        if self.kind not in ("always", "night", "day", "clock"):
            raise ValueError(f"unknown kind of window {self.kind!r}")
        if (self.kind == "clock") != bool(self.spans_h):
            raise ValueError("spans go with a clock window, and only with one")
        for start_h, end_h in self.spans_h:
            if not (0 <= start_h < 24 and 0 <= end_h <= 24 and start_h != end_h):
                raise ValueError(f"a span runs between 0 and 24 h, got {start_h!r} to {end_h!r}")


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
    count : int
        How many.
    states : frozenset of str
        Boat states in which it is used, each of them; `states_meant` makes them of what a sailor
        names.
    window : Window
        Hours in which it may be on.
    on_frac : float or None
        Share of the window that it is on, 0 to 1; None when on_h_per_day is given. [-]
    on_h_per_day : float or None
        Time that it is on in a day with its window open. [h]
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
    spread_frac : float
        One standard deviation of the draw, as a share of it. [-]
    note : str
        Free text.
    """

    name: str
    draw_A: float = 0.0
    draw_W: float = 0.0
    standby_A: float = 0.0
    standby_W: float = 0.0
    count: int = 1
    states: frozenset[str] = frozenset(BOAT_STATES)
    window: Window = field(default_factory=Window)
    on_frac: float | None = 1.0
    on_h_per_day: float | None = None
    temperature_rule: str | None = None
    fuel_L_per_h: float = 0.0
    role: str | None = None
    priority: str = "useful"
    supply: str = "dc"
    spread_frac: float = 0.0
    note: str = ""

    def __post_init__(self):
        for name in ("draw_A", "draw_W", "standby_A", "standby_W", "fuel_L_per_h", "spread_frac"):
            if not getattr(self, name) >= 0:
                raise ValueError(f"{name} must not be negative, got {getattr(self, name)!r}")
        if self.draw_A and self.draw_W:
            raise ValueError("a load draws a current or a power, not both")
        if self.standby_A and self.standby_W:
            raise ValueError("a load stands by at a current or a power, not both")
        if not self.count >= 0:
            raise ValueError(f"count must not be negative, got {self.count!r}")
        if (self.on_frac is None) == (self.on_h_per_day is None):
            raise ValueError("give on_frac or on_h_per_day, one of the two")
        if self.on_frac is not None and not 0 <= self.on_frac <= 1:
            raise ValueError(f"on_frac must be 0 to 1, got {self.on_frac!r}")
        if self.on_h_per_day is not None and not 0 <= self.on_h_per_day <= 24:
            raise ValueError(f"on_h_per_day must be 0 to 24, got {self.on_h_per_day!r}")
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """An inverter or DC-DC supply that loads hang on.

    Attributes
    ----------
    name : str
        What loads call it in their `supply` column.
    efficiency_frac : float
        Power out over power in. [-]
    idle_W : float
        What it takes from the bank while switched on, above what it passes on. [W]
    output_V : float
        Voltage at its outlet, to turn a load's amperes into power. [V]
    left_on : bool
        Whether it idles all day; if not, only while one of its loads may be on.
    """

    name: str
    efficiency_frac: float = field(
        default=0.85,
        metadata={"reason": "small inverters and converters, common practice, no source"},
    )
    idle_W: float = field(
        default=0.0, metadata={"reason": "none stated; an inverter takes some, measure it"}
    )
    output_V: float = field(default=230.0, metadata={"reason": "a household inverter"})
    left_on: bool = field(default=False, metadata={"reason": "switched on with its loads"})

    def __post_init__(self):
        if not LEAST_SUPPLY_FRAC <= self.efficiency_frac <= 1:
            raise ValueError(
                f"efficiency_frac must be {LEAST_SUPPLY_FRAC} to 1, got {self.efficiency_frac!r}"
            )
        if not self.idle_W >= 0:
            raise ValueError(f"idle_W must not be negative, got {self.idle_W!r}")
        if not self.output_V > 0:
            raise ValueError(f"output_V must be above 0, got {self.output_V!r}")
