"""The picture of the diesel: what is left in all members, the reserve, and marks of the stick."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from builders import in_average
from hand_worked import boat_of, passage_of, without_engine
from made_ensemble import ensemble_of

from powersim.records import Fuel, Tank, TankPart
from powersim.report.figures import fuel_figure, names_for, plot_fuel


@pytest.fixture(scope="module")
def result():
    return in_average(passage_of())


def texts(ax):
    return [text.get_text() for text in ax.texts]


def line_named(ax, name):
    return next(line for line in ax.lines if line.get_label() == name)


def test_what_is_left_of_the_hand_worked_passage(result):
    """Sums in tests/reference/test_hand_worked_passage.py: 6 L of motoring, 1 L of charging; of 60
    L aboard a twentieth of the tank's 40 cannot be reached."""
    numbers, ax = fuel_figure(result), plot_fuel(result)
    assert (numbers.usable_L, numbers.reserve_L) == (58.0, 20.0)
    assert numbers.left_L[0] == 58.0
    assert numbers.left_L[-1] == pytest.approx(58.0 - 6.0 - 1.0)
    assert numbers.left_L[-1] == result.summary["average"]["fuel"]["left_L"]
    assert numbers.low_L == numbers.high_L == numbers.risk_L == ()
    assert list(line_named(ax, "left").get_ydata()) == list(numbers.left_L)
    assert texts(ax) == ["none left", "reserve 20.0 L", "left 51.0 L"]
    assert ax.get_ylabel().endswith("[L]")
    assert numbers.title.endswith("in average weather")


def test_a_tank_that_runs_dry_stays_at_nothing():
    """Three hours of motoring want 6 L of the 4 aboard."""
    little = Fuel(tank_L=40.0, unusable_frac=0.0, aboard_L=4.0, reserve_L=0.0)
    numbers = fuel_figure(in_average(passage_of(boat=boat_of(fuel=little))))
    assert min(numbers.left_L) == numbers.left_L[-1] == pytest.approx(0.0, abs=1e-9)


def test_members_are_a_band_a_median_and_an_edge_at_the_risk(result):
    """Of 101 members the k-th least is the quantile k / 100, by hand: 10 L and k / 10 more."""
    hours = len(result.hourly)
    left_L = np.broadcast_to(10.0 + np.arange(101) / 10.0, (hours, 101))
    tried = replace(result, ensemble=ensemble_of(hours=hours, members=101, hour_fuel_left_L=left_L))
    numbers, ax = fuel_figure(tried), plot_fuel(tried)
    assert numbers.risk_frac == 0.05
    lines = (numbers.low_L, numbers.left_L, numbers.high_L, numbers.risk_L)
    assert [line[0] for line in lines] == [58.0] * 4
    assert [line[-1] for line in lines] == pytest.approx([11.0, 15.0, 19.0, 10.5])
    # The same numbers, read back from what is drawn and from what is written.
    (band,) = ax.collections
    ends = band.get_paths()[0].vertices
    ends = ends[ends[:, 0] == ends[:, 0].max()][:, 1]
    assert (ends.min(), ends.max()) == pytest.approx((11.0, 19.0))
    assert line_named(ax, "left").get_ydata()[-1] == pytest.approx(15.0)
    assert line_named(ax, "at risk").get_ydata()[-1] == pytest.approx(10.5)
    assert line_named(ax, "at risk").get_linestyle() == "--"
    assert set(texts(ax)) == {
        "1 in 10 above 19.0 L", "median 15.0 L", "1 in 10 below 11.0 L",
        "5 % below 10.5 L: your risk", "reserve 20.0 L", "none left",
    }  # fmt: skip
    assert numbers.title.endswith("101 simulated passages")


def test_names_beside_stand_apart_and_on_the_page(result):
    hours = len(result.hourly)
    left_L = np.broadcast_to(20.0 + np.arange(101) / 1000.0, (hours, 101))
    tried = replace(result, ensemble=ensemble_of(hours=hours, members=101, hour_fuel_left_L=left_L))
    ax = plot_fuel(tried)
    ax.figure.draw_without_rendering()
    boxes = [text.get_window_extent() for text in ax.texts]
    assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))
    assert all(box.x1 <= ax.figure.bbox.x1 for box in boxes)


def test_the_stick_stands_beside_the_litres():
    """A box of 40 L, 50 cm high: 8 L to each 10 cm, of which 2 L are below the pick-up."""
    part = TankPart(shape="box", length_m=0.4, width_m=0.2, height_m=0.5)
    box = Tank(parts=(part,), wet_m=0.0, rolling_m=0.0)
    fuel = Fuel(tank_L=40.0, unusable_frac=0.05, aboard_L=40.0, reserve_L=20.0, shape=box)
    result = in_average(passage_of(boat=boat_of(fuel=fuel)), step_h=1.0)
    marks = fuel_figure(result).stick
    assert [cm for cm, _ in marks] == [50.0, 40.0, 30.0, 20.0, 10.0]
    assert [litres for _, litres in marks] == pytest.approx([38.0, 30.0, 22.0, 14.0, 6.0])
    (side,) = plot_fuel(result).child_axes
    assert list(side.get_yticks()) == [litres for _, litres in marks]
    words = [label.get_text().split("\n")[0] for label in side.get_yticklabels()]
    assert words == ["50 cm", "40 cm", "30 cm", "20 cm", "10 cm"]


def test_a_boat_without_an_engine_has_no_such_picture():
    result = in_average(passage_of(boat=without_engine()))
    assert "fuel" not in names_for(result)
    with pytest.raises(ValueError, match="without an engine"):
        plot_fuel(result)


def test_a_reserve_above_all_that_can_be_burnt_is_on_the_picture():
    """Where little is within reach: a label far above the axes crushed them to nothing."""
    little = Fuel(tank_L=200.0, unusable_frac=0.05, aboard_L=12.0, reserve_L=11.0)
    ax = plot_fuel(in_average(passage_of(boat=boat_of(fuel=little)), step_h=1.0))
    low_L, high_L = ax.get_ylim()
    assert low_L < 0.0
    assert high_L > 11.0
    ax.figure.draw_without_rendering()  # no warning of axes that collapse
