"""What may be chosen, and the boat that each choice makes."""

from dataclasses import replace

import pytest
from builders import boat_of
from hypothesis import given
from hypothesis import strategies as st

from powersim.physics.ratings import wells_of
from powersim.planning.size_choices import (
    Choice,
    boat_with,
    choice_of,
    clipped,
    grid,
    solar_W,
    weight_kg,
)
from powersim.records import Controller, battery_of, with_capacity

CONTROLLERS = (Controller(name="one", rated_A=20.0), Controller(name="two"))
BOAT = boat_of(
    panel_W=(100.0, 50.0),
    controllers=CONTROLLERS,
    battery={"capacity_10h_Ah": 200.0, "weight_kg": 60.0},
    alternator={"nameplate_A": 75.0},
)
BOATS = {"flooded": BOAT, "lifepo4": boat_of(chemistry="lifepo4", panel_W=(100.0,))}
OWN = choice_of(BOAT)


def test_the_boat_as_she_is():
    sizes = {"battery_Ah": 220.0, "solar_W": 150.0, "alternator_A": 45.0}
    assert Choice(chemistry="flooded", **sizes) == OWN
    assert boat_with(BOATS, OWN) is BOAT


def test_a_grid_begins_with_the_boat_as_she_is_and_has_none_twice():
    found = grid(BOATS, OWN, batteries_Ah=(220.0, 300.0), solars_W=(150.0, 0.0))
    assert found == [
        OWN,
        replace(OWN, solar_W=0.0),
        replace(OWN, battery_Ah=300.0),
        replace(OWN, battery_Ah=300.0, solar_W=0.0),
    ]


def test_what_is_not_varied_is_that_of_the_boat_with_the_chemistry():
    found = grid(BOATS, OWN, chemistries=("lifepo4",), batteries_Ah=(100.0,))
    assert found[1:] == [
        Choice(chemistry="lifepo4", battery_Ah=100.0, solar_W=100.0, alternator_A=45.0)
    ]


@pytest.mark.parametrize(
    ("boat", "sizes", "what"),
    [
        (boat_of(panel_W=()), {"solars_W": (100.0,)}, "are no panels"),
        (boat_of(engine=None), {"alternators_A": (45.0,)}, "is no alternator"),
    ],
)
def test_nothing_to_scale(boat, sizes, what):
    with pytest.raises(ValueError, match=f"there {what} to scale"):
        grid({"flooded": boat}, choice_of(boat), **sizes)


@given(
    battery_Ah=st.floats(10.0, 2000.0),
    watts=st.just(0.0) | st.floats(0.1, 5000.0),
    amps=st.just(0.0) | st.floats(0.1, 300.0),
)
def test_the_boat_of_a_choice_has_its_sizes(battery_Ah, watts, amps):
    choice = Choice(chemistry="flooded", battery_Ah=battery_Ah, solar_W=watts, alternator_A=amps)
    boat = boat_with(BOATS, choice)
    found = choice_of(boat)
    assert (found.battery_Ah, found.chemistry) == (battery_Ah, "flooded")
    assert found.solar_W == pytest.approx(watts)
    assert found.alternator_A == pytest.approx(amps)
    # What is not a size stays: the rule in percent, the mount, the engine.
    assert (boat.charging, boat.engine, boat.fuel) == (BOAT.charging, BOAT.engine, BOAT.fuel)


def test_a_bank_of_another_size_has_other_volts_than_the_one_that_was_read():
    read = replace(BOAT.battery, rested=((0.5, 12.2), (1.0, 12.7)))
    boats = {name: replace(boat, battery=read) for name, boat in BOATS.items()}
    assert boat_with(boats, OWN).battery.rested == read.rested
    assert boat_with(boats, replace(OWN, battery_Ah=440.0)).battery.rested == ()


def test_what_scales_with_a_size():
    boat = boat_with(BOATS, replace(OWN, battery_Ah=440.0, solar_W=300.0, alternator_A=90.0))
    assert (boat.battery.capacity_10h_Ah, boat.battery.weight_kg) == (400.0, 120.0)
    assert [panel.power_W for panel in boat.panels] == [200.0, 100.0]
    # Twice the panels side by side: the same volts, twice the amperes.
    for twice, once in zip(boat.panels, BOAT.panels, strict=True):
        assert twice.module_Vmp == once.module_Vmp
        assert twice.module_Isc == pytest.approx(2.0 * once.module_Isc)
    assert boat.alternator.motoring_A == pytest.approx(100.0)
    assert boat.alternator.nameplate_A == pytest.approx(150.0)


@given(capacity_Ah=st.floats(1.0, 20_000.0))
def test_a_rating_that_equals_the_first_does_so_in_every_size(capacity_Ah):
    """220 Ah times 250 / 220 is above 250 Ah in its last digit, and no bank gives more faster."""
    equal = {"capacity_10h_Ah": 220.0, "capacity_5h_Ah": 220.0}
    battery = with_capacity(battery_of("flooded", capacity_Ah=220.0, **equal), capacity_Ah)
    assert battery.capacity_10h_Ah <= battery.capacity_Ah == capacity_Ah
    assert battery.capacity_5h_Ah == battery.capacity_10h_Ah
    assert wells_of(battery).available_frac > 0.0


def test_nothing_is_a_size_too():
    boat = boat_with(BOATS, replace(OWN, solar_W=0.0, alternator_A=0.0))
    assert (boat.panels, boat.controllers, boat.alternator) == ((), (), None)


def test_weight_by_hand():
    """Bank of 60 kg as given, 150 W of panels at 0.075 kg/W, nameplate of 75 A at 0.078 kg/A; where
    only the hot output of 50 A is known, 0.13 kg/A.
    """
    assert weight_kg(BOAT) == pytest.approx(60.0 + 11.25 + 5.85)
    hot = replace(BOAT.alternator, nameplate_A=None, charging_A=50.0)
    assert weight_kg(replace(BOAT, alternator=hot)) == pytest.approx(60.0 + 11.25 + 6.5)


def test_an_alternator_that_a_lithium_bank_holds_back_is_no_lighter():
    held_back = replace(BOAT.alternator, charging_A=22.0, motoring_A=25.0)
    assert weight_kg(replace(BOAT, alternator=held_back)) == weight_kg(BOAT)


def test_weight_where_none_is_given():
    """100 Ah of LiFePO4 at 24 V are two blocks of 12 V: 2 x 100 x 0.12 kg."""
    boat = boat_of(
        chemistry="lifepo4",
        capacity_Ah=100.0,
        battery={"nominal_V": 24.0},
        panel_W=(),
        engine=None,
    )
    assert weight_kg(boat) == pytest.approx(24.0)


def test_controllers_that_clip():
    """300 W at 13.5 V are 22.2 A, on a controller of 20 A; the other has no limit."""
    assert clipped(BOAT) == []
    boat = boat_with(BOATS, replace(OWN, solar_W=450.0))
    assert clipped(boat) == [("one", 20.0, pytest.approx(300.0 / boat.battery.float_V))]
    assert solar_W(boat) == pytest.approx(450.0)
