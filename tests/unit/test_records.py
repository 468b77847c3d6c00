"""Flat records hold all that a step reads, each at its own name, and have room for it."""

import ast
import inspect
import math
from dataclasses import fields, replace
from itertools import pairwise
from typing import get_type_hints

import numpy as np
import pytest
from builders import boat_of

from powersim.kernel.bank_now import BankNow
from powersim.kernel.carry import carry_members
from powersim.kernel.chargers import ChargerConstants, Offer
from powersim.kernel.plant import Rule
from powersim.kernel.records import (
    CHARGER,
    MEMBER,
    MOST_KNOTS,
    MOST_LINES,
    OFFER,
    ROW,
    STATE,
    TOLD,
    fill,
)
from powersim.kernel.state import Flag, State, Switches
from powersim.kernel.step_signals import StepSignals
from powersim.records import CHEMISTRIES
from powersim.simulation.plant import plant_of

PLANT = MEMBER["plant"]
#: Records by the names under which the step knows them.
KNOWN_AS = {
    "plant": PLANT,
    "switches": MEMBER["switches"],
    "row": ROW,
    "offer": OFFER,
    "charger": CHARGER,
    "rule": PLANT["rule"],
    "alternator": PLANT["alternator"],
    "wells": PLANT["bank"]["wells"],
    "told": TOLD,
}


def reached_from(function, seen):
    """A function of ours and all that it calls, by the names in it."""
    if function not in seen:
        seen.add(function)
        for name in function.__code__.co_names:
            called = function.__globals__.get(name)
            if inspect.isfunction(called) and called.__module__.startswith("powersim."):
                reached_from(called, seen)
    return seen


REACHED = sorted(reached_from(carry_members, set()), key=lambda one: one.__qualname__)


def read_of(known_as):
    """What the step reads or writes of something known by a name: all `this` of `name.this`."""
    return {
        node.attr
        for function in REACHED
        for node in ast.walk(ast.parse(inspect.getsource(function)))
        if isinstance(node, ast.Attribute)
        and known_as in (getattr(node.value, "id", None), getattr(node.value, "attr", None))
    }


def test_the_whole_step_is_looked_through():
    found = {function.__name__ for function in REACHED}
    assert {"step_of", "charge_resistance_ohm", "pwm_offer_A", "belt_fuel_L", "tell"} <= found


@pytest.mark.parametrize("known_as", KNOWN_AS)
def test_a_record_holds_what_the_step_reads_and_no_more(known_as):
    """What is not read would be memory that is carried along for nothing."""
    assert read_of(known_as) == set(KNOWN_AS[known_as].names)


def test_the_record_of_the_bank_holds_what_the_step_reads_and_no_more():
    """The bank is known as `bank`; what the step makes of it, BankNow, as that and as `now`."""
    read = read_of("bank") | read_of("now")
    assert read == set(PLANT["bank"].names) | set(BankNow._fields)


def test_records_have_the_fields_of_the_plain_ones():
    assert STATE.names == State._fields
    assert ROW.names == StepSignals._fields
    assert OFFER.names == Offer._fields
    assert set(CHARGER.names) == set(ChargerConstants._fields)
    assert MEMBER["switches"].names == Switches._fields
    assert set(PLANT["rule"].names) == {field.name for field in fields(Rule)}
    assert MEMBER.names == ("plant", "switches")


def test_flags_are_flags():
    """Whatever is a bool after a plain step comes back as one, and the rest as numbers."""
    assert {name for name in STATE.names if STATE[name] == np.bool_} == {
        name for name, kind in get_type_hints(State).items() if kind in (Flag, Flag | bool)
    }


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_a_filled_plant_is_the_plant(chemistry):
    """Field by field, numbers and tuples of them, and what is left of a tuple's room its last."""
    plant = plant_of(boat_of(chemistry=chemistry), step_h=0.5)
    records = np.zeros(2, PLANT)
    fill(records, plant)
    for found in records:
        same(found, plant)
    lines = len(plant.bank.emf_slopes_V)
    assert (records["bank"]["emf_slopes_V"][:, lines:] == plant.bank.emf_slopes_V[-1]).all()
    assert np.isinf(records["bank"]["emf_ends_soc"][:, lines - 1 :]).all()


def same(record, given):
    for name in record.dtype.names:
        value = getattr(given, name)
        if record.dtype[name].names:
            same(record[name], value)
        elif isinstance(value, tuple):
            assert record[name][: len(value)].tolist() == list(value), name
        else:
            assert record[name] == value, name


def test_every_chemistry_has_room_for_its_curve():
    for one in CHEMISTRIES.values():
        assert len(one.curves.emf_knots) <= MOST_LINES


def test_members_differ_where_they_are_given_arrays():
    plant = plant_of(boat_of(), step_h=0.5)
    slopes = tuple(np.array([1.0, 2.0]) * slope for slope in plant.bank.emf_slopes_V)
    rule = replace(plant.rule, start_soc=np.array([0.4, 0.5]))
    records = np.zeros(2, PLANT)
    fill(records, replace(plant, rule=rule, bank=replace(plant.bank, emf_slopes_V=slopes)))
    assert records["rule"]["start_soc"].tolist() == [0.4, 0.5]
    assert records["rule"]["stop_soc"].tolist() == [plant.rule.stop_soc] * 2
    first, second = records["bank"]["emf_slopes_V"]
    assert second.tolist() == (2.0 * first).tolist()


@pytest.mark.parametrize("too_many", [MOST_LINES + 1, MOST_LINES + 5])
def test_a_curve_without_room_is_refused(too_many):
    """A machine that read on beside it would give numbers all the same."""
    plant = plant_of(boat_of(), step_h=0.5)
    bank = replace(plant.bank, emf_slopes_V=(1.0,) * too_many)
    with pytest.raises(
        ValueError, match=rf"^emf_slopes_V has {too_many} values, more than {MOST_LINES}$"
    ):
        fill(np.zeros(1, PLANT), replace(plant, bank=bank))


def test_a_controller_with_too_many_knots_is_refused():
    knots_V = tuple(12.0 + 0.1 * knot for knot in range(MOST_KNOTS + 1))
    given = ChargerConstants(source=0, rated_A=math.inf, knots=len(knots_V), knots_V=knots_V)
    with pytest.raises(ValueError, match=rf"^knots_V has {MOST_KNOTS + 1} values, more than"):
        fill(np.zeros(1, CHARGER), given)


def test_a_charger_without_knots_fills_them_with_nothing():
    record = np.ones(1, CHARGER)
    fill(record, ChargerConstants(source=0, rated_A=10.0, knots=0, knots_V=()))
    assert record["knots_V"].tolist() == [[0.0] * MOST_KNOTS]
    assert (record["rated_A"][0], record["knots"][0]) == (10.0, 0)


@pytest.mark.parametrize("record", [ROW, OFFER])
def test_rows_and_offers_are_nothing_but_cells_of_one_number(record):
    """What differs between members is written into them by the number of the cell."""
    assert {record[name].base for name in record.names} == {np.dtype(np.float64)}
    offsets = [record.fields[name][1] for name in record.names]
    sizes = [high - low for low, high in pairwise([*offsets, record.itemsize])]
    assert sizes == [record[name].itemsize for name in record.names]
