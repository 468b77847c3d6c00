"""The place of every flow in the flat record that a step writes."""

import math

import pytest
from builders import boat_of
from one_step import OneStep, mppt

from powersim.kernel import flows
from powersim.kernel.chargers import FIRST_OTHER_A, LEAVES_SURPLUS, OTHERS, SOURCES
from powersim.kernel.flows import Flows, place_of
from powersim.records import OTHER_SOURCES


@pytest.mark.parametrize("name", Flows._fields)
def test_the_number_of_a_flow_is_that_of_its_name(name):
    """Numbers are written in capitals beside the names, since machine code has no names."""
    assert getattr(flows, name.upper()) == place_of(name) == Flows._fields.index(name)


def test_other_chargers_stand_in_the_order_of_their_sources():
    """The kernel counts from the first of them on, so each source needs its field."""
    first = place_of("since_full_h") + 1
    names = (*(f"{source}_A" for source in OTHER_SOURCES), "others_offered_A")
    assert Flows._fields[first : first + len(names)] == names
    assert (first, len(OTHER_SOURCES)) == (FIRST_OTHER_A, OTHERS)
    assert ("solar", *OTHER_SOURCES, "alternator") == SOURCES
    # A berth's amperes that nothing takes are no surplus.
    assert dict(zip(SOURCES, LEAVES_SURPLUS, strict=True)) == {
        "solar": True,
        "wind": True,
        "water": True,
        "shore": False,
        "alternator": False,
    }


def test_no_number_is_without_a_name():
    numbers = {name for name in vars(flows) if name.isupper()}
    assert numbers == {name.upper() for name in Flows._fields}
    with pytest.raises(ValueError):
        place_of("soc_frac")


def test_a_step_writes_every_flow(one_step):
    """OneStep begins with none written: what the step leaves out would be no number."""
    boat = one_step(soc=0.5, charging={"start_soc": 0.6})
    for found in (boat.take(), boat.take(may_run=True, solar=[mppt(60.0)])):
        assert not any(map(math.isnan, found))


def test_a_step_tells_what_the_state_after_it_holds():
    """What flow and state both have is one and the same."""
    boat = OneStep(boat_of(charging={"start_soc": 0.6}), soc=0.5)
    found = boat.take(may_run=True, load_A=(0.0, 0.0, 5.0, 0.0))
    both = set(Flows._fields) & set(boat.state._fields) - {"alternator_A"}
    assert both == {"bank_V", "total_Ah", "available_Ah", "dark", "for_full", "since_full_h"} | {
        *("burnt_L", "pack_Wh")
    }
    for name in both:
        assert getattr(found, name) == getattr(boat.state, name), name
