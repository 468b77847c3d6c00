"""Signals laid out for compiled code say what they say to plain Python."""

from dataclasses import fields, replace

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of
from kernel_cases import SHORE, TWO_CONTROLLERS, WATER, WIND
from kernels import compiled, plain

from powersim.kernel.carry import lay_own
from powersim.kernel.records import CHARGER, OFFER, ROW
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.flat import Laid
from powersim.simulation.prepare import prepare
from powersim.simulation.signals import Signals
from powersim.simulation.state import start_state

STEPS = 24  # a day, from morning on
#: So much counts as calm that three members meet some on the first day.
CALMS = {"motoring_calm_frac": 0.4, "calm_kn": 15.0}


@pytest.fixture(scope="module")
def scenario():
    """The same boat in three members, with lights only, in the mean sky, and without any sun."""
    boat = boat_of(**TWO_CONTROLLERS, chargers=(SHORE, WATER, WIND))
    passage = passage_of(boat=boat, days=1.5, leg=CALMS)
    prepared = prepare(passage, step_h=1.0)
    forcing = draw_ensemble(passage, prepared, members=3, seed=2)
    few = prepare(replace(passage, loads=LOADS[2:3]), step_h=1.0)
    mean = prepared.signals.between(0, STEPS)
    return (
        forcing.signals(slice(0, STEPS)),
        draw_ensemble(few.passage, few, members=3, seed=2).signals(slice(0, STEPS)),
        mean,
        replace(
            mean,
            controllers=tuple(
                replace(
                    one,
                    power_W=np.zeros((STEPS, 2)),
                    first_A=np.zeros((STEPS, 2)),
                    slope_A_per_V=0.0 * one.slope_A_per_V,
                )
                for one in mean.controllers
            ),
        ),
    )


def as_compiled_code_reads(laid, source, order):
    """Rows and offers of a member: the shared ones, with its own laid over them."""
    flat = laid.flat
    rows, offers = flat.rows.copy(), flat.offers.copy()
    cells = rows.view(np.float64), offers.reshape(-1).view(np.float64)
    lay_own(flat.own_places, flat.own, source, *cells)
    lay_own(flat.orders_places, flat.orders, order, *cells)
    return rows, offers


def hold_same(laid, source, order=0):
    rows, offers = as_compiled_code_reads(laid, source, order)
    plain_rows, plain_offers = laid.member(source, order)
    assert len(rows) == len(plain_rows) == len(plain_offers) == laid.n_steps
    for name in ROW.names:
        assert rows[name].tolist() == [getattr(row, name) for row in plain_rows], name
    for place, charger in enumerate(laid.chargers):
        for name in OFFER.names:
            found = offers[name][:, place]
            given = [getattr(of_step[place], name) for of_step in plain_offers]
            if name == "slope_A_per_V":
                slopes = max(charger.knots - 1, 0)
                assert not found[:, slopes:].any()
                found = found[:, :slopes]
            assert found.tolist() == given, name


@pytest.mark.parametrize("source", range(9))
def test_each_member_of_each_sea_is_laid_where_it_belongs(scenario, source):
    laid = Laid(*scenario)
    assert laid.begins == [0, 3, 6, 7, 9]
    hold_same(laid, source)


@pytest.mark.parametrize("place", range(4))
def test_a_sea_alone(scenario, place):
    laid = Laid(scenario[place])
    for source in range(laid.begins[-1]):
        hold_same(laid, source)


def test_what_is_alike_for_all_is_laid_once(scenario):
    """The mean sky needs no column of its own; three members share what no weather changes."""
    assert Laid(scenario[2]).flat.own.shape == (0, STEPS, 1)
    forcing = Laid(scenario[0]).flat
    differing = {
        field.name
        for field in fields(Signals)
        if isinstance(array := getattr(scenario[0], field.name), np.ndarray) and array.shape[-1] > 1
    }
    cells = {int(cell) for kind, cell, _ in forcing.own_places if kind == 0}
    named = {
        name
        for name in ROW.names
        if any(
            ROW.fields[name][1] <= 8 * cell < ROW.fields[name][1] + ROW[name].itemsize
            for cell in cells
        )
    }
    assert {"motoring"} <= named <= differing
    assert "bank_C" not in named


def test_a_night_without_sun_for_anybody_takes_no_columns(scenario):
    """Nothing but zeros is alike for all, however wide the array."""
    assert scenario[3].members == 2
    assert Laid(scenario[3]).flat.own.shape == (0, STEPS, 2)


@pytest.mark.parametrize("cut", [(0, 24), (5, 17), (23, 24)])
def test_a_stretch_is_cut_out_of_all_of_it(scenario, cut):
    rng = np.random.default_rng(3)
    orders = {"ordered": rng.random((STEPS, 3)), "may_run": rng.random((STEPS, 3)) < 0.5}
    laid = Laid(*scenario, orders=orders)
    part = laid.between(*cut)
    assert part.n_steps == cut[1] - cut[0]
    for source, order in ((0, 2), (4, 1), (6, 0), (8, 2)):
        hold_same(part, source, order)
        rows, offers = as_compiled_code_reads(laid, source, order)
        cut_rows, cut_offers = as_compiled_code_reads(part, source, order)
        assert np.array_equal(rows[slice(*cut)], cut_rows)
        assert np.array_equal(offers[slice(*cut)], cut_offers)


@pytest.mark.parametrize("order", [0, 1])
def test_orders_stand_in_for_the_signals_own(scenario, order):
    ordered = np.zeros((STEPS, 2))
    ordered[3:5, 1] = 0.75
    laid = Laid(scenario[0], orders={"ordered": ordered})
    hold_same(laid, 1, order)
    rows, _ = as_compiled_code_reads(laid, 1, order)
    assert rows["ordered"].tolist() == ordered[:, order].tolist()


def test_laying_a_member_leaves_nothing_of_the_one_before(scenario):
    """One memory for all: what one has of its own the next has too, if only as a zero."""
    laid = Laid(*scenario)
    flat = laid.flat
    rows, offers = flat.rows.copy(), flat.offers.copy()
    cells = rows.view(np.float64), offers.reshape(-1).view(np.float64)
    for source in (0, 8, 4, 6, 0):
        lay_own(flat.own_places, flat.own, source, *cells)
        fresh_rows, fresh_offers = as_compiled_code_reads(laid, source, 0)
        assert np.array_equal(rows, fresh_rows)
        assert np.array_equal(offers, fresh_offers)


def test_chargers_are_those_of_the_signals(scenario):
    laid = Laid(*scenario)
    found = laid.flat.chargers
    assert found.dtype == CHARGER
    for record, charger in zip(found, laid.chargers, strict=True):
        assert (record["source"], record["rated_A"]) == (charger.source, charger.rated_A)
        assert record["knots_V"][: charger.knots].tolist() == list(charger.knots_V)
    assert [int(source) for source in found["source"]] == [0, 0, 1, 2, 3]


def test_members_of_several_seas_are_carried_alike(scenario):
    """To the bit, by plain Python and by machine code."""
    passage = passage_of(boat=boat_of(**TWO_CONTROLLERS, chargers=(SHORE, WATER, WIND)))
    plant = prepare(passage, step_h=1.0).plant
    laid, found = Laid(*scenario), []
    for how in (plain, compiled):
        with how():
            batch = Batch(plant=plant, state=start_state(plant, soc=np.full(9, 0.5)), step_h=1.0)
            found.append(batch.through(laid, series=("soc", "solar_A", "wind_A")))
    for name, series in found[0].items():
        assert np.array_equal(series, found[1][name]), name
    assert len(set(found[0]["soc"][4].tolist())) == 8  # the two without sun are one
