"""Where the currents meet: single cases by hand, staircases of chargers by brute force."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from powersim.kernel.bus import (
    Draw,
    add_charger,
    at_volts,
    bus_of,
    meeting_V,
    offered_A,
    share_out,
    volts_with,
)
from powersim.kernel.chargers import ALTERNATOR

BANK = {"emf_V": 12.5, "ohm_in": 0.1, "ohm_out": 0.02}
NOTHING = Draw(0.0, 0.0)


def bus_with(*chargers):
    """A bus with chargers of (setpoint, amps, watts), and how many; with places to spare."""
    bus, count = bus_of(len(chargers) + 2), 0
    for setpoint_V, amps, watts in chargers:
        count = add_charger(
            bus, count, source=ALTERNATOR, setpoint_V=setpoint_V, amps=amps, watts=watts
        )
    return bus, count


def taken_A(*chargers, volts, needed_A):
    """What each of them gives where the bus has settled."""
    bus, count = bus_with(*chargers)
    share_out(bus, count, volts=volts, needed_A=needed_A)
    return bus.taken_A[:count]


def test_a_draw_is_its_current_and_its_power_over_the_voltage():
    assert at_volts(Draw(2.0, 24.0), 12.0) == 4.0


def test_what_chargers_offer_adds_up():
    """By hand: 1 A and 24 W, 3 A and 36 W: 4 A and 60 / 12 = 5 A."""
    bus, count = bus_with((14.4, 1.0, 24.0), (13.0, 3.0, 36.0))
    assert offered_A(bus, count, volts=12.0) == 9.0
    assert offered_A(bus, 1, volts=12.0) == 3.0
    assert offered_A(bus, 0, volts=12.0) == 0.0


def test_a_current_load_pulls_the_bus_down_by_ohms_law():
    """By hand: 12.5 V - 10 A x 0.02 ohm = 12.3 V."""
    volts = meeting_V(*bus_with(), loads=Draw(10.0, 0.0), **BANK)
    assert volts == pytest.approx(12.3, abs=1e-12)


def test_a_power_load_pulls_the_bus_down_by_the_root_of_a_quadratic():
    """By hand: V = 12.5 - 0.02 x 154 / V, so V^2 - 12.5 V + 3.08 = 0; the roots are 12.25 and 0.25
    less a little: 12.5^2 = 156.25, less 4 x 3.08 = 143.93, whose root is 11.9970830; half of 12.5
    and that is 12.2485415.
    """
    volts = meeting_V(*bus_with(), loads=Draw(0.0, 154.0), **BANK)
    assert volts == pytest.approx(12.2485415, abs=1e-7)
    assert (12.5 - volts) / 0.02 * volts == pytest.approx(154.0, abs=1e-9)


def test_a_power_that_no_bank_can_give_ends_far_below_any_cut_out():
    """The most that 12.5 V behind 0.02 ohm give is 12.5^2 / (4 x 0.02) = 1953 W, at 6.25 V.

    Of more there is no voltage at which the bank gives it, so that the bus has none.
    """
    below, beyond = (
        volts_with(emf_V=12.5, ohm=0.02, amps=0.0, watts=-watts) for watts in (1953.12499, 3000.0)
    )
    assert (below, beyond) == (pytest.approx(6.25, abs=1e-3), 0.0)


def test_a_weak_charger_is_carried_by_the_bank_at_its_own_voltage():
    """By hand: 5 A into 12.5 V behind 0.1 ohm with 2 A of loads: 12.5 + 3 x 0.1 = 12.8 V."""
    volts = meeting_V(*bus_with((14.4, 5.0, 0.0)), loads=Draw(2.0, 0.0), **BANK)
    assert volts == pytest.approx(12.8, abs=1e-12)


def test_a_strong_charger_holds_its_setpoint_and_gives_what_that_takes():
    """By hand: 40 A would lift the bus to 16.3 V, so it is held at 14.4 V, which takes 19 A into
    the bank and 2 A of loads.
    """
    charger = (14.4, 40.0, 0.0)
    volts = meeting_V(*bus_with(charger), loads=Draw(2.0, 0.0), **BANK)
    assert volts == 14.4
    assert taken_A(charger, volts=volts, needed_A=21.0) == [21.0]
    assert taken_A(charger, volts=volts, needed_A=50.0) == [40.0]


def test_a_charger_set_below_the_bus_gives_nothing():
    """By hand: 10 A hold 12.5 + 8 x 0.1 = 13.3 V, above the other's 13.0 V."""
    chargers = (13.0, 20.0, 0.0), (14.4, 10.0, 0.0)
    volts = meeting_V(*bus_with(*chargers), loads=Draw(2.0, 0.0), **BANK)
    assert volts == pytest.approx(13.3, abs=1e-12)
    assert taken_A(*chargers, volts=volts, needed_A=10.0) == [0.0, 10.0]


def test_two_chargers_meet_at_the_lower_setpoint_where_it_needs_both():
    """By hand: 4 A alone reach 12.7 V, with the other's 20 A 14.7 V, so the other holds 13.0 V:
    5 A into the bank and 2 A of loads, of which it gives the 3 A that are missing.
    """
    chargers = (13.0, 20.0, 0.0), (14.4, 4.0, 0.0)
    volts = meeting_V(*bus_with(*chargers), loads=Draw(2.0, 0.0), **BANK)
    assert volts == 13.0
    assert taken_A(*chargers, volts=volts, needed_A=7.0) == [3.0, 4.0]


def test_those_that_hold_one_voltage_give_in_their_order():
    """By hand: 3 A and 26 W, which are 2 A at 13 V, then 4 A: of 7 A that are needed the last gives
    2, of 4 A nothing; nobody gives less than nothing.
    """
    chargers = (13.0, 3.0, 0.0), (13.0, 0.0, 26.0), (13.0, 4.0, 0.0)
    assert taken_A(*chargers, volts=13.0, needed_A=7.0) == [3.0, 2.0, 2.0]
    assert taken_A(*chargers, volts=13.0, needed_A=4.0) == [3.0, 1.0, 0.0]
    above = (13.5, 9.0, 0.0)
    assert taken_A(*chargers, above, volts=13.0, needed_A=7.0) == [0.0, 0.0, 0.0, 9.0]


def test_a_current_that_another_charger_has_lifted_goes_on_to_its_own_setpoint():
    """A bank nearly full, 12.85 V behind 350 ohm, and loads of 22 W: at 12.85 V they take 1.712 A,
    more than the 1.63 A of the charger set to 13.8 V. The other lifts the bus to its 13.7 V, where
    they take 22 / 13.7 = 1.606 A and the bank 0.85 / 350 = 0.0024 A: less than 1.63 A, so that the
    first goes on alone to its 13.8 V. There loads take 1.594 A and the bank 0.0027 A.
    """
    chargers = [(13.8, 1.63, 0.0), (13.7, 0.0, 25.0)]
    bank = {"emf_V": 12.85, "ohm_in": 350.0, "ohm_out": 0.03}
    for order in (chargers, chargers[::-1]):
        assert meeting_V(*bus_with(*order), loads=Draw(0.0, 22.0), **bank) == 13.8


def test_without_that_lift_the_bank_goes_on_to_give_what_is_missing():
    """The same without the second charger: 1.712 A - 1.63 A out of 0.03 ohm is 2.5 mV."""
    bank = {"emf_V": 12.85, "ohm_in": 350.0, "ohm_out": 0.03}
    volts = meeting_V(*bus_with((13.8, 1.63, 0.0)), loads=Draw(0.0, 22.0), **bank)
    assert volts == pytest.approx(12.8475, abs=1e-4)


def test_only_the_places_that_count_are_seen():
    """What an earlier step has left in the others is nothing to this one."""
    bus, count = bus_with((13.0, 20.0, 0.0), (14.4, 40.0, 0.0))
    assert meeting_V(bus, count, loads=NOTHING, **BANK) == 14.4
    assert meeting_V(bus, 1, loads=NOTHING, **BANK) == 13.0
    assert meeting_V(bus, 0, loads=NOTHING, **BANK) == 12.5


chargers = st.lists(
    st.tuples(
        # Below the bank's own voltage too, and some of one setpoint.
        st.one_of(st.floats(11.5, 15.5), st.sampled_from((13.5, 14.4))),
        st.floats(0.0, 60.0),
        st.one_of(st.just(0.0), st.floats(0.0, 600.0)),
    ),
    max_size=4,
)


@settings(max_examples=150)
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

    Where the crossing lies on a setpoint's cliff, bisection ends on the cliff. What is needed there
    is what those give that hold it or a higher one, and nobody gives more than it has.
    """
    loads = Draw(amps, watts)

    def has_A(charger, volts):
        return charger[1] + charger[2] / volts

    def excess_A(volts):
        supply = sum(has_A(c, volts) for c in chargers if c[0] > volts)
        into_A = (volts - emf_V) / (ohm_in if volts > emf_V else ohm_out)
        return supply - at_volts(loads, volts) - into_A

    assume(excess_A(9.0) > 0)  # one crossing, in the range where a bus works
    expected_V = brentq(excess_A, 9.0, 60.0, xtol=1e-12, rtol=1e-14)
    bank = {"emf_V": emf_V, "ohm_in": ohm_in, "ohm_out": ohm_out}
    volts = meeting_V(*bus_with(*chargers), loads=loads, **bank)
    assert volts == pytest.approx(expected_V, abs=1e-9)

    needed_A = at_volts(loads, volts) + (volts - emf_V) / (ohm_in if volts > emf_V else ohm_out)
    taken = taken_A(*chargers, volts=volts, needed_A=needed_A)
    assert math.fsum(taken) == pytest.approx(needed_A, abs=1e-7)
    for charger, amps_taken in zip(chargers, taken, strict=True):
        offer_A = has_A(charger, volts)
        if charger[0] > volts:
            assert amps_taken == offer_A
        elif charger[0] < volts:
            assert amps_taken == 0.0
        else:
            assert 0.0 <= amps_taken <= offer_A
