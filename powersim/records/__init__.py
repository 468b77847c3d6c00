"""The frozen records that a run is made of. They read no file and import nothing but each other."""

from powersim.records.alternator import REGULATORS, SPLITTER_V, Alternator
from powersim.records.bank_place import BANK_PLACES, BILGE, BankPlace
from powersim.records.battery import (
    READINGS,
    Battery,
    battery_of,
    chemistry_default,
    impossible_voltage,
    with_capacity,
)
from powersim.records.caution import Caution
from powersim.records.chargers import (
    OTHER_SOURCES,
    RECORD_OF_KIND,
    Charger,
    ShorePower,
    WaterGenerator,
    WindGenerator,
)
from powersim.records.chargers.power_curve import curve_fault, most_rotor_W
from powersim.records.charging import ChargingRule, Shedding
from powersim.records.chemistry import CHEMISTRIES
from powersim.records.companions import Companion, drawn_loads, hangs_on
from powersim.records.costs import RuleCosts
from powersim.records.cycle_life import cycle_life_fault
from powersim.records.declared import Bounds, Declared, FieldError, bounds_of, declared
from powersim.records.device import Device
from powersim.records.engine import START_BATTERIES, Engine, Fuel
from powersim.records.forecast import Forecast, ForecastField, Grid
from powersim.records.fuel_kinds import FUEL_KINDS, FuelKind
from powersim.records.heavy_weather import (
    LYING_STATES,
    GALE_kn,
    HeavyWeather,
    NEAR_GALE_kn,
    Sea,
)
from powersim.records.irradiance import Irradiance
from powersim.records.load import (
    PRIORITIES,
    PROTECTED,
    PROTECTED_ROLES,
    ROLES,
    Load,
    Supply,
    Window,
)
from powersim.records.log import Log, LogEntry
from powersim.records.logger import LoggerSeries
from powersim.records.passage import (
    CLOUD_MODELS,
    TACKS,
    TRACKS,
    Assumption,
    Boat,
    Passage,
    Waypoint,
)
from powersim.records.session import Session
from powersim.records.set_value import SetValue
from powersim.records.solar import (
    CONTROLLERS,
    MOUNTS,
    Controller,
    Panel,
    ShadeSector,
    panel_of,
)
from powersim.records.states import BOAT_STATES, STATES, STOP_STATES, BoatState, states_meant
from powersim.records.tank import TANK_SHAPES, Tank, TankPart, sounding_fault
from powersim.records.timetable import DailyRun, PlannedRun
from powersim.records.trial import SWITCHED, Trial, TrialReading
from powersim.records.written import Change, Written

__all__ = [
    "BANK_PLACES",
    "BILGE",
    "BOAT_STATES",
    "CHEMISTRIES",
    "CLOUD_MODELS",
    "CONTROLLERS",
    "FUEL_KINDS",
    "LYING_STATES",
    "MOUNTS",
    "OTHER_SOURCES",
    "PRIORITIES",
    "PROTECTED",
    "PROTECTED_ROLES",
    "READINGS",
    "RECORD_OF_KIND",
    "REGULATORS",
    "ROLES",
    "SPLITTER_V",
    "START_BATTERIES",
    "STATES",
    "STOP_STATES",
    "SWITCHED",
    "TACKS",
    "TANK_SHAPES",
    "TRACKS",
    "Alternator",
    "Assumption",
    "BankPlace",
    "Battery",
    "Boat",
    "BoatState",
    "Bounds",
    "Caution",
    "Change",
    "Charger",
    "ChargingRule",
    "Companion",
    "Controller",
    "DailyRun",
    "Declared",
    "Device",
    "Engine",
    "FieldError",
    "Forecast",
    "ForecastField",
    "Fuel",
    "FuelKind",
    "GALE_kn",
    "Grid",
    "HeavyWeather",
    "Irradiance",
    "Load",
    "Log",
    "LogEntry",
    "LoggerSeries",
    "NEAR_GALE_kn",
    "Panel",
    "Passage",
    "PlannedRun",
    "RuleCosts",
    "Sea",
    "Session",
    "SetValue",
    "ShadeSector",
    "Shedding",
    "ShorePower",
    "Supply",
    "Tank",
    "TankPart",
    "Trial",
    "TrialReading",
    "WaterGenerator",
    "Waypoint",
    "WindGenerator",
    "Window",
    "Written",
    "battery_of",
    "bounds_of",
    "chemistry_default",
    "curve_fault",
    "cycle_life_fault",
    "declared",
    "drawn_loads",
    "hangs_on",
    "impossible_voltage",
    "most_rotor_W",
    "panel_of",
    "sounding_fault",
    "states_meant",
    "with_capacity",
]
