"""Panels, the sectors that shade them, and the controllers they feed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from powersim.records.declared import (
    ABSORPTION,
    FLOAT,
    SENSOR,
    WEIGHT,
    by_default,
    check_fields,
    given,
)
from powersim.records.described import described

_PRACTICE = "common practice, no source"
MOUNTS = ("arch", "pushpit", "coachroof", "rail", "hand", "clear")
CONTROLLERS = ("mppt", "pwm")
WIRED = ("parallel", "series")
_BEARING: dict[str, Any] = {"within": (-360.0, 360.0)}
#: A module's volts, and its amperes, which `size` scales.
_BY_POWER = "36 cells for every 12 V of the bank, scaled by power"
_STICKER_V: dict[str, Any] = {"without": _BY_POWER, "unit": "V", "above": (0.0, 1_000.0)}
_STICKER_A: dict[str, Any] = {
    "without": _BY_POWER,
    "unit": "A",
    "above": (0.0, 1_000.0),
    "derived": (0.0, 100_000.0),
}


#: Volts times amperes at maximum power, over the power of one sticker; our judgement, and room for
#: rounding. [-]
STICKER_POWER = (0.5 - 1e-9, 2.0 + 1e-9)


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class ShadeSector:
    """A part of the sky, seen from a panel, that rig, sails or hull take.

    Attributes
    ----------
    from_deg, to_deg : float
        Bearings relative to the bow, clockwise; a sector may span the bow. [deg]
    loss_frac : float
        Share of the beam and of the diffuse light from there that is lost. [-]
    side : str
        "fixed"; or "lee": given for the starboard tack (wind from starboard, sails to port) and
        mirrored on the port tack.
    """

    from_deg: float = field(
        metadata=given("a bearing from the bow, clockwise", "200 deg", required=True, **_BEARING)
    )
    to_deg: float = field(
        metadata=given("a bearing from the bow, clockwise", "320 deg", required=True, **_BEARING)
    )
    below_deg: float = field(
        metadata=given(
            "the height up to which the shade reaches", "60 deg", within=(0.0, 90.0), required=True
        )
    )
    loss_frac: float = by_default(
        1.0,
        "share of the light from there that is lost",
        "100 %",
        within=(0.0, 1.0),
        without="100 %",
    )
    side: str = by_default(
        "fixed",
        '"fixed", or "lee" for sails: given for the starboard tack, mirrored on port',
        one_of=("fixed", "lee"),
        says='"fixed", or "lee" for sails: given for the starboard tack, mirrored on port',
        without="fixed",
    )

    def __post_init__(self) -> None:
        check_fields(self)


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One kind of module in one place aboard.

    Attributes
    ----------
    power_W : float
        Rated power of one module at standard test conditions. [W]
    mount : str
        One of MOUNTS; a mount stands for the sectors that shade it ("clear" for none, "hand"
        for a panel turned to the sun by hand).
    shades : tuple of ShadeSector or None
        Sectors given by the sailor; None takes the mount's own.
    yield_frac : float
        What it was found to give over what all else says of it; may be above 1. [-]
    module_Vmp, module_Imp, module_Voc, module_Isc : float
        The sticker of one module, in volts and amperes.
    power_temp_coeff_per_C : float
        Change of power per degree Celsius above 25.
    weight_kg : float or None
        Of one module with its mount, if known; only `size` looks at it. [kg]
    """

    name: str = field(metadata=given("what you call it", '"port"', without="its number"))
    power_W: float = field(
        metadata=given(
            "the label's power of one panel",
            "100 W",
            within=(1.0, 10_000.0),
            derived=(0.001, 100_000.0),
            usual=(5.0, 800.0),
            required=True,
        )
    )
    count: int = by_default(
        1, "how many of them", "2", within=(0, 1000), usual=(0, 20), reason="one module"
    )
    mount: str = by_default(
        "arch",
        "where it stands, which says what shades it",
        one_of=MOUNTS,
        reason="the least shaded of the fixed mounts",
    )
    tilt_deg: float = by_default(
        0.0, "slope from the deck", "20 deg", within=(0.0, 90.0), reason="flat on its mount"
    )
    bearing_deg: float = by_default(
        180.0,
        "where it leans to, from the bow, clockwise",
        "180 deg",
        reason="leans aft, if it leans",
        **_BEARING,
    )
    trims_per_day: int = by_default(
        3,
        "how often a day it is turned to the sun",
        "3",
        within=(1, 48),
        reason=f"morning, noon, afternoon; {_PRACTICE}",
    )
    controller: str = by_default(
        "controller",
        "the name of a [[controller]]",
        without="the only one; required if there are several",
    )
    salt_frac: float = by_default(
        0.04,
        "loss by salt and soot",
        "4 %",
        within=(0.0, 0.95),
        usual=(0.0, 0.3),
        reason=f"salt and soot; {_PRACTICE}",
    )
    wiring_frac: float = by_default(
        0.03,
        "loss in the cable at full power",
        "3 %",
        within=(0.0, 0.95),
        usual=(0.0, 0.15),
        reason=f"cable; {_PRACTICE}",
    )
    yield_frac: float = by_default(
        1.0,
        "what it was found to give, as a share of what the model expects",
        "90 %",
        above=(0.0, 3.0),
        usual=(0.4, 1.5),
        without="100 %",
    )
    module_Vmp: float = field(
        metadata=given("the label's voltage at maximum power", "18.0 V", name="vmp", **_STICKER_V)
    )
    module_Imp: float = field(
        metadata=given("the label's current at maximum power", "5.6 A", name="imp", **_STICKER_A)
    )
    module_Voc: float = field(
        metadata=given("the label's open-circuit voltage", "22.0 V", name="voc", **_STICKER_V)
    )
    module_Isc: float = field(
        metadata=given("the label's short-circuit current", "6.0 A", name="isc", **_STICKER_A)
    )
    power_temp_coeff_per_C: float = by_default(
        -0.004,
        "change of power with temperature",
        "-0.4 %/degC",
        name="temp_coefficient",
        unit="frac/degC",
        within=(-0.02, 0.0),
        usual=(-0.006, 0.0),
        reason=f"crystalline silicon; {_PRACTICE}",
    )
    weight_kg: float | None = by_default(
        None,
        "what one panel and its mount weigh",
        "8 kg",
        without="what is usual for its power, in `size`",
        **WEIGHT,
    )
    shades: tuple[ShadeSector, ...] | None = by_default(
        None,
        "a list of sectors",
        '[{ from = "200 deg", to = "320 deg", below = "60 deg" }]',
        name="shade",
        without="the sectors of its mount",
    )

    def __post_init__(self) -> None:
        check_fields(self)
        if not self.module_Vmp < self.module_Voc:
            raise ValueError("module_Vmp must lie below module_Voc")
        if not self.module_Imp < self.module_Isc:
            raise ValueError("module_Imp must lie below module_Isc")
        share = self.module_Vmp * self.module_Imp / self.power_W
        least, most = STICKER_POWER
        if not least <= share <= most:
            raise ValueError(f"module_Vmp times module_Imp is {share:.3g} times power_W")


def panel_of(name: str, *, power_W: float, **given: Any) -> Panel:
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


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Controller:
    """A solar charge controller.

    Attributes
    ----------
    wired : str
        One of WIRED: how the panels of an MPPT controller are wired together, all modules alike.
    idle_A : float
        What it takes from the bank itself, day and night. [A]
    absorption_V, float_V : float or None
        Setpoints at 25 degC; None takes the bank's. [V]
    temp_comp_V_per_C : float or None
        None takes the bank's, for a controller with a sensor; 0 is none. [V/degC]
    """

    name: str = by_default(
        "controller",
        "what panels call it",
        without="controller; required if there are several",
    )
    kind: str = by_default(
        "mppt", "how it works", one_of=CONTROLLERS, reason="the usual kind today"
    )
    wired: str = by_default(
        "parallel",
        "how the panels on an mppt controller are wired together",
        one_of=WIRED,
        without="parallel; a shaded panel holds back no other; common practice, no source",
        reason="a shaded panel holds back no other; common practice, no source",
    )
    efficiency_frac: float = by_default(
        0.95,
        "power out, as a share of power in, of an mppt controller",
        "95 %",
        # One that gives less of what it takes is a slip of the pen; our judgement.
        within=(0.50, 1.0),
        usual=(0.8, 0.995),
        reason=_PRACTICE,
    )
    drop_V: float = by_default(
        0.4,
        "voltage lost in a pwm controller",
        "0.4 V",
        within=(0.0, 10.0),
        usual=(0.0, 1.5),
        reason=f"pwm switch and diode; {_PRACTICE}",
    )
    rated_A: float | None = by_default(
        None, "the current that it can pass", "20 A", above=(0.0, 1_000.0), without="no limit"
    )
    idle_A: float = by_default(
        0.015,
        "what it draws itself",
        "15 mA",
        within=(0.0, 5.0),
        usual=(0.0, 0.3),
        reason=_PRACTICE,
    )
    absorption_V: float | None = field(default=None, metadata=ABSORPTION)
    float_V: float | None = field(default=None, metadata=FLOAT)
    temp_comp_V_per_C: float | None = field(default=None, metadata=SENSOR)

    def __post_init__(self) -> None:
        check_fields(self)
