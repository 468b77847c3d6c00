"""Where the boat goes, and everything a run needs in one record."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from powersim.errors import Problem
from powersim.records.alternator import Alternator
from powersim.records.battery import Battery, impossible_voltage
from powersim.records.belt import driven
from powersim.records.brief import brief
from powersim.records.chargers import Charger
from powersim.records.charging import ChargingRule, Shedding
from powersim.records.companions import drawn_loads
from powersim.records.costs import RuleCosts
from powersim.records.declared import by_default, check_fields, given
from powersim.records.described import described
from powersim.records.device import Device
from powersim.records.engine import Engine, Fuel
from powersim.records.forecast import Forecast
from powersim.records.heavy_weather import HeavyWeather
from powersim.records.irradiance import Irradiance
from powersim.records.load import Load, Supply
from powersim.records.set_value import SetValue
from powersim.records.solar import Controller, Panel
from powersim.records.states import STOP_STATES
from powersim.records.timetable import PlannedRun
from powersim.records.units_aboard import METRIC, UnitsAboard

TRACKS = ("great circle", "rhumb")
TACKS = ("port", "starboard", "both")
CLOUD_MODELS = ("kasten", "reed")
#: No stop, and no spell under power, is longer than a year, and no passage in Python longer than
#: three; our judgement. [h]
_SPELL: dict[str, Any] = {"within": (0.0, 366 * 24.0), "derived": (0.0, 3 * 366 * 24.0)}


@described
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
    motoring_start_h, motoring_end_h : float
        Hours under power when leaving here, and before the next waypoint. [h]
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
    lat_deg: float = field(metadata=given("latitude", "66 N", within=(-90.0, 90.0)))
    lon_deg: float = field(metadata=given("longitude", "23 W", within=(-180.0, 180.0)))
    speed_kn: float | None = by_default(
        None, "speed made good", "4.5 kn", within=(0.2, 40.0), derived=(0.001, 40.0)
    )
    stop_h: float = by_default(0.0, "stay at the waypoint", reason="no stop named", **_SPELL)
    stop_state: str = by_default(
        "anchored",
        "how she lies meanwhile",
        one_of=tuple(STOP_STATES),
        reason="a stop is at anchor unless it says hove-to, drifting or berthed",
    )
    track: str = by_default(
        "great circle", "the line that is sailed", one_of=TRACKS, reason="the shortest way"
    )
    motoring_start_h: float = by_default(0.0, "under power at start", **_SPELL)
    motoring_end_h: float = by_default(0.0, "under power at end", **_SPELL)
    motoring_calm_frac: float = by_default(
        0.0, "share of calms under power", "60 %", within=(0.0, 1.0)
    )
    calm_kn: float = by_default(
        5.0,
        "wind below which it is calm, where `motoring` has a share of calms",
        "7 kn",
        name="calm_below",
        within=(1.0, 20.0),
        usual=(3.0, 10.0),
        reason="in more she still ghosts along; many motor sooner; common practice, no source",
    )
    tack: str = by_default(
        "both", "the side of the wind", one_of=TACKS, reason="half the time on each tack"
    )
    heel_deg: float = by_default(
        10.0,
        "heel under way",
        "12 deg",
        within=(0.0, 60.0),
        reason="a small boat under way; common practice, no source",
    )
    wind_m_s: float | None = by_default(None, "true wind", "15 kn", within=(0.0, 60.0))
    cabin_C: float | None = by_default(None, "temperature below", "18 degC", within=(-30.0, 60.0))
    cloud_oktas: float | None = by_default(
        None, "sky covered, in eighths", "6 oktas", unit="oktas", within=(0.0, 8.0)
    )

    def __post_init__(self) -> None:
        check_fields(self)


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Boat:
    """Everything aboard that does not change in a run.

    Attributes
    ----------
    name : str
        The boat's name.
    battery : Battery
        The house bank.
    panels : tuple of Panel
        Every solar panel.
    controllers : tuple of Controller
        The solar regulators, which panels name.
    alternator : Alternator or None
        None together with engine for a boat without one.
    engine : Engine or None
        None for a boat without one.
    fuel : Fuel or None
        None only when there is no engine.
    charging : ChargingRule
        When the engine is run to charge.
    shedding : Shedding
        Below which charge loads are switched off.
    supplies : tuple of Supply
        Converters and inverters, which loads name.
    chargers : tuple of Charger
        What else charges the bank.
    costs : RuleCosts
        What a charging run costs beside its fuel, for the search of a rule.
    heavy_weather : HeavyWeather
        What strong wind keeps her and her engine from.
    devices : tuple of Device
        What is charged aboard and then runs by itself.
    """

    name: str = field(
        metadata=given(
            "what she is called", '"Tern"', says='for example "Tern"', without="the boat"
        )
    )
    battery: Battery
    panels: tuple[Panel, ...] = ()
    controllers: tuple[Controller, ...] = ()
    alternator: Alternator | None = None
    engine: Engine | None = None
    fuel: Fuel | None = None
    charging: ChargingRule
    shedding: Shedding = field(default_factory=Shedding)
    supplies: tuple[Supply, ...] = ()
    chargers: tuple[Charger, ...] = ()
    costs: RuleCosts = field(default_factory=RuleCosts)
    heavy_weather: HeavyWeather = field(default_factory=HeavyWeather)
    devices: tuple[Device, ...] = ()

    __repr__ = brief

    def __post_init__(self) -> None:
        check_fields(self)
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
        if len({one.when_soc for one in self.devices} - {None}) > 1:
            raise ValueError("devices charged before the bank is full need one charge for all")
        for source in (*self.controllers, *self.chargers, self.alternator):
            self._refuse_impossible_voltages(source)

    @property
    def fuel_word(self) -> str:
        """What the engine burns, as it is called aboard; "diesel" where there is no engine."""
        return "diesel" if self.engine is None else self.engine.kind

    def _refuse_impossible_voltages(self, source: object) -> None:
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
        if self.alternator is None or self.engine is None:
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
        That sails it.
    loads : tuple of Load
        A record for each row of loads.csv.
    ship_offset_h : float or None
        Fixed ship's time ahead of UTC; None follows 15-degree zones of longitude. [h]
    cloud_model : str
        One of CLOUD_MODELS: what turns oktas into light.
    units : UnitsAboard
        What its numbers are printed in; those of files for a program stay in litres and metres.
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
        ("battery.capacity", "300 Ah"); None for what was taken out, a dict for a whole table.
    changed : tuple of SetValue
        What of it differs from the files, for whoever reads an answer.
    change_warnings : tuple of str
        What these changes are warned of and the files are not, and that an engine plan is of other
        ones; a sentence each.
    """

    name: str
    depart_utc: datetime
    waypoints: tuple[Waypoint, ...]
    boat: Boat
    loads: tuple[Load, ...] = ()
    ship_offset_h: float | None = None
    cloud_model: str = "kasten"
    units: UnitsAboard = METRIC
    assumptions: tuple[Assumption, ...] = ()
    doubts: tuple[Problem, ...] = ()
    folder: Path | None = None
    forecast: Forecast | None = None
    irradiance: Irradiance | None = None
    or_climatology: bool = False
    left_out: tuple[Problem, ...] = ()
    engine_plan: tuple[PlannedRun, ...] | None = None
    values: tuple[tuple[str, Any], ...] = ()
    changed: tuple[SetValue, ...] = ()
    change_warnings: tuple[str, ...] = ()

    __repr__ = brief

    @property
    def calm_below_kn(self) -> float | None:
        """Wind below which it is calm, the most of all legs; None where no calm is motored. [kn]"""
        return max(
            (leg.calm_kn for leg in self.waypoints[:-1] if leg.motoring_calm_frac), default=None
        )

    def __post_init__(self) -> None:
        if self.depart_utc.tzinfo is None or self.depart_utc.utcoffset() != timedelta():
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

    @property
    def drawn(self) -> tuple[Load, ...]:
        """The loads, and behind them what is on beside their sessions: the rows of a demand."""
        return drawn_loads(self.loads)
