"""One member or many: the same numbers, whatever the boat. Here by the plain functions.

test_compiled.py holds what is compiled to these.
"""

from dataclasses import replace

import numpy as np
import pytest
from kernel_cases import CASES, SOCS, prepared_of

from powersim.kernel.state import Switches
from powersim.simulation.books import books_of
from powersim.simulation.run import run
from powersim.simulation.state import start_state

pytestmark = pytest.mark.usefixtures("plainly")


@pytest.mark.parametrize("name", CASES)
def test_each_of_many_members_equals_it_alone(name):
    """Four states of charge side by side against four runs, to the last bit; books close."""
    prepared = prepared_of(name)
    plant = prepared.plant
    start = start_state(plant, soc=SOCS)
    together, after = run(prepared.signals, plant=plant, state=start)
    books_of(together, state=start, prepared=prepared, switches=Switches())
    happens = getattr(together, CASES[name][2])
    assert np.ptp(happens) > 0.0

    for member, soc in enumerate(SOCS.tolist()):
        alone, alone_after = run(prepared.signals, plant=plant, state=start_state(plant, soc=soc))
        for field in alone._fields:
            column = getattr(together, field)[:, [member]]
            assert np.array_equal(column, getattr(alone, field)), field
        for field, value in alone_after._asdict().items():
            assert getattr(after, field)[member] == value[0], field


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
            column = getattr(many, field)[:, [member]]
            assert np.array_equal(column, getattr(alone, field)), field


def test_members_that_differ_in_their_boat_equal_each_alone():
    """An array may stand anywhere in the plant, however deep."""
    prepared = prepared_of("constant regulator")
    plant, start_soc = prepared.plant, np.array([0.5, 0.6, 0.7])
    ohm = plant.bank.charge_ohm * np.array([1.0, 1.5, 2.0])
    differ = replace(
        plant,
        rule=replace(plant.rule, start_soc=start_soc),
        bank=replace(plant.bank, charge_ohm=ohm),
    )
    many, _ = run(prepared.signals, plant=differ, state=start_state(plant, soc=np.full(3, 0.9)))
    assert not np.array_equal(many.soc[:, 0], many.soc[:, 1])
    for member in range(3):
        own = replace(
            plant,
            rule=replace(plant.rule, start_soc=start_soc[member].item()),
            bank=replace(plant.bank, charge_ohm=ohm[member].item()),
        )
        alone, _ = run(prepared.signals, plant=own, state=start_state(plant, soc=0.9))
        for field in alone._fields:
            column = getattr(many, field)[:, [member]]
            assert np.array_equal(column, getattr(alone, field)), field


def test_a_run_can_go_on_from_any_step():
    """The last 100 steps from the state before them are those of the whole run."""
    prepared = prepared_of("full every day")
    begin = start_state(prepared.plant, soc=0.62)
    whole, end = run(prepared.signals, plant=prepared.plant, state=begin)
    first = len(whole.soc) - 100
    _, middle = run(prepared.signals.between(0, first), plant=prepared.plant, state=begin)
    rest, rest_end = run(prepared.signals, plant=prepared.plant, state=middle, first=first)
    for field in rest._fields:
        assert np.array_equal(getattr(rest, field), getattr(whole, field)[first:]), field
    assert rest_end == end


def test_a_run_ends_after_the_step_in_which_all_goes_dark():
    prepared = prepared_of("bare")
    given = {"plant": prepared.plant, "state": start_state(prepared.plant, soc=0.3)}
    whole, _ = run(prepared.signals, **given)
    dark = int(whole.dark[:, 0].argmax())
    assert 0 < dark < len(whole.dark) - 1
    flow, state = run(prepared.signals, **given, until_dark=True)
    assert len(flow.soc) == dark + 1
    assert state.dark.tolist() == [True]
    for field in flow._fields:
        assert np.array_equal(getattr(flow, field), getattr(whole, field)[: dark + 1]), field


def test_a_run_with_light_to_the_end_is_not_cut_short():
    prepared = prepared_of("bare")
    state = start_state(prepared.plant, soc=1.0)
    flow, _ = run(prepared.signals, plant=prepared.plant, state=state, until_dark=True)
    assert len(flow.soc) == prepared.signals.n_steps


def test_nothing_wanted_is_all_served_where_another_runs_dry(one_step):
    """The cold leaves half an ampere-hour: one gets 2 of its 5 A, one that wants 0 gets all."""
    wants = {"load_A": (0.0, 0.0, 5.0, 0.0), "unreachable_frac": 0.255}
    first, second = (
        one_step(soc=0.26).take(switches=Switches(groups=(1.0, 1.0, useful, 1.0)), **wants)
        for useful in (1.0, 0.0)
    )
    assert (first.load_A, first.served) == pytest.approx((2.0, 0.4), abs=1e-9)
    assert (second.load_A, second.served) == pytest.approx((0.0, 1.0), abs=1e-9)
