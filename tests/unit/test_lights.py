"""Which loads count as a light that shines all night, and where a light is out of place."""

import pytest

from powersim.records import BOAT_STATES, Load, Window
from powersim.records.lights import (
    LIGHT_RULES,
    lights_missing,
    lights_not_allowed,
    shines_all_night,
)

NIGHT = Window(kind="night")


@pytest.mark.parametrize(
    ("given", "shines"),
    [
        ({"window": NIGHT}, True),
        ({"window": Window()}, True),
        ({"window": Window(kind="clock", spans_h=((0.0, 24.0),))}, True),
        ({"window": NIGHT, "on_frac": None, "on_h_per_day": 24.0}, True),
        ({"window": Window(kind="day")}, False),
        # A clock knows nothing of the sun: this one leaves the dusk of the autumn dark.
        ({"window": Window(kind="clock", spans_h=((20.0, 6.0),))}, False),
        ({"window": NIGHT, "on_frac": 0.9}, False),
        ({"window": NIGHT, "on_frac": None, "on_h_per_day": 10.0}, False),
        ({"window": NIGHT, "count": 0}, False),
        ({"window": NIGHT, "temperature_rule": "heater"}, False),
    ],
)
def test_a_light_counts_only_if_it_shines_from_sunset_to_sunrise(given, shines):
    assert shines_all_night(Load(name="lamp", **given)) is shines


def test_a_light_counts_only_in_the_states_it_is_used_in():
    lamp = Load(name="lamp", role="anchor light", window=NIGHT, states=frozenset({"berthed"}))
    assert lights_missing([lamp], state="anchored") is LIGHT_RULES["anchored"]


def test_a_lamp_without_the_role_is_no_navigation_light():
    lamp = Load(name="anchor lamp", window=NIGHT)
    assert lights_missing([lamp], state="anchored") is LIGHT_RULES["anchored"]


def test_alongside_nothing_is_asked_and_navigation_lights_are_out_of_place():
    lamp = Load(name="lamp", role="anchor light", window=NIGHT)
    assert lights_missing([], state="berthed") is None
    assert lights_not_allowed([lamp], state="berthed") == (lamp,)


@pytest.mark.parametrize(
    ("role", "right"),
    [
        ("sailing lights", {"sailing", "hove-to", "drifting"}),
        ("power lights", {"motoring"}),
        ("anchor light", {"anchored"}),
    ],
)
def test_each_light_is_out_of_place_in_every_state_but_its_own(role, right):
    lamp = Load(name="lamp", role=role, window=NIGHT)
    wrong = {state for state in BOAT_STATES if lights_not_allowed([lamp], state=state)}
    assert wrong == set(BOAT_STATES) - right


def test_a_light_left_ashore_is_not_out_of_place():
    lamp = Load(name="lamp", role="anchor light", window=NIGHT, count=0)
    assert lights_not_allowed([lamp], state="sailing") == ()
