"""What an hour in gear gives besides miles, by hand."""

from dataclasses import replace

import pytest
from hand_worked import LOADS, boat_of, passage_of, without_engine

from powersim.planning.hour_in_gear import engine_hours
from powersim.records import Alternator
from powersim.report.engine_hour_view import engine_hours_told
from powersim.report.screen_text import screen_text
from powersim.simulation.prepare import prepare

ALTERNATOR = Alternator(charging_A=20.0, motoring_A=30.0, efficiency_frac=0.5, cable_drop_V=0.0)


def hours_of(boat):
    passage = passage_of(boat=boat, loads=LOADS[:2])
    return engine_hours(passage, prepare(passage, step_h=1.0))


def test_an_hour_in_gear_and_one_at_rest():
    """By hand, in a bank of 200 Ah without losses: the loads take 1 A and a quarter of 4 A, 2 A
    in all. In gear 30 A leave 28 Ah, 14 % of the bank, at rest 20 A leave 18 Ah. The shaft gives
    twice what the alternator makes: at V volts 30 * V / 0.5 Wh, and each kWh takes 0.246 L; that
    comes on top of 2 L. At rest 0.8 L were measured with the alternator at work, and all of them
    are for the bank.
    """
    in_gear, full, at_rest = hours_of(boat_of(alternator=ALTERNATOR))
    assert in_gear.into_bank_Ah == pytest.approx(28.0)
    assert in_gear.of_bank_frac == pytest.approx(0.14)
    assert (in_gear.alternator_Ah, in_gear.loads_Ah) == pytest.approx((30.0, 2.0))
    volts = in_gear.into_bank_Wh / in_gear.into_bank_Ah
    assert 13.0 < volts < 14.4  # lithium on charge; common practice, no source
    assert in_gear.for_bank_L == pytest.approx(0.246 * 30.0 * volts / 0.5 / 1000.0)
    assert in_gear.fuel_L == pytest.approx(2.0 + in_gear.for_bank_L)
    assert (in_gear.miles_nm, at_rest.miles_nm) == (4.5, 0.0)
    assert at_rest.into_bank_Ah == pytest.approx(18.0)
    assert (at_rest.fuel_L, at_rest.for_bank_L) == pytest.approx((0.8, 0.8))
    # At 95 % there is room for 10 Ah, whatever the alternator could give.
    assert full.soc == 0.95
    assert 0.0 < full.into_bank_Ah <= 10.0
    assert full.for_bank_L < in_gear.for_bank_L


def test_it_is_told_with_what_the_same_charge_takes_at_rest():
    """By hand: 0.8 L for 18 Ah at rest against the shaft's 0.2 L for 28 Ah."""
    hours = hours_of(boat_of(alternator=ALTERNATOR))
    told = " ".join(screen_text(engine_hours_told(hours)).split())
    times = (0.8 / 18.0) / (hours[0].for_bank_L / 28.0)
    assert f"the same charge takes {times:.1f} times as much fuel" in told
    assert "in gear, 4.5 nm 20 % 28 Ah" in told


@pytest.mark.parametrize(
    "boat",
    [
        without_engine(),
        boat_of(alternator=None),
        boat_of(alternator=replace(ALTERNATOR, motoring_A=0.0)),
    ],
)
def test_a_boat_that_charges_nothing_in_gear_is_told_of_no_hour(boat):
    assert hours_of(boat) == ()
    assert engine_hours_told(()) == []
