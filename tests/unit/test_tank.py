"""Depth to litres and back, the strip, and how sure a reading is."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tanks_made import tanks

from powersim.physics.tank import above_tank, depth_m, litres_at, sounding, strip
from powersim.records import Tank, TankPart, sounding_fault

BOX = Tank(parts=(TankPart(shape="box", length_m=1.0, width_m=0.5, height_m=0.4),))
TABLE = Tank(table=((0.05, 4.0), (0.10, 15.0), (0.30, 60.0)))


@given(tanks(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_deeper_is_more_and_full_is_all(tank, one, other):
    low, high = sorted((one * tank.top_m, other * tank.top_m))
    assert litres_at(tank, low) <= litres_at(tank, high) + 1e-9
    assert litres_at(tank, tank.top_m) == pytest.approx(tank.full_L, rel=1e-9)
    assert litres_at(tank, 0.0) == pytest.approx(0.0, abs=1e-9)


@given(tanks(), st.floats(0.0, 1.0))
def test_litres_to_depth_and_back(tank, share):
    litres = share * tank.full_L
    found = depth_m(tank, litres)
    assert 0.0 <= found <= tank.top_m
    assert litres_at(tank, found) == pytest.approx(litres, abs=1e-4 * tank.full_L)


@given(tanks(), st.floats(0.0, 1.2))
def test_the_likely_lies_between_the_worst(tank, share):
    read = sounding(tank, share * tank.top_m)
    assert 0.0 <= read.least_L <= read.litres + 1e-9
    assert read.litres <= read.most_L + 1e-9
    assert read.most_L <= tank.full_L * (1.0 + 1e-9)
    assert read.sd_L >= 0.0


@pytest.mark.parametrize(
    ("depth", "litres"), [(0.0, 0.0), (0.025, 2.0), (0.05, 4.0), (0.075, 9.5), (0.2, 37.5)]
)
def test_between_rows_of_a_table_in_proportion(depth, litres):
    assert litres_at(TABLE, depth) == pytest.approx(litres)


def test_what_lies_below_the_stick_is_in_a_table_that_says_so():
    tank = Tank(table=((0.0, 3.0), (0.1, 13.0)))
    assert litres_at(tank, 0.0) == pytest.approx(3.0)


def test_the_deviation_is_that_of_the_depth_times_the_area():
    # 5 L a centimetre; rolling of 1 cm, and 1 cm of wet of which any part may be too much.
    read = sounding(BOX, 0.2)
    assert read.sd_L == pytest.approx(5.0 * math.hypot(1.0, 1.0 / math.sqrt(12.0)))
    assert read.litres == pytest.approx(5.0 * 19.5)
    assert (read.least_L, read.most_L) == pytest.approx((5.0 * 17.0, 5.0 * 22.0))


@pytest.mark.parametrize("depth", [0.0, 0.004, 0.4, 0.42])
def test_a_full_or_an_empty_tank_is_not_read_any_surer(depth):
    # The walls of a box go straight up: the doubt of a depth is worth the same litres everywhere.
    assert sounding(BOX, depth).sd_L == pytest.approx(sounding(BOX, 0.2).sd_L)


def test_a_reading_without_doubt_has_none():
    sure = Tank(parts=BOX.parts, rolling_m=0.0, wet_m=0.0)
    assert sounding(sure, 0.2) == pytest.approx((100.0, 0.0, 100.0, 100.0))


@given(tanks(), st.floats(0.0, 1.2))
def test_no_reading_of_a_tank_from_the_stick_s_zero_is_certain(tank, share):
    assert sounding(tank, share * tank.top_m).sd_L > 0.0


def test_a_full_tank_reads_what_it_holds_and_half_of_it_half():
    tank = Tank(parts=BOX.parts, capacity_L=190.0)
    assert litres_at(tank, 0.4) == pytest.approx(190.0)
    assert litres_at(tank, 0.2) == pytest.approx(95.0)
    assert sounding(tank, 0.5).litres == pytest.approx(190.0)
    assert strip(tank)[0] == pytest.approx((0.41, 190.0))


def test_a_stick_below_a_raised_part_is_not_sure_of_nothing():
    raised = TankPart(shape="box", length_m=1.0, width_m=0.5, height_m=0.4, above_m=0.03)
    read = sounding(Tank(parts=(raised,)), 0.02)
    assert read.litres == 0.0
    assert read.most_L == pytest.approx(5.0)
    assert read.sd_L == pytest.approx(1.0)


def test_a_dry_stick_is_an_empty_tank():
    assert sounding(BOX, 0.0).litres == 0.0


def test_the_strip_counts_down_by_the_centimetre():
    """5 L a centimetre. Half of the 1 cm that may be wet is taken off: 40 cm is 39.5 cm of diesel,
    and 41 cm is wet above the brim."""
    marks = strip(BOX)
    assert len(marks) == 42
    assert marks[:2] == [pytest.approx((0.41, 200.0)), pytest.approx((0.40, 197.5))]
    assert marks[-2:] == [pytest.approx((0.01, 2.5)), (0.0, 0.0)]


def test_without_wet_the_strip_ends_at_the_brim():
    marks = strip(replace(BOX, wet_m=0.0))
    assert marks[0] == pytest.approx((0.40, 200.0))


@pytest.mark.parametrize(("past_m", "over"), [(0.0, False), (0.0101, False), (0.011, True)])
def test_over_the_brim_a_stick_is_wet_by_a_centimetre_at_most(past_m, over):
    assert above_tank(BOX, BOX.top_m + past_m) is over


@pytest.mark.parametrize("shape", ["box", "wedge", "cylinder"])
def test_a_reading_between_two_marks_lies_between_their_litres(shape):
    """In proportion, but for the bulge of the curve: an eighth of the second difference."""
    part = TankPart(shape=shape, length_m=1.0, width_m=0.4, height_m=0.4)
    tank = Tank(parts=(part,))
    marks = strip(tank)
    # The wet is taken off a stick that is wet at all: at 0 it is dry.
    for (high_m, high_L), (low_m, low_L) in pairwise(marks[1:-2]):
        for share in (0.25, 0.5, 0.75):
            read = sounding(tank, low_m + share * (high_m - low_m)).litres
            assert low_L < read < high_L
            assert read == pytest.approx(low_L + share * (high_L - low_L), abs=0.1)


@pytest.mark.parametrize("depth", [-0.01, 0.5, math.nan])
def test_a_depth_outside_the_tank_is_refused(depth):
    with pytest.raises(ValueError, match="depth_m must be 0"):
        litres_at(BOX, depth)


def test_litres_outside_the_tank_are_refused():
    with pytest.raises(ValueError, match="litres must be 0"):
        depth_m(BOX, 201.0)


def test_a_negative_reading_is_refused():
    with pytest.raises(ValueError, match="must not be negative"):
        sounding(BOX, -0.1)


@pytest.mark.parametrize(
    ("given_", "why"),
    [
        ({}, "parts or a table"),
        ({"table": ((0.0, 0.0),)}, "two rows"),
        ({"table": ((0.0, 0.0), (0.1, 0.0))}, "must both rise"),
        ({"table": ((0.0, 0.0), (0.1, 9.0)), "wet_m": -0.1}, "wet_m must be 0 to 0.2"),
        ({"table": ((0.0, 0.0), (0.1, 9.0)), "capacity_L": 0.0}, "capacity_L must be 0.5 to"),
        ({"table": ((0.0, 0.0), (0.1, math.inf))}, "table must be of 0 to 5 m"),
    ],
)
def test_a_tank_that_cannot_be(given_, why):
    with pytest.raises(ValueError, match=why):
        Tank(**given_)


@pytest.mark.parametrize(
    ("given_", "why"),
    [
        ({"shape": "ball"}, "shape must be box or wedge or"),
        ({"length_m": 0.0}, "length_m must be above 0"),
        ({"bottom_m": 0.9}, "bottom_m must be 0 to width_m"),
        ({"above_m": -0.1}, "above_m must be 0 to 5"),
        ({"shape": "cylinder"}, "as wide as it is high"),
    ],
)
def test_a_part_that_cannot_be(given_, why):
    plain = {"shape": "box", "length_m": 1.0, "width_m": 0.5, "height_m": 0.4}
    with pytest.raises(ValueError, match=why):
        TankPart(**(plain | given_))


def test_the_first_row_that_does_not_rise():
    assert sounding_fault(((0.0, 0.0), (0.1, 9.0))) is None
    assert sounding_fault(((0.0, 0.0), (0.1, 9.0), (0.1, 12.0))) == 2
