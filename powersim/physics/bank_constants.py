"""A bank as constants: what its formulas need, worked out once from the record."""

from __future__ import annotations

from dataclasses import dataclass

from powersim.physics.wells import WellStep
from powersim.records.brief import brief


@dataclass(frozen=True, slots=True, kw_only=True)
class Bank:
    """Constants of one bank for steps of one length; everything already scaled to the bank.

    Attributes
    ----------
    capacity_Ah : float
        Charge between soc 0 and 1: the 20-hour capacity at 25 degC, health included. [Ah]
    hidden_Ah : float
        Charge in the wells below soc 0, out of reach at the 20-hour rate and never credited. [Ah]
    blocks : float
        12 V blocks in series. [-]
    wells : WellStep
        Constants of the two wells for one step.
    emf_soc, emf_knots_V : tuple of float
        Knots of the open-circuit voltage. [-], [V]
    emf_slopes_V, emf_ends_soc : tuple of float
        Slope of the line that begins at each knot but the last, for a whole capacity, and where it
        ends; the last one at infinity. [V], [-]
    emf_hinges : tuple of (float, float)
        Where its slope changes, and by how much; at soc 0 by the first slope itself. [-], [V]
    discharge_ohm, discharge_rise_ohm, charge_ohm, charge_rise_ohm : float
        Terms of the two resistances at 25 degC, as in VoltageCurves. [ohm]
    charge_end_soc : float
        Where the charge resistance would rise without end. [-]
    discharge_per_C, charge_per_C : float
        Relative rise of the resistances for each degree below 25 degC.
    kept_empty_frac, gassing_frac : float
        Share of a charging current that is stored when empty, and how much less when full. [-]
    least_charge_C : float or None
        Below it the bank must not be charged; None for no such limit. [degC]
    """

    capacity_Ah: float
    hidden_Ah: float
    blocks: float
    wells: WellStep
    emf_soc: tuple[float, ...]
    emf_knots_V: tuple[float, ...]
    emf_slopes_V: tuple[float, ...]
    emf_ends_soc: tuple[float, ...]
    emf_hinges: tuple[tuple[float, float], ...]
    discharge_ohm: float
    discharge_rise_ohm: float
    charge_ohm: float
    charge_rise_ohm: float
    charge_end_soc: float
    discharge_per_C: float
    charge_per_C: float
    kept_empty_frac: float
    gassing_frac: float
    least_charge_C: float | None

    __repr__ = brief

    @property
    def full_Ah(self) -> float:
        """Charge in both wells of a full bank. [Ah]"""
        return self.capacity_Ah + self.hidden_Ah
