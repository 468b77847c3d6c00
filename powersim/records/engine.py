"""Engine, alternator, fuel, and the habits of charging with them."""

from __future__ import annotations

from dataclasses import dataclass, field

from powersim.records.fuel_kinds import FUEL_KINDS
from powersim.records.tank import Tank
from powersim.records.timetable import DailyRun

_PRACTICE = "common practice, no source"
REGULATORS = ("constant", "multi-stage")
START_BATTERIES = ("separate", "shared", "hand")


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternator:
    """The alternator on the engine's belt and its regulator.

    Attributes
    ----------
    charging_A : float
        Hot output at charging revs, engine in neutral. [A]
    motoring_A : float
        Hot output at motoring revs. [A]
    regulator : str
        "constant" or "multi-stage".
    constant_V : float
        Setpoint of a constant regulator, at the alternator. [V]
    absorption_V, float_V : float or None
        Setpoints of a multi-stage regulator, at the alternator; None takes the bank's. [V]
    absorption_h : float
        Multi-stage: longest time at absorption in one run. [h]
    cable_drop_V : float
        Lost between alternator and bank, diode splitter included. [V]
    battery_sensing : bool
        The regulator senses at the bank, and makes up for the drop.
    efficiency_frac : float
        Electrical power out over shaft power in. [-]
    temp_comp_V_per_C : float
        0 without a temperature sensor on the bank.
    nameplate_A : float or None
        What its plate says, if known; only `check` looks at it. [A]
    temperature_controlled : bool
        Its regulator turns it down when it gets hot.
    weight_kg : float or None
        If known; only `size` looks at it. [kg]
    """

    charging_A: float
    motoring_A: float
    regulator: str = field(
        default="constant", metadata={"reason": f"as built into most alternators; {_PRACTICE}"}
    )
    constant_V: float = field(default=14.2, metadata={"reason": f"per 12 V; {_PRACTICE}"})
    absorption_V: float | None = None
    float_V: float | None = None
    absorption_h: float = field(default=4.0, metadata={"reason": _PRACTICE})
    cable_drop_V: float = field(default=0.2, metadata={"reason": f"cable alone; {_PRACTICE}"})
    battery_sensing: bool = field(
        default=False, metadata={"reason": f"not on a plain alternator; {_PRACTICE}"}
    )
    efficiency_frac: float = field(
        default=0.50,
        metadata={"reason": "claw-pole 14 V machine: Neacsu 2020, doi 10.1201/9781003053231-3"},
    )
    temp_comp_V_per_C: float = field(
        default=0.0, metadata={"reason": f"no sensor on a plain alternator; {_PRACTICE}"}
    )
    nameplate_A: float | None = None
    temperature_controlled: bool = False
    weight_kg: float | None = None

    def __post_init__(self):
        if not (self.charging_A >= 0 and self.motoring_A >= 0):
            raise ValueError("charging_A and motoring_A must not be negative")
        if self.regulator not in REGULATORS:
            raise ValueError(f"unknown regulator {self.regulator!r}")
        if not self.constant_V > 0:
            raise ValueError(f"constant_V must be above 0, got {self.constant_V!r}")
        if not self.cable_drop_V >= 0:
            raise ValueError(f"cable_drop_V must not be negative, got {self.cable_drop_V!r}")
        if not self.absorption_h >= 0:
            raise ValueError(f"absorption_h must not be negative, got {self.absorption_h!r}")
        if not 0 < self.efficiency_frac <= 1:
            raise ValueError(
                f"efficiency_frac must be above 0 and at most 1, got {self.efficiency_frac!r}"
            )
        if self.nameplate_A is not None and not self.nameplate_A > 0:
            raise ValueError(f"nameplate_A must be above 0, got {self.nameplate_A!r}")
        if self.weight_kg is not None and not self.weight_kg >= 0:
            raise ValueError(f"weight_kg must not be negative, got {self.weight_kg!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """The engine.

    Attributes
    ----------
    kind : str
        What it burns: "diesel" or "petrol".
    rated_kW : float
        Rated shaft power.
    charging_L_per_h : float
        Burn at charging revs. [L/h]
    charging_burn_loaded : bool
        It was measured with the alternator working, so the belt's share is in it.
    motoring_L_per_h : float
        Burn at cruising revs in gear. [L/h]
    motoring_kn : float
        Speed under power in a calm. [kn]
    rev_share_frac : float
        Charging revs over rated revs. [-]
    belt_share_frac : float
        Share of the engine's power at charging revs that the belt may take. [-]
    slope_L_per_kWh : float
        Extra fuel for each unit of shaft energy; the default is a diesel's. [L/kWh]
    start_battery : str
        "separate", "shared" with the bank, or "hand".
    shared_start_soc : float
        With a shared bank, the charge below which it cannot be started. [-]
    max_heel_deg : float
        Heel above which its oil pump may suck air; a warning. [deg]
    charges_flat_bank : bool
        Whether the alternator can be trusted to excite on a flat bank or an open protection.
    """

    kind: str = field(default="diesel", metadata={"reason": "as in most boats that go far"})
    rated_kW: float
    charging_L_per_h: float
    charging_burn_loaded: bool = False
    motoring_L_per_h: float
    motoring_kn: float = field(default=4.5, metadata={"reason": f"a 9 m hull; {_PRACTICE}"})
    rev_share_frac: float = field(
        default=0.45, metadata={"reason": f"charging revs over rated revs; {_PRACTICE}"}
    )
    belt_share_frac: float = field(
        default=0.80,
        metadata={"reason": f"no engine pulls its utmost for hours, and belts lose; {_PRACTICE}"},
    )
    slope_L_per_kWh: float = field(
        default=FUEL_KINDS["diesel"].slope_L_per_kWh,
        metadata={"reason": FUEL_KINDS["diesel"].slope_reason},
    )
    start_battery: str = field(
        default="separate", metadata={"reason": "a starting battery of its own"}
    )
    shared_start_soc: float = field(default=0.40, metadata={"reason": _PRACTICE})
    max_heel_deg: float = field(default=15.0, metadata={"reason": f"ask the maker; {_PRACTICE}"})
    charges_flat_bank: bool = field(
        default=False, metadata={"reason": f"a flat bank may not excite an alternator; {_PRACTICE}"}
    )

    def __post_init__(self):
        if self.kind not in FUEL_KINDS:
            raise ValueError(f"unknown kind of engine {self.kind!r}")
        for name in ("rated_kW", "charging_L_per_h", "motoring_L_per_h", "motoring_kn"):
            if not getattr(self, name) > 0:
                raise ValueError(f"{name} must be above 0, got {getattr(self, name)!r}")
        for name in ("rev_share_frac", "belt_share_frac"):
            if not 0 < getattr(self, name) <= 1:
                raise ValueError(
                    f"{name} must be above 0 and at most 1, got {getattr(self, name)!r}"
                )
        if not self.slope_L_per_kWh >= 0:
            raise ValueError(f"slope_L_per_kWh must not be negative, got {self.slope_L_per_kWh!r}")
        if self.start_battery not in START_BATTERIES:
            raise ValueError(f"unknown start_battery {self.start_battery!r}")
        if not 0 <= self.shared_start_soc <= 1:
            raise ValueError(f"shared_start_soc must be 0 to 1, got {self.shared_start_soc!r}")

    @property
    def least_start_soc(self) -> float:
        """Charge of the bank below which it does not start; 0 where the bank is not asked. [-]"""
        return self.shared_start_soc if self.start_battery == "shared" else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuel:
    """Diesel or petrol aboard at departure and what must be left.

    Attributes
    ----------
    tank_L : float
        What the tank holds. [L]
    unusable_frac : float
        Share of the tank that the pick-up cannot reach. [-]
    jerrycans_L : float
        In cans at departure, all of it usable. [L]
    aboard_L : float
        In the tank and the cans at departure. [L]
    reserve_L : float
        Must be left at landfall. [L]
    shape : Tank or None
        What a depth on the dip stick means, if known.
    """

    tank_L: float
    unusable_frac: float = field(
        default=0.05, metadata={"reason": f"below the pick-up; {_PRACTICE}"}
    )
    jerrycans_L: float = field(default=0.0, metadata={"reason": "no cans named"})
    aboard_L: float
    reserve_L: float
    shape: Tank | None = None

    def __post_init__(self):
        if not self.tank_L > 0:
            raise ValueError(f"tank_L must be above 0, got {self.tank_L!r}")
        if not 0 <= self.unusable_frac < 1:
            raise ValueError(f"unusable_frac must be 0 to 1, got {self.unusable_frac!r}")
        if not self.jerrycans_L >= 0:
            raise ValueError(f"jerrycans_L must not be negative, got {self.jerrycans_L!r}")
        if not 0 <= self.aboard_L <= self.tank_L + self.jerrycans_L:
            raise ValueError("aboard_L must be 0 to what tank and cans hold")
        if not 0 <= self.reserve_L <= self.aboard_L:
            raise ValueError("reserve_L must be 0 to aboard_L")

    @property
    def unusable_L(self) -> float:
        """What the pick-up cannot reach. [L]"""
        return min(self.tank_L * self.unusable_frac, self.aboard_L)

    @property
    def usable_L(self) -> float:
        """What can be burnt, the reserve included. [L]"""
        return self.aboard_L - self.unusable_L


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargingRule:
    """When the engine is run to charge.

    Attributes
    ----------
    by_engine : bool
        False: the engine is never run to charge.
    start_soc, stop_soc : float
        Start at or below, stop at or above. [-]
    hours_h : tuple of (float, float)
        Ship's time between which it may run; an end before its start spans midnight. [h]
    shortest_h, longest_h : float
        Bounds of one run. [h]
    full_every_days : float or None
        Run on to a full charge at least this often; None for never.
    daily : tuple of DailyRun
        Runs by the clock, whatever the bank holds.
    """

    by_engine: bool = field(
        default=True, metadata={"reason": "the engine charges when the rule says so"}
    )
    start_soc: float
    stop_soc: float
    hours_h: tuple[float, float] = field(
        default=(8.0, 20.0), metadata={"reason": "waking hours, ship's time"}
    )
    shortest_h: float = field(
        default=0.5, metadata={"reason": f"an engine should warm through; {_PRACTICE}"}
    )
    longest_h: float = field(
        default=4.0,
        metadata={"reason": f"light load wears an engine; {_PRACTICE}"},
    )
    full_every_days: float | None = None
    daily: tuple[DailyRun, ...] = ()

    def __post_init__(self):
        if not 0 <= self.start_soc < self.stop_soc <= 1:
            raise ValueError("start_soc must lie below stop_soc, both 0 to 1")
        if not 0 < self.shortest_h <= self.longest_h <= 24:
            raise ValueError(
                "shortest_h must be above 0 and at most longest_h, and that at most 24"
            )
        start_h, end_h = self.hours_h
        if not (0 <= start_h < 24 and 0 <= end_h <= 24 and start_h != end_h):
            raise ValueError(f"hours_h must lie in 0 to 24, got {self.hours_h!r}")
        if self.full_every_days is not None and not self.full_every_days > 0:
            raise ValueError(f"full_every_days must be above 0, got {self.full_every_days!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shedding:
    """What the sailor switches off as the bank falls; None for never.

    Attributes
    ----------
    comfort_below_soc, useful_below_soc : float or None
        Charge at or below which loads of that priority are dropped. [-]
    restore_above_frac : float
        They come back this far above that level. [-]
    """

    comfort_below_soc: float | None = None
    useful_below_soc: float | None = None
    restore_above_frac: float = field(
        default=0.05, metadata={"reason": f"keeps loads from flapping; {_PRACTICE}"}
    )

    def __post_init__(self):
        for name in ("comfort_below_soc", "useful_below_soc"):
            value = getattr(self, name)
            if value is not None and not 0 <= value <= 1:
                raise ValueError(f"{name} must be 0 to 1, got {value!r}")
        if not self.restore_above_frac >= 0:
            raise ValueError(
                f"restore_above_frac must not be negative, got {self.restore_above_frac!r}"
            )
