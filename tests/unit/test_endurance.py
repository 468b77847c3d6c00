"""The endurance table against arithmetic, against the simulated passage, and against itself."""

import math
from dataclasses import asdict
from itertools import product

import numpy as np
import pytest
from builders import boat_of, calm_seas, passage_of

from powersim.planning.cases import LOAD_SETS
from powersim.planning.endurance import HOLD_DAYS, endurance
from powersim.planning.failures import NO_CHARGING, NO_ENGINE, WORKING
from powersim.records import Load
from powersim.simulation.ensemble import run_ensemble
from powersim.simulation.milestones import days_to_flat, days_to_floor
from powersim.simulation.result import simulate


def line(table, loss, loads="all loads"):
    (found,) = [one for one in table.lines if (one.loss, one.loads) == (loss, loads)]
    return found


@pytest.fixture(scope="module")
def table(result_of_five_days):
    return endurance(result_of_five_days, members=1)


@pytest.fixture(scope="module")
def result_of_five_days():
    """Short of sun and charged by engine, motoring at both ends."""
    return simulate(
        passage_of(
            boat=boat_of(panel_W=(60.0,), battery={"soc_at_departure": 0.9}),
            leg={"motoring_start_h": 2.0, "motoring_end_h": 2.0},
            days=5.0,
        )
    )


def test_days_to_flat_of_a_constant_current():
    """80 % of 187 Ah at 2.5 A are 59.84 h: dark from the first step that begins at 20 %."""
    result = simulate(calm_seas(loads=(Load(name="all", draw_A=2.5),), days=4.0))
    found = line(endurance(result, costs=False, members=1), NO_CHARGING)
    assert found.days_to_flat == pytest.approx(60.0 / 24.0)
    assert result.without_charging == (found.days_to_floor, found.days_to_flat)


def test_everything_working_is_the_simulated_passage(result_of_five_days, table):
    flow, battery = result_of_five_days.flow, result_of_five_days.passage.boat.battery
    found = line(table, WORKING)
    (floor_days,) = days_to_floor(
        flow.soc, soc_start=battery.soc_at_departure, floor_soc=battery.floor_soc, step_h=0.25
    )
    assert math.isfinite(floor_days)
    assert found.days_to_floor == pytest.approx(floor_days, abs=1e-12)
    assert found.days_to_flat == days_to_flat(flow.dark, step_h=0.25)[0]
    assert table.soc == pytest.approx(0.9)
    assert table.days_to_landfall == result_of_five_days.summary["passage"]["days"]


def test_nothing_charging_is_what_the_summary_says(result_of_five_days, table):
    found = line(table, NO_CHARGING)
    summary = result_of_five_days.summary["without_charging"]
    assert found.days_to_floor == pytest.approx(summary["days_to_floor"], abs=1e-12)
    assert math.isinf(found.days_to_flat) == (summary["days_to_flat"] is None)


@pytest.mark.parametrize("from_h", [0.0, 30.0, 77.1])
def test_a_table_has_every_case_once_and_fewer_loads_last_as_long(result_of_five_days, from_h):
    lines = endurance(result_of_five_days, from_h=from_h, costs=False, members=1).lines
    losses = list(dict.fromkeys(one.loss for one in lines))
    assert losses == [
        WORKING,
        "alternator lost",
        NO_ENGINE,
        "tank fuel fouled",
        "solar lost",
        NO_CHARGING,
        "battery at half capacity",
    ]
    assert [(one.loss, one.loads) for one in lines] == list(product(losses, LOAD_SETS))
    everything, plain, essential = (one for one in lines if one.loss == NO_CHARGING)
    # Under a charging rule this need not be so; without charging it is.
    assert everything.days_to_floor < plain.days_to_floor < essential.days_to_floor
    assert everything.days_to_flat <= plain.days_to_flat <= essential.days_to_flat


def test_losses_shorten_what_they_should(table):
    working, no_engine, nothing = (line(table, loss) for loss in (WORKING, NO_ENGINE, NO_CHARGING))
    assert nothing.days_to_floor < no_engine.days_to_floor <= working.days_to_floor
    assert nothing.days_to_flat <= no_engine.days_to_flat <= working.days_to_flat


@pytest.mark.parametrize("from_h", [30.0, 30.1, 30.24])
def test_counting_from_a_later_hour_goes_on_from_its_state(result_of_five_days, from_h):
    """The rest of the simulated passage, from the step's edge before that hour."""
    later = endurance(result_of_five_days, from_h=from_h, costs=False, members=1)
    soc = result_of_five_days.flow.soc
    assert later.from_h == 30.0
    assert later.soc == pytest.approx(soc[119, 0], abs=1e-12)
    assert later.days_to_landfall == pytest.approx(
        result_of_five_days.summary["passage"]["days"] - 30.0 / 24.0
    )
    (floor_days,) = days_to_floor(soc[120:], soc_start=soc[119], floor_soc=0.5, step_h=0.25)
    assert line(later, WORKING).days_to_floor == pytest.approx(floor_days, abs=1e-12)


@pytest.mark.parametrize("from_h", [-1.0, 1000.0, math.nan])
def test_hours_outside_the_passage_are_refused(result_of_five_days, from_h):
    with pytest.raises(ValueError, match=r"^from_h must be 0 to below 119\.807, got "):
        endurance(result_of_five_days, from_h=from_h, costs=False, members=1)


def test_a_bank_that_goes_dark_above_its_floor_is_no_better_than_its_floor():
    """A 60 A winch pulls the voltage down long before half of the charge is gone: the floor is of
    no use any more, so it counts as reached, and landfall does not come first.
    """
    winch = Load(name="winch", draw_A=60.0, on_frac=0.05)
    result = simulate(calm_seas(loads=(winch,), days=3.0))
    found = line(endurance(result, costs=False, members=1), NO_CHARGING)
    assert result.flow.soc.min() > 0.5
    assert math.isfinite(found.days_to_flat)
    assert found.days_to_floor == found.days_to_flat
    assert result.without_charging == (found.days_to_floor, found.days_to_flat)


def test_in_members_everything_working_is_the_ensemble(result_of_five_days):
    """Member by member, from departure: the same members, draws and readings."""
    passage, prepared = result_of_five_days.passage, result_of_five_days.prepared
    ensemble = run_ensemble(passage, prepared, members=6, seed=3)
    found = line(endurance(result_of_five_days, members=6, seed=3, costs=False), WORKING)
    landfall_h = prepared.track.arrival_h
    for told_days, known_h in (
        (found.days_to_floor, ensemble.floor_h),
        (found.days_to_flat, ensemble.flat_h),
    ):
        known_h = np.where(known_h > landfall_h, np.inf, known_h)
        np.testing.assert_allclose(told_days, known_h / 24.0, atol=1e-9)
    assert np.isfinite(found.days_to_floor).any()


def test_in_members_a_later_moment_goes_on_from_each_members_bank(result_of_five_days):
    passage, prepared = result_of_five_days.passage, result_of_five_days.prepared
    ensemble = run_ensemble(passage, prepared, members=4, seed=3)
    later = endurance(result_of_five_days, from_h=30.0, members=4, seed=3, costs=False)
    np.testing.assert_allclose(later.soc, ensemble.hour_soc[29], atol=1e-12)
    assert later.seed == 3


def motored(**fuel):
    """Twenty hours under engine at 2 L/h, and charging whenever the bank is below 90 %."""
    boat = boat_of(
        panel_W=(),
        battery={"soc_at_departure": 0.9},
        fuel=fuel,
        charging={"start_soc": 0.7, "stop_soc": 0.9},
    )
    loads = (Load(name="all", draw_A=5.0),)
    return simulate(passage_of(boat=boat, loads=loads, leg={"motoring_start_h": 20.0}, days=3.0))


def test_fouled_without_a_can_the_engine_never_turns_again():
    table = endurance(motored(jerrycans_L=0.0, aboard_L=70.0), costs=False, members=1)
    fouled, bare = line(table, "tank fuel fouled"), line(table, NO_CHARGING)
    assert fouled.days_to_floor == pytest.approx(bare.days_to_floor, abs=1e-9)
    assert fouled.days_to_flat == bare.days_to_flat
    assert line(table, WORKING).days_to_floor > fouled.days_to_floor


def test_fouled_with_cans_for_all_that_is_wanted_is_no_loss():
    table = endurance(
        motored(tank_L=80.0, jerrycans_L=60.0, aboard_L=140.0), costs=False, members=1
    )
    fouled, working = line(table, "tank fuel fouled"), line(table, WORKING)
    assert fouled.days_to_floor == working.days_to_floor
    assert fouled.days_to_flat == working.days_to_flat


@pytest.mark.parametrize("cans_L", [3.0, 25.0])
def test_the_tank_is_used_first(cans_L):
    """Of 50 L, 4 out of reach, 40 are motored away in the first 20 hours: 6 are left. With cans of
    25 L nothing was lost that could still be burnt; with cans of 3 L three litres were.
    """
    result = motored(aboard_L=50.0, jerrycans_L=cans_L, reserve_L=0.0)
    table = endurance(result, from_h=20.0, costs=False, members=1)
    fouled, working = line(table, "tank fuel fouled"), line(table, WORKING)
    burnt_L = result.flow.burnt_L[79, 0]
    assert 40.0 <= burnt_L < 41.0 + 2.0
    if cans_L > 46.0 - burnt_L:
        assert fouled.days_to_floor == working.days_to_floor
    else:
        assert fouled.days_to_floor < working.days_to_floor


def test_a_member_of_one_is_the_mean_sky_and_none_is_refused(result_of_five_days):
    assert endurance(result_of_five_days, members=1, costs=False).seed is None
    with pytest.raises(ValueError, match=r"^members must be 1 or more, got 0$"):
        endurance(result_of_five_days, members=0)


@pytest.mark.parametrize(("members", "from_h"), [(1, 0.0), (1, "worst"), (3, 50.0)])
def test_progress_rises_to_the_whole(result_of_five_days, members, from_h):
    shares = []
    endurance(result_of_five_days, members=members, from_h=from_h, progress=shares.append)
    assert shares == sorted(shares)
    assert 0.0 < shares[0] <= shares[-1] == pytest.approx(1.0)


def test_lines_alone_are_the_same_lines(result_of_five_days, table):
    alone = endurance(result_of_five_days, costs=False, members=1)
    assert (alone.dropping, alone.fuel) == (None, ())
    assert list(map(asdict, alone.lines)) == list(map(asdict, table.lines))
    assert table.dropping.beside == NO_ENGINE
    assert [course.factor for course in table.fuel] == [1.0, 1.5]


def test_held_at_the_last_position_the_days_go_on():
    """2 A from 187 Ah: to the floor after 46.75 h, to flat after 74.8, on a passage of two days."""
    result = simulate(calm_seas(loads=(Load(name="all", draw_A=2.0),), days=2.0))
    stops = line(endurance(result, costs=False, members=1), NO_CHARGING)
    beyond = endurance(result, beyond=True, costs=False, members=1)
    goes_on = line(beyond, NO_CHARGING)
    assert beyond.held_days == HOLD_DAYS
    assert beyond.days_to_landfall == pytest.approx(2.0, abs=0.02)
    assert stops.days_to_floor == goes_on.days_to_floor == pytest.approx(46.75 / 24.0)
    assert math.isinf(stops.days_to_flat)
    assert goes_on.days_to_flat == pytest.approx(75.0 / 24.0, abs=0.011)


def test_what_happens_in_the_last_step_after_landfall_does_not_count():
    """Landfall after 46.3 h, the floor at 46.75 h: in the same step, which goes on to 47."""
    passage = calm_seas(loads=(Load(name="all", draw_A=2.0),), days=46.38 / 24.0)
    result = simulate(passage, step_h=1.0)
    assert 46.0 < result.prepared.track.arrival_h < 46.75
    found = line(endurance(result, costs=False, members=1), NO_CHARGING)
    assert result.flow.soc.min() < 0.5
    assert math.isinf(found.days_to_floor)


def test_lithium_protection_that_opens_is_dark_at_once():
    result = simulate(passage_of(boat=boat_of(chemistry="lifepo4"), days=1.0), step_h=1.0)
    for members in (1, 3):
        found = line(endurance(result, members=members, costs=False), "lithium protection opens")
        assert found.at_once
        assert np.all(np.equal(found.days_to_floor, 0.0) & np.equal(found.days_to_flat, 0.0))


def test_a_lost_engine_leaves_the_boat_sailing():
    """Lights of a boat under engine burn in gear only; those of a sailing boat in their place."""
    loads = (
        Load(name="steaming", draw_A=9.0, states=frozenset({"motoring"})),
        Load(name="tricolour", draw_A=1.0, states=frozenset({"sailing"})),
    )
    leg = {"motoring_start_h": 100.0, "cabin_C": 25.0}
    still = {"self_discharge_frac_per_month": 0.0}
    boat = boat_of(panel_W=(), battery=still)
    result = simulate(passage_of(boat=boat, loads=loads, leg=leg, days=4.5))
    table = endurance(result, costs=False, members=1)
    # 93.5 Ah at 1 A; with the alternator lost she motors on, at 9 A.
    assert line(table, NO_ENGINE).days_to_floor == pytest.approx(93.5 / 24.0, abs=1e-6)
    assert line(table, "alternator lost").days_to_floor < 20.0 / 24.0


def test_loads_are_costed_in_the_first_members_as_if_there_were_no_more(monkeypatch):
    """Six members of which four tell the gains: the same arrays as with four and no more."""
    monkeypatch.setattr("powersim.planning.endurance.FEW", 4)
    result = motored(jerrycans_L=0.0, aboard_L=70.0)
    many, few = (endurance(result, members=members) for members in (6, 4))
    assert (many.passages, many.dropping.passages, few.dropping.passages) == (6, 4, 4)
    assert [one.load for one in many.dropping.gains] == [one.load for one in few.dropping.gains]
    for one, other in zip(many.dropping.gains, few.dropping.gains, strict=True):
        np.testing.assert_array_equal(one.days_to_flat, other.days_to_flat)
        np.testing.assert_array_equal(one.beside_days_to_floor, other.beside_days_to_floor)
    for one, other in zip(many.lines, few.lines, strict=True):
        np.testing.assert_array_equal(one.days_to_floor[:4], other.days_to_floor)
        np.testing.assert_array_equal(one.days_to_flat[:4], other.days_to_flat)


def test_a_member_answers_alike_whatever_else_is_asked_for():
    """Another loss, the costs and the other moment are simulated beside it, and change nothing."""
    result = motored(jerrycans_L=20.0, aboard_L=70.0)
    alone = endurance(result, members=3, costs=False)
    among = endurance(result, members=3, without=["charging", "engine"])
    assert (len(among.lines) - len(alone.lines), alone.beside) == (3, None)
    for one, other in zip(alone.lines, among.lines, strict=False):
        assert (one.loss, one.loads) == (other.loss, other.loads)
        np.testing.assert_array_equal(one.days_to_floor, other.days_to_floor)
        np.testing.assert_array_equal(one.days_to_flat, other.days_to_flat)
