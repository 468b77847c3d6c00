"""The one driver: what it keeps of members, and that it is the same however it is done."""

import os
import signal
import subprocess
import sys
import threading
from types import SimpleNamespace

import numpy as np
import pytest
from builders import LOADS, boat_of, calm_seas, passage_of
from kernels import compiled, plain

from powersim.errors import BalanceError
from powersim.kernel.flows import Flows
from powersim.kernel.records import TOLD
from powersim.kernel.state import Switches
from powersim.kernel.told import Keep, below_frac, tell
from powersim.records import Load
from powersim.simulation import cores, milestones
from powersim.simulation.carry import Batch
from powersim.simulation.differing import of_members
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.flat import Laid
from powersim.simulation.ledgers import LEDGERS
from powersim.simulation.milestones import days_to_flat, days_to_floor
from powersim.simulation.prepare import prepare
from powersim.simulation.run import run
from powersim.simulation.state import start_state

HOWS = pytest.mark.parametrize("how", [plain, compiled])


def told_of(flows, *, soc_start, floor_soc, step_h, counted_from_h=0.0, until_dark=False):
    """What is told of a member whose flows are these, each a dict of those that are not 0."""
    told = SimpleNamespace(**dict.fromkeys(TOLD.names, 0.0))
    told.lowest_soc = told.before_soc = soc_start
    told.lowest_V = told.flat_h = told.floor_h = np.inf
    if soc_start < floor_soc:
        told.floor_h = 0.0
    keep = Keep(step_h, 0, floor_soc, counted_from_h, until_dark, 1)
    plain_flow = dict.fromkeys(Flows._fields, 0.0) | {"bank_V": 13.0, "sag_V": 12.9}
    for step, given in enumerate(flows):
        tell(told, Flows(**(plain_flow | given)), begins_h=step * step_h, keep=keep)
    return told


def test_a_staircase_by_hand():
    """Steps of 2 h from 60 % to 40, 50, 70 and 30 %, against a floor of 50 %.

    The first falls through it half-way: at 1 h, and 1 h below. The second comes up to it at its
    very end: 2 h below. The third is above. The fourth falls from 70 to 30, half of it below: 1 h.
    """
    told = told_of(
        [{"soc": soc} for soc in (0.4, 0.5, 0.7, 0.3)], soc_start=0.6, floor_soc=0.5, step_h=2.0
    )
    assert told.floor_h == pytest.approx(1.0)
    assert told.below_h == pytest.approx(4.0)
    assert (told.lowest_soc, told.lowest_h) == (0.3, 8.0)
    assert told.flat_h == np.inf


def test_a_bank_that_begins_below_its_floor_is_there_at_once():
    """From 45 %, which is the lowest, up to 55 %: half of the step is below 50 %."""
    told = told_of([{"soc": 0.55}], soc_start=0.45, floor_soc=0.5, step_h=1.0)
    assert (told.floor_h, told.lowest_soc, told.lowest_h) == (0.0, 0.45, 0.0)
    assert told.below_h == pytest.approx(0.5)


def test_on_the_floor_is_not_below_it():
    told = told_of([{"soc": 0.5}, {"soc": 0.5}], soc_start=0.6, floor_soc=0.5, step_h=1.0)
    assert (told.floor_h, told.below_h) == (np.inf, 0.0)


@pytest.mark.parametrize(
    ("counted_from_h", "floor_h", "below_h", "lowest"),
    [
        (0.0, 0.5, 2.5, (0.3, 1.0)),
        (1.0, 1.0, 2.0, (0.3, 1.0)),  # at 30 % as charge begins to count: below at once
        (2.0, 2.0, 1.0, (0.4, 2.0)),  # low still
        (3.0, 4.5, 0.5, (0.45, 5.0)),  # brought up by then: 30 % is forgotten
        (1.4, 1.0, 2.0, (0.3, 1.0)),  # from the end of the step on that is nearest
        (1.6, 2.0, 1.0, (0.4, 2.0)),
    ],
)
def test_charge_counts_from_when_it_is_asked_to(counted_from_h, floor_h, below_h, lowest):
    """By hand, steps of an hour against 50 %: 70, then 30, 40, 60, 55 and 45 %.

    Below: half of the first hour, all of the second, half of the third, none of the fourth, half of
    the fifth.
    """
    told = told_of(
        [{"soc": soc} for soc in (0.3, 0.4, 0.6, 0.55, 0.45)],
        soc_start=0.7,
        floor_soc=0.5,
        step_h=1.0,
        counted_from_h=counted_from_h,
    )
    assert told.floor_h == pytest.approx(floor_h)
    assert told.below_h == pytest.approx(below_h)
    assert (told.lowest_soc, told.lowest_h) == lowest


def test_darkness_always_counts():
    flows = [{"soc": 0.6, "dark": dark} for dark in (0.0, 1.0, 0.0, 1.0)]
    told = told_of(flows, soc_start=0.7, floor_soc=0.5, step_h=0.5, counted_from_h=99.0)
    assert told.flat_h == 0.5


def test_starts_of_the_engine_are_counted_and_not_its_steps():
    """Two runs by hand: the second and third step, and the last; a part of a step is a run too."""
    flows = [{"soc": 0.6, "charging": share} for share in (0.0, 1.0, 0.3, 0.0, 0.1)]
    assert told_of(flows, soc_start=0.7, floor_soc=0.5, step_h=1.0).runs == 2.0


def test_the_lowest_voltage_is_that_with_the_heaviest_load_on_or_without():
    flows = [{"soc": 0.6, "bank_V": 12.5, "sag_V": 11.9}, {"soc": 0.6, "bank_V": 11.8}]
    assert told_of(flows, soc_start=0.7, floor_soc=0.5, step_h=1.0).lowest_V == 11.8
    assert told_of(flows[:1], soc_start=0.7, floor_soc=0.5, step_h=1.0).lowest_V == 11.9


def test_the_longest_time_between_full_charges():
    flows = [{"soc": 0.6, "since_full_h": hours} for hours in (1.0, 2.0, 0.0, 1.0)]
    assert told_of(flows, soc_start=0.7, floor_soc=0.5, step_h=1.0).longest_since_full_h == 2.0


def test_milestones_are_those_of_the_whole_run():
    """Of random walks, held against what is worked out from all of their steps at once."""
    rng = np.random.default_rng(1)
    walks = np.clip(0.8 + np.cumsum(rng.normal(-0.004, 0.02, (300, 20)), axis=0), 0.05, 1.0)
    for soc in walks.T:
        dark = soc < 0.2
        told = told_of(
            [{"soc": one, "dark": float(off)} for one, off in zip(soc.tolist(), dark, strict=True)],
            soc_start=0.8,
            floor_soc=0.5,
            step_h=0.25,
        )
        given = {"soc_start": 0.8, "floor_soc": 0.5, "step_h": 0.25}
        assert told.floor_h == pytest.approx(24.0 * days_to_floor(soc[:, None], **given)[0])
        assert told.flat_h == 24.0 * days_to_flat(dark[:, None], step_h=0.25)[0]
        assert told.lowest_soc == min(0.8, soc.min())
        assert told.lowest_h == 0.25 * (1 + soc.argmin())
        below = milestones.below_frac(np.array([0.8, *soc[:-1]]), soc, floor_soc=0.5)
        assert told.below_h == pytest.approx(0.25 * below.sum())
    assert (walks < 0.5).any(axis=0).sum() > 5
    assert 2 < (walks < 0.2).any(axis=0).sum() < 20


@pytest.mark.parametrize(
    ("before", "after", "share"),
    [(0.6, 0.7, 0.0), (0.5, 0.5, 0.0), (0.4, 0.3, 1.0), (0.4, 0.4, 1.0), (0.7, 0.4, 1.0 / 3.0)],
)
def test_share_of_a_step_below_the_floor(before, after, share):
    assert below_frac(before, after, floor_soc=0.5) == pytest.approx(share)
    assert below_frac(after, before, floor_soc=0.5) == pytest.approx(share)


@HOWS
def test_a_bank_that_empties_evenly_by_hand(how):
    """9.35 A on 187 Ah, 5 % an hour: from 80 % to 30 % in 10 h.

    Through 52.5 % at 5.5 h, and 4.5 h below. The second member begins at 60 %: through it at 1.5 h,
    at 20 %, where all goes dark, after 8 h. The sums of 10 h: 93.5 Ah, and 74.8 Ah for the second.
    """
    passage = calm_seas(
        loads=(Load(name="pilot", draw_A=9.35),),
        boat={"battery": {"cutout_V": 9.0, "peukert_exponent": 1.0}},
    )
    prepared = prepare(passage, step_h=1.0)
    with how():
        batch = Batch(
            plant=prepared.plant,
            state=start_state(prepared.plant, soc=np.array([0.8, 0.6])),
            step_h=1.0,
            floor_soc=0.525,
            sums=("load_A", "unserved_A", "dark"),
        )
        found = batch.through(prepared.signals.between(0, 10), series=("soc",))
    assert found["soc"][:, 0] == pytest.approx(0.75 - 0.05 * np.arange(10))
    assert batch.told["floor_h"] == pytest.approx([5.5, 1.5])
    assert batch.told["below_h"] == pytest.approx([4.5, 8.5])
    assert batch.told["lowest_soc"] == pytest.approx([0.3, 0.2])
    assert batch.told["lowest_h"].tolist() == [10.0, 8.0]
    assert batch.told["flat_h"].tolist() == [np.inf, 8.0]
    assert batch.sums["load_A"] == pytest.approx([93.5, 74.8])
    assert batch.sums["unserved_A"] == pytest.approx([0.0, 18.7])
    assert batch.sums["dark"].tolist() == [0.0, 2.0]
    assert batch.step == 10


@pytest.fixture(scope="module")
def forcing():
    """Two days in six members, in some of which the bank runs flat."""
    boat = boat_of(
        capacity_Ah=80.0,
        charging={"start_soc": 0.4, "stop_soc": 0.6, "hours_h": (8.0, 16.0)},
    )
    passage = passage_of(boat=boat, loads=LOADS[:4], days=2.0, leg={"motoring_calm_frac": 0.3})
    return draw_ensemble(passage, prepare(passage, step_h=0.5), members=6, seed=3)


@pytest.fixture(scope="module")
def signals(forcing):
    return forcing.signals(slice(0, forcing.prepared.track.n_steps))


def begun(forcing, **given):
    plant = forcing.plant
    soc = np.linspace(0.3, 0.9, forcing.members)
    given = {"plant": plant, "state": start_state(plant, soc=soc), "sums": LEDGERS} | given
    return Batch(step_h=0.5, floor_soc=0.5, **given)


def hold_same(one, other):
    """State, sums and what is told, to the last bit."""
    for name, here, there in zip(one.state._fields, one.state, other.state, strict=True):
        assert np.array_equal(here, there), name
    assert np.array_equal(one.told, other.told)
    for name, value in one.sums.items():
        assert np.array_equal(value, other.sums[name]), name


@HOWS
@pytest.mark.parametrize("until_dark", [False, True])
def test_it_is_the_same_however_the_steps_are_cut(forcing, signals, how, until_dark):
    """In one go, in stretches of some sizes, and step by step."""
    with how():
        whole = begun(forcing, until_dark=until_dark)
        kept = whole.through(signals, series=("soc", "burnt_L"))
        for stretch in (1, 7, 48):
            cut = begun(forcing, until_dark=until_dark)
            parts = [
                cut.through(signals.between(at, min(at + stretch, 96)), series=("soc", "burnt_L"))
                for at in range(0, 96, stretch)
            ]
            hold_same(whole, cut)
            for name, series in kept.items():
                assert np.array_equal(np.concatenate([one[name] for one in parts]), series)
    assert 0 < np.isfinite(whole.told["flat_h"]).sum() < forcing.members


@pytest.mark.parametrize("threads", [2, 3, 6, 9])
def test_it_is_the_same_on_any_number_of_cores(monkeypatch, forcing, signals, threads):
    with compiled():
        one = begun(forcing)
        alone = one.through(signals, series=Flows._fields)
        monkeypatch.setattr(cores, "cores", lambda: threads)
        monkeypatch.setattr(cores, "LEAST", 1)
        many = begun(forcing)
        beside = many.through(signals, series=Flows._fields)
    hold_same(one, many)
    for name, series in alone.items():
        assert np.array_equal(series, beside[name]), name


@HOWS
@pytest.mark.parametrize("every", [2, 5])
def test_of_every_so_many_steps_the_last_is_kept(forcing, signals, how, every):
    with how():
        all_of_them = begun(forcing).through(signals, series=("soc", "in_A"))
        some = begun(forcing).through(signals, series=("in_A", "soc"), every=every)
    for name, series in some.items():
        assert np.array_equal(series, all_of_them[name][every - 1 :: every]), name
        assert len(series) == 96 // every


@HOWS
def test_nothing_is_kept_that_is_not_asked_for(forcing, signals, how):
    with how():
        batch = begun(forcing, sums=())
        assert batch.through(signals) == {}
    assert batch.sums == {}


@HOWS
def test_sums_and_starts_are_those_of_all_steps(forcing, signals, how):
    with how():
        batch = begun(forcing)
        flow = Flows(**batch.through(signals, series=Flows._fields))
    for name in LEDGERS:
        assert batch.sums[name] == pytest.approx(getattr(flow, name).sum(axis=0), abs=1e-9)
    on = np.concatenate([np.zeros((1, 6)), flow.charging]) > 0.0
    assert np.array_equal(batch.told["runs"], (on[1:] & ~on[:-1]).sum(axis=0))
    assert batch.told["runs"].max() > 0.0
    assert np.array_equal(batch.told["longest_since_full_h"], flow.since_full_h.max(axis=0))
    assert batch.surplus_A == pytest.approx(
        (flow.solar_offered_A - flow.solar_A).sum(axis=0), abs=1e-9
    )


@HOWS
def test_a_member_that_is_dark_is_left_as_it_was(forcing, signals, how):
    """After the step in which it goes dark; what is kept of it from there on is nothing."""
    with how():
        whole = begun(forcing)
        flow = whole.through(signals, series=("soc", "load_A"))
        batch = begun(forcing, until_dark=True)
        cut = batch.through(signals, series=("soc", "load_A"))
    assert np.array_equal(batch.told["flat_h"], whole.told["flat_h"])
    for member, flat_h in enumerate(batch.told["flat_h"]):
        steps = 96 if np.isinf(flat_h) else round(flat_h / 0.5) + 1
        for name in flow:
            assert np.array_equal(cut[name][:steps, member], flow[name][:steps, member])
            assert not cut[name][steps:, member].any()
        assert batch.sums["load_A"][member] == pytest.approx(flow["load_A"][:steps, member].sum())
        assert batch.state.dark[member] == np.isfinite(flat_h)


@HOWS
def test_each_meets_the_weather_that_it_is_given(forcing, signals, how):
    """In any order, and several in one: each as in a run with that weather alone."""
    source_of, soc = np.array([4, 0, 4, 2]), np.array([0.9, 0.8, 0.9, 0.5])
    plant = without_errors(of_members(forcing.plant, source_of))
    with how():
        batch = Batch(
            plant=plant,
            state=start_state(plant, soc=soc),
            step_h=0.5,
            source_of=source_of,
        )
        found = batch.through(signals, series=("soc",))["soc"]
        for place, source in enumerate(source_of):
            own = of_members(plant, np.array([place]))
            alone, _ = run(
                forcing.between(source, source + 1).signals(slice(0, 96)),
                plant=own,
                state=start_state(own, soc=soc[[place]]),
            )
            assert np.array_equal(alone.soc[:, 0], found[:, place])
    assert not np.array_equal(found[:, 0], found[:, 1])


@HOWS
def test_each_is_the_boat_that_it_is_given(forcing, signals, how):
    """Two boats for three members, in any order: each as that boat alone."""
    boat_of = np.array([1, 0, 1])
    plant = of_members(forcing.plant, np.array([2, 5]))
    soc = np.array([0.9, 0.8, 0.7])
    of_each = of_members(plant, boat_of)
    state, meets = start_state(of_each, soc=soc), {"source_of": np.array([0, 1, 2])}
    with how():
        few = Batch(plant=plant, state=state, step_h=0.5, boat_of=boat_of, **meets)
        each = Batch(plant=of_each, state=state, step_h=0.5, **meets)
        assert np.array_equal(few.told, each.told)
        for batch in (few, each):
            batch.through(signals)
    assert np.array_equal(few.told, each.told)
    assert np.array_equal(few.state.total_Ah, each.state.total_Ah)


@HOWS
def test_who_begins_later_may_begin_as_another_is_by_then(forcing, signals, how):
    """As if it had begun so: what is told of it counts from there."""
    with how():
        working = begun(forcing)
        working.through(signals.between(0, 10))
        late = {"joins_h": 5.0, "floor_soc": 0.75, "step_h": 0.5, "plant": forcing.plant}
        told_at_once = Batch(state=working.state, **late)
        told_later = Batch(state=begun(forcing).state, **late)
        told_later.begin(np.arange(forcing.members), working.states_now())
        for batch in (told_at_once, told_later):
            batch.through(signals)
    assert np.array_equal(told_at_once.told, told_later.told)
    assert np.isfinite(told_later.told["floor_h"]).any()
    assert told_later.told["floor_h"].min() >= 5.0


@HOWS
def test_who_leaves_stays_as_it_is(forcing, signals, how):
    with how():
        batch, whole = begun(forcing), begun(forcing)
        batch.told["leaves_h"][:2] = 5.0
        batch.through(signals.between(0, 20))
        batch.through(signals.between(20, 40))
        whole.through(signals.between(0, 10))
        assert np.array_equal(batch.state.total_Ah[:2], whole.state.total_Ah[:2])
        whole.through(signals.between(10, 40))
        assert np.array_equal(batch.state.total_Ah[2:], whole.state.total_Ah[2:])


def without_errors(plant):
    """The plant of somebody who reads the bank as it is."""
    from dataclasses import replace

    return replace(plant, rule=replace(plant.rule, start_soc=0.4))


@HOWS
def test_each_follows_the_orders_that_it_is_given(forcing, signals, how):
    """By hand: order 0 is to leave the engine alone, 1 to charge in the first two hours."""
    ordered = np.zeros((96, 2))
    ordered[:4, 1] = 1.0
    laid = Laid(signals, orders={"ordered": ordered})
    with how():
        batch = begun(forcing, order_of=np.array([0, 1, 0, 1, 1, 0]))
        found = batch.through(laid.between(0, 4), series=("charging",))["charging"]
        motoring = signals.motoring[:4]
    assert np.array_equal(found[:, 1], 1.0 - motoring[:, 1])
    assert batch.state.by_order.tolist() == [
        bool(order and motoring[3, member] < 1.0) for member, order in enumerate((0, 1, 0, 1, 1, 0))
    ]


@HOWS
def test_members_are_taken_as_they_are(forcing, signals, how):
    """Some, in another order, one twice: they go on as they would have, and the others too."""
    with how():
        batch = begun(forcing)
        batch.through(signals.between(0, 40))
        before_soc = batch.told["before_soc"].copy()
        few = batch.taken(np.array([5, 2, 2]))
        assert (few.members, few.step) == (3, 40)
        few.through(signals.between(40, 96))
        assert np.array_equal(batch.told["before_soc"], before_soc)
        batch.through(signals.between(40, 96))
        hold_same(few, batch.taken(np.array([5, 2, 2])))
        few.check()


@HOWS
def test_those_taken_may_follow_other_orders(forcing, signals, how):
    ordered = np.tile([0.0, 1.0], (96, 1))
    laid = Laid(signals, orders={"ordered": ordered})
    with how():
        batch = begun(forcing)
        batch.through(laid.between(0, 2))
        both = batch.taken(np.array([3, 3]), order_of=np.array([0, 1]))
        found = both.through(laid.between(2, 3), series=("charging", "motoring"))
    assert found["charging"][0, 1] == 1.0 - found["motoring"][0, 1] > 0.0
    assert found["charging"][0, 0] < 1.0


@HOWS
def test_a_weather_that_is_not_there_is_refused(forcing, signals, how):
    with how():
        batch = begun(forcing, source_of=np.array([0, 1, 2, 3, 4, 6]))
        with pytest.raises(ValueError, match=r"are 6 members of the signals.* asked for: 6"):
            batch.through(signals)


@HOWS
def test_orders_that_are_not_there_are_refused(forcing, signals, how):
    for count in (1, 2):
        laid = Laid(signals, orders={"ordered": np.zeros((96, count))})
        with how():
            batch = begun(forcing, order_of=np.array([0, 0, 0, 0, 0, count]))
            with pytest.raises(ValueError, match=f"are {count} orders to .* asked for: {count}"):
                batch.through(laid)


@HOWS
def test_any_kind_of_number_will_do(forcing, signals, how):
    """Whole hours as int, levels of numpy's, members counted in 32 bits as on some systems."""
    asked = {"source_of": np.array([5, 0, 1, 2, 3, 4]), "order_of": np.zeros(6, np.int64)}
    laid = Laid(signals, orders={"ordered": np.zeros((96, 1))})
    found = []
    for number, whole, places in ((float, float, np.int64), (np.float32, int, np.int32)):
        with how():
            batch = Batch(
                plant=forcing.plant,
                state=start_state(forcing.plant, soc=np.full(6, 0.625)),
                step_h=whole(1),
                floor_soc=number(0.5),
                counted_from_h=whole(6),
                until_dark=np.bool_(True),
                sums=("load_A",),
                **{name: value.astype(places) for name, value in asked.items()},
            )
            batch.through(laid)
            few = batch.taken(np.arange(3), order_of=np.zeros(3, places))
            few.through(laid)
        found += [batch, few]
    for one, other in zip(found[:2], found[2:], strict=True):
        hold_same(one, other)


def test_all_members_meet_what_is_laid_out_for_one(forcing):
    """The mean sky, whatever their number."""
    prepared = forcing.prepared
    batch = begun(forcing)
    batch.through(prepared.signals)
    alone, _ = run(
        prepared.signals,
        plant=without_errors(forcing.plant),
        state=start_state(forcing.plant, soc=0.9),
    )
    assert batch.told["before_soc"][5] == pytest.approx(alone.soc[-1, 0], abs=0.2)
    batch.check()


@pytest.mark.parametrize(
    ("name", "what"),
    [
        *((name, "charge over the bus") for name in ("load_A", "wind_A", "shore_A", "out_A")),
        ("gassing_A", "charge in the bank"),
        ("self_discharge_A", "charge in the bank"),
    ],
)
def test_sums_that_do_not_close_name_the_member(forcing, signals, name, what):
    """Half an ampere for half an hour, made up for the second."""
    batch = begun(forcing)
    batch.through(signals)
    batch.check()
    batch.sums[name][1] += 0.5
    with pytest.raises(
        BalanceError, match=rf"^the books of {what} do not close for member 1: -?0\.25 Ah too much"
    ):
        batch.check()


def test_a_bank_that_gains_what_nobody_gave_is_found_out(forcing, signals):
    batch = begun(forcing)
    batch.through(signals)
    batch.state.total_Ah[4] += 1e-5
    with pytest.raises(BalanceError, match="charge in the bank do not close for member 4"):
        batch.check()


def test_books_of_some_that_were_taken_begin_where_the_run_began(forcing, signals):
    batch = begun(forcing, switches=Switches(groups=(1.0, 1.0, np.linspace(0.0, 1.0, 6), 1.0)))
    batch.through(signals.between(0, 30))
    batch.taken(np.array([4, 1])).check()


class Hands:
    """Who takes part in some work, and what was done."""

    def __init__(self, monkeypatch, *, parts):
        monkeypatch.setattr(cores, "cores", lambda: parts)
        monkeypatch.setattr(cores, "LEAST", 1)
        monkeypatch.setattr(cores, "PARTS_EACH", 1)
        self.done, self.lock = [], threading.Lock()

    def did(self, first, last):
        with self.lock:
            self.done.append((first, last))

    def shared(self, work, members=9):
        """Share it out, and give up the whole test if that hangs."""
        cores.side_by_side(work, members, steps=100)


def test_every_member_is_carried_once(monkeypatch):
    for parts in (1, 2, 3, 8):
        hands = Hands(monkeypatch, parts=parts)
        hands.shared(hands.did)
        done = sorted(hands.done)
        assert len(done) == parts
        assert [member for part in done for member in range(*part)] == list(range(9))


def test_there_are_more_parts_than_hands_and_whoever_is_done_takes_the_next(monkeypatch):
    """A part that takes as long as all others together leaves them to the other hand."""
    hands = Hands(monkeypatch, parts=2)
    monkeypatch.setattr(cores, "PARTS_EACH", 4)
    by, last_is_done = {}, threading.Event()

    def work(first, last):
        by[first] = threading.current_thread().name
        if first == 0:
            assert last_is_done.wait(5.0)
        hands.did(first, last)
        if last == 16:
            last_is_done.set()

    hands.shared(work, members=16)
    assert sorted(hands.done) == [(first, first + 2) for first in range(0, 16, 2)]
    assert len({name for first, name in by.items() if first > 0}) == 1
    assert by[0] != by[2]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
def test_a_process_that_was_forked_since_goes_on_alone():
    """Threads are not forked along: who waits for them waits for ever."""
    program = """
import os, signal, sys, threading, warnings
from powersim.simulation import cores
warnings.simplefilter("ignore")  # newer Pythons warn of a fork beside threads
cores.cores, cores.LEAST = (lambda: 2), 1
done = []
def work(*part):
    done.append(part)
    threading.Event().wait(0.01)
cores.side_by_side(work, 8, steps=1)
child = os.fork()
if not child:
    signal.alarm(20)
    done.clear()
    cores.side_by_side(work, 8, steps=1)
    os._exit(len(done))
print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
"""
    ended = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert (ended.stdout, ended.returncode) == ("8\n", 0), ended.stderr


def test_little_work_is_not_divided(monkeypatch):
    """A thread takes as long to start as some thousand member-steps."""
    monkeypatch.setattr(cores, "cores", lambda: 8)
    done = []
    cores.side_by_side(lambda *part: done.append(part), 9, steps=100)
    assert done == [(0, 9)]


@pytest.mark.parametrize("fails", [0, 3, 6])
def test_an_error_in_any_part_is_raised_when_all_are_done(monkeypatch, fails):
    """Nobody writes into arrays any more when the caller hears of it."""
    hands = Hands(monkeypatch, parts=3)

    def work(first, last):
        if first == fails:
            raise ZeroDivisionError(f"in the part from {first}")
        threading.Event().wait(0.05)
        hands.did(first, last)

    with pytest.raises(ZeroDivisionError, match=f"in the part from {fails}"):
        hands.shared(work)
    done = list(hands.done)  # who had not begun when another failed need not
    assert set(done) <= {part for part in ((0, 3), (3, 6), (6, 9)) if part[0] != fails}
    threading.Event().wait(0.1)
    assert hands.done == done
    hands.done.clear()
    hands.shared(hands.did)  # the threads are none the worse for it
    assert len(hands.done) == 3


@pytest.fixture
def pythons_own_ctrl_c():
    """Commands that were run in this process before have put another handler in its place."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("pythons_own_ctrl_c")
def test_ctrl_c_at_work_is_heard_when_the_others_are_done(monkeypatch):
    hands, begun = Hands(monkeypatch, parts=2), threading.Event()

    def work(first, last):
        if first == 0:
            assert begun.wait(5.0)
            signal.raise_signal(signal.SIGINT)
        begun.set()
        threading.Event().wait(0.05)
        hands.did(first, last)

    with pytest.raises(KeyboardInterrupt):
        hands.shared(work)
    assert hands.done == [(4, 9)]


@pytest.mark.skipif(not hasattr(signal, "pthread_kill"), reason="waits there until all are done")
@pytest.mark.usefixtures("pythons_own_ctrl_c")
def test_ctrl_c_while_waiting_for_the_others_does_not_hang(monkeypatch):
    hands, go_on = Hands(monkeypatch, parts=2), threading.Event()
    at_main = [threading.main_thread().ident, signal.SIGINT]

    def work(first, last):
        if first > 0:
            threading.Timer(0.05, signal.pthread_kill, at_main).start()
            go_on.wait(5.0)
        hands.did(first, last)

    with pytest.raises(KeyboardInterrupt):
        hands.shared(work)
    assert hands.done == [(0, 4)]
    go_on.set()
    hands.shared(hands.did)
    assert set(hands.done) == {(0, 4), (4, 9)}
