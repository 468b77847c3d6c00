"""What the panel shows, held against sums by hand."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from builders import boat_of, calm_seas, passage_of

from powersim.physics import bank as physics
from powersim.physics.voltage import discharge_resistance_ohm
from powersim.planning.panel_values import panel_values
from powersim.records import ChargingRule, Load
from powersim.simulation.prepare import prepare
from powersim.simulation.reading import anew_soc

RULE = ChargingRule(start_soc=0.6, stop_soc=0.7)
ONE_LOAD = (Load(name="instruments", draw_A=2.0, priority="essential"),)


def values_of(*, rule=RULE, loads=ONE_LOAD, **boat):
    passage = passage_of(boat=boat_of(**boat), loads=loads)
    prepared = prepare(passage, step_h=1.0)
    return panel_values(passage.boat, rule, prepared), prepared


def test_volts_are_those_at_rest_less_what_the_usual_load_takes_over_the_resistance():
    found, prepared = values_of(panel_W=())
    bank, bank_C = prepared.plant.bank, float(prepared.sky.bank_C.mean())
    at_rest_V = physics.emf_V(bank, 0.6)
    assert found.usual_A == pytest.approx(2.0)
    assert found.start_V == pytest.approx(
        at_rest_V - 2.0 * discharge_resistance_ohm(bank, 0.6, bank_C)
    )
    assert 12.0 < found.start_V < at_rest_V


def test_the_kernel_shows_these_volts_at_night_at_that_charge():
    # One step from rest at the start level, no sun: what the simulation calls the bank's voltage.
    from powersim.simulation.run import run
    from powersim.simulation.state import start_state

    passage = calm_seas(boat={"engine": {}}, loads=ONE_LOAD)
    prepared = prepare(passage)
    found = panel_values(passage.boat, RULE, prepared)
    flows, _ = run(
        prepared.signals.between(0, 1),
        plant=prepared.plant,
        state=start_state(prepared.plant, soc=0.601),
    )
    assert found.start_V == pytest.approx(flows.bank_V[0, 0], abs=0.01)


def test_a_bank_far_from_full_takes_all_and_the_watch_tells_when_to_stop():
    found, prepared = values_of(alternator={"charging_A": 20.0})
    assert found.stop_A is None
    assert found.stop_V is None
    # 10 % of the capacity at 20 A less the load of 2 A, and a little gas.
    plain_h = 0.1 * prepared.plant.bank.capacity_Ah / 18.0
    assert plain_h < found.run_h < 1.15 * plain_h


def test_near_full_the_ammeter_tells_when_to_stop():
    rule = ChargingRule(start_soc=0.85, stop_soc=0.93)
    found, _ = values_of(rule=rule, alternator={"charging_A": 60.0})
    assert found.stop_V == pytest.approx(14.0)  # 14.2 V less the cable's 0.2 V
    assert 0.0 < found.stop_A < 0.9 * 58.0


@pytest.mark.parametrize("constant_V", [12.5, 12.9, 13.5])
def test_a_regulator_that_is_too_low_does_not_get_there_in_the_longest_run(constant_V):
    rule = ChargingRule(start_soc=0.8, stop_soc=0.95)
    found, _ = values_of(rule=rule, alternator={"constant_V": constant_V})
    assert found.run_h is None
    assert found.stop_A is None


def test_lithium_shows_no_volts_to_go_by():
    found, _ = values_of(chemistry="lifepo4")
    assert found.start_V is None
    assert found.counter_Ah == pytest.approx(0.95 * 220.0)
    assert np.isfinite(found.run_h)


def test_a_reading_soon_after_a_summers_sun_is_told_of_and_one_before_dawn_is_not():
    """In June at 40 N the panels still charge at 18:00, so that the bank looks fuller by what
    twelve minutes without them leave; where loads take all that the panel gives, nothing does.
    """
    twice = replace(RULE, read_at_h=(4.0, 18.0))
    june = {"depart_utc": datetime(2026, 6, 5, 9, tzinfo=UTC), "ship_offset_h": -2.0}

    def told(load_A, **boat):
        loads = (Load(name="all", draw_A=load_A, priority="essential"),)
        passage = passage_of(boat=boat_of(**boat), loads=loads, **june)
        prepared = prepare(passage, step_h=1.0)
        return panel_values(passage.boat, twice, prepared), prepared

    found, prepared = told(1.0)
    mean_soc = anew_soc(prepared)[0]
    assert found.after_sun_h == (18.0,)
    assert found.after_sun_soc in mean_soc
    assert 0.03 < found.after_sun_soc < 0.20
    assert found.clears_Ah == pytest.approx(1.87)  # 1 % of 85 % of 220 Ah
    for heavy in (told(12.0)[0], told(1.0, battery={"reading": "monitor"})[0]):
        assert (heavy.after_sun_h, heavy.after_sun_soc) == ((), 0.0)
