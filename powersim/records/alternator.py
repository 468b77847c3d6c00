"""The alternator on the engine's belt."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from powersim.records.declared import SENSOR, WEIGHT, FieldError, by_default, check_fields, given
from powersim.records.described import described

if TYPE_CHECKING:
    from powersim.records.battery import Battery

_PRACTICE = "common practice, no source"
REGULATORS = ("constant", "multi-stage")
#: A diode splitter's loss for each 12 V; common practice, no source. [V]
SPLITTER_V = 0.6
#: None gives more than its nameplate when hot; twice as much is another machine. [-]
MOST_OF_NAMEPLATE = 2.0
#: `size` and a log make more of an alternator than its own amperes. [A]
_SCALED_A = 100_000.0
_OUTPUT: dict[str, Any] = {
    "within": (0.0, 2_000.0),
    "derived": (0.0, _SCALED_A),
    "without": "a share of the nameplate",
}


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Alternator:
    """The alternator on the engine's belt and its regulator.

    Attributes
    ----------
    charging_A : float
        Hot output at charging revs, engine in neutral. [A]
    constant_V : float
        Setpoint of a constant regulator, at the alternator. [V]
    absorption_V, float_V : float or None
        Setpoints of a multi-stage regulator, at the alternator; None takes the bank's. [V]
    cable_drop_V : float
        Lost between alternator and bank, diode splitter included. [V]
    battery_sensing : bool
        The regulator senses at the bank, and makes up for the drop.
    temp_comp_V_per_C : float
        0 without a temperature sensor on the bank. [V/degC]
    nameplate_A : float or None
        What its plate says, if known; only `check` looks at it. [A]
    temperature_controlled : bool
        Its regulator turns it down when it gets hot.
    weight_kg : float or None
        If known; only `size` looks at it. [kg]
    """

    nameplate_A: float | None = by_default(
        None,
        "the nameplate's current",
        "75 A",
        above=(0.0, 2_000.0),
        derived=(0.0, _SCALED_A),
        without="unknown; then `charging` or `motoring` is required",
    )
    charging_A: float = field(metadata=given("hot output at charging revs", "45 A", **_OUTPUT))
    motoring_A: float = field(metadata=given("hot output when motoring", "55 A", **_OUTPUT))
    regulator: str = by_default(
        "constant",
        "one voltage, or absorption and float",
        one_of=REGULATORS,
        reason=f"as built into most alternators; {_PRACTICE}",
    )
    constant_V: float = by_default(
        14.2,
        "setpoint of a constant regulator",
        "14.2 V",
        name="voltage",
        above=(0.0, 120.0),
        reason=f"per 12 V; {_PRACTICE}",
    )
    absorption_V: float | None = by_default(
        None, "absorption voltage of a multi-stage regulator", "14.4 V", above=(0.0, 120.0)
    )
    float_V: float | None = by_default(
        None, "float voltage of a multi-stage regulator", "13.5 V", above=(0.0, 120.0)
    )
    absorption_h: float = by_default(
        4.0,
        "longest time at absorption voltage in one run",
        "4 h",
        name="absorption_time",
        within=(0.0, 48.0),
        usual=(0.0, 12.0),
        reason=_PRACTICE,
    )
    cable_drop_V: float = by_default(
        0.2,
        "voltage lost in the cable",
        "0.2 V",
        within=(0.0, 10.0),
        derived=(0.0, 10.0 + 4 * SPLITTER_V),  # a splitter's share, of a 48 V bank at most
        usual=(0.0, 1.0),
        reason=f"cable alone; {_PRACTICE}",
    )
    battery_sensing: bool = by_default(
        False,
        "true if the regulator senses at the bank, else false",
        reason=f"not on a plain alternator; {_PRACTICE}",
    )
    efficiency_frac: float = by_default(
        0.50,
        "electrical power, as a share of shaft power",
        "50 %",
        within=(0.1, 1.0),
        usual=(0.3, 0.85),
        reason="claw-pole 14 V machine: Neacsu 2020 (abstract), doi 10.1201/9781003053231-3",
    )
    temp_comp_V_per_C: float = field(
        default=0.0, metadata=SENSOR | {"reason": f"no sensor on a plain alternator; {_PRACTICE}"}
    )
    temperature_controlled: bool = by_default(
        False,
        "true if the regulator limits the output of a hot alternator, else false",
        without="false",
    )
    weight_kg: float | None = by_default(
        None, "what it weighs", "6 kg", without="what is usual for its output, in `size`", **WEIGHT
    )

    def setpoints_V(self, battery: Battery) -> tuple[float, float]:
        """Absorption and float voltage at the bank at 25 degC.

        The same twice for a constant regulator, which has one voltage. A regulator that senses at
        its own terminals leaves the bank short by the cable and the diode splitter.
        """
        lost_V = 0.0 if self.battery_sensing else self.cable_drop_V
        absorption_V, float_V = self.absorption_V, self.float_V
        if self.regulator == "constant":
            absorption_V = float_V = self.constant_V
        return (
            (battery.absorption_V if absorption_V is None else absorption_V) - lost_V,
            (battery.float_V if float_V is None else float_V) - lost_V,
        )

    def fills(self, battery: Battery) -> bool:
        """Whether its regulator lets the bank come to where a small current means full."""
        return self.setpoints_V(battery)[0] >= battery.full_V - 1e-9

    def __post_init__(self) -> None:
        check_fields(self)
        for name in ("charging_A", "motoring_A"):
            most_A = math.inf if self.nameplate_A is None else MOST_OF_NAMEPLATE * self.nameplate_A
            if getattr(self, name) > most_A * (1.0 + 1e-9):  # room for rounding
                raise FieldError(name, getattr(self, name), f"at most {most_A:g} by its nameplate")
