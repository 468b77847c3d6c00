"""A rule's levels as the instruments aboard show them: volts, amperes, hours, a counter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.alternator import bank_setpoint_V
from powersim.physics.rest import CLEARED_FRAC
from powersim.physics.voltage import charge_current_A, coulombic_frac
from powersim.planning.rule_candidates import least_start
from powersim.records import Boat, ChargingRule
from powersim.simulation.allowed import reading_steps
from powersim.simulation.reading import anew_soc, told_V
from powersim.simulation.usual_load import mean_load_A, usual_load_A

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

#: Where the bank takes less than this share of the alternator's output, the ammeter shows it. [-]
_TAPERED_FRAC = 0.9
#: What the sun leaves on a bank is told of from here on. [-]
_WORTH_TELLING_SOC = 0.03
#: Step of charge within a run. [-]
_STEP_SOC = 0.0025


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelValues:
    """What the boat's panel shows when a rule says start, and when it says stop.

    Attributes
    ----------
    start_V : float or None
        Voltage at the start level, at the usual load before dawn with nothing charging; None where
        volts say nothing. [V]
    usual_A : float
        The usual load before dawn. [A]
    stop_A : float or None
        Current into the bank at the stop level, where it has tapered by then; None where the
        alternator still gives its whole output. [A]
    stop_V : float or None
        The regulator's voltage at the bank, with `stop_A`. [V]
    run_h : float or None
        Time from the start level to the stop; None where the longest run does not get there, and
        where no level ends a run. [h]
    counter_Ah : float
        Capacity to set in a battery monitor, so that its per cent are those of the rule. [Ah]
    wait_V : float or None
        Voltage up to which a run may wait, as `start_V`; None for a rule that does not. [V]
    after_sun_h : tuple of float
        Readings by volts, ship's time, so soon after the sun that the bank looks fuller. [h]
    after_sun_soc : float
        By how much at most, in average weather. [-]
    clears_Ah : float
        What takes that off, once it is drawn. [Ah]
    """

    start_V: float | None
    usual_A: float
    stop_A: float | None
    stop_V: float | None
    run_h: float | None
    counter_Ah: float
    wait_V: float | None = None
    after_sun_h: tuple[float, ...] = ()
    after_sun_soc: float = 0.0
    clears_Ah: float = 0.0


def panel_values(boat: Boat, rule: ChargingRule, prepared: Prepared) -> PanelValues:
    """Translate a rule's levels into what the instruments show.

    Parameters
    ----------
    boat : Boat
        With an alternator that the engine drives.
    rule : ChargingRule
        A rule that runs the engine.
    prepared : Prepared
        The passage, for its usual loads and the temperature of the bank.

    Notes
    -----
    The voltage is the bank's open-circuit voltage, or the sailor's own, less the sag that the usual
    load causes, at the passage's mean temperature. How far off a charge is that is read by it:
    docs/model/reading.md. A lithium iron phosphate bank shows nearly the same volts from 20 to 90
    per cent.
    """
    bank, battery = prepared.plant.bank, boat.battery
    bank_C = float(prepared.sky.bank_C.mean())
    alternator = boat.driven_alternator
    assert alternator is not None, "a rule that runs the engine has something to charge with"
    regulator_V = bank_setpoint_V(alternator, battery, bank_C=bank_C)[0]
    spare_A = alternator.charging_A - mean_load_A(prepared)
    run_h, last_A = _run(bank, rule, bank_C=bank_C, regulator_V=regulator_V, spare_A=spare_A)
    tapered = run_h is not None and last_A < _TAPERED_FRAC * spare_A
    return PanelValues(
        start_V=None if battery.traits.mute_soc else shown_V(prepared, rule.start_soc),
        usual_A=usual_load_A(prepared),
        stop_A=last_A if tapered else None,
        stop_V=regulator_V if tapered else None,
        run_h=run_h,
        counter_Ah=battery.real_capacity_Ah,
        wait_V=(
            None
            if battery.traits.mute_soc or rule.wait_below_soc is None
            else shown_V(prepared, rule.wait_below_soc)
        ),
        **(_after_the_sun(rule, prepared) if battery.volts_tell else {}),
    )


def shown_V(prepared: Prepared, soc: float) -> float:
    """What the voltmeter shows before dawn, with the usual load on and nothing charging.

    Parameters
    ----------
    prepared : Prepared
        The passage, for its usual load and the bank's mean temperature.
    soc : float
        State of charge. [-]

    Returns
    -------
    float
        Voltage of the bank. [V]
    """
    return told_V(prepared, soc)


def keep_V(prepared: Prepared, boat: Boat) -> float | None:
    """What the voltmeter shows before dawn at the least charge to keep.

    Parameters
    ----------
    prepared : Prepared
        The passage, for its usual load and the bank's mean temperature.
    boat : Boat
        For the floor, and the charge that her engine needs to start.

    Returns
    -------
    float or None
        As `shown_V`; None where volts are not read or say nothing. [V]
    """
    return shown_V(prepared, least_start(boat)) if boat.battery.volts_tell else None


def _after_the_sun(rule, prepared):
    """The fields that tell of readings soon after the sun."""
    fuller_soc = anew_soc(prepared)[0]
    most_soc = {}
    for at_h in rule.read_at_h:
        reads = reading_steps((at_h,), prepared.sun_track, prepared.sun_steps) > 0.0
        most_soc[at_h] = float(fuller_soc[reads].max(initial=0.0))
    told = {at_h: soc for at_h, soc in most_soc.items() if soc >= _WORTH_TELLING_SOC}
    return {
        "after_sun_h": tuple(told),
        "after_sun_soc": max(told.values(), default=0.0),
        "clears_Ah": CLEARED_FRAC * prepared.plant.bank.capacity_Ah,
    }


def _run(bank, rule, *, bank_C, regulator_V, spare_A):
    """How long a run to the stop takes, and the current into the bank at its end."""
    run_h, into_A = 0.0, spare_A
    if rule.stop_soc is None:  # no level ends it
        return None, 0.0
    for soc in np.arange(rule.start_soc, rule.stop_soc - 1e-9, _STEP_SOC).tolist():
        into_A = min(spare_A, charge_current_A(bank, soc, bank_C, volts=regulator_V))
        if not into_A > 0.0:
            return None, 0.0
        step_soc = min(_STEP_SOC, rule.stop_soc - soc)
        run_h += step_soc * bank.capacity_Ah / (into_A * coulombic_frac(bank, soc))
        if run_h > rule.longest_h:
            return None, 0.0
    return run_h, into_A
