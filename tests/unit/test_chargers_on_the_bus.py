"""What solar controllers and other chargers offer in a step, laid side by side on the bus."""

import math

import pytest

from powersim.kernel.bus import bus_of
from powersim.kernel.chargers import (
    SOLAR,
    SOURCES,
    ChargerConstants,
    Offer,
    lay_chargers,
    mppt_offer_W,
    pwm_offer_A,
)
from powersim.kernel.state import State, Switches
from powersim.records import OTHER_SOURCES

WIND, SHORE = SOURCES.index("wind"), SOURCES.index("shore")


def charger(*, source=SOLAR, rated_A=math.inf, knots_V=()):
    return ChargerConstants(source=source, rated_A=rated_A, knots=len(knots_V), knots_V=knots_V)


def watts(power_W):
    return Offer(power_W, 0.0, (), 14.4, 13.5)


def laid(*pairs, switches=None, **state):
    """Source, setpoint, amps and watts of each that is laid, for chargers and what they have."""
    quiet = dict.fromkeys(State._fields, 0.0) | {"bank_V": 12.5}
    bus = bus_of(len(pairs) + 1)
    count = lay_chargers(
        bus,
        chargers=[charger for charger, _ in pairs],
        offers=[offer for _, offer in pairs],
        state=State(**(quiet | state)),
        switches=switches or Switches(),
    )
    return list(zip(bus.source, bus.setpoint_V, bus.amps, bus.watts, strict=True))[:count]


def test_the_sun_is_used_first_and_the_alternator_last():
    assert ("solar", *OTHER_SOURCES, "alternator") == SOURCES


@pytest.mark.parametrize(
    ("volts", "amps"),
    [(11.0, 6.0), (12.0, 6.0), (13.0, 5.0), (13.5, 3.5), (14.0, 2.0), (16.0, 2.0)],
)
def test_a_pwm_offer_follows_the_straight_lines_between_its_knots(volts, amps):
    """By hand: 6 A at 12 V, 5 A at 13 V, 2 A at 14 V; flat outside."""
    offer, knots_V = Offer(0.0, 6.0, (-1.0, -3.0), 14.4, 13.5), (12.0, 13.0, 14.0)
    assert pwm_offer_A(charger(knots_V=knots_V), offer, volts=volts) == amps
    rated = charger(knots_V=knots_V, rated_A=4.0)
    assert pwm_offer_A(rated, offer, volts=volts) == min(amps, 4.0)


def test_a_pwm_offer_is_never_below_nothing():
    """By hand: 1 A at 12 V less 2 A per volt is nothing from 12.5 V on."""
    offer, one = Offer(0.0, 1.0, (-2.0,), 14.4, 13.5), charger(knots_V=(12.0, 14.0))
    assert [pwm_offer_A(one, offer, volts=volts) for volts in (12.25, 12.5, 13.0)] == [0.5, 0, 0]


def test_room_that_a_flat_record_has_for_more_knots_is_not_read():
    """By hand: two knots of three: 6 A at 12 V, 5 A at 13 V, and no more however high."""
    offer = Offer(0.0, 6.0, (-1.0, -3.0, -3.0), 14.4, 13.5)
    wide = ChargerConstants(
        source=SOLAR, rated_A=math.inf, knots=2, knots_V=(12.0, 13.0, 14.0, 15.0)
    )
    assert pwm_offer_A(wide, offer, volts=15.0) == 5.0


def test_a_rating_in_amperes_caps_an_mppt_offer_at_the_banks_voltage():
    """By hand: 200 W at 12.5 V are 16 A; rated 10 A it passes 125 W."""
    assert mppt_offer_W(charger(), watts(200.0), volts=12.5) == 200.0
    assert mppt_offer_W(charger(rated_A=10.0), watts(200.0), volts=12.5) == 125.0


def test_controllers_in_the_dark_are_no_chargers():
    found = laid((charger(), watts(0.0)), (charger(), watts(50.0)))
    assert found == [(SOLAR, 14.4, 0.0, 50.0)]


def test_a_controller_that_has_filled_the_bank_holds_float():
    found = laid((charger(), watts(50.0)), floating=True, switches=Switches(solar=0.0))
    assert found == [(SOLAR, 13.5, 0.0, 0.0)]


def test_others_have_a_stage_and_a_switch_of_their_own():
    """The sun's controllers begin anew every morning; wind and plug go by what the bank has."""
    offers = (charger(), watts(50.0)), (charger(source=WIND), watts(30.0))
    assert laid(*offers, floating=True) == [(SOLAR, 13.5, 0.0, 50.0), (WIND, 14.4, 0.0, 30.0)]
    assert laid(*offers, others_floating=True) == [
        (SOLAR, 14.4, 0.0, 50.0),
        (WIND, 13.5, 0.0, 30.0),
    ]
    assert laid(*offers, switches=Switches(others=0.5)) == [
        (SOLAR, 14.4, 0.0, 50.0),
        (WIND, 14.4, 0.0, 15.0),
    ]


def test_one_that_offers_a_current_has_no_power():
    """By hand: 8 A of shore power, rated 8 A, whatever the voltage."""
    shore = charger(source=SHORE, rated_A=8.0, knots_V=(12.0, 13.0))
    found = laid((shore, Offer(0.0, 8.0, (0.0,), 14.4, 13.5)), bank_V=12.9)
    assert found == [(SHORE, 14.4, 8.0, 0.0)]
