"""The sailor's own rested volts: what they narrow, by hand, and what of them cannot be."""

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.inputs.rested_points import RESTED_POINTS
from powersim.inputs.text import ReadingError
from powersim.records import CHEMISTRIES, battery_of
from powersim.records.rested_points import rested_fault
from powersim.simulation.calibration import (
    METER_SD_V,
    POINT_SD_SOC,
    POINT_SD_V,
    rested_volts,
)
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.member_banks import draw_banks
from powersim.simulation.prepare import prepare
from powersim.simulation.reading import told_V

TRAITS = CHEMISTRIES["flooded"]


def middle_V(soc, chemistry="flooded"):
    knots = np.array(CHEMISTRIES[chemistry].curves.emf_knots)
    return float(np.interp(soc, *knots.T))


def bank(*points, chemistry="flooded", **given):
    return battery_of(chemistry, capacity_Ah=100.0, rested=tuple(points), **given)


def test_without_points_the_volts_are_the_middle_banks():
    known = rested_volts(bank())
    assert known.shown_V(0.7) == pytest.approx(middle_V(0.7))
    spread = TRAITS.spread
    # At half charge the height and the meter alone count.
    assert known.sd_V(0.5) == pytest.approx(math.hypot(spread.offset_V, METER_SD_V))


def test_one_point_by_hand():
    """At half charge, 0.08 V above the middle bank. Before: variance v of height and meter
    together; the point's own is n. After: 0.08 v / (v + n) above, with a variance of v n / (v + n).
    """
    known = rested_volts(bank((0.5, middle_V(0.5) + 0.08)))
    v = TRAITS.spread.offset_V**2 + METER_SD_V**2
    step = 0.01
    slope_V = (middle_V(0.5 + step) - middle_V(0.5)) / step
    n = POINT_SD_V**2 + (POINT_SD_SOC * slope_V) ** 2
    assert known.shown_V(0.5) - middle_V(0.5) == pytest.approx(0.08 * v / (v + n))
    assert known.sd_V(0.5) == pytest.approx(math.sqrt(v * n / (v + n)))


def test_a_second_point_narrows_what_lies_between_and_beyond():
    one = rested_volts(bank((1.0, middle_V(1.0) + 0.05)))
    two = rested_volts(bank((0.5, middle_V(0.5) - 0.08), (1.0, middle_V(1.0) + 0.05)))
    none = rested_volts(bank())
    for soc in (0.4, 0.5, 0.6, 0.75, 1.0):
        assert two.sd_V(soc) < one.sd_V(soc) < none.sd_V(soc)
    assert two.shown_V(0.5) < middle_V(0.5)
    assert two.shown_V(1.0) > middle_V(1.0)


def test_a_bank_of_24_volts_has_twice_of_everything():
    points = ((0.5, middle_V(0.5) - 0.03), (1.0, middle_V(1.0) + 0.05))
    twice = tuple((soc, 2.0 * volts) for soc, volts in points)
    small = rested_volts(bank(*points))
    large = rested_volts(bank(*twice, nominal_V=24.0))
    assert large.shown_V(0.6) == pytest.approx(small.shown_V(0.6))
    assert large.sd_V(0.6) == pytest.approx(small.sd_V(0.6))


def test_members_banks_and_meters_agree_with_the_points():
    """What 4,000 of them show at 60 % is spread about what is known as the formula says."""
    battery = bank((0.5, middle_V(0.5) - 0.05), (1.0, middle_V(1.0) + 0.05))
    rng = np.random.default_rng(4)
    banks = draw_banks(battery, seed=2, members=4000)
    known = rested_volts(battery)
    height_V, rise, zero_V = known.narrowed(
        height_V=banks.offset_V,
        rise=np.log(banks.slope),
        zero_V=METER_SD_V * rng.normal(size=4000),
        luck=rng.normal(size=(2, 4000)),
    )
    above_V = middle_V(0.6) - middle_V(0.5)
    shown_V = middle_V(0.6) + height_V + rise * above_V + zero_V
    # A standard error is 1 % of the one, and 1/63 of it for the other.
    assert shown_V.std() == pytest.approx(known.sd_V(0.6), rel=0.04)
    assert shown_V.mean() == pytest.approx(known.shown_V(0.6), abs=4.0 * known.sd_V(0.6) / 63.0)


def test_points_of_ones_own_make_a_rule_by_volts_surer():
    """And what is told to start at is what the sailor's own meter shows."""
    boat = boat_of(charging={"start_soc": 0.6, "stop_soc": None, "run_h": 2.0, "read_at_h": (6.0,)})
    points = ((0.5, middle_V(0.5) - 0.1), (1.0, middle_V(1.0) - 0.1))
    own = replace(boat, battery=replace(boat.battery, rested=points))
    spread, told = [], []
    for one in (boat, own):
        prepared = prepare(passage_of(boat=one, days=1.0), step_h=1.0)
        forcing = draw_ensemble(prepared.passage, prepared, members=500, seed=3)
        spread.append(forcing.misread.holds_soc(0.6).std())
        told.append(told_V(prepared, 0.6))
    assert spread[1] < 0.6 * spread[0]
    assert told[1] == pytest.approx(told[0] - 0.1, abs=0.02)


@pytest.mark.parametrize(
    ("points", "chemistry", "fault"),
    [
        ([(0.5, middle_V(0.5)), (1.0, middle_V(1.0))], "flooded", None),
        ([], "flooded", None),
        ([(0.5, 13.6)], "flooded", "13.6 V at 50 %, where such a bank at rest has about"),
        ([(0.9, 12.6), (1.0, 12.7)], "flooded", "points at 90 % and 100 %, which are less than"),
        ([(0.5, 12.4), (1.0, 12.4)], "flooded", "no more volts at 100 % than at 50 %"),
        ([(0.5, 13.2)], "lifepo4", "a point at 50 %, where lithium shows the same volts from 20 %"),
        ([(1.2, 12.7)], "flooded", "a charge of 120 %, which is not 0 to 100 %"),
        ([(0.2 * place, 12.0 + 0.2 * place) for place in range(5)], "flooded", "5 points"),
    ],
)
def test_points_that_cannot_be(points, chemistry, fault):
    found = rested_fault(points, CHEMISTRIES[chemistry], blocks=1.0)
    assert found == fault or (fault and found.startswith(fault))
    if fault:
        with pytest.raises(ValueError, match="rested has"):
            bank(*points, chemistry=chemistry)


def test_points_as_they_are_written():
    points = RESTED_POINTS.read("12.71 V at 100 %; 12.2 V at 50 %")
    assert points == ((0.5, 12.2), (1.0, 12.71))
    assert RESTED_POINTS.read(RESTED_POINTS.write(points)) == points
    for wrong in ("12.7 V", "at 50 %", "12.7 W at 50 %", "12.7 V at 50 V", ""):
        with pytest.raises(ReadingError):
            RESTED_POINTS.read(wrong)
