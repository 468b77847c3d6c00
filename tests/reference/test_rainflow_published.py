"""Counted cycles against the standard's worked example, and Miner's sum by hand."""

from itertools import pairwise

import pytest

from powersim.physics.cycle_life import counted_cycles, wear_of

#: ASTM E1049-85, the example of section 5.4.4: peaks and valleys A to I, and what is counted. From
#: memory of the standard; the documentation of the package `rainflow` has the same.
PEAKS = [-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0]
COUNTED = {3.0: 0.5, 4.0: 1.5, 6.0: 0.5, 8.0: 1.0, 9.0: 0.5}


def test_the_standards_example_is_counted_as_printed():
    """E-F is a whole cycle of 4; A-B, B-C, C-D, D-G, G-H and H-I are halves of 3, 4, 8, 9, 8, 6."""
    depths, counts = counted_cycles(PEAKS)
    assert dict(zip(depths, counts, strict=True)) == COUNTED


def test_the_standards_example_as_a_history_of_charge():
    """The same between 0.1 and 1, with the way from peak to peak in small steps."""
    ends = [(peak + 5.0) / 10.0 for peak in PEAKS]
    soc = [ends[0]]
    for last, end in pairwise(ends):
        soc += [last + (end - last) * step / 7.0 for step in range(1, 8)]
    depths, counts = counted_cycles(soc)
    expected = {size / 10.0: count for size, count in COUNTED.items()}
    # A depth that is met twice may differ by rounding, and then stands twice.
    found = dict.fromkeys(expected, 0.0)
    for depth, count in zip(depths, counts, strict=True):
        found[min(expected, key=lambda size, depth=depth: abs(size - depth))] += count
    assert found == expected
    assert sorted({round(depth, 12) for depth in depths}) == pytest.approx(sorted(expected))


def test_miners_sum_of_a_day_worked_out_by_hand():
    """A bank of 220 Ah at 85 % falls to half, is charged to 80 %, falls again and is filled.

    Two cycles, of 50 and of 30 % of what it holds: 0.425 and 0.255 of its label. The curve is the
    law 300 / depth^1.2, given at two depths: 300 / 0.2^1.2 = 2069.6 and 300 / 0.8^1.2 = 392.1.

        0.425^1.2 = exp(1.2 ln 0.425) = exp(-1.026799) = 0.358151      / 300 = 0.00119384
        0.255^1.2 = exp(1.2 ln 0.255) = exp(-1.639790) = 0.194021      / 300 = 0.00064674
                                                                         sum   0.00184057
    """
    curve = [(0.2, 2069.6), (0.8, 392.1)]
    wear = wear_of([1.0, 0.5, 0.8, 0.5, 1.0], health_frac=0.85, cycle_life=curve)
    # The curve's cycles are rounded to one part in 8000.
    assert wear.cycle_life_used_frac == pytest.approx(0.00184057, rel=3e-4)
    assert wear.deepest_cycle_frac == pytest.approx(0.425)
