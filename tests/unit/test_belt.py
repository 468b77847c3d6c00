"""What the engine has for its alternator, against hand arithmetic; facts of the trade said so."""

from dataclasses import replace

import pytest
from builders import boat_of, engine_of, passage_of

from powersim.inputs.cautions import cautions_of
from powersim.planning.size_choices import boat_with, choice_of
from powersim.records import Alternator, battery_of
from powersim.records.belt import charging_W, driven, most_A, motoring_W, wanted_W
from powersim.simulation.plant import plant_of
from powersim.simulation.result import simulate

FLOODED = battery_of("flooded", capacity_Ah=220.0)
#: What the demo's alternator would be with twice the nameplate: 60 and 75 % of 150 A.
LARGE = Alternator(charging_A=90.0, motoring_A=112.5, nameplate_A=150.0)


def small(**given):
    """A diesel of 6 kW that burns what such a one is assumed to."""
    return engine_of(**({"rated_kW": 6.0, "motoring_L_per_h": 0.9} | given))


def test_the_shaft_at_charging_revs_by_hand():
    """6 kW at 45 % of the revs and constant torque is 2.7 kW; 80 % of it is 2.16 kW. A claw-pole
    machine of 50 % at 14.2 V asks 14.2 / 0.5 = 28.4 W for each ampere: 76.06 A.
    """
    assert charging_W(small()) == pytest.approx(2160.0)
    assert wanted_W(LARGE, FLOODED, 90.0) == pytest.approx(90.0 * 28.4)
    assert most_A(LARGE, FLOODED, 2160.0) == pytest.approx(76.056, abs=1e-3)
    assert driven(LARGE, small(), FLOODED).charging_A == pytest.approx(76.056, abs=1e-3)
    assert driven(LARGE, small(belt_share_frac=1.0), FLOODED).charging_A == 90.0


def test_the_voltage_is_that_at_the_alternator():
    """A multi-stage regulator of the bank's own 14.4 V that senses over 0.4 V of cable: 14.8 V."""
    sensing = replace(LARGE, regulator="multi-stage", battery_sensing=True, cable_drop_V=0.4)
    assert wanted_W(sensing, FLOODED, 10.0) == pytest.approx(10.0 * 14.8 / 0.5)
    assert wanted_W(replace(LARGE, battery_sensing=True), FLOODED, 10.0) == pytest.approx(288.0)


def test_a_burn_of_full_throttle_leaves_nothing():
    assert motoring_W(small(motoring_L_per_h=2.7)) == 0.0


def test_a_usual_boat_keeps_her_alternator_to_the_last_digit():
    boat = boat_of()
    assert boat.driven_alternator is boat.alternator
    assert plant_of(boat, step_h=0.25).alternator is boat.alternator


def test_check_tells_what_is_wanted_and_what_there_is():
    boat = replace(boat_of(engine={"rated_kW": 6.0, "motoring_L_per_h": 0.9}), alternator=LARGE)
    at_rest, in_gear = (
        caution.text
        for caution in cautions_of(passage_of(boat=boat))
        if "take" in caution.text and "shaft" in caution.text
    )
    assert at_rest == (
        "at charging revs the alternator's 90 A take 2.6 kW from the shaft, and the engine has "
        "2.2 kW for it (6 kW at 45 % of its revs, 80 % of that); powersim counts on 76 A"
    )
    assert in_gear == (
        "at cruising revs the alternator's 112 A take 3.2 kW from the shaft, and the engine has "
        "2.1 kW for it (6 kW, less what the propeller takes at 0.9 L/h); powersim counts on 73 A"
    )


def test_a_larger_alternator_on_a_small_engine_gains_nothing():
    """Lithium takes all it is given, so that what the engine has is what counts: 76 A into 400 Ah
    from half full stay far below the regulator's voltage for an hour.
    """
    boat = boat_of(
        chemistry="lifepo4",
        capacity_Ah=400.0,
        battery={"soc_at_departure": 0.5},
        engine={"rated_kW": 6.0, "motoring_L_per_h": 0.9},
        charging={"start_soc": 0.6, "stop_soc": 0.9},
    )

    def with_A(amps):
        larger = boat_with({"lifepo4": boat}, replace(choice_of(boat), alternator_A=amps))
        return simulate(passage_of(boat=larger, days=1.0), step_h=1.0).hourly

    enough, twice = with_A(90.0), with_A(180.0)
    assert enough["alternator_Ah"].max() == pytest.approx(76.056, abs=1e-3)
    assert (twice == enough).all().all()
    assert with_A(45.0)["alternator_Ah"].max() == pytest.approx(45.0)
