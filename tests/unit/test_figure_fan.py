"""The picture of the charge in many members: quantiles worked by hand, and that it shows them."""

from dataclasses import replace

import numpy as np
import pytest
from builders import in_average
from hand_worked import passage_of
from made_ensemble import ensemble_of

from powersim.report.figure_charge import charge_figure
from powersim.report.figure_fan import fan_figure, plot_fan

MEMBERS = 11


@pytest.fixture(scope="module")
def result():
    """Eleven members, 0 to 100 % in tens, all through; the fourth falls lowest for one hour."""
    alone = in_average(passage_of(), step_h=1.0)
    hour_soc = np.tile(np.arange(MEMBERS) / 10.0, (len(alone.hourly), 1))
    lowest_soc = hour_soc[0].copy()
    hour_soc[7, 3], lowest_soc[3] = -0.01, -0.01
    ensemble = ensemble_of(
        hours=len(hour_soc), members=MEMBERS, hour_soc=hour_soc, lowest_soc=lowest_soc
    )
    return replace(alone, ensemble=ensemble)


def test_its_numbers_are_quantiles_by_the_hour(result):
    """Of 0, 10 ... 100 one tenth lies below 10, half below 50, nine tenths below 90."""
    numbers = fan_figure(result)
    hours = len(result.hourly)
    assert numbers.low_percent[1:7] == pytest.approx([10.0] * 6)
    assert numbers.median_percent[1:] == pytest.approx([50.0] * hours)
    assert numbers.high_percent[1:] == pytest.approx([90.0] * hours)
    assert numbers.worst_member == 4
    assert numbers.worst_percent[1:10] == pytest.approx([30.0] * 7 + [-1.0, 30.0])
    assert numbers.mean_sky.title == "two days: A to B, 11 simulated passages"


def test_every_line_begins_with_the_charge_at_departure(result):
    numbers = fan_figure(result)
    lines = (numbers.low_percent, numbers.median_percent, numbers.high_percent)
    assert {line[0] for line in (*lines, numbers.worst_percent)} == {100.0}
    times = numbers.mean_sky.times_utc
    assert times == charge_figure(result).times_utc
    assert {len(line) for line in lines} == {len(times)}


def test_what_is_drawn_is_these_numbers(result):
    from matplotlib.dates import date2num

    numbers, ax = fan_figure(result), plot_fan(result)
    drawn = {line.get_label(): line for line in ax.lines}
    assert list(drawn["median"].get_ydata()) == list(numbers.median_percent)
    worst = drawn["lowest passage (number 4)"]
    assert list(worst.get_ydata()) == list(numbers.worst_percent)
    # Told apart without colour.
    assert (drawn["median"].get_linestyle(), worst.get_linestyle()) == ("-", "--")
    band = next(each for each in ax.collections if each.get_label() == "8 in 10 lie between")
    edge = {tuple(point) for point in band.get_paths()[0].vertices}
    times = date2num(numbers.mean_sky.times_utc)
    for line in (numbers.low_percent, numbers.high_percent):
        assert set(zip(times, line, strict=True)) <= edge
    names = [text.get_text() for text in ax.get_legend().get_texts()]
    assert {"8 in 10 lie between", "median", "engine charging, average weather"} <= set(names)
    assert ax.get_ylabel() == "state of charge [%]"


def test_a_passage_in_the_mean_sky_alone_has_no_such_picture():
    with pytest.raises(ValueError, match="in average weather alone"):
        in_average(passage_of(), step_h=1.0).plot_fan()
