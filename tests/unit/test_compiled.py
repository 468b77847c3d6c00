"""What is compiled gives the very numbers of the plain functions, to the last bit.

Every flow of every step, the state after the last, sums and what is told of each member: over all
boats of kernel_cases.py, with members that differ in state, boat, switches, weather and orders.
"""

import numpy as np
import pytest
from builders import boat_of, passage_of
from kernel_cases import CASES, SOCS, prepared_of
from kernels import compiled, plain

from powersim.errors import BalanceError
from powersim.kernel.bus import Bus
from powersim.kernel.carry import carry_members
from powersim.kernel.flows import Flows
from powersim.kernel.state import State, Switches
from powersim.simulation import compiled as compiling
from powersim.simulation.carry import Batch
from powersim.simulation.differing import of_members
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.factors import Factors, switches_of, with_factors
from powersim.simulation.flat import Laid
from powersim.simulation.ledgers import LEDGERS
from powersim.simulation.prepare import prepare
from powersim.simulation.signals import mapped
from powersim.simulation.state import start_state


def carried_by(how, signals, *, stretch=None, every=1, **given):
    """A batch after all steps, and every flow of them."""
    laid = signals if isinstance(signals, Laid) else Laid(signals)
    with how():
        batch = Batch(step_h=laid.signals[0].step_h, floor_soc=0.5, sums=LEDGERS, **given)
        stretch = stretch or laid.n_steps
        parts = [
            batch.through(laid.between(at, at + stretch), series=Flows._fields, every=every)
            for at in range(0, laid.n_steps, stretch)
        ]
    return batch, Flows(*(np.concatenate([part[name] for part in parts]) for name in parts[0]))


def hold_equal(signals, **given):
    """Both ways, and every number of them; what the plain ones gave is returned."""
    (by_plain, flow), (by_machine, machine_flow) = (
        carried_by(how, signals, **given) for how in (plain, compiled)
    )
    for name in Flows._fields:
        assert np.array_equal(getattr(flow, name), getattr(machine_flow, name), equal_nan=True), (
            name
        )
    for name, value in by_plain.state._asdict().items():
        assert np.array_equal(value, getattr(by_machine.state, name), equal_nan=True), name
    for name, value in by_plain.sums.items():
        assert np.array_equal(value, by_machine.sums[name], equal_nan=True), name
    for name in by_plain.told.dtype.names:
        assert np.array_equal(by_plain.told[name], by_machine.told[name], equal_nan=True), name
    return by_plain, flow


@pytest.mark.parametrize("name", CASES)
def test_every_boat_is_carried_alike(name):
    prepared = prepared_of(name)
    batch, flow = hold_equal(
        prepared.signals, plant=prepared.plant, state=start_state(prepared.plant, soc=SOCS)
    )
    batch.check()
    assert np.ptp(getattr(flow, CASES[name][2])) > 0.0


@pytest.mark.parametrize("step_h", [1.0 / 12.0, 1.0])
def test_steps_of_any_length(step_h):
    prepared = prepared_of("all chargers", step_h=step_h)
    hold_equal(prepared.signals, plant=prepared.plant, state=start_state(prepared.plant, soc=SOCS))


def test_boats_that_differ_by_factors():
    """On capacity, sun, draw, burn and alternator, as underway draws them."""
    prepared = prepared_of("two controllers", step_h=0.5)
    factors = Factors(*np.exp(0.3 * np.random.default_rng(1).normal(size=(5, 6))))
    plant = with_factors(prepared.plant, factors)
    _, flow = hold_equal(
        prepared.signals,
        plant=plant,
        state=start_state(plant, soc=np.full(6, 0.62)),
        switches=switches_of(factors),
    )
    assert (np.ptp(flow.soc[-1]), np.ptp(flow.burnt_L[-1])) > (0.0, 0.0)


def test_members_of_which_different_things_work():
    prepared = prepared_of("all chargers", step_h=0.5)
    switches = Switches(
        solar=np.array([1.0, 0.0, 0.5, 1.0]),
        alternator=np.array([1.0, 1.0, 0.0, 0.7]),
        engine=np.array([True, False, True, True]),
        groups=(1.0, np.array([1.0, 1.0, 0.0, 1.0]), 1.3, np.array([1.0, 0.0, 0.0, 1.0])),
        others=np.array([1.0, 0.0, 1.0, 0.3]),
    )
    state = start_state(prepared.plant, soc=np.full(4, 0.62))
    _, flow = hold_equal(prepared.signals, plant=prepared.plant, state=state, switches=switches)
    assert len(set(flow.soc[24])) == 4


def in_ensemble(*, members, step_h=0.5, **boat):
    passage = passage_of(boat=boat_of(**boat), days=2.0, leg={"motoring_calm_frac": 0.4})
    forcing = draw_ensemble(passage, prepare(passage, step_h=step_h), members=members, seed=5)
    return forcing, forcing.signals(slice(0, forcing.prepared.track.n_steps))


@pytest.mark.parametrize("name", ["two controllers", "wind", "lifepo4 pwm"])
def test_members_in_members_of_their_own(name):
    """Some of them in one, and the last one twice, with what they read of the bank their own."""
    forcing, signals = in_ensemble(members=4, **CASES[name][0])
    source_of = np.array([3, 1, 0, 3, 3])
    plant = of_members(forcing.plant, source_of)
    _, flow = hold_equal(
        signals,
        plant=plant,
        state=start_state(plant, soc=np.array([0.9, 0.6, 0.7, 0.9, 0.4])),
        source_of=source_of,
    )
    assert np.array_equal(flow.soc[:, 0], flow.soc[:, 3])
    assert len(set(flow.soc[-1])) == 4


def test_orders_of_timetables():
    """When the rule may run the engine, and shares of a step in which it is ordered to."""
    forcing, signals = in_ensemble(members=3, charging={"start_soc": 0.6, "stop_soc": 0.7})
    rng, steps = np.random.default_rng(7), signals.n_steps
    orders = {
        "ordered": np.where(rng.random((steps, 4)) < 0.1, rng.random((steps, 4)), 0.0),
        "may_run": rng.random((steps, 4)) < 0.8,
        "opens_h": np.where(rng.random((steps, 4)) < 0.1, 0.3, 0.0),
        "reads": rng.choice([0.0, 1.0, 2.0], p=[0.8, 0.1, 0.1], size=(steps, 4)),
    }
    _, flow = hold_equal(
        Laid(signals, orders=orders),
        plant=forcing.plant,
        state=start_state(forcing.plant, soc=np.full(3, 0.62)),
        order_of=np.array([3, 0, 2]),
    )
    assert len(set(flow.charging.sum(axis=0))) == 3


@pytest.mark.parametrize(
    "charging",
    [
        {"run_h": 1.25, "full_every_days": 1.0},
        {"stop_below_A": 25.0, "little_sun_Ah": 3.0},
        {"stop_soc": 0.7},
        {"wait_below_soc": 0.68, "run_h": 1.0},
    ],
    ids=lambda charging: next(iter(charging)),
)
def test_readings_that_err_anew(charging):
    """Members that read alike but for the new error: it is theirs, and so is what they do."""
    often = {"start_soc": 0.62, "stop_soc": None, "read_at_h": (6.0, 9.0, 13.0, 18.0)}
    forcing, signals = in_ensemble(members=5, charging=often | charging)
    assert np.ptp(signals.misread_soc[signals.reads[:, 0] > 0.0], axis=1).min() > 0.0
    batch, flow = hold_equal(
        signals, plant=forcing.plant, state=start_state(forcing.plant, soc=np.full(5, 0.64))
    )
    assert len(set(flow.charging.sum(axis=0))) > 1
    assert np.ptp(batch.state.sun_Ah) > 0.0


@pytest.mark.parametrize("read_at_h", [(), (6.0, 18.0)], ids=["at any moment", "twice a day"])
def test_counters_that_drift(read_at_h):
    """Three weeks after the last full charge each is wrong by as much as it drifts in ten days."""
    charging = {"start_soc": 0.62, "stop_soc": 0.7, "read_at_h": read_at_h}
    forcing, signals = in_ensemble(
        members=5, battery={"reading": "monitor"}, charging=charging, panel_W=()
    )
    assert np.ptp(forcing.plant.rule.drift_per_h) > 0.0
    full, late = (
        start_state(forcing.plant, soc=np.full(5, 0.64))._replace(since_full_h=np.full(5, hours))
        for hours in (0.0, 500.0)
    )
    _, flow = hold_equal(signals, plant=forcing.plant, state=late)
    _, right = hold_equal(signals, plant=forcing.plant, state=full)
    assert not np.array_equal(flow.charging, right.charging)


@pytest.mark.parametrize(
    ("name", "charger"), [("load_A", None), ("motoring", None), ("power_W", 0), ("first_A", 1)]
)
def test_what_is_not_a_number_is_found_by_the_books(name, charger):
    """In one member's weather, in one step by day: it spoils that member and no other.

    What stands beside it then may be a number by one and none by the other, since a comparison with
    none is as the processor likes it: the charge and what the books ask for are the same in both.
    """
    prepared = prepared_of("two controllers")
    spoilt = wide(prepared.signals)
    of = spoilt if charger is None else spoilt.controllers[charger]
    getattr(of, name)[30, ..., 0] = np.nan
    given = {"plant": prepared.plant, "state": start_state(prepared.plant, soc=np.full(2, 0.6))}
    runs = [carried_by(how, spoilt, **given) for how in (plain, compiled)]
    for batch, flow in runs:
        for values in flow:
            assert np.isfinite(values[:30]).all()
            assert np.isfinite(values[:, 1]).all()
        with pytest.raises(BalanceError, match=r"^[a-zA-Z_]+ of member 0 is not a number$"):
            batch.check()
    (_, flow), (_, machine_flow) = runs
    for found, machine in zip(flow, machine_flow, strict=True):
        assert np.array_equal(found[:, 1], machine[:, 1])
        assert np.array_equal(found[:30], machine[:30])
    for field in ("soc", "load_A", "motoring"):
        assert np.array_equal(getattr(flow, field), getattr(machine_flow, field), equal_nan=True)


def wide(signals):
    """The same signals for two members."""

    def twice(array):
        return np.repeat(array, 2, axis=-1)

    chargers = {
        name: tuple(mapped(one, twice) for one in getattr(signals, name))
        for name in ("controllers", "others")
    }
    return mapped(signals, twice, **chargers)


def test_until_dark_and_kept_now_and_then():
    """A member that has gone dark is left alone, and its flows from there on are nothing."""
    prepared = prepared_of("dark", step_h=0.5)
    state = start_state(prepared.plant, soc=SOCS)
    given = {"plant": prepared.plant, "state": state, "until_dark": True}
    batch, _ = hold_equal(prepared.signals, **given, every=4, stretch=24)
    assert np.isfinite(batch.told["flat_h"]).any()


def test_one_member_is_compiled_once_it_has_been():
    """And gives the same: no matter in which order a command asks."""
    prepared = prepared_of("bare")
    hold_equal(prepared.signals, plant=prepared.plant, state=start_state(prepared.plant, soc=0.5))
    assert compiling.kernel(members=1) is not None


def test_where_nothing_can_be_compiled_many_members_are_carried_all_the_same(monkeypatch):
    """By the very same functions; that it is slower is told once, in lines of 80 columns."""
    prepared, told = prepared_of("full every day", step_h=1.0), []
    given = {"plant": prepared.plant, "state": start_state(prepared.plant, soc=SOCS)}
    _, flow = carried_by(plain, prepared.signals, **given)
    answer = compiling.CompiledEntry(None, "numba is not installed")
    monkeypatch.setattr(compiling, "_ready", [])
    monkeypatch.setattr(compiling, "prepare", lambda *_, **__: answer)
    monkeypatch.setattr(compiling._Wanted, "tell", staticmethod(told.append))
    for _ in range(2):
        batch = Batch(step_h=1.0, **given)
        found = batch.through(prepared.signals, series=Flows._fields)
        for name in Flows._fields:
            assert np.array_equal(found[name], getattr(flow, name)), name
    (text,) = told
    assert "numba is not installed" in text
    assert max(map(len, text.splitlines())) <= 80


def test_it_is_compiled_once_in_a_process(monkeypatch):
    with compiled():
        ready = compiling.kernel(members=2)
    asked = []
    monkeypatch.setattr(compiling, "prepare", lambda *args, **_: asked.append(args))
    for members in (1, 2, 1000):
        assert compiling.kernel(members=members) is ready
    assert asked == []


@pytest.mark.parametrize("name", ["two controllers", "cold lead-acid", "full every day"])
def test_what_is_compiled_runs_as_plain_python_too(name):
    """The very entry, uncompiled, on the flat records by their fields: it is read right there."""
    prepared = prepared_of(name, step_h=1.0)
    start = start_state(prepared.plant, soc=SOCS)
    given = {"plant": prepared.plant, "state": start}
    batch, flow = carried_by(plain, prepared.signals, **given)
    other = Batch(step_h=1.0, floor_soc=0.5, sums=LEDGERS, **given)
    before = compiling.kernel
    try:
        compiling.kernel = lambda *, members: OnRecords
        found = other.through(prepared.signals, series=Flows._fields)
    finally:
        compiling.kernel = before
    for field in Flows._fields:
        assert np.array_equal(found[field], getattr(flow, field)), field
    for field in State._fields:
        assert np.array_equal(getattr(batch.state, field), getattr(other.state, field)), field
    assert np.array_equal(batch.told, other.told)


class OnRecords:
    """carry_members with fields that are read as attributes, as what is compiled reads them."""

    @staticmethod
    def again(*values, own):
        def run(*mine):
            arguments = [*values]
            for place, value in zip(own, mine, strict=True):
                assert values[place] is None
                arguments[place] = value
            carry_members(
                *(
                    value.view(np.recarray)
                    if getattr(value, "dtype", None) is not None and value.dtype.names
                    else value
                    for value in arguments
                )
            )

        return run


def test_a_bus_is_made_of_the_columns_that_it_is_given():
    assert Bus._fields == ("source", "setpoint_V", "amps", "watts", "taken_A")
