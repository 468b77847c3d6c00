"""Moments of a passage as they are typed: by date, and by the day of the passage."""

from datetime import UTC, datetime

import pytest
from builders import passage_of

from powersim.errors import InputError
from powersim.inputs.moments import moment_of

ARRIVAL_h = 30 * 24.0


@pytest.fixture
def passage():
    return passage_of()


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        # Departure is on 5 September, which is day 1: day 12 is the 16th, and a date alone is noon.
        ("day 12", datetime(2026, 9, 16, 12, tzinfo=UTC)),
        (" Day 12 ", datetime(2026, 9, 16, 12, tzinfo=UTC)),
        ("day12 06:30", datetime(2026, 9, 16, 6, 30, tzinfo=UTC)),
        ("day 12 06:30 +02:00", datetime(2026, 9, 16, 4, 30, tzinfo=UTC)),
        ("day 1", datetime(2026, 9, 5, 12, tzinfo=UTC)),
        # Landfall is 30 days later to the hour; noon of that date would be after it.
        ("day 31", datetime(2026, 10, 5, 8, 59, tzinfo=UTC)),
    ],
)
def test_a_day_of_the_passage_is_the_date_that_it_falls_on(passage, typed, expected):
    assert moment_of(typed, passage, arrival_h=ARRIVAL_h, option="from") == expected


@pytest.mark.parametrize("typed", ["day 0", "day 32", "day 9999", "day 1 08:00"])
def test_a_day_outside_the_passage_is_told_as_it_was_typed(passage, typed):
    with pytest.raises(InputError) as caught:
        moment_of(typed, passage, arrival_h=ARRIVAL_h, option="from", also="worst")
    assert str(caught.value) == (
        f"from: {typed!r} is not within the passage\n"
        "  expected  a moment from 2026-09-05 09:00 to 2026-10-05 08:59 UTC, for example "
        "2026-09-05, or day 1 to day 31; or worst"
    )


@pytest.mark.parametrize("typed", ["day", "day twelve", "day 12345", "day 12 noon"])
def test_what_is_no_day_is_told_with_an_example_of_one(passage, typed):
    with pytest.raises(InputError) as caught:
        moment_of(typed, passage, arrival_h=ARRIVAL_h, option="from")
    assert "a date and time in UTC, for example 2026-09-05 09:00, or day 12" in str(caught.value)
