"""A solar counter's days given to the draws, by hand."""

import numpy as np
import pytest

from powersim.logbook.readings import Reading
from powersim.logbook.sun_so_far import CountedDays, sun_of
from powersim.records import LogEntry

#: Two days of a step of 12 h by day and one by night, two draws: as much in all, on other days.
OFFERED = np.array([[60.0, 20.0], [0.0, 0.0], [20.0, 60.0], [0.0, 0.0]])


def counter(*counts_Ah):
    given = {"file": "log.csv", "line": 2, "row": "", "clock_s": 0.0}
    return [
        Reading(at_h=24.0 * day, entry=LogEntry(solar_Ah=count_Ah, **given))
        for day, count_Ah in enumerate(counts_Ah)
    ]


def taken(days, *, most_Ah=np.inf, solar=1.0):
    """What the panels give since departure, where the bank takes no more than so much a step."""
    given_Ah = np.minimum(solar * days.weights * OFFERED, most_Ah)
    return np.vstack([np.zeros(2), given_Ah.cumsum(axis=0)])


def test_each_draw_gets_the_counters_days_and_keeps_all_of_its_sun():
    """30 Ah and 10 Ah counted: three quarters of the 80 of each draw on the first day."""
    days = CountedDays(counter(500.0, 530.0, 540.0), OFFERED, step_h=12.0)
    days.agree_with(taken(days, solar=0.5))
    assert days.weights * OFFERED == pytest.approx(np.array([[60, 60], [0, 0], [20, 20], [0, 0]]))


def test_a_day_with_no_room_for_its_sun_stays_a_bright_one():
    """40 of 60 taken on the bright day: the counter's 40 do not show that it was no brighter."""
    days = CountedDays(counter(500.0, 540.0, 560.0), OFFERED, step_h=12.0)
    for _ in range(4):
        days.agree_with(taken(days, most_Ah=40.0))
    shone = days.weights * OFFERED
    assert shone[[0, 2], 0] == pytest.approx([60.0, 20.0])
    assert shone.sum(axis=0) == pytest.approx([80.0, 80.0])
    gained = np.diff(taken(days, most_Ah=40.0)[::2], axis=0)
    assert gained / gained.sum(axis=0) == pytest.approx(
        np.array([[2 / 3] * 2, [1 / 3] * 2]), abs=0.03
    )


@pytest.mark.parametrize("counts_Ah", [(), (500.0,), (500.0, 530.0), (500.0, 500.0, 500.0)])
def test_a_counter_that_tells_no_days_changes_none(counts_Ah):
    days = CountedDays(counter(*counts_Ah), OFFERED, step_h=12.0)
    days.agree_with(taken(days))
    assert (days.weights == 1.0).all()


def test_the_sun_of_a_member_is_a_share_of_the_mean():
    assert sun_of(np.array([[1.0, 3.0], [1.0, 3.0]])) == pytest.approx([0.5, 1.5])
    assert (sun_of(np.zeros((4, 3))) == 1.0).all()
