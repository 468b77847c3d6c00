"""Pictures for a phone: the same words and numbers as the wide ones, whole and apart."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from builders import in_average
from hand_worked import passage_of, waypoints_of, with_panels
from made_ensemble import ensemble_of
from matplotlib.text import Text

from powersim.report.figures import PLOTS
from powersim.report.phone_look import LOOKS, plot_for_phone


@pytest.fixture(scope="module")
def tried():
    result = in_average(passage_of(boat=with_panels(), waypoints=waypoints_of(days=9)), step_h=1.0)
    hours = len(result.hourly)
    left_L = np.broadcast_to(30.0 + np.arange(101) / 5.0, (hours, 101))
    return replace(result, ensemble=ensemble_of(hours=hours, members=101, hour_fuel_left_L=left_L))


def words(ax):
    return sorted(" ".join(text.get_text().split()) for text in ax.texts)


@pytest.mark.parametrize("name", LOOKS)
def test_a_phone_says_what_a_wide_screen_says(tried, name):
    small, wide = plot_for_phone(tried, name), PLOTS[name](tried)
    assert words(small) == words(wide)
    assert [list(line.get_ydata()) for line in small.lines] == [
        list(line.get_ydata()) for line in wide.lines
    ]


@pytest.mark.parametrize("name", LOOKS)
def test_it_is_whole_and_no_word_lies_over_another(tried, name):
    ax = plot_for_phone(tried, name)
    ax.figure.draw_without_rendering()
    boxes = [Text.get_window_extent(text) for text in ax.texts]
    page = ax.figure.bbox
    assert all(page.x0 <= box.x0 < box.x1 <= page.x1 + 1.0 for box in boxes)
    assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))
    ticks = [tick.get_window_extent() for tick in ax.get_xticklabels() if tick.get_text()]
    assert not any(one.overlaps(other) for one, other in combinations(ticks, 2))
