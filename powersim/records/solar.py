"""Panels, the sectors that shade them, and the controllers they feed."""

from __future__ import annotations

from dataclasses import dataclass, field

_PRACTICE = "common practice, no source"
MOUNTS = ("arch", "pushpit", "coachroof", "rail", "hand", "clear")
CONTROLLERS = ("mppt", "pwm")
#: An mppt controller that gives less of what it takes is a slip of the pen; our judgement. [-]
LEAST_MPPT_FRAC = 0.50


@dataclass(frozen=True, slots=True, kw_only=True)
class ShadeSector:
    """A part of the sky, seen from a panel, that rig, sails or hull take.

    Attributes
    ----------
    from_deg, to_deg : float
        Bearings relative to the bow, clockwise; a sector may span the bow. [deg]
    below_deg : float
        It reaches from the horizon up to this height. [deg]
    loss_frac : float
        Share of the beam and of the diffuse light from there that is lost. [-]
    side : str
        "fixed"; or "lee": given for the starboard tack (wind from starboard, sails to port) and
        mirrored on the port tack.
    """

    from_deg: float
    to_deg: float
    below_deg: float
    loss_frac: float = 1.0
    side: str = "fixed"

    def __post_init__(self):
        if not 0 <= self.below_deg <= 90:
            raise ValueError(f"below_deg must be 0 to 90, got {self.below_deg!r}")
        if not 0 <= self.loss_frac <= 1:
            raise ValueError(f"loss_frac must be 0 to 1, got {self.loss_frac!r}")
        if not (-360 <= self.from_deg <= 360 and -360 <= self.to_deg <= 360):
            raise ValueError("bearings must be -360 to 360 degrees")
        if self.side not in ("fixed", "lee"):
            raise ValueError(f"unknown side {self.side!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One kind of module in one place aboard.

    Attributes
    ----------
    name : str
        What the sailor calls it.
    power_W : float
        Rated power of one module at standard test conditions. [W]
    count : int
        How many of them.
    mount : str
        One of MOUNTS; a mount stands for the sectors that shade it ("clear" for none, "hand"
        for a panel turned to the sun by hand).
    tilt_deg : float
        From the deck's plane, 0 flat. [deg]
    bearing_deg : float
        Where it leans to, relative to the bow, clockwise. [deg]
    trims_per_day : int
        For "hand": how often a day it is turned to the sun.
    shades : tuple of ShadeSector or None
        Sectors given by the sailor; None takes the mount's own.
    controller : str
        Name of the Controller that it feeds.
    salt_frac, wiring_frac : float
        Losses by salt and soot on the glass, and in the cable at full power. [-]
    yield_frac : float
        What it was found to give over what all else says of it; may be above 1. [-]
    module_Vmp, module_Imp, module_Voc, module_Isc : float
        The sticker of one module, in volts and amperes.
    power_temp_coeff_per_C : float
        Change of power per degree Celsius above 25.
    weight_kg : float or None
        Of one module with its mount, if known; only `size` looks at it. [kg]
    """

    name: str
    power_W: float
    count: int = field(default=1, metadata={"reason": "one module"})
    mount: str = field(default="arch", metadata={"reason": "the least shaded of the fixed mounts"})
    tilt_deg: float = field(default=0.0, metadata={"reason": "flat on its mount"})
    bearing_deg: float = field(default=180.0, metadata={"reason": "leans aft, if it leans"})
    trims_per_day: int = field(
        default=3, metadata={"reason": f"morning, noon, afternoon; {_PRACTICE}"}
    )
    shades: tuple[ShadeSector, ...] | None = None
    controller: str = "controller"
    salt_frac: float = field(default=0.04, metadata={"reason": f"salt and soot; {_PRACTICE}"})
    wiring_frac: float = field(default=0.03, metadata={"reason": f"cable; {_PRACTICE}"})
    yield_frac: float = 1.0
    module_Vmp: float
    module_Imp: float
    module_Voc: float
    module_Isc: float
    power_temp_coeff_per_C: float = field(
        default=-0.004, metadata={"reason": f"crystalline silicon; {_PRACTICE}"}
    )
    weight_kg: float | None = None

    def __post_init__(self):
        if not self.power_W > 0:
            raise ValueError(f"power_W must be above 0, got {self.power_W!r}")
        if not self.count >= 0:
            raise ValueError(f"count must not be negative, got {self.count!r}")
        if self.mount not in MOUNTS:
            raise ValueError(f"unknown mount {self.mount!r}")
        if not 0 <= self.tilt_deg <= 90:
            raise ValueError(f"tilt_deg must be 0 to 90, got {self.tilt_deg!r}")
        if not self.trims_per_day >= 1:
            raise ValueError(f"trims_per_day must be 1 or more, got {self.trims_per_day!r}")
        for name in ("salt_frac", "wiring_frac"):
            if not 0 <= getattr(self, name) < 1:
                raise ValueError(f"{name} must be 0 to 1, got {getattr(self, name)!r}")
        if not 0 < self.yield_frac <= 3:
            raise ValueError(f"yield_frac must be above 0 and at most 3, got {self.yield_frac!r}")
        if not 0 < self.module_Vmp < self.module_Voc:
            raise ValueError("module_Vmp must lie below module_Voc")
        if not 0 < self.module_Imp < self.module_Isc:
            raise ValueError("module_Imp must lie below module_Isc")
        if self.weight_kg is not None and not self.weight_kg > 0:
            raise ValueError(f"weight_kg must be above 0, got {self.weight_kg!r}")


def panel_of(name: str, *, power_W: float, **given) -> Panel:
    """A Panel whose sticker, where not given, is that of a 36-cell module scaled by power.

    Per 100 W: 18.0 V, 5.6 A at maximum power, 22 V open, 6.0 A shorted (common practice, no
    source).

    Examples
    --------
    >>> panel_of("port", power_W=50.0).module_Isc
    3.0
    """
    scale = power_W / 100.0
    sticker = {
        "module_Vmp": 18.0,
        "module_Imp": 5.6 * scale,
        "module_Voc": 22.0,
        "module_Isc": 6.0 * scale,
    }
    return Panel(name=name, power_W=power_W, **(sticker | given))


@dataclass(frozen=True, slots=True, kw_only=True)
class Controller:
    """A solar charge controller.

    Attributes
    ----------
    name : str
        What panels call it.
    kind : str
        "mppt" or "pwm".
    efficiency_frac : float
        For "mppt": power out over power in. [-]
    drop_V : float
        For "pwm": voltage lost between module and bank. [V]
    rated_A : float or None
        The current into the bank that it cannot pass; None for no limit. [A]
    idle_A : float
        What it takes from the bank itself, day and night. [A]
    absorption_V, float_V : float or None
        Setpoints at 25 degC; None takes the bank's. [V]
    temp_comp_V_per_C : float or None
        None takes the bank's, for a controller with a sensor; 0 is none.
    """

    name: str = "controller"
    kind: str = field(default="mppt", metadata={"reason": "the usual kind today"})
    efficiency_frac: float = field(default=0.95, metadata={"reason": _PRACTICE})
    drop_V: float = field(default=0.4, metadata={"reason": f"pwm switch and diode; {_PRACTICE}"})
    rated_A: float | None = None
    idle_A: float = field(default=0.015, metadata={"reason": _PRACTICE})
    absorption_V: float | None = None
    float_V: float | None = None
    temp_comp_V_per_C: float | None = None

    def __post_init__(self):
        if self.kind not in CONTROLLERS:
            raise ValueError(f"unknown kind of controller {self.kind!r}")
        if not LEAST_MPPT_FRAC <= self.efficiency_frac <= 1:
            raise ValueError(
                f"efficiency_frac must be {LEAST_MPPT_FRAC} to 1, got {self.efficiency_frac!r}"
            )
        if not self.drop_V >= 0:
            raise ValueError(f"drop_V must not be negative, got {self.drop_V!r}")
        if self.rated_A is not None and not self.rated_A > 0:
            raise ValueError(f"rated_A must be above 0, got {self.rated_A!r}")
        if not self.idle_A >= 0:
            raise ValueError(f"idle_A must not be negative, got {self.idle_A!r}")
