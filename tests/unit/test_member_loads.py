"""What loads draw in every member."""

import numpy as np
import pytest
from builders import boat_of, in_average, passage_of

from powersim.physics.demand import GROUPS
from powersim.records import READINGS, Load
from powersim.simulation.ensemble import run_ensemble
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.member_loads import by_group, draw_factors
from powersim.simulation.prepare import prepare

LIST = (
    Load(name="pilot", draw_A=2.0, spread_frac=0.3),
    Load(name="log", draw_A=0.2),
    Load(name="pump", draw_A=5.0, spread_frac=0.8),
)


def factors_of(members=20_000, seed=4):
    return draw_factors(LIST, n_rows=4, seed=seed, members=members)


def test_a_draw_has_the_mean_of_the_list_and_its_spread():
    factors = factors_of()
    for row, load in enumerate(LIST):
        # Standard error of the mean of 20,000: 0.6 % at the widest spread.
        assert factors[row].mean() == pytest.approx(1.0, abs=0.02)
        assert factors[row].std() == pytest.approx(load.spread_frac, rel=0.06, abs=1e-12)
    assert factors.min() > 0.0


def test_what_supplies_take_is_known():
    assert np.array_equal(factors_of()[3], np.ones(20_000))


def test_loads_err_independently():
    factors = factors_of()
    assert abs(np.corrcoef(factors[0], factors[2])[0, 1]) < 0.03


def test_groups_are_the_sums_of_their_rows_in_the_members_state():
    rng = np.random.default_rng(2)
    sailed, motored = rng.uniform(0.0, 3.0, (2, 4, 5))
    motored[1] = sailed[1]
    sailed[3] = 0.0
    groups = ("useful", "essential", "useful", "comfort")
    factors = rng.uniform(0.5, 1.5, (4, 3))
    motoring = (rng.uniform(size=(5, 3)) < 0.5).astype(float)
    found = by_group(
        sailed, [(motored, motoring)], groups=groups, order=(1, 0, 3, 2), factors=factors
    )
    assert found.shape == (5, 4, 3)
    for step in range(5):
        for member in range(3):
            rows = (motored if motoring[step, member] else sailed)[:, step] * factors[:, member]
            for place, group in enumerate(GROUPS):
                by_hand = sum(row for row, of in zip(rows, groups, strict=True) if of == group)
                assert found[step, place, member] == pytest.approx(by_hand, abs=1e-12)


def test_spread_changes_many_members_and_not_the_mean_sky():
    """As docs/reference/files.md has it: 20 % on the one load, one standard deviation."""
    known, unsure = (
        passage_of(loads=(Load(name="log", draw_A=2.0, spread_frac=spread),), days=2.0)
        for spread in (0.0, 0.2)
    )
    alone = [in_average(passage, step_h=1.0) for passage in (known, unsure)]
    assert alone[0].hourly.equals(alone[1].hourly)
    tried = [
        run_ensemble(passage, prepare(passage, step_h=1.0), members=200, seed=1).loads_Ah
        for passage in (known, unsure)
    ]
    assert np.ptp(tried[0]) < 1e-9
    drawn = tried[1] / tried[0]  # the controller's own draw, some 1 % of it, is known
    assert drawn.std() == pytest.approx(0.2, rel=0.15)
    # Two in three within a fifth, and 0.694 by the lognormal's own table of the normal.
    fifth = draw_factors(unsure.loads, n_rows=1, seed=1, members=20_000)[0]
    assert ((fifth > 0.8) & (fifth < 1.2)).mean() == pytest.approx(0.694, abs=0.012)


def test_how_the_bank_is_read_changes_many_members_and_not_the_mean_sky():
    """As docs/reference/files.md has it."""
    boats = [boat_of(battery={"reading": reading}, panel_W=()) for reading in READINGS]
    passages = [passage_of(boat=boat, days=4.0) for boat in boats]
    alone = [in_average(passage, step_h=1.0).hourly["soc"] for passage in passages]
    assert alone[0].equals(alone[1])
    forcing = [
        draw_ensemble(passage, prepare(passage, step_h=1.0), members=40, seed=1)
        for passage in passages
    ]
    by_volts, by_monitor = (np.std(one.plant.rule.start_soc) for one in forcing)
    assert READINGS == ("volts", "monitor")
    assert by_volts > 1.5 * by_monitor > 0.0
    volts, monitor = (
        run_ensemble(passage, prepare(passage, step_h=1.0), members=40, seed=1).lowest_soc
        for passage in passages
    )
    assert np.abs(volts - monitor).max() > 0.02


def test_the_pilot_under_engine_runs_in_the_members_that_motor():
    """In flat calm the vane steers nothing: the more a member motors, the more its pilot takes."""
    pilot = Load(name="pilot", draw_A=3.0, states=frozenset({"motoring"}))
    boat = boat_of(fuel={"tank_L": 500.0, "aboard_L": 500.0})  # so that nobody runs dry
    leg = {"motoring_calm_frac": 1.0}
    passage = passage_of(boat=boat, loads=(pilot,), leg=leg, days=6.0)
    ensemble = run_ensemble(passage, prepare(passage), members=30, seed=1)
    assert np.ptp(ensemble.motoring_h) > 3.0
    idle_Ah = ensemble.loads_Ah - 3.0 * ensemble.motoring_h
    assert np.ptp(idle_Ah) < 1e-6  # what is left is the controller's own draw


def test_a_member_draws_the_same_to_the_last_digit_however_many_there_are():
    rng = np.random.default_rng(3)
    sailed, motored = rng.uniform(0.0, 3.0, (2, 9, 24))
    groups = ("essential", "useful", "useful", *6 * ("comfort",))
    factors, motoring = rng.uniform(0.5, 1.5, (9, 201)), rng.uniform(size=(24, 201))

    def drawn(some):
        return by_group(
            sailed,
            [(motored, motoring[:, some])],
            groups=groups,
            order=range(9),
            factors=factors[:, some],
        )

    whole = drawn(slice(None))
    for some in (slice(0, 1), slice(0, 7), slice(100, 104), slice(198, 201)):
        assert np.array_equal(drawn(some), whole[..., some])


def test_some_groups_can_be_made_anew_among_the_others():
    rng = np.random.default_rng(4)
    sailed = rng.uniform(0.0, 3.0, (4, 5))
    given = {
        "groups": GROUPS,
        "order": range(4),
        "factors": rng.uniform(0.5, 1.5, (4, 3)),
    }
    in_gear = [(sailed, np.ones((5, 1)))]
    whole = by_group(sailed, in_gear, **given)
    spoilt = whole.copy()
    spoilt[:, 1:3] = 7.0
    again = by_group(sailed, in_gear, only=GROUPS[1:3], into=spoilt, **given)
    assert again is spoilt
    assert np.array_equal(again, whole)
