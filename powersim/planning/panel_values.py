"""A rule's levels as the instruments aboard show them: volts, amperes, minutes, a counter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics import bank as physics
from powersim.physics.alternator import bank_setpoint_V
from powersim.physics.voltage import charge_current_A, coulombic_frac, discharge_resistance_ohm
from powersim.planning.rule_candidates import least_start
from powersim.records import Boat, ChargingRule
from powersim.voyage.ship_time import in_hours

if TYPE_CHECKING:
    from powersim.simulation.prepare import Prepared

#: Ship's time before dawn, when the bank has long not been charged. [h]
BEFORE_DAWN_h = (3.0, 6.0)
#: A bank that takes less than this share of what the alternator could give shows it on the
#: ammeter. [-]
_TAPERED_FRAC = 0.9
#: How far below the start level a second run is told: about what a night takes. [-]
LOWER_SOC = 0.10
#: Step of charge by which a run is followed. [-]
_STEP_SOC = 0.0025


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelValues:
    """What the boat's panel shows when a rule says start, and when it says stop.

    Attributes
    ----------
    start_V : float or None
        At the usual load before dawn with nothing charging; None where volts say nothing. [V]
    usual_A : float
        That load. [A]
    stop_A : float or None
        Into the bank at the regulator's voltage, where the current has tapered by then; None
        where the alternator still gives all it has. [A]
    stop_V : float or None
        The regulator's voltage at the bank, with `stop_A`. [V]
    run_h : float or None
        From start to stop at the usual load; None where the longest run does not get there. [h]
    lower_soc, lower_V, lower_h : float, float or None, float or None
        The same of a run from LOWER_SOC below the start: nights go on after it is passed. [-],
        [V], [h]
    counter_Ah : float
        Capacity that a monitor is set to, for its per cent to be those of the rule. [Ah]
    """

    start_V: float | None
    usual_A: float
    stop_A: float | None
    stop_V: float | None
    run_h: float | None
    lower_soc: float
    lower_V: float | None
    lower_h: float | None
    counter_Ah: float


def panel_values(boat: Boat, rule: ChargingRule, prepared: Prepared) -> PanelValues:
    """Translate a rule's levels.

    Parameters
    ----------
    rule : ChargingRule
        One that runs the engine.
    prepared : Prepared
        Of the passage, for its usual loads and the temperature of the bank.

    Notes
    -----
    Volts are the bank's open-circuit voltage less what the usual load takes over its resistance, at
    the passage's mean temperature: the model's own, so good to the 10 per cent of charge that a
    voltmeter is good to anyway. A lithium iron phosphate bank shows nearly the same volts from 20
    to 90 per cent (common practice, no source).
    """
    bank, battery = prepared.plant.bank, boat.battery
    bank_C = float(prepared.sky.bank_C.mean())
    alternator = boat.driven_alternator
    assert alternator is not None, "a rule that runs the engine has something to charge with"
    regulator_V = bank_setpoint_V(alternator, battery, bank_C=bank_C)[0]
    spare_A = alternator.charging_A - _load_A(prepared, slice(None))
    lower_soc = max(rule.start_soc - LOWER_SOC, battery.flat_soc)

    def volts_V(soc):
        return None if battery.traits.mute_soc else shown_V(prepared, soc)

    def run_from(soc):
        return _run(
            bank, rule, from_soc=soc, bank_C=bank_C, regulator_V=regulator_V, spare_A=spare_A
        )

    run_h, last_A = run_from(rule.start_soc)
    tapered = run_h is not None and last_A < _TAPERED_FRAC * spare_A
    return PanelValues(
        start_V=volts_V(rule.start_soc),
        usual_A=usual_load_A(prepared),
        stop_A=last_A if tapered else None,
        stop_V=regulator_V if tapered else None,
        run_h=run_h,
        lower_soc=lower_soc,
        lower_V=volts_V(lower_soc),
        lower_h=run_from(lower_soc)[0],
        counter_Ah=battery.real_capacity_Ah,
    )


def shown_V(prepared: Prepared, soc: float) -> float:
    """What the voltmeter shows before dawn, with the usual load on and nothing charging.

    Parameters
    ----------
    prepared : Prepared
        Of the passage.
    soc : float
        State of charge. [-]

    Returns
    -------
    float
        At the passage's mean temperature of the bank. [V]
    """
    bank, bank_C = prepared.plant.bank, float(prepared.sky.bank_C.mean())
    sag_V = usual_load_A(prepared) * discharge_resistance_ohm(bank, soc, bank_C)
    return float(physics.emf_V(bank, soc) - sag_V)


def keep_V(prepared: Prepared, boat: Boat) -> float | None:
    """What the voltmeter shows before dawn at the least charge to keep.

    Parameters
    ----------
    prepared : Prepared
        Of the passage.

    Returns
    -------
    float or None
        As `shown_V`; None where volts are not read or say nothing. [V]
    """
    return shown_V(prepared, least_start(boat)) if boat.battery.volts_tell else None


def usual_load_A(prepared: Prepared) -> float:
    """Mean draw of all loads before dawn."""
    return _load_A(prepared, in_hours(prepared.track, BEFORE_DAWN_h))


def _load_A(prepared, steps) -> float:
    """Mean draw of all loads over some steps; over all where there are none of these. [A]"""
    signals = prepared.signals
    nominal_V = 12.0 * prepared.plant.bank.blocks
    draw_A = (signals.load_A + signals.load_W / nominal_V).sum(axis=1)[..., 0]
    some = draw_A[steps]
    return float(np.mean(some if some.size else draw_A))


def _run(bank, rule, *, from_soc, bank_C, regulator_V, spare_A):
    """How long a run to the stop takes, and the current into the bank at its end."""
    run_h, into_A = 0.0, spare_A
    for soc in np.arange(from_soc, rule.stop_soc - 1e-9, _STEP_SOC).tolist():
        into_A = min(spare_A, charge_current_A(bank, soc, bank_C, volts=regulator_V))
        if not into_A > 0.0:
            return None, 0.0
        step_soc = min(_STEP_SOC, rule.stop_soc - soc)
        run_h += step_soc * bank.capacity_Ah / (into_A * coulombic_frac(bank, soc))
        if run_h > rule.longest_h:
            return None, 0.0
    return run_h, into_A
