"""One member on floats, many on arrays: the same numbers, whatever the boat."""

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of

from powersim.records import CHEMISTRIES, Controller, Load, Shedding, Supply
from powersim.simulation.books import books_of
from powersim.simulation.kernel import run
from powersim.simulation.prepare import prepare
from powersim.simulation.state import Switches, start_state

SOCS = np.array([0.22, 0.45, 0.62, 0.97])
DAYTIME = {"start_soc": 0.6, "stop_soc": 0.75}
TWO_CONTROLLERS = {
    "panel_W": (100.0, 80.0),
    "controllers": (
        Controller(name="a", absorption_V=14.6, float_V=13.8),
        Controller(name="b", kind="pwm", absorption_V=14.1, float_V=13.4),
    ),
}
ON_SUPPLY = (*LOADS, Load(name="kettle", draw_W=300.0, on_frac=0.05, supply="inverter"))

#: name -> (boat, passage, what must happen in it, in some member and not in all of its steps).
CASES = {
    **{chemistry: ({"chemistry": chemistry}, {}, "solar_A") for chemistry in CHEMISTRIES},
    **{
        f"{chemistry} pwm": (
            {"chemistry": chemistry, "controllers": (Controller(kind="pwm"),)},
            {},
            "solar_A",
        )
        for chemistry in CHEMISTRIES
    },
    "rated mppt": ({"controllers": (Controller(rated_A=2.0),)}, {}, "solar_A"),
    "rated pwm": ({"controllers": (Controller(kind="pwm", rated_A=2.0),)}, {}, "solar_A"),
    "24 volts": ({"battery": {"nominal_V": 24.0}}, {}, "solar_A"),
    "two controllers": (TWO_CONTROLLERS, {}, "solar_A"),
    "constant regulator": ({"charging": DAYTIME}, {}, "charging"),
    "multi-stage regulator": (
        {"charging": DAYTIME, "alternator": {"regulator": "multi-stage", "absorption_h": 0.5}},
        {},
        "charging",
    ),
    "shedding": (
        {"shedding": Shedding(comfort_below_soc=0.6, useful_below_soc=0.4)},
        {},
        "comfort_on",
    ),
    "shared start battery": (
        {"charging": DAYTIME, "engine": {"start_battery": "shared"}},
        {},
        "charging",
    ),
    "dark": ({"panel_W": (), "engine": None}, {"loads": LOADS * 3}, "dark"),
    "dark and charged": (
        {"charging": DAYTIME, "engine": {"charges_flat_bank": True}},
        {"loads": LOADS * 2},
        "dark",
    ),
    "full every day": ({"charging": DAYTIME | {"full_every_days": 1.0}}, {}, "for_full"),
    "motoring": ({}, {"leg": {"motoring_start_h": 5.0}}, "motoring"),
    "out of fuel": (
        {"fuel": {"aboard_L": 8.0, "reserve_L": 0.0}},
        {"leg": {"motoring_start_h": 9.0}},
        "fuel_short_L",
    ),
    "on a supply": (
        {"supplies": (Supply(name="inverter", idle_W=8.0),)},
        {"loads": ON_SUPPLY},
        "load_A",
    ),
    "bare": ({"panel_W": (), "engine": None}, {"loads": LOADS[:1]}, "dark"),
}


def prepared_of(name, *, step_h=0.25):
    boat, passage, _ = CASES[name]
    return prepare(passage_of(boat=boat_of(**boat), days=2.0, **passage), step_h=step_h)


@pytest.mark.parametrize("name", CASES)
def test_each_of_many_members_equals_it_alone(name):
    """Arrays of four states of charge against four runs on floats, to 1e-9; books close."""
    prepared = prepared_of(name)
    plant = prepared.plant
    start = start_state(plant, soc=SOCS)
    together, states = run(prepared.signals, plant=plant, state=start)
    books_of(together, state=start, prepared=prepared, switches=Switches())
    happens = getattr(together, CASES[name][2])
    assert np.ptp(happens) > 0.0

    for member, soc in enumerate(SOCS.tolist()):
        begin = start_state(plant, soc=soc)
        alone, alone_states = run(prepared.signals, plant=plant, state=begin)
        for field in alone._fields:
            column = getattr(together, field)[:, member]
            assert column == pytest.approx(getattr(alone, field)[:, 0], abs=1e-9), field
        for field, value in alone_states[-1]._asdict().items():
            last = np.broadcast_to(getattr(states[-1], field), SOCS.shape)[member]
            assert last == pytest.approx(value, abs=1e-9), field


def test_members_that_differ_in_what_works_equal_each_alone():
    """Four members of one state and different switches, as in the endurance table."""
    prepared = prepared_of("full every day")
    plant = prepared.plant
    switches = [
        Switches(),
        Switches(engine=False),
        Switches(solar=0.0, alternator=0.0),
        Switches(groups=(1.0, 1.0, 0.0, 0.0)),
    ]
    columns = list(zip(*switches, strict=True))
    together = Switches(
        *(np.array(column) for column in columns[:3]),
        groups=tuple(np.array(column) for column in zip(*columns[3], strict=True)),
        others=np.array(columns[4]),
    )
    start = start_state(plant, soc=np.full(4, 0.62))
    many, _ = run(prepared.signals, plant=plant, state=start, switches=together)
    books_of(many, state=start, prepared=prepared, switches=together)
    for member, alone_switches in enumerate(switches):
        start = start_state(plant, soc=0.62)
        alone, _ = run(prepared.signals, plant=plant, state=start, switches=alone_switches)
        for field in alone._fields:
            column = getattr(many, field)[:, member]
            assert column == pytest.approx(getattr(alone, field)[:, 0], abs=1e-9), field


def test_a_run_can_go_on_from_any_step():
    """The last 100 steps from the state before them are those of the whole run."""
    prepared = prepared_of("full every day")
    whole, states = run(
        prepared.signals, plant=prepared.plant, state=start_state(prepared.plant, soc=0.62)
    )
    first = len(whole.soc) - 100
    rest, _ = run(prepared.signals, plant=prepared.plant, state=states[first - 1], first=first)
    for field in rest._fields:
        assert np.array_equal(getattr(rest, field), getattr(whole, field)[first:]), field


def test_a_run_ends_after_the_step_that_it_is_told_to_end_with():
    prepared = prepared_of("bare")
    flow, states = run(
        prepared.signals,
        plant=prepared.plant,
        state=start_state(prepared.plant, soc=0.62),
        until=lambda flows: flows.soc < 0.6,
    )
    assert flow.soc[-1, 0] < 0.6 <= flow.soc[-2, 0]
    assert len(flow.soc) == len(states)


def test_a_member_with_nothing_on_beside_one_that_runs_dry(one_step):
    """The cold leaves half an ampere-hour: the first gets 2 of its 5 A, the second wants none."""
    boat = one_step(soc=np.full(2, 0.26))
    switches = Switches(groups=(1.0, 1.0, np.array([1.0, 0.0]), 1.0))
    flows = boat.take(switches=switches, load_A=(0.0, 0.0, 5.0, 0.0), unreachable_Ah=25.5)
    assert flows.load_A == pytest.approx([2.0, 0.0], abs=1e-9)
    assert flows.served == pytest.approx([0.4, 1.0], abs=1e-9)
