"""A load list changed in some lines: the rows of the whole list, and no more work than needed."""

from dataclasses import fields, replace

import numpy as np
import pytest
from builders import passage_of

from powersim.physics.demand import Demand, demand_of
from powersim.physics.demand_again import demand_again
from powersim.records import Load, Supply, Window
from powersim.simulation.prepare import prepare

INVERTER = Supply(name="inverter", efficiency_frac=0.9, output_V=230.0, idle_W=5.0)
LEFT_ON = Supply(name="socket", efficiency_frac=0.8, output_V=5.0, idle_W=1.0, left_on=True)
SUPPLIES = (INVERTER, LEFT_ON)
LOADS = (
    Load(name="log", draw_A=1.0),
    Load(name="drill", draw_W=100.0, on_frac=0.1, supply="inverter", priority="comfort"),
    Load(name="kettle", draw_W=800.0, on_frac=0.02, supply="inverter"),
    Load(name="lamp", draw_W=3.0, window=Window(kind="night"), standby_W=0.1),
    Load(name="fridge", draw_A=4.0, on_frac=0.3, temperature_rule="fridge"),
)
SAILED = prepare(passage_of(loads=(), days=1.0, leg={"motoring_start_h": 3.0}), step_h=1.0)


def asked(loads, supplies=SUPPLIES):
    return demand_of(loads, supplies, track=SAILED.track, sky=SAILED.sky)


def with_line(place, **changes):
    return (*LOADS[:place], replace(LOADS[place], **changes), *LOADS[place + 1 :])


CHANGES = {
    "a draw": with_line(0, draw_A=2.0),
    "its hours": with_line(3, window=Window(kind="day")),
    "left ashore": with_line(0, count=0),
    "one of two on a supply": with_line(1, count=0),
    "its group": with_line(2, priority="essential"),
    "on to a supply": with_line(3, supply="socket"),
    "off a supply": with_line(2, supply="dc"),
    "from one supply to the other": with_line(1, supply="socket"),
    "two lines": (*with_line(0, draw_A=2.0)[:4], replace(LOADS[4], on_frac=0.5)),
    "nothing": LOADS,
    "a line less": LOADS[1:],
    "a line more": (*LOADS, Load(name="pump", draw_A=5.0)),
    "none at all": (),
}
BOTH_ASHORE = tuple(replace(load, count=0) if load.supply == "inverter" else load for load in LOADS)
CHANGES["all on a supply left ashore"] = BOTH_ASHORE


@pytest.mark.parametrize("loads", CHANGES.values(), ids=CHANGES)
def test_it_is_what_the_whole_list_asks(loads):
    found = demand_again(asked(LOADS), LOADS, loads, SUPPLIES, make=asked)
    whole = asked(loads)
    for field in fields(Demand):
        one, other = (getattr(demand, field.name) for demand in (found, whole))
        if isinstance(other, np.ndarray):
            np.testing.assert_array_equal(one, other, err_msg=field.name)
        else:
            assert one == other, field.name


def test_only_what_changed_and_what_hangs_on_its_supply_is_worked_out():
    calls = []

    def noted(loads, supplies):
        calls.append(([load.name for load in loads], [supply.name for supply in supplies]))
        return asked(loads, supplies)

    before = asked(LOADS)
    for loads in (CHANGES["nothing"], CHANGES["a draw"], CHANGES["one of two on a supply"]):
        demand_again(before, LOADS, loads, SUPPLIES, make=noted)
    assert calls == [(["log"], []), (["drill", "kettle"], ["inverter"])]
