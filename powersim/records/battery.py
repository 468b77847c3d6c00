"""The battery bank, and which voltages it can be charged at."""

from __future__ import annotations

from dataclasses import dataclass

from powersim.records.bank_place import BILGE, BankPlace
from powersim.records.chemistry import CHEMISTRIES, Chemistry
from powersim.records.cycle_life import cycle_life_fault

READINGS = ("volts", "monitor")


@dataclass(frozen=True, slots=True, kw_only=True)
class Battery:
    """A battery bank as the model sees it. `battery_of` fills in what a chemistry implies.

    Attributes
    ----------
    chemistry : str
        One of CHEMISTRIES.
    capacity_Ah : float
        The label's capacity at the 20-hour rate and 25 degC. [Ah]
    nominal_V : float
        12 or 24, and so on in twelves. All other voltages here are already scaled to it. [V]
    health_frac : float
        What is left of the label. [-]
    soc_at_departure, floor_soc, flat_soc : float
        Share of capacity_Ah * health_frac. [-]
    cutout_V : float
        Voltage under load at which electronics drop out, or the protection opens. [V]
    self_discharge_frac_per_month : float
        Share of the charge held that is lost in 30 days. [-]
    standby_A : float
        What the bank's own protection takes. [A]
    charge_efficiency_frac : float
        Ampere-hours out over ampere-hours in, over a cycle from the floor to full. [-]
    peukert_exponent : float
        1 or more; used unless a second rated capacity is given. [-]
    capacity_10h_Ah, capacity_5h_Ah : float or None
        Second rated capacity, if known. [Ah]
    absorption_V, float_V : float
        The chemistry's own charging voltages at 25 degC. [V]
    temp_comp_V_per_C : float
        How these move with the bank's temperature, for a charger with a sensor.
    full_tail_frac : float
        Current into the bank, as a share of capacity per hour, below which it counts as full. [-]
    cycle_life : tuple of (float, float)
        Depth of a cycle as a share of capacity_Ah, and how many the bank lasts; shallowest first.
    reading : str
        How its charge is read aboard: "volts" or "monitor".
    place : BankPlace
        Where it stands, which says how warm it is.
    weight_kg : float or None
        Of the whole bank, if known; only `size` looks at it. [kg]
    """

    chemistry: str
    capacity_Ah: float
    nominal_V: float = 12.0
    health_frac: float
    soc_at_departure: float = 1.0
    floor_soc: float
    flat_soc: float
    cutout_V: float
    self_discharge_frac_per_month: float
    standby_A: float
    charge_efficiency_frac: float
    peukert_exponent: float
    capacity_10h_Ah: float | None = None
    capacity_5h_Ah: float | None = None
    absorption_V: float
    float_V: float
    temp_comp_V_per_C: float
    full_tail_frac: float
    cycle_life: tuple[tuple[float, float], ...]
    reading: str = "volts"
    place: BankPlace = BILGE
    weight_kg: float | None = None

    def __post_init__(self):
        if self.chemistry not in CHEMISTRIES:
            raise ValueError(f"unknown chemistry {self.chemistry!r}")
        if not self.capacity_Ah > 0:  # written so that nan fails too
            raise ValueError(f"capacity_Ah must be above 0, got {self.capacity_Ah!r}")
        if not (self.nominal_V > 0 and self.nominal_V % 12 == 0):
            raise ValueError(f"nominal_V must be 12, 24, 36 or 48, got {self.nominal_V!r}")
        if not 0 < self.health_frac <= 1.2:
            raise ValueError(
                f"health_frac must be above 0 and at most 1.2, got {self.health_frac!r}"
            )
        if not 0 <= self.flat_soc < self.floor_soc < 1:
            raise ValueError(
                f"flat_soc must lie below floor_soc, got {self.flat_soc!r} and {self.floor_soc!r}"
            )
        if not 0 <= self.soc_at_departure <= 1:
            raise ValueError(f"soc_at_departure must be 0 to 1, got {self.soc_at_departure!r}")
        if not 0 < self.charge_efficiency_frac <= 1:
            raise ValueError(
                f"charge_efficiency_frac must be above 0 and at most 1, got "
                f"{self.charge_efficiency_frac!r}"
            )
        if not 1 <= self.peukert_exponent < 2:
            raise ValueError(f"peukert_exponent must be 1 to 2, got {self.peukert_exponent!r}")
        if not 0 <= self.self_discharge_frac_per_month < 1:
            raise ValueError("self_discharge_frac_per_month must be 0 to 1")
        if not self.standby_A >= 0:
            raise ValueError(f"standby_A must not be negative, got {self.standby_A!r}")
        if not 0 < self.cutout_V < self.float_V <= self.absorption_V:
            raise ValueError("cutout_V, float_V and absorption_V must rise in this order")
        for name in ("absorption_V", "float_V", "cutout_V", "temp_comp_V_per_C"):
            fault = impossible_voltage(
                name, getattr(self, name), chemistry=self.chemistry, blocks=self.blocks
            )
            if fault is not None:
                raise ValueError(fault)
        if not self.full_tail_frac > 0:
            raise ValueError(f"full_tail_frac must be above 0, got {self.full_tail_frac!r}")
        fault = cycle_life_fault(self.cycle_life)
        if fault is not None:
            raise ValueError(f"cycle_life has {fault}")
        if self.reading not in READINGS:
            raise ValueError(f"unknown reading {self.reading!r}")
        if self.weight_kg is not None and not self.weight_kg > 0:
            raise ValueError(f"weight_kg must be above 0, got {self.weight_kg!r}")

    @property
    def traits(self) -> Chemistry:
        """All in which its chemistry differs from another."""
        return CHEMISTRIES[self.chemistry]

    @property
    def volts_tell(self) -> bool:
        """Whether its charge is read from a voltmeter that can tell it."""
        return self.reading == "volts" and self.traits.mute_soc is None

    @property
    def real_capacity_Ah(self) -> float:
        """Capacity at the 20-hour rate and 25 degC as the bank is today. [Ah]"""
        return self.capacity_Ah * self.health_frac

    @property
    def blocks(self) -> float:
        """How many 12 V blocks stand in series: the factor on every 12 V figure."""
        return self.nominal_V / 12.0


_VOLTAGES = ("cutout_V", "absorption_V", "float_V", "temp_comp_V_per_C")


def chemistry_default(chemistry: str, field: str, *, nominal_V: float = 12.0) -> tuple[float, str]:
    """A chemistry's default for one field of Battery, scaled to the bank, and its reason."""
    value, reason = CHEMISTRIES[chemistry].defaults[field]
    return (value * nominal_V / 12.0 if field in _VOLTAGES else value), reason


def battery_of(chemistry: str, *, capacity_Ah: float, nominal_V: float = 12.0, **given) -> Battery:
    """A Battery with the chemistry's defaults for whatever is not given.

    Examples
    --------
    >>> battery_of("flooded", capacity_Ah=220.0).floor_soc
    0.5
    """
    if chemistry not in CHEMISTRIES:
        raise ValueError(f"unknown chemistry {chemistry!r}")
    filled = {
        field: chemistry_default(chemistry, field, nominal_V=nominal_V)[0]
        for field in CHEMISTRIES[chemistry].defaults
    }
    return Battery(
        chemistry=chemistry, capacity_Ah=capacity_Ah, nominal_V=nominal_V, **(filled | given)
    )


def impossible_voltage(
    field: str, value: float, *, chemistry: str, blocks: float, drop_V=0.0, low_too=True
) -> str | None:
    """Why a voltage cannot be meant, in words for a record; None where it can.

    Parameters
    ----------
    field : str
        One of those in Chemistry.voltages.
    value : float
        Of a bank or of what charges it. [V]
    chemistry : str
        Of the bank.
    blocks : float
        How many 12 V blocks stand in series. [-]
    drop_V : float
        Lost on the way to the bank, which a setpoint at the source may make up for. [V]
    low_too : bool
        False to pass one that is too low, with which a source does nothing.

    Examples
    --------
    >>> impossible_voltage("absorption_V", 20.0, chemistry="agm", blocks=1.0)
    'absorption_V must be 13.2 to 16 V for agm, got 20.0'
    """
    least_V, most_V = CHEMISTRIES[chemistry].voltages[field].possible_V
    least_V, most_V = least_V * blocks, most_V * blocks + drop_V
    slack_V = 1e-9  # 1.2 times 12 is not quite 14.4
    low_enough = value <= most_V + slack_V  # written so that nan fails too
    if low_enough and (value >= least_V - slack_V or not low_too):
        return None
    return f"{field} must be {least_V:g} to {most_V:g} V for {chemistry}, got {value!r}"
