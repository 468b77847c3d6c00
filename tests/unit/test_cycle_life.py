"""Cycles counted, the curve between and beyond its points, and what a passage uses."""

import math

import hand_worked
import numpy as np
import pytest
from builders import calm_seas

from powersim.physics.cycle_life import counted_cycles, cycles_at_depth, miner_sum, wear_of
from powersim.records import CHEMISTRIES, Load, battery_of, cycle_life_fault
from powersim.report.simulated import _wear, simulated_text
from powersim.simulation.result import simulate

CURVE = ((0.3, 1200.0), (0.5, 700.0), (0.8, 400.0))


def counted(soc):
    depths, counts = counted_cycles(soc)
    return [(pytest.approx(depth), count) for depth, count in zip(depths, counts, strict=True)]


@pytest.mark.parametrize(
    ("soc", "cycles"),
    [
        ([0.7], []),
        ([0.7, 0.7, 0.7, 0.7], []),
        ([1.0, 0.4], [(0.6, 0.5)]),
        ([1.0, 0.9, 0.9, 0.5, 0.4], [(0.6, 0.5)]),
        ([1.0, 0.4, 1.0], [(0.6, 1.0)]),
        ([1.0, 0.4, 1.0, 0.4, 1.0], [(0.6, 2.0)]),
        ([1.0, 0.4, 0.6], [(0.2, 0.5), (0.6, 0.5)]),
        ([0.6, 1.0, 0.4, 0.6], [(0.2, 0.5), (0.4, 0.5), (0.6, 0.5)]),
    ],
    ids=str,
)
def test_half_and_whole_cycles(soc, cycles):
    """By hand; what rises or falls once is a half."""
    assert cycles == counted(soc)


def test_changes_too_small_to_multiply_hide_no_turn():
    """The package 3.2.0 by itself finds no cycle in this: the product of two changes is 0."""
    assert counted([1.0, 1e-200, 0.0, 1e-200, 1.0]) == [(1.0, 1.0)]


@pytest.mark.parametrize("soc", [[], [0.5, math.nan], [math.inf], [[0.5, 0.6]], 0.5])
def test_what_is_no_history_is_refused(soc):
    with pytest.raises(ValueError, match="soc must be a row of finite numbers"):
        counted_cycles(soc)


def test_the_curve_goes_through_its_points():
    for depth_frac, cycles in CURVE:
        assert cycles_at_depth(depth_frac, cycle_life=CURVE) == pytest.approx(cycles)


@pytest.mark.parametrize(
    ("depth_frac", "cycles"),
    [
        # Half-way on both logarithmic axes: the geometric means.
        (math.sqrt(0.3 * 0.5), math.sqrt(1200.0 * 700.0)),
        # Shallower: 1200 times 0.3 of its label go through it, in whatever cycles.
        (0.1, 3600.0),
        (0.001, 360_000.0),
        # Deeper: ln(400/700) / ln(0.8/0.5) = -1.1906 goes on.
        (1.0, 400.0 * (1.0 / 0.8) ** -1.19065),
    ],
)
def test_between_and_beyond_the_points(depth_frac, cycles):
    assert cycles_at_depth(depth_frac, cycle_life=CURVE) == pytest.approx(cycles, rel=1e-5)


def test_one_point_is_an_amount_of_charge():
    depths = np.array([0.1, 0.5, 1.0, 1.2])
    cycles = cycles_at_depth(depths, cycle_life=((0.5, 600.0),))
    assert cycles * depths == pytest.approx([300.0] * 4)


def test_a_curve_that_ends_flat_falls_by_charge_beyond():
    """500 at 50 % and 499 at 80 % would promise 498.6 at 100 %: by charge it is 499 x 0.8."""
    flat = ((0.5, 500.0), (0.8, 499.0))
    assert cycles_at_depth(1.0, cycle_life=flat) == pytest.approx(399.2)


@pytest.mark.parametrize("depth_frac", [0.0, -0.1, math.nan, [0.3, 0.0]])
def test_a_cycle_has_a_depth(depth_frac):
    with pytest.raises(ValueError, match="depth_frac must be above 0"):
        cycles_at_depth(depth_frac, cycle_life=CURVE)


def test_no_cycles_use_nothing():
    assert miner_sum([], [], cycle_life=CURVE) == 0.0
    assert wear_of([0.8, 0.8], health_frac=0.85, cycle_life=CURVE) == (0.0, 0.0)


def test_depth_is_of_the_label():
    """Half of what an old bank holds is fewer ampere-hours than half of its label."""
    new, old = (
        wear_of([1.0, 0.5, 1.0], health_frac=health_frac, cycle_life=CURVE)
        for health_frac in (1.0, 0.6)
    )
    assert new == pytest.approx((1 / 700, 0.5))
    assert old == pytest.approx((1 / 1200, 0.3))


def test_what_a_passage_uses_is_in_its_summary():
    """By hand: 1 A for three days takes 72 of 187 Ah once, a half cycle of 72 / 220 = 0.32727.

    Between 1200 at 30 % and 700 at 50 % the law is depth^-1.05514, so 0.32727 lasts
    1200 (0.32727 / 0.3)^-1.05514 = 1094.7 cycles; a half is 0.5 / 1094.7 = 0.00045675.
    """
    charge = simulate(calm_seas(loads=(Load(name="all", draw_A=1.0),))).summary["average"]["charge"]
    # The passage is three days of 5 kn to a third of a per cent.
    assert charge["deepest_cycle_frac"] == pytest.approx(72.0 / 220.0, rel=0.005)
    assert charge["cycle_life_used_frac"] == pytest.approx(0.00045675, rel=0.006)


def test_simulate_says_it_in_one_line():
    """The hand-worked passage falls from full to 56 %; a half cycle of 5,000 and more is next to
    nothing.
    """
    result = simulate(hand_worked.passage_of())
    line = (
        "\nwear       less than 0.1 % of cycle life, deepest cycle 44 % of the label;\n"
        "           2.1 days at most between full charges\n"
    )
    assert line in simulated_text(result)
    gap = {"longest_gap_between_full_days": 0.5}
    said = _wear(gap | {"cycle_life_used_frac": 0.0136, "deepest_cycle_frac": 0.42}, gap_told=True)
    assert said == "1.4 % of cycle life, deepest cycle 42 % of the label"
    rest = _wear(gap | {"cycle_life_used_frac": 0.0, "deepest_cycle_frac": 0.0}, gap_told=False)
    assert rest == (
        "0.0 % of cycle life, deepest cycle 0 % of the label; 12 h at most between full charges"
    )


@pytest.mark.parametrize(
    ("points", "fault"),
    [
        ((), "no point"),
        (
            ((0.0, 500.0),),
            "a depth of 0 %, which is not above 0 % and at most 100 %",
        ),
        (
            ((0.5, 500.0), (1.2, 400.0)),
            "a depth of 120 %, which is not above 0 % and at most 100 %",
        ),
        (((0.5, 0.0),), "0 cycles at 50 %, which are not 1 to 1000000"),
        (((0.5, 2e6),), "2000000 cycles at 50 %, which are not 1 to 1000000"),
        (((0.5, math.nan),), "nan cycles at 50 %, which are not 1 to 1000000"),
        (((0.5, 500.0), (0.5, 400.0)), "two points at 50 %"),
        (((0.3, 500.0), (0.5, 500.0)), "no fewer cycles at 50 % than at 30 %"),
        (((0.3, 500.0), (0.8, 900.0)), "no fewer cycles at 80 % than at 30 %"),
    ],
    ids=str,
)
def test_curves_that_cannot_be(points, fault):
    assert cycle_life_fault(points) == fault
    with pytest.raises(ValueError) as caught:
        battery_of("agm", capacity_Ah=100.0, cycle_life=points)
    assert str(caught.value) == f"cycle_life has {fault}"


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_every_chemistry_has_a_curve_with_the_trades_order_of_size(chemistry):
    """Common practice, no source: 300 to 1,000 half discharges, lithium thousands."""
    half = cycles_at_depth(0.5, cycle_life=battery_of(chemistry, capacity_Ah=100.0).cycle_life)
    least, most = (2000, 10_000) if chemistry == "lifepo4" else (300, 1000)
    assert least <= half <= most
