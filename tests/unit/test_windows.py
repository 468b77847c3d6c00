"""Windows: hand-worked steps, and minutes counted one by one."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from powersim.physics.windows import merged_spans, open_frac, open_h_per_day
from powersim.records import Window

MIDNIGHT_UTC_S = 1_788_566_400.0  # 2026-09-05 00:00 UTC


def steps(*, start_h, n, step_h=0.25, ship_offset_h=0.0, night_frac=0.0, night_h=12.0):
    """Track and sky of n steps from an hour of the day, as far as windows look at them."""
    mid_utc_s = MIDNIGHT_UTC_S + (start_h + (np.arange(n) + 0.5) * step_h) * 3600.0
    whole = np.ones(n)
    track = SimpleNamespace(step_h=step_h, mid_utc_s=mid_utc_s, ship_offset_h=ship_offset_h * whole)
    sky = SimpleNamespace(night_frac=night_frac * whole, night_h=night_h * whole)
    return {"track": track, "sky": sky}


def clock(*spans_h, utc=False):
    return Window(kind="clock", spans_h=spans_h, utc=utc)


def test_a_clock_window_over_midnight_is_cut_to_the_minute():
    """23:50 to 00:20 in quarters of an hour from 23:30: none, 10 of 15 min, all, 5 of 15, none."""
    share = open_frac(clock((23 + 50 / 60, 20 / 60)), **steps(start_h=23.5, n=5))
    assert share == pytest.approx([0.0, 10 / 15, 1.0, 5 / 15, 0.0], abs=1e-9)


def test_a_step_that_lies_across_midnight_sees_both_days():
    """A step from 23:45 to 00:15 and 23:50-23:55, 00:05-00:10: 10 of 30 minutes."""
    spans = clock((23 + 50 / 60, 23 + 55 / 60), (5 / 60, 10 / 60))
    share = open_frac(spans, **steps(start_h=23.75, n=1, step_h=0.5))
    assert share == pytest.approx([10 / 30], abs=1e-9)


def test_overlapping_spans_are_counted_once():
    window = clock((6.0, 7.0), (6.5, 7.5), (7.5, 8.0))
    day = steps(start_h=0.0, n=24, step_h=1.0)
    assert open_frac(window, **day).sum() == pytest.approx(2.0)
    assert open_h_per_day(window, sky=day["sky"]) == 2.0


def test_ships_time_moves_a_clock_window_and_utc_does_not():
    """Two hours behind UTC, six o'clock aboard is eight o'clock UTC."""
    day = steps(start_h=0.0, n=24, step_h=1.0, ship_offset_h=-2.0)
    assert np.flatnonzero(open_frac(clock((6.0, 7.0)), **day)) == [8]
    assert np.flatnonzero(open_frac(clock((6.0, 7.0), utc=True), **day)) == [6]


def test_ships_time_ahead_of_utc_wraps_into_the_next_day():
    """Twelve hours ahead, one o'clock aboard is 13:00 UTC of the day before."""
    day = steps(start_h=0.0, n=24, step_h=1.0, ship_offset_h=12.0)
    assert np.flatnonzero(open_frac(clock((1.0, 2.0)), **day)) == [13]


def test_night_and_day_share_the_step_between_them():
    dusk = steps(start_h=20.0, n=3, night_frac=0.25, night_h=9.0)
    assert open_frac(Window(kind="night"), **dusk) == pytest.approx([0.25] * 3)
    assert open_frac(Window(kind="day"), **dusk) == pytest.approx([0.75] * 3)
    assert open_frac(Window(), **dusk) == pytest.approx([1.0] * 3)
    hours = [open_h_per_day(Window(kind=kind), sky=dusk["sky"]) for kind in ("night", "day")]
    assert hours[0] == pytest.approx([9.0] * 3)
    assert hours[1] == pytest.approx([15.0] * 3)
    assert open_h_per_day(Window(), sky=dusk["sky"]) == 24.0


@pytest.mark.parametrize(
    ("spans_h", "merged"),
    [
        (((0.0, 24.0),), ((0.0, 24.0),)),
        (((22.0, 0.0),), ((22.0, 24.0),)),
        (((24.0, 6.0),), ((0.0, 6.0),)),
        (((18.0, 6.0), (5.0, 19.0)), ((0.0, 24.0),)),
        (((8.0, 9.0), (7.0, 8.0)), ((7.0, 9.0),)),
    ],
)
def test_spans_are_cut_at_midnight_and_joined(spans_h, merged):
    assert merged_spans(spans_h) == merged


MINUTE = st.integers(0, 24 * 60)
# 24:00 begins the next day, so that nothing starts there.
SPAN = st.tuples(MINUTE, MINUTE).filter(lambda span: span[0] != span[1] and span[0] < 1440)


@given(
    spans=st.lists(SPAN, min_size=1, max_size=4),
    start=st.integers(0, 24 * 60 - 1),
    step=st.sampled_from([1, 5, 15, 37, 60, 600]),
    offset=st.integers(-12 * 60, 14 * 60),
)
def test_shares_are_those_of_minutes_counted_one_by_one(spans, start, step, offset):
    """Independent count: every minute of every step is asked whether it lies in any span."""

    def is_open(minute):
        return any(
            a <= minute < b if a < b else minute >= a or minute < b  # an end first spans midnight
            for a, b in spans
        )

    n = 7
    hours = tuple((a / 60, b / 60) for a, b in spans)
    share = open_frac(
        clock(*hours),
        **steps(start_h=start / 60, n=n, step_h=step / 60, ship_offset_h=offset / 60),
    )
    first = start + offset
    counted = [
        sum(is_open((first + i * step + m) % 1440) for m in range(step)) / step for i in range(n)
    ]
    assert share == pytest.approx(counted, abs=1e-7)


def test_no_span_starts_at_the_end_of_the_day():
    """From 24:00 to 00:00 would be no time at all, though its two figures differ."""
    with pytest.raises(ValueError, match=r"got 24.0 to 0.0"):
        clock((24.0, 0.0))
