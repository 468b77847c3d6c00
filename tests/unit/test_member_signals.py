"""Seas that differ in nothing but their loads: what they share is what each has by itself."""

from dataclasses import replace

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of

from powersim.records import Controller, Load
from powersim.simulation.ensemble_forcing import draw_ensemble, with_loads
from powersim.simulation.prepare import prepare

BOAT = boat_of(
    panel_W=(40.0, 30.0), controllers=(Controller(name="a"), Controller(name="b", kind="pwm"))
)
SPREAD = tuple(replace(load, spread_frac=0.2) for load in LOADS)
PASSAGE = passage_of(boat=BOAT, loads=SPREAD, days=2.0, leg={"motoring_calm_frac": 0.5})
STEPS = slice(0, 48)


@pytest.fixture(scope="module")
def base():
    return draw_ensemble(PASSAGE, prepare(PASSAGE, step_h=0.5), members=3, seed=8)


def with_line(base, place, **changes):
    loads = (*SPREAD[:place], replace(SPREAD[place], **changes), *SPREAD[place + 1 :])
    return with_loads(base, replace(PASSAGE, loads=loads))


def test_they_are_the_same_whoever_asks_first(base):
    scenario = [
        *(with_line(base, place, count=0) for place in range(len(SPREAD))),
        with_line(base, 0, draw_A=2.0),
        with_line(base, 3, spread_frac=0.5),
        with_loads(base, replace(PASSAGE, loads=())),
    ]
    for steps in (STEPS, slice(48, 96), STEPS):
        shared = [sea.signals(steps) for sea in scenario]
        assert len({id(signals.controllers[0].power_W) for signals in shared[:-1]}) == 1
        for signals, sea in zip(shared, scenario, strict=True):
            own = replace(sea, root=None).signals(steps)
            for name in ("load_A", "load_W", "peak_A", "heater_L", "motoring"):
                np.testing.assert_array_equal(getattr(signals, name), getattr(own, name))
            for one, other in zip(signals.controllers, own.controllers, strict=True):
                for name in ("power_W", "first_A", "slope_A_per_V"):
                    np.testing.assert_array_equal(getattr(one, name), getattr(other, name))


def test_a_load_with_a_current_leaves_the_watts_of_the_others_alone(base):
    ashore = [with_line(base, place, count=0).signals(STEPS) for place in (0, 1)]
    by_current, by_power = ashore
    assert by_current.load_W is not by_power.load_W
    assert by_current.load_W is with_line(base, 3, count=0).signals(STEPS).load_W


def test_one_whose_sky_or_draws_were_replaced_shares_them_with_none(base):
    other = with_line(base, 0, count=0)
    doubled = replace(other, factors=2.0 * other.factors)
    np.testing.assert_allclose(
        doubled.signals(STEPS).load_A, 2.0 * other.signals(STEPS).load_A, rtol=1e-14
    )
    dark = replace(other, clear_frac=0.0 * other.clear_frac)
    assert dark.signals(STEPS).controllers[0].power_W.sum() == 0.0
    few = other.chosen(np.array([2, 0])).signals(STEPS)
    for name in ("load_A", "load_W", "motoring"):
        np.testing.assert_array_equal(
            getattr(few, name), getattr(other.signals(STEPS), name)[..., [2, 0]]
        )


def test_motoring_that_is_known_better_is_taken(base):
    other = with_line(base, 0, count=0)
    none = np.zeros((48, 3))
    assert other.signals(STEPS, motoring=none).motoring is none
    assert other.signals(STEPS).motoring.sum() > 0.0


def test_where_a_calm_may_be_motored_the_larger_peak_counts():
    """Under sail 10 A half of the time, 10 - 5 = 5 A above its mean; under power 20 A a quarter of
    it, 20 - 5 = 15 A. Essential the other way about: 12 - 3 = 9 A under sail, 4 - 1 = 3 A.
    """
    sail, power = frozenset({"sailing"}), frozenset({"motoring"})
    loads = (
        Load(name="pilot", draw_A=10.0, on_frac=0.5, states=sail),
        Load(name="pump", draw_A=20.0, on_frac=0.25, states=power),
        Load(name="radar", draw_A=12.0, on_frac=0.25, states=sail, priority="essential"),
        Load(name="fan", draw_A=4.0, on_frac=0.25, states=power, priority="essential"),
    )
    passage = replace(PASSAGE, loads=loads)
    found = draw_ensemble(passage, prepare(passage, step_h=1.0), members=2, seed=1)
    peaks_A = found.signals(slice(1, 2)).peak_A[0, :, 0]
    assert peaks_A == pytest.approx([0.0, 9.0, 15.0, 0.0])
