"""The frozen records that a run is made of. They read no file and import nothing but each other."""

from powersim.records.battery import (
    CHEMISTRIES,
    CHEMISTRY_DEFAULTS,
    READINGS,
    Battery,
    battery_of,
    chemistry_default,
)
from powersim.records.engine import (
    REGULATORS,
    START_BATTERIES,
    Alternator,
    ChargingRule,
    Engine,
    Fuel,
    Shedding,
)
from powersim.records.load import (
    BOAT_STATES,
    PRIORITIES,
    PROTECTED_ROLES,
    ROLES,
    Load,
    Supply,
    Window,
)
from powersim.records.passage import (
    CLOUD_MODELS,
    TACKS,
    TRACKS,
    Assumption,
    Boat,
    Passage,
    Waypoint,
)
from powersim.records.solar import CONTROLLERS, MOUNTS, Controller, Panel, ShadeSector, panel_of

__all__ = [
    "BOAT_STATES",
    "CHEMISTRIES",
    "CHEMISTRY_DEFAULTS",
    "CLOUD_MODELS",
    "CONTROLLERS",
    "MOUNTS",
    "PRIORITIES",
    "PROTECTED_ROLES",
    "READINGS",
    "REGULATORS",
    "ROLES",
    "START_BATTERIES",
    "TACKS",
    "TRACKS",
    "Alternator",
    "Assumption",
    "Battery",
    "Boat",
    "ChargingRule",
    "Controller",
    "Engine",
    "Fuel",
    "Load",
    "Panel",
    "Passage",
    "ShadeSector",
    "Shedding",
    "Supply",
    "Waypoint",
    "Window",
    "battery_of",
    "chemistry_default",
    "panel_of",
]
