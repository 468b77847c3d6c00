"""Where the boat goes, and everything a run needs in one record."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from powersim.errors import Problem
from powersim.records.battery import Battery, impossible_voltage
from powersim.records.belt import driven
from powersim.records.charger import ShorePower, WaterGenerator, WindGenerator
from powersim.records.engine import Alternator, ChargingRule, Engine, Fuel, Shedding
from powersim.records.forecast import Forecast
from powersim.records.irradiance import Irradiance
from powersim.records.load import Load, Supply
from powersim.records.solar import Controller, Panel
from powersim.records.states import STOP_STATES
from powersim.records.timetable import PlannedRun

TRACKS = ("great circle", "rhumb")
TACKS = ("port", "starboard", "both")
CLOUD_MODELS = ("kasten", "reed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Waypoint:
    """A place on the route and the leg that leaves it.

    Attributes
    ----------
    name : str
        What the sailor calls it.
    lat_deg, lon_deg : float
        North and east positive; longitude -180 to 180. [deg]
    speed_kn : float or None
        Made good to the next waypoint, calms included; None at the last. [kn]
    stop_h : float
        Time spent here before leaving. [h]
    stop_state : str
        One of STOP_STATES meanwhile.
    track : str
        One of TRACKS.
    motoring_start_h, motoring_end_h : float
        Hours under power when leaving here, and before the next waypoint. [h]
    motoring_calm_frac : float
        Share of the leg's calm hours spent under power. [-]
    tack : str
        "port" (wind from port), "starboard", or "both" equally.
    heel_deg : float
        Average heel to leeward while under way, and hove-to before that. [deg]
    wind_m_s : float or None
        True wind; None takes the climatology. [m/s]
    cabin_C : float or None
        Cabin temperature; None is derived from the climatology. [degC]
    cloud_oktas : float or None
        Eighths of sky covered, 0 to 8; None takes the climatology. [-]
    """

    name: str
    lat_deg: float
    lon_deg: float
    speed_kn: float | None = None
    stop_h: float = field(default=0.0, metadata={"reason": "no stop named"})
    stop_state: str = field(
        default="anchored",
        metadata={"reason": "a stop is at anchor unless it says hove-to, drifting or berthed"},
    )
    track: str = field(default="great circle", metadata={"reason": "the shortest way"})
    motoring_start_h: float = 0.0
    motoring_end_h: float = 0.0
    motoring_calm_frac: float = 0.0
    tack: str = field(default="both", metadata={"reason": "as much on one tack as on the other"})
    heel_deg: float = field(
        default=10.0, metadata={"reason": "a small boat under way; common practice, no source"}
    )
    wind_m_s: float | None = None
    cabin_C: float | None = None
    cloud_oktas: float | None = None

    def __post_init__(self):
        if not -90 <= self.lat_deg <= 90:
            raise ValueError(f"lat_deg must be -90 to 90, got {self.lat_deg!r}")
        if not -180 <= self.lon_deg <= 180:
            raise ValueError(f"lon_deg must be -180 to 180, got {self.lon_deg!r}")
        if self.speed_kn is not None and not 0 < self.speed_kn <= 40:
            raise ValueError(f"speed_kn must be above 0 and at most 40, got {self.speed_kn!r}")
        for name in ("stop_h", "motoring_start_h", "motoring_end_h"):
            if not getattr(self, name) >= 0:
                raise ValueError(f"{name} must not be negative, got {getattr(self, name)!r}")
        if not 0 <= self.motoring_calm_frac <= 1:
            raise ValueError(f"motoring_calm_frac must be 0 to 1, got {self.motoring_calm_frac!r}")
        if self.stop_state not in STOP_STATES:
            raise ValueError(f"unknown stop_state {self.stop_state!r}")
        if self.track not in TRACKS:
            raise ValueError(f"unknown track {self.track!r}")
        if self.tack not in TACKS:
            raise ValueError(f"unknown tack {self.tack!r}")
        if not 0 <= self.heel_deg <= 60:
            raise ValueError(f"heel_deg must be 0 to 60, got {self.heel_deg!r}")
        if self.cloud_oktas is not None and not 0 <= self.cloud_oktas <= 8:
            raise ValueError(f"cloud_oktas must be 0 to 8, got {self.cloud_oktas!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Boat:
    """Everything aboard that does not change in a run.

    Attributes
    ----------
    name : str
        The boat's name.
    battery : Battery
    panels : tuple of Panel
    controllers : tuple of Controller
    alternator : Alternator or None
        None together with engine for a boat without one.
    engine : Engine or None
    fuel : Fuel or None
        None only when there is no engine.
    charging : ChargingRule
    shedding : Shedding
    supplies : tuple of Supply
    chargers : tuple of WindGenerator, WaterGenerator or ShorePower
        What else charges the bank.
    """

    name: str
    battery: Battery
    panels: tuple[Panel, ...] = ()
    controllers: tuple[Controller, ...] = ()
    alternator: Alternator | None = None
    engine: Engine | None = None
    fuel: Fuel | None = None
    charging: ChargingRule
    shedding: Shedding = field(default_factory=Shedding)
    supplies: tuple[Supply, ...] = ()
    chargers: tuple[WindGenerator | WaterGenerator | ShorePower, ...] = ()

    def __post_init__(self):
        known = {controller.name for controller in self.controllers}
        for panel in self.panels:
            if panel.controller not in known:
                raise ValueError(
                    f"panel {panel.name!r} feeds an unknown controller {panel.controller!r}"
                )
        if (self.engine is None) != (self.fuel is None):
            raise ValueError("an engine and its fuel go together")
        if self.alternator is not None and self.engine is None:
            raise ValueError("an alternator needs an engine")
        for source in (*self.controllers, *self.chargers, self.alternator):
            self._refuse_impossible_voltages(source)

    @property
    def fuel_word(self) -> str:
        """What the engine burns, as it is called aboard; "diesel" where there is no engine."""
        return "diesel" if self.engine is None else self.engine.kind

    def _refuse_impossible_voltages(self, source) -> None:
        """Raise ValueError for a setpoint that no bank of this kind outlives."""
        battery = self.battery
        drop_V = getattr(source, "cable_drop_V", 0.0)
        for name in battery.traits.voltages:
            value = getattr(source, name, None)
            fault = value is not None and impossible_voltage(
                name,
                value,
                chemistry=battery.chemistry,
                blocks=battery.blocks,
                drop_V=drop_V,
                low_too=False,
            )
            if fault:
                raise ValueError(fault)

    @property
    def driven_alternator(self) -> Alternator | None:
        """The alternator with no more output than the engine can turn; None without one."""
        if self.alternator is None:
            return None
        return driven(self.alternator, self.engine, self.battery)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """A value that the sailor did not give, and why it is what it is.

    Attributes
    ----------
    place : str
        File and key, such as "boat.toml battery.health".
    value : str
        As it would be written in the file, with its unit.
    reason : str
        Where it comes from.
    """

    place: str
    value: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """One run's whole input.

    Attributes
    ----------
    name : str
        The folder's name, or what boat.toml's [passage] calls it.
    depart_utc : datetime
        Time zone aware, UTC.
    waypoints : tuple of Waypoint
        Two or more.
    boat : Boat
    loads : tuple of Load
    ship_offset_h : float or None
        Fixed ship's time ahead of UTC; None follows 15-degree zones of longitude. [h]
    cloud_model : str
        One of CLOUD_MODELS: what turns oktas into light.
    assumptions : tuple of Assumption
        Every default that was used.
    doubts : tuple of Problem
        What the files say that can be meant, and is unlike what other boats have.
    folder : Path or None
        Where it was read from.
    forecast : Forecast or None
        Goes before the climatology for the days that it covers.
    irradiance : Irradiance or None
        The same of measured light, where no forecast covers it.
    or_climatology : bool
        Whether a weather file that is no use may be left out.
    left_out : tuple of Problem
        Why such a file could not be read.
    engine_plan : tuple of PlannedRun or None
        Charging runs that take the place of the boat's rule; None for the rule.
    values : tuple of (str, value)
        What was set in place of what boat.toml and loads.csv say, such as
        ("battery.capacity", "300 Ah").
    """

    name: str
    depart_utc: datetime
    waypoints: tuple[Waypoint, ...]
    boat: Boat
    loads: tuple[Load, ...] = ()
    ship_offset_h: float | None = None
    cloud_model: str = "kasten"
    assumptions: tuple[Assumption, ...] = ()
    doubts: tuple[Problem, ...] = ()
    folder: Path | None = None
    forecast: Forecast | None = None
    irradiance: Irradiance | None = None
    or_climatology: bool = False
    left_out: tuple[Problem, ...] = ()
    engine_plan: tuple[PlannedRun, ...] | None = None
    values: tuple[tuple[str, str | int | float | bool | date], ...] = ()

    def __post_init__(self):
        if self.depart_utc.tzinfo is None or self.depart_utc.utcoffset().total_seconds() != 0:
            raise ValueError("depart_utc must be aware and in UTC")
        if len(self.waypoints) < 2:
            raise ValueError("a passage needs two waypoints or more")
        if any(waypoint.speed_kn is None for waypoint in self.waypoints[:-1]):
            raise ValueError("every waypoint but the last needs a speed")
        if self.cloud_model not in CLOUD_MODELS:
            raise ValueError(f"unknown cloud_model {self.cloud_model!r}")
        supplies = {"dc"} | {supply.name for supply in self.boat.supplies}
        for load in self.loads:
            if load.supply not in supplies:
                raise ValueError(f"load {load.name!r} hangs on an unknown supply {load.supply!r}")
