"""The curves of a chemistry: how its voltage, its resistance and its reach move."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ReachableShare:
    """Share of the capacity that can be reached, by the bank's temperature.

    Attributes
    ----------
    bank_C : tuple of float
        Temperatures, rising. [degC]
    share_frac : tuple of float
        Share at each of them, straight lines between. [-]
    """

    bank_C: tuple[float, ...]
    share_frac: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltageCurves:
    """The curves of one chemistry, per 12 V block; resistances times ampere-hours of capacity.

    A 200 Ah bank has half the resistance of a 100 Ah bank, so what is written here is their
    product. `powersim.physics.bank` turns it into the bank's own ohms.

    Attributes
    ----------
    emf_knots : tuple of (float, float)
        State of charge and rested open-circuit voltage, soc 0 first and 1 last; straight lines
        between. [-, V]
    discharge_ohm_Ah, discharge_rise_ohm_Ah : float
        d0 and d1 of the discharge resistance (d0 + d1 / soc^1.5) / capacity. [ohm Ah]
    charge_ohm_Ah, charge_rise_ohm_Ah : float
        c0 and c1 of the charge resistance (c0 + c1 / (e - soc)^1.5) / capacity. [ohm Ah]
    charge_end_soc : float
        e, above 1: where the charge resistance would rise without end. [-]
    discharge_per_C, charge_per_C : float
        Relative rise of these resistances for each degree below 25 degC.
    reachable : ReachableShare
        How much of the capacity a cold bank gives.
    least_charge_C : float or None
        Below it the bank must not be charged; None for no such limit. [degC]
    """

    emf_knots: tuple[tuple[float, float], ...]
    discharge_ohm_Ah: float
    discharge_rise_ohm_Ah: float
    charge_ohm_Ah: float
    charge_rise_ohm_Ah: float
    charge_end_soc: float
    discharge_per_C: float
    charge_per_C: float
    reachable: ReachableShare
    least_charge_C: float | None = None

    def __post_init__(self) -> None:
        socs = [soc for soc, _ in self.emf_knots]
        volts = [volt for _, volt in self.emf_knots]
        if socs != sorted(set(socs)) or socs[0] != 0 or socs[-1] != 1:
            raise ValueError("emf_knots must rise in soc from 0 to 1")
        if volts != sorted(set(volts)):
            raise ValueError("emf_knots must rise in voltage")
        if not self.charge_end_soc > 1:
            raise ValueError(f"charge_end_soc must be above 1, got {self.charge_end_soc!r}")
