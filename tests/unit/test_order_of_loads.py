"""Random draws go by a load's name, and no sum hangs on the order of the lines."""

from dataclasses import fields, is_dataclass, replace

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.logbook.priors import priors_of
from powersim.physics.demand import demand_of
from powersim.physics.group_demand import group_sums
from powersim.planning.days_left import days_left
from powersim.records import Load, Shedding, Supply
from powersim.simulation.ensemble import run_ensemble
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.member_loads import draw_factors
from powersim.simulation.prepare import prepare
from powersim.simulation.result import SimulationResult, simulate

MEMBERS, SEED = 4, 5
#: Draws that no binary fraction has, so that a sum in another order has other last digits; some of
#: every group, some under sail or engine alone, two on each of two supplies that idle.
LOADS = (
    Load(name="Tricolour", draw_W=2.7, role="sailing lights", spread_frac=0.1),
    Load(name="AIS", draw_W=1.3, role="lookout", priority="essential", spread_frac=0.3),
    Load(name="VHF", draw_A=0.37, role="vhf", spread_frac=0.2),
    Load(
        name="pilot",
        draw_A=1.9,
        on_frac=0.4,
        states=frozenset({"motoring"}),
        priority="essential",
        spread_frac=0.3,
    ),
    Load(name="instruments", draw_A=0.31, priority="essential", spread_frac=0.1),
    Load(
        name="fridge",
        draw_A=4.1,
        on_frac=0.3,
        temperature_rule="fridge",
        priority="useful",
        spread_frac=0.25,
    ),
    Load(name="heater", draw_A=1.1, on_frac=0.7, temperature_rule="heater", fuel_L_per_h=0.17),
    Load(name="laptop", draw_W=31.0, on_frac=0.13, supply="inverter", spread_frac=0.4),
    Load(name="drill", draw_W=470.0, on_frac=0.003, supply="inverter", priority="comfort"),
    Load(name="phone", draw_W=7.0, on_frac=0.21, supply="usb", priority="comfort"),
    Load(name="reader", draw_W=3.3, on_frac=0.11, supply="usb", priority="comfort"),
    Load(name="sound", draw_A=0.7, on_frac=0.17, priority="comfort", spread_frac=0.5),
)
SUPPLIES = (
    Supply(name="usb", efficiency_frac=0.83, idle_W=0.3, output_V=5.0),
    Supply(name="inverter", efficiency_frac=0.87, idle_W=5.3, output_V=230.0),
)
BOAT = boat_of(
    supplies=SUPPLIES,
    panel_W=(60.0,),
    battery={"soc_at_departure": 0.62},
    charging={"start_soc": 0.5, "stop_soc": 0.6},
    shedding=Shedding(comfort_below_soc=0.58, useful_below_soc=0.55),
)
PASSAGE = passage_of(boat=BOAT, loads=LOADS, days=3.0, leg={"motoring_calm_frac": 0.5})


def ensemble_of(loads, **changes):
    passage = replace(PASSAGE, loads=loads, **changes)
    prepared = prepare(passage, step_h=0.5)
    return run_ensemble(passage, prepared, members=MEMBERS, seed=SEED), prepared


def same(one, other):
    """Whether two records are alike to the last bit."""
    if is_dataclass(one):
        return all(
            same(getattr(one, field.name), getattr(other, field.name)) for field in fields(one)
        )
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(one[name], other[name]) for name in one)
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    return np.array_equal(one, other)


@pytest.fixture(scope="module")
def as_listed():
    return ensemble_of(LOADS)


def shuffled():
    return [LOADS[place] for place in np.random.default_rng(1).permutation(len(LOADS))]


@pytest.mark.parametrize("loads", [LOADS[::-1], shuffled()], ids=["backwards", "shuffled"])
def test_the_order_of_the_lines_changes_no_bit(as_listed, loads):
    ensemble, prepared = as_listed
    found, again = ensemble_of(tuple(loads))
    assert ensemble.unserved_Ah.min() > 0.0  # loads were shed, in every member
    assert np.ptp(ensemble.motoring_h) > 0.0  # and calms motored in some
    assert same(found, ensemble)
    in_average, listed = (
        simulate(one.passage, prepared=one, kind=SimulationResult) for one in (again, prepared)
    )
    assert in_average.hourly.equals(listed.hourly)
    by_load = [one.loads.set_index("load") for one in (in_average, listed)]
    assert by_load[0].loc[by_load[1].index].equals(by_load[1])  # those of the supplies too
    assert priors_of(again.passage, again).sd == priors_of(prepared.passage, prepared).sd


@pytest.mark.parametrize("name", ["drill", "Tricolour", "phone", "pilot"])
def test_a_load_left_off_changes_no_other_draw_and_is_as_if_its_line_were_gone(name):
    (left,) = (load for load in LOADS if load.name == name)
    with_none = tuple(replace(load, count=0) if load is left else load for load in LOADS)
    gone = tuple(load for load in LOADS if load is not left)
    none, deleted = (ensemble_of(loads)[0] for loads in (with_none, gone))
    assert same(none, deleted)
    factors = [draw_factors(some, n_rows=len(some), seed=SEED, members=6) for some in (LOADS, gone)]
    kept = [place for place, load in enumerate(LOADS) if load is not left]
    assert np.array_equal(factors[0][kept], factors[1])


def test_how_long_the_bank_lasts_is_the_same_without_a_load_and_without_its_line():
    answers = []
    for loads in ((*LOADS[:-1], replace(LOADS[-1], count=0)), LOADS[-2::-1]):
        passage = replace(PASSAGE, loads=loads)
        prepared = prepare(passage, step_h=1.0)
        result = replace(
            simulate(passage, prepared=prepared, kind=SimulationResult),
            ensemble=run_ensemble(passage, prepared, members=MEMBERS, seed=SEED),
        )
        answers.append(days_left(result, members=MEMBERS, seed=SEED))
    assert same(*answers)


def test_a_name_is_the_same_in_capitals_and_with_other_blanks():
    names = ("navigation laptop", "Navigation  Laptop", " NAVIGATION\tlaptop ", "laptop")
    draws = [
        draw_factors([Load(name=name, draw_A=1.0, spread_frac=0.3)], n_rows=1, seed=1, members=5)
        for name in names
    ]
    assert np.array_equal(draws[0], draws[1])
    assert np.array_equal(draws[0], draws[2])
    assert not np.isclose(draws[0], draws[3]).any()


def test_two_of_one_name_are_summed_in_one_order_too():
    """0.1 + 0.2 + 0.3 and 0.3 + 0.2 + 0.1 are not the same float."""
    assert 0.1 + 0.2 + 0.3 != 0.3 + 0.2 + 0.1
    loads = [Load(name="lamp", draw_A=draw_A) for draw_A in (0.1, 0.2, 0.3)]
    prepared = prepare(PASSAGE, step_h=1.0)
    sums = [
        group_sums(demand_of(some, (), track=prepared.sun_track, sky=prepared.sun_sky)).current_A
        for some in (loads, loads[::-1])
    ]
    assert np.array_equal(*sums)


def test_members_of_a_shuffled_list_are_the_same_members():
    forcings = [
        draw_ensemble(
            replace(PASSAGE, loads=tuple(loads)),
            prepare(replace(PASSAGE, loads=tuple(loads)), step_h=1.0),
            members=MEMBERS,
            seed=SEED,
        )
        for loads in (LOADS, LOADS[::-1])
    ]
    signals = [forcing.signals(slice(10, 40)) for forcing in forcings]
    for name in ("load_A", "load_W", "peak_A", "heater_L"):
        assert np.array_equal(*(getattr(one, name) for one in signals)), name
