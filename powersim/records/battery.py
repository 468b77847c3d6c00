"""The battery bank, and what each chemistry takes for granted."""

from __future__ import annotations

from dataclasses import dataclass

from powersim.records.bank_place import BILGE, BankPlace
from powersim.records.cycle_life import cycle_life_fault
from powersim.records.voltage_ranges import impossible_voltage

_PRACTICE = "common practice, no source"
_CYCLES = f"makers differ by a factor of two; {_PRACTICE}"

#: What the three kinds of lead-acid have in common.
_LEAD_ACID = {
    "health_frac": (0.85, f"a lead-acid bank of unknown age never gives its label; {_PRACTICE}"),
    "floor_soc": (0.50, f"deeper cycles wear lead-acid fast; {_PRACTICE}"),
    "flat_soc": (0.20, f"electronics drop out soon after; {_PRACTICE}"),
    "cutout_V": (11.5, f"most 12 V electronics; {_PRACTICE}"),
    "self_discharge_frac_per_month": (0.02, _PRACTICE),
    "standby_A": (0.0, "nothing on the bank itself"),
    "charge_efficiency_frac": (0.93, f"ampere-hours over a cycle; {_PRACTICE}"),
    "absorption_V": (14.4, _PRACTICE),
    "float_V": (13.5, _PRACTICE),
    "temp_comp_V_per_C": (-0.030, f"per 12 V, from 25 degC; {_PRACTICE}"),
    "full_tail_frac": (0.02, f"tail current that counts as full; {_PRACTICE}"),
    "cycle_life": (((0.3, 1200.0), (0.5, 700.0), (0.8, 400.0)), _CYCLES),
}

#: Per chemistry: field of Battery -> (default, reason). Voltages are for a 12 V bank and scale
#: with the nominal voltage. The only place where these figures are written.
CHEMISTRY_DEFAULTS = {
    "flooded": _LEAD_ACID
    | {
        "self_discharge_frac_per_month": (0.05, _PRACTICE),
        "charge_efficiency_frac": (0.88, f"ampere-hours over a cycle; {_PRACTICE}"),
        "peukert_exponent": (1.20, f"flooded deep-cycle; {_PRACTICE}"),
    },
    "gel": _LEAD_ACID
    | {
        "peukert_exponent": (1.15, f"gel; {_PRACTICE}"),
        "absorption_V": (14.1, f"gel dries out above; {_PRACTICE}"),
        "cycle_life": (((0.3, 1500.0), (0.5, 800.0), (0.8, 450.0)), _CYCLES),
    },
    "agm": _LEAD_ACID
    | {
        "peukert_exponent": (1.10, f"AGM; {_PRACTICE}"),
        "cycle_life": (((0.3, 1300.0), (0.5, 600.0), (0.8, 350.0)), _CYCLES),
    },
    "lifepo4": {
        "health_frac": (0.95, f"lithium of unknown age; {_PRACTICE}"),
        "floor_soc": (0.20, f"leaves a margin before protection opens; {_PRACTICE}"),
        "flat_soc": (0.10, f"protection opens about here; {_PRACTICE}"),
        "cutout_V": (11.2, f"2.8 V a cell, protection opens; {_PRACTICE}"),
        "self_discharge_frac_per_month": (0.02, _PRACTICE),
        "standby_A": (0.030, f"the protection circuit; {_PRACTICE}"),
        "charge_efficiency_frac": (0.99, f"ampere-hours over a cycle; {_PRACTICE}"),
        "peukert_exponent": (1.02, f"lithium hardly minds the rate; {_PRACTICE}"),
        "absorption_V": (14.2, _PRACTICE),
        "float_V": (13.5, _PRACTICE),
        "temp_comp_V_per_C": (0.0, "lithium is charged without temperature compensation"),
        "full_tail_frac": (0.05, f"tail current that counts as full; {_PRACTICE}"),
        "cycle_life": (((0.5, 5000.0), (0.8, 3000.0), (1.0, 2000.0)), _CYCLES),
    },
}
CHEMISTRIES = tuple(CHEMISTRY_DEFAULTS)
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
    value, reason = CHEMISTRY_DEFAULTS[chemistry][field]
    return (value * nominal_V / 12.0 if field in _VOLTAGES else value), reason


def battery_of(chemistry: str, *, capacity_Ah: float, nominal_V: float = 12.0, **given) -> Battery:
    """A Battery with the chemistry's defaults for whatever is not given.

    Examples
    --------
    >>> battery_of("flooded", capacity_Ah=220.0).floor_soc
    0.5
    """
    if chemistry not in CHEMISTRY_DEFAULTS:
        raise ValueError(f"unknown chemistry {chemistry!r}")
    filled = {
        field: chemistry_default(chemistry, field, nominal_V=nominal_V)[0]
        for field in CHEMISTRY_DEFAULTS[chemistry]
    }
    return Battery(
        chemistry=chemistry, capacity_Ah=capacity_Ah, nominal_V=nominal_V, **(filled | given)
    )
