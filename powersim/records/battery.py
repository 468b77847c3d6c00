"""The battery bank, and which voltages it can be charged at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from powersim.records.bank_place import BILGE, BankPlace
from powersim.records.chemistry import CHEMISTRIES, Chemistry
from powersim.records.cycle_life import cycle_life_fault
from powersim.records.declared import WEIGHT, FieldError, by_default, check_fields, given
from powersim.records.described import described
from powersim.records.rested_points import rested_fault

READINGS = ("volts", "monitor")
#: How far below its absorption voltage a 12 V bank that takes little still counts as full. [V]
FULL_MARGIN_V = 0.25
NOMINAL_V = (12.0, 24.0, 36.0, 48.0)
#: Below and above these is a slip of the unit or of the point, and no bank; `size` and a log go
#: further. Our judgement. [Ah]
_RATED = {"within": (1.0, 20_000.0), "derived": (0.02, 100_000.0), "usual": (40.0, 2_000.0)}
#: The time in which each rated capacity is drawn. [h]
RATED_IN_H = {"capacity_Ah": 20, "capacity_10h_Ah": 10, "capacity_5h_Ah": 5}
_BY_PEUKERT = "unknown; `peukert` is used"


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Battery:
    """A battery bank as the model sees it. `battery_of` fills in what a chemistry implies.

    Attributes
    ----------
    capacity_Ah : float
        The label's capacity at the 20-hour rate and 25 degC. [Ah]
    nominal_V : float
        12 or 24, and so on in twelves. All other voltages here are already scaled to it. [V]
    health_doubt_frac : float or None
        How far health_frac may be off, one standard deviation; None for what is usual for its
        chemistry. [-]
    soc_at_departure, floor_soc, flat_soc : float
        Share of capacity_Ah * health_frac. [-]
    cutout_V : float
        Voltage under load at which electronics drop out, or the protection opens. [V]
    self_discharge_frac_per_month : float
        Share of the charge held that is lost in 30 days. [-]
    charge_efficiency_frac : float
        Ampere-hours out over ampere-hours in, over a cycle from the floor to full. [-]
    peukert_exponent : float
        Of Peukert's law; used unless a second rated capacity is given. [-]
    capacity_10h_Ah, capacity_5h_Ah : float or None
        Second rated capacity, if known. [Ah]
    absorption_V, float_V : float
        The chemistry's own charging voltages at 25 degC. [V]
    temp_comp_V_per_C : float
        How these move with the bank's temperature, for a charger with a sensor. [V/degC]
    full_tail_frac : float
        Current into the bank, as a share of capacity per hour, below which it counts as full. [-]
    cycle_life : tuple of (float, float)
        Depth of a cycle as a share of capacity_Ah, and how many the bank lasts; shallowest first.
    rested : tuple of (float, float)
        The sailor's own points: charge and volts at rest, lowest charge first. They narrow how far
        a reading by volts errs. [-], [V]
    place : BankPlace
        Where it stands, which says how warm it is.
    weight_kg : float or None
        Of the whole bank, if known; only `size` looks at it. [kg]
    """

    chemistry: str = field(
        metadata=given("what the bank is made of", one_of=tuple(CHEMISTRIES), required=True)
    )
    capacity_Ah: float = field(
        metadata=given("charge at the 20-hour rate", "220 Ah", required=True, **_RATED)
    )
    capacity_10h_Ah: float | None = by_default(
        None, "charge at the 10-hour rate", "200 Ah", without=_BY_PEUKERT, **_RATED
    )
    capacity_5h_Ah: float | None = by_default(
        None, "charge at the 5-hour rate", "180 Ah", without=_BY_PEUKERT, **_RATED
    )
    peukert_exponent: float = field(
        metadata=given(
            "the Peukert exponent, from 1 to 1.9",
            "1.2",
            name="peukert",
            within=(1.0, 1.9),
            usual=(1.0, 1.4),
        )
    )
    nominal_V: float = by_default(
        12.0,
        "voltage of the whole bank",
        says="12 V, 24 V, 36 V or 48 V",
        above=(0.0, 96.0),
        reason="most small boats",
    )
    health_frac: float = field(
        metadata=given(
            "the share of the label's capacity that is left",
            "85 %",
            within=(0.1, 1.2),
            derived=(0.05, 1.2),  # half of the bank can fail
            usual=(0.5, 1.05),
        )
    )
    health_doubt_frac: float | None = by_default(
        None,
        "how far your figure of its health may be off: in 2 boats of 3 it is less",
        "3 %",
        name="health_doubt",
        unit="frac",
        within=(0.0, 0.3),
        without="10 % for lead-acid, 5 % for lithium; a slow discharge with a counter tells better",
    )
    soc_at_departure: float = by_default(
        1.0,
        "charge when you leave",
        "100 %",
        name="at_departure",
        unit="frac",
        within=(0.0, 1.0),
        reason="leaves fully charged",
    )
    floor_soc: float = field(
        metadata=given("the lowest charge that you plan for", "50 %", within=(0.0, 1.0))
    )
    flat_soc: float = field(
        metadata=given(
            "charge at which the bank counts as flat, below the floor", "20 %", within=(0.0, 1.0)
        )
    )
    cutout_V: float = field(
        metadata=given(
            "voltage under load at which electronics drop out", "11.5 V", above=(0.0, 120.0)
        )
    )
    self_discharge_frac_per_month: float = field(
        metadata=given(
            "share of its charge lost in a month at rest",
            "5 %",
            within=(0.0, 0.99),
            usual=(0.0, 0.20),
        )
    )
    standby_A: float = field(
        metadata=given(
            "what the bank's own protection takes", "30 mA", within=(0.0, 5.0), usual=(0.0, 0.3)
        )
    )
    charge_efficiency_frac: float = field(
        metadata=given(
            "ampere-hours out, as a share of those put in",
            "88 %",
            within=(0.5, 1.0),
            usual=(0.7, 1.0),
        )
    )
    absorption_V: float = field(
        metadata=given("charging voltage at 25 degC", "14.4 V", above=(0.0, 120.0))
    )
    float_V: float = field(
        metadata=given("holding voltage at 25 degC", "13.5 V", above=(0.0, 120.0))
    )
    temp_comp_V_per_C: float = field(
        metadata=given(
            "change of the charging voltage with temperature, on 12 V",
            "-30 mV/degC",
            says="change of the charging voltage with temperature, for example -30 mV/degC",
            within=(-1.0, 1.0),
        )
    )
    full_tail_frac: float = field(
        metadata=given(
            "current that counts as full, as a share of capacity",
            "2 %",
            above=(0.0, 0.2),
            usual=(0.003, 0.1),
        )
    )
    cycle_life: tuple[tuple[float, float], ...] = field(
        metadata=given("cycles to the end of its life by depth", "1200 at 30 %; 700 at 50 %")
    )
    reading: str = by_default(
        "volts",
        "how you read its charge",
        one_of=READINGS,
        says=f"how you read its charge: {' or '.join(READINGS)}",
        reason="a voltmeter is aboard; a monitor may not be",
    )
    rested: tuple[tuple[float, float], ...] = by_default(
        (),
        "its volts at rest at known charges, read on your own meter",
        "12.71 V at 100 %; 12.20 V at 50 %",
        without="those usual for its chemistry, from which banks and meters differ",
    )
    place: BankPlace = field(
        default=BILGE,
        metadata=given(
            "how warm the bank is",
            "12 degC; or where it stands, for example cabin, or bilge, at least 5 degC if it is "
            "heated",
            name="temperature",
            reason="low in the boat: 3 degC above the air, or halfway to the cabin_temp of the "
            "leg; common practice, no source",
        ),
    )
    weight_kg: float | None = by_default(
        None,
        "what the whole bank weighs",
        "58 kg",
        without="what is usual for its chemistry, in `size`",
        **WEIGHT,
    )

    def __post_init__(self) -> None:
        check_fields(self)
        if self.nominal_V not in NOMINAL_V:
            raise FieldError("nominal_V", self.nominal_V, "12, 24, 36 or 48")
        for fast, slow in unfit_ratings({name: getattr(self, name) for name in RATED_IN_H}):
            raise ValueError(
                f"{fast} does not fit {slow}, got {getattr(self, fast)!r} and "
                f"{getattr(self, slow)!r}"
            )
        if not 0 <= self.flat_soc < self.floor_soc < 1:
            raise ValueError(
                f"flat_soc must lie below floor_soc, got {self.flat_soc!r} and {self.floor_soc!r}"
            )
        if not 0 < self.cutout_V < self.float_V <= self.absorption_V:
            raise ValueError("cutout_V, float_V and absorption_V must rise in this order")
        for name in ("absorption_V", "float_V", "cutout_V", "temp_comp_V_per_C"):
            fault = impossible_voltage(
                name, getattr(self, name), chemistry=self.chemistry, blocks=self.blocks
            )
            if fault is not None:
                raise ValueError(fault)
        fault = cycle_life_fault(self.cycle_life)
        if fault is not None:
            raise ValueError(f"cycle_life has {fault}")
        fault = rested_fault(self.rested, self.traits, blocks=self.blocks)
        if fault is not None:
            raise ValueError(f"rested has {fault}")

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
    def capacity_sd(self) -> float:
        """How far its capacity may be off: standard deviation of the logarithm. [-]"""
        usual = self.traits.spread.capacity_log
        return usual if self.health_doubt_frac is None else self.health_doubt_frac

    @property
    def second_ratings(self) -> bool:
        """Whether another capacity than the 20-hour one is known, and stands for the exponent."""
        return self.capacity_10h_Ah is not None or self.capacity_5h_Ah is not None

    @property
    def blocks(self) -> float:
        """How many 12 V blocks stand in series: the factor on every 12 V figure."""
        return self.nominal_V / 12.0

    @property
    def full_V(self) -> float:
        """Voltage from which a small current means full, at 25 degC. [V]"""
        return self.absorption_V - FULL_MARGIN_V * self.blocks


def unfit_ratings(rated_Ah: Mapping[str, float | None]) -> list[tuple[str, str]]:
    """Rated capacities that do not fit: a faster discharge gives less, but at more amperes.

    Parameters
    ----------
    rated_Ah : mapping of str to float or None
        By field of RATED_IN_H; None and what is not there is unknown. [Ah]

    Returns
    -------
    list of (str, str)
        Each field at fault, and that of the next slower discharge.

    Examples
    --------
    >>> unfit_ratings({"capacity_Ah": 200.0, "capacity_5h_Ah": 50.0})
    [('capacity_5h_Ah', 'capacity_Ah')]
    """
    known = [(name, h, Ah) for name, h in RATED_IN_H.items() if (Ah := rated_Ah.get(name))]
    return [
        (fast, slow)
        for (slow, slow_h, slow_Ah), (fast, fast_h, fast_Ah) in pairwise(known)
        if not slow_Ah / slow_h * fast_h < fast_Ah <= slow_Ah
    ]


def with_capacity(battery: Battery, capacity_Ah: float) -> Battery:
    """A bank of another size; second rated capacities go with the first.

    Parameters
    ----------
    battery : Battery
        The bank as it is.
    capacity_Ah : float
        At the 20-hour rate. [Ah]
    """
    ratio = capacity_Ah / battery.capacity_Ah
    more = {name: getattr(battery, name) for name in RATED_IN_H if name != "capacity_Ah"}
    # 220 times 250 / 220 is above 250 in its last digit.
    scaled = {name: Ah and min(Ah * ratio, capacity_Ah) for name, Ah in more.items()}
    return replace(battery, capacity_Ah=capacity_Ah, **scaled)


_VOLTAGES = ("cutout_V", "absorption_V", "float_V", "temp_comp_V_per_C")


def chemistry_default(chemistry: str, field: str, *, nominal_V: float = 12.0) -> tuple[Any, str]:
    """A chemistry's default for one field of Battery, scaled to the bank, and its reason."""
    value, reason = CHEMISTRIES[chemistry].defaults[field]
    return (value * nominal_V / 12.0 if field in _VOLTAGES else value), reason


def battery_of(
    chemistry: str, *, capacity_Ah: float, nominal_V: float = 12.0, **given: Any
) -> Battery:
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
    field: str,
    value: float,
    *,
    chemistry: str,
    blocks: float,
    drop_V: float = 0.0,
    low_too: bool = True,
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
