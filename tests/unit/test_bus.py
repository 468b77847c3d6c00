"""Where the currents meet: single cases by hand, staircases of chargers by brute force."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from powersim.physics.ops import ARRAY, FLOAT
from powersim.simulation.bus import (
    Charger,
    Draw,
    given_A,
    meeting_V,
    mppt_offer_W,
    pwm_offer_A,
    solar_chargers,
    total_of,
    volts_with,
)
from powersim.simulation.signals import ControllerRow, ControllerSignal

BANK = {"emf_V": 12.5, "ohm_in": 0.1, "ohm_out": 0.02, "ops": FLOAT}


def controller(*, rated_A=math.inf, knots_V=()):
    return ControllerSignal(
        rated_A=rated_A,
        knots_V=knots_V,
        power_W=None,
        first_A=None,
        slope_A_per_V=None,
        absorption_V=None,
        float_V=None,
    )


def test_a_draw_is_its_current_and_its_power_over_the_voltage():
    assert Draw(2.0, 24.0).at(12.0) == 4.0
    assert Draw(2.0, 24.0).times(0.5) == Draw(1.0, 12.0)
    assert total_of([Draw(1.0, 2.0), Draw(3.0, 4.0)]) == Draw(4.0, 6.0)
    assert total_of([]) == Draw(0.0, 0.0)


def test_a_current_load_pulls_the_bus_down_by_ohms_law():
    """By hand: 12.5 V - 10 A x 0.02 ohm = 12.3 V."""
    volts = meeting_V(chargers=[], loads=Draw(10.0, 0.0), **BANK)
    assert volts == pytest.approx(12.3, abs=1e-12)


def test_a_power_load_pulls_the_bus_down_by_the_root_of_a_quadratic():
    """By hand: V = 12.5 - 0.02 x 154 / V, so V^2 - 12.5 V + 3.08 = 0; the roots are 12.25 and 0.25
    less a little: 12.5^2 = 156.25, less 4 x 3.08 = 143.93, whose root is 11.9970830; half of 12.5
    and that is 12.2485415.
    """
    volts = meeting_V(chargers=[], loads=Draw(0.0, 154.0), **BANK)
    assert volts == pytest.approx(12.2485415, abs=1e-7)
    assert (12.5 - volts) / 0.02 * volts == pytest.approx(154.0, abs=1e-9)


def test_a_power_that_no_bank_can_give_ends_far_below_any_cut_out():
    """The most that 12.5 V behind 0.02 ohm give is 12.5^2 / (4 x 0.02) = 1953 W, at 6.25 V.

    Of more there is no voltage at which the bank gives it, so that the bus has none.
    """
    below, beyond = (
        volts_with(emf_V=12.5, ohm=0.02, amps=0.0, watts=-watts, ops=FLOAT)
        for watts in (1953.12499, 3000.0)
    )
    assert (below, beyond) == (pytest.approx(6.25, abs=1e-3), 0.0)


def test_a_weak_charger_is_carried_by_the_bank_at_its_own_voltage():
    """By hand: 5 A into 12.5 V behind 0.1 ohm with 2 A of loads: 12.5 + 3 x 0.1 = 12.8 V."""
    volts = meeting_V(chargers=[Charger(14.4, Draw(5.0, 0.0))], loads=Draw(2.0, 0.0), **BANK)
    assert volts == pytest.approx(12.8, abs=1e-12)


def test_a_strong_charger_holds_its_setpoint_and_gives_what_that_takes():
    """By hand: 40 A would lift the bus to 16.3 V, so it is held at 14.4 V."""
    chargers = [Charger(14.4, Draw(40.0, 0.0))]
    volts = meeting_V(chargers=chargers, loads=Draw(2.0, 0.0), **BANK)
    assert volts == 14.4
    assert given_A(chargers=chargers, volts=volts, ops=FLOAT) == (0.0, 40.0)


def test_a_charger_set_below_the_bus_gives_nothing():
    """By hand: 10 A hold 12.5 + 8 x 0.1 = 13.3 V, above the other's 13.0 V."""
    chargers = [Charger(13.0, Draw(20.0, 0.0)), Charger(14.4, Draw(10.0, 0.0))]
    volts = meeting_V(chargers=chargers, loads=Draw(2.0, 0.0), **BANK)
    assert volts == pytest.approx(13.3, abs=1e-12)
    assert given_A(chargers=chargers, volts=volts, ops=FLOAT) == (10.0, 0.0)


def test_two_chargers_meet_at_the_lower_setpoint_where_it_needs_both():
    """By hand: 4 A alone reach 12.7 V, with the other's 20 A 14.7 V, so the other holds 13.0 V."""
    chargers = [Charger(13.0, Draw(20.0, 0.0)), Charger(14.4, Draw(4.0, 0.0))]
    volts = meeting_V(chargers=chargers, loads=Draw(2.0, 0.0), **BANK)
    assert volts == 13.0
    assert given_A(chargers=chargers, volts=volts, ops=FLOAT) == (4.0, 20.0)


def test_a_current_that_another_charger_has_lifted_goes_on_to_its_own_setpoint():
    """A bank nearly full, 12.85 V behind 350 ohm, and loads of 22 W: at 12.85 V they take 1.712 A,
    more than the 1.63 A of the charger set to 13.8 V. The other lifts the bus to its 13.7 V, where
    they take 22 / 13.7 = 1.606 A and the bank 0.85 / 350 = 0.0024 A: less than 1.63 A, so that the
    first goes on alone to its 13.8 V. There loads take 1.594 A and the bank 0.0027 A.
    """
    chargers = [Charger(13.8, Draw(1.63, 0.0)), Charger(13.7, Draw(0.0, 25.0))]
    bank = {"emf_V": 12.85, "ohm_in": 350.0, "ohm_out": 0.03}
    for order in (chargers, chargers[::-1]):
        volts = meeting_V(chargers=order, loads=Draw(0.0, 22.0), **bank, ops=FLOAT)
        assert volts == 13.8
        arrays = [Charger(np.array([one.setpoint_V]), one.offer) for one in order]
        volts = meeting_V(chargers=arrays, loads=Draw(0.0, 22.0), **bank, ops=ARRAY)
        assert volts.tolist() == [13.8]


def test_without_that_lift_the_bank_goes_on_to_give_what_is_missing():
    """The same without the second charger: 1.712 A - 1.63 A out of 0.03 ohm is 2.5 mV."""
    bank = {"emf_V": 12.85, "ohm_in": 350.0, "ohm_out": 0.03}
    chargers = [Charger(13.8, Draw(1.63, 0.0))]
    volts = meeting_V(chargers=chargers, loads=Draw(0.0, 22.0), **bank, ops=FLOAT)
    assert volts == pytest.approx(12.8475, abs=1e-4)


chargers = st.lists(
    st.builds(
        lambda volts, amps, watts: Charger(volts, Draw(amps, watts)),
        # Below the bank's own voltage too, and some of one setpoint.
        volts=st.one_of(st.floats(11.5, 15.5), st.sampled_from((13.5, 14.4))),
        amps=st.floats(0.0, 60.0),
        watts=st.one_of(st.just(0.0), st.floats(0.0, 600.0)),
    ),
    max_size=4,
)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    chargers=chargers,
    amps=st.floats(0.0, 40.0),
    watts=st.floats(0.0, 300.0),
    emf_V=st.floats(10.5, 13.5),
    ohm_in=st.floats(0.01, 0.3),
    ohm_out=st.floats(0.005, 0.05),
)
def test_the_meeting_point_is_where_supply_and_demand_cross(
    chargers, amps, watts, emf_V, ohm_in, ohm_out
):
    """scipy's root finder on the currents themselves, a charger cutting off at its setpoint.

    Where the crossing lies on a setpoint's cliff, bisection ends on the cliff.
    """
    loads = Draw(amps, watts)

    def excess_A(volts):
        supply = sum(c.offer.at(volts) for c in chargers if c.setpoint_V > volts)
        into_A = (volts - emf_V) / (ohm_in if volts > emf_V else ohm_out)
        return supply - loads.at(volts) - into_A

    assume(excess_A(9.0) > 0)  # one crossing, in the range where a bus works
    expected_V = brentq(excess_A, 9.0, 60.0, xtol=1e-12, rtol=1e-14)
    bank = {"emf_V": emf_V, "ohm_in": ohm_in, "ohm_out": ohm_out}
    volts = meeting_V(chargers=chargers, loads=loads, **bank, ops=FLOAT)
    assert volts == pytest.approx(expected_V, abs=1e-9)

    full_A, part_A = given_A(chargers=chargers, volts=volts, ops=FLOAT)
    needed_A = loads.at(volts) + (volts - emf_V) / (ohm_in if volts > emf_V else ohm_out)
    assert full_A - 1e-7 <= needed_A <= full_A + part_A + 1e-7

    arrays = [Charger(np.array([c.setpoint_V]), c.offer) for c in chargers]
    as_array = meeting_V(
        chargers=arrays,
        loads=loads,
        emf_V=np.array([emf_V]),
        ohm_in=ohm_in,
        ohm_out=ohm_out,
        ops=ARRAY,
    )
    assert as_array == pytest.approx([volts], abs=1e-12)


@pytest.mark.parametrize(
    ("volts", "amps"),
    [(11.0, 6.0), (12.0, 6.0), (13.0, 5.0), (13.5, 3.5), (14.0, 2.0), (16.0, 2.0)],
)
def test_a_pwm_offer_follows_the_straight_lines_between_its_knots(volts, amps):
    """By hand: 6 A at 12 V, 5 A at 13 V, 2 A at 14 V; flat outside."""
    row = ControllerRow(0.0, 6.0, (-1.0, -3.0), 14.4, 13.5)
    offer = {"row": row, "volts": volts, "ops": FLOAT}
    assert pwm_offer_A(controller=controller(knots_V=(12.0, 13.0, 14.0)), **offer) == amps
    rated = controller(knots_V=(12.0, 13.0, 14.0), rated_A=4.0)
    assert pwm_offer_A(controller=rated, **offer) == min(amps, 4.0)


def test_a_rating_in_amperes_caps_an_mppt_offer_at_the_banks_voltage():
    """By hand: 200 W at 12.5 V are 16 A; rated 10 A it passes 125 W."""
    row = ControllerRow(200.0, 0.0, (), 14.4, 13.5)
    assert mppt_offer_W(controller(), row, 12.5, ops=FLOAT) == 200.0
    assert mppt_offer_W(controller(rated_A=10.0), row, 12.5, ops=FLOAT) == 125.0


def test_controllers_in_the_dark_are_no_chargers():
    row = lambda watts: ControllerRow(watts, 0.0, (), 14.4, 13.5)  # noqa: E731
    found = solar_chargers(
        controllers=(controller(), controller()),
        row=type("Row", (), {"controllers": (row(0.0), row(50.0))}),
        volts=12.5,
        floating=False,
        share=1.0,
        ops=FLOAT,
    )
    assert found == [Charger(14.4, Draw(0.0, 50.0))]


def test_a_controller_that_has_filled_the_bank_holds_float():
    found = solar_chargers(
        controllers=(controller(),),
        row=type("Row", (), {"controllers": (ControllerRow(50.0, 0.0, (), 14.4, 13.5),)}),
        volts=12.5,
        floating=True,
        share=0.0,
        ops=FLOAT,
    )
    assert found == [Charger(13.5, Draw(0.0, 0.0))]
