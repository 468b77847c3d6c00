"""Departures as typed after `--depart` of `compare`."""

from datetime import UTC, datetime

import pytest

from powersim.errors import InputError
from powersim.inputs.departures import departures_of

FILES = datetime(2026, 9, 5, 9, 30, tzinfo=UTC)


def days(*texts):
    return [f"{one.of(FILES):%Y-%m-%d %H:%M}" for one in departures_of(texts)]


def test_a_range_ends_at_its_last_step_within():
    """1, 8, 15 and 22 September: the 29th is beyond the 28th. At the files' time of day."""
    found = days("2026-09-01:2026-09-28:7d")
    assert found == [f"2026-09-{day} 09:30" for day in ("01", "08", "15", "22")]
    assert days("2026-09-01:2026-09-28:1 week") == found
    assert days("2026-09-01 : 2026-09-01 : 2d".replace(" :", ":")) == found[:1]


def test_a_time_that_is_typed_goes_before_that_of_the_files():
    assert days("2026-09-01 18:00:2026-09-03 18:00:2d", "2026-10-01T06:00+02:00") == [
        "2026-09-01 18:00",
        "2026-09-03 18:00",
        "2026-10-01 04:00",
    ]


def test_none_twice():
    assert len(days("2026-09-01:2026-09-15:7d", "2026-09-08")) == 3


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "is empty"),
        ("tomorrow", "cannot read 'tomorrow' as a date"),
        ("2026-02-30", "there is no '2026-02-30' in the calendar or on the clock"),
        ("2026-09-01:2026-10-15", "a range has three parts, from:to:step"),
        ("2026-10-15:2026-09-01:7d", "runs backwards"),
        ("2026-09-01:2026-10-15:0d", "has no step of one day or more at its end"),
        ("2026-09-01:2026-10-15:7", "has no step of one day or more at its end"),
        ("2026-09-01 09:00:2026-10-15:7d", "has a time of day at one end alone"),
        ("1990-01-01:2026-10-15:1d", "has more than 1,000 departures"),
    ],
)
def test_what_cannot_be_read_is_refused(text, reason):
    with pytest.raises(InputError) as caught:
        departures_of([text, "nor this"])
    first, second = caught.value.problems
    assert reason in first.text
    assert first.file == "depart"
    assert first.expected.endswith("for example --depart 2026-09-01:2026-10-15:7d")
    assert "'nor this'" in second.text
