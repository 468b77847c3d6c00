"""Dates as people and spreadsheets write them: one cell, and the whole column."""

from datetime import UTC, datetime, timedelta

import pytest

from powersim.inputs.date_columns import read_dates
from powersim.inputs.dates import DMY, FROM_1900, FROM_1904, MDY, PLAIN, YMD, readings_of
from powersim.inputs.text import ReadingError

MORNING = datetime(2026, 9, 12, 8, 0, tzinfo=UTC)
PASSAGE = (datetime(2026, 9, 5, 9, 0, tzinfo=UTC), datetime(2026, 12, 20, tzinfo=UTC))


@pytest.mark.parametrize(
    "text",
    [
        "2026-09-12 08:00",
        "2026-09-12T08:00",
        "2026-09-12T08:00:00Z",
        "2026-09-12 06:00-02:00",
        "2026-9-12 8:00",
        "2026/09/12 8:00 AM",
        "20260912 0800",
        "12. September 2026 08:00 Uhr",
        "12 sept. 2026 08h00",
        "Sep 12, 2026 8 am",
        "September 12th, 2026, 8:00 a.m.",
        "12 septembre 2026\u202f08:00",
        "12 de setembro de 2026 08:00",
        "12-Sep-2026 8:00:00",
    ],
)
def test_what_can_be_read_in_one_way(text):
    assert readings_of(text) == {PLAIN: MORNING}


@pytest.mark.parametrize(
    ("text", "orders"),
    [
        ("12.09.2026 08:00", [DMY]),
        ("12.9. 2026 8.00", [DMY]),
        ("12/09/2026 08:00", [DMY, MDY]),
        ("13/09/2026 08:00", [DMY]),
        ("9/13/26 8:00 PM", [MDY]),
        ("12-09-26 08:00", [DMY, MDY, YMD]),
        ("26.09.12 08:00", [DMY, YMD]),
        ("12-Sep-26 08:00", [DMY, YMD]),
        ("46277.33333333", [FROM_1900, FROM_1904]),
        ("46277,25", [FROM_1900, FROM_1904]),
    ],
)
def test_what_a_cell_alone_leaves_open(text, orders):
    assert list(readings_of(text)) == orders


def test_a_bare_number_is_the_day_that_spreadsheets_count():
    """ECMA-376 part 1, 18.17.4.1 (from memory): 1 January 1900 is 1, and 1900 counted as a leap
    year. From there to 12 September 2026 are 126 years with 31 leap days, and 254 days:
    126 * 365 + 31 + 254 + 1 for the 29 February that never was + 1 for counting from 1 = 46277."""
    assert 126 * 365 + 31 + 254 + 1 + 1 == 46277
    assert readings_of("46277.3333333")[FROM_1900] == MORNING


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("2026-09-12", "'2026-09-12' has no time of the day"),
        ("12.09.2026", "'12.09.2026' has no time of the day"),
        ("46277", "'46277' has no time of the day"),
        ("46277.33", "'46277.33' has been rounded; its time of the day is lost"),
        ("31/02/2026 08:00", "'31/02/2026 08:00' is no day of the calendar from 1950 to 2100"),
        ("12 jui 2026 08:00", "'12 jui 2026 08:00' is no day of the calendar from 1950 to 2100"),
        ("12 Sep 08:00", "cannot read '12 Sep 08:00' as a date"),
        ("12/09/2026 13:00 pm", "there is no such hour before or after noon"),
        ("12/09/2026 25:00", "there is no such time of the day: '12/09/2026 25:00'"),
        ("12/09/2026 8", "cannot read the time of the day in '12/09/2026 8'"),
        ("2026-13-45 99:99", "there is no '2026-13-45 99:99' in the calendar or on the clock"),
        ("yesterday", "cannot read 'yesterday' as a date"),
    ],
)
def test_what_is_no_date_with_a_time(text, reason):
    with pytest.raises(ReadingError) as caught:
        readings_of(text)
    assert caught.value.reason.startswith(reason)


def days(column):
    return [one.strftime("%d.%m") if isinstance(one, datetime) else None for one in column.moments]


def test_a_thirteenth_tells_the_order_of_all():
    column = read_dates(["11/09/2026 8:00", "12/09/2026 8:00", "13/09/2026 8:00"])
    assert days(column) == ["11.09", "12.09", "13.09"]
    assert column.told == ("time: day first, since '13/09/2026 8:00' cannot be read otherwise",)


def test_one_slip_of_the_pen_does_not_turn_the_others_round():
    """Month first, as they lie within the passage; "13/9" for "9/13" is the slip."""
    column = read_dates(
        ["9/6/26 8:00", "9/7/26 8:00", "9/8/26 8:00", "13/9/26 8:00"], within=PASSAGE
    )
    assert days(column) == [None, None, None, None]
    assert column.asked is not None


def test_the_passage_tells_the_order():
    texts = ["09/10/2026 8:00", "10/10/2026 8:00"]
    assert read_dates(texts).asked is not None
    column = read_dates(["05/09/2026 8:00", "06/09/2026 8:00"], within=PASSAGE)
    assert days(column) == ["05.09", "06.09"]
    assert column.told == ("time: day first, or the dates would not be of this passage",)


def test_days_that_rise_all_along_tell_the_order():
    texts = ["10/09/2026 8:00", "11/09/2026 8:00"]
    assert read_dates(texts, within=PASSAGE).asked is not None  # two days always rise or fall
    column = read_dates([*texts, "10/10/2026 8:00", "11/10/2026 8:00"], within=PASSAGE)
    assert days(column) == ["10.09", "11.09", "10.10", "11.10"]
    assert column.told == ("time: day first, or the days of the file would go to and fro",)


def test_what_remains_in_doubt_is_asked_and_the_heading_answers():
    texts = ["09/10/2026 8:00", "10/10/2026 8:00"]
    column = read_dates(texts, within=PASSAGE)
    assert days(column) == [None, "10.10"]
    assert column.asked == (
        0,
        "'09/10/2026 8:00' is 9 October 2026 or 10 September 2026, and the other lines do not "
        "tell which",
        "the heading time_dmy (day first) or time_mdy (month first); or the year first, as in "
        "2026-09-12 08:00",
    )
    assert days(read_dates(texts, order="dmy")) == ["09.10", "10.10"]
    assert days(read_dates(texts, order="mdy")) == ["10.09", "10.10"]
    (fault,) = read_dates(["9/13/2026 8:00"], order="dmy").moments
    assert isinstance(fault, ReadingError)
    assert fault.reason == "'9/13/2026 8:00' is no date with the day first"


def test_two_ways_in_one_column_leave_what_is_in_doubt_aside():
    column = read_dates(["9/13/2026 8:00", "14/9/2026 8:00", "9/10/2026 8:00"], within=PASSAGE)
    assert days(column) == ["13.09", "14.09", None]


def test_offsets_and_hours_of_twelve():
    assert readings_of("12.09.2026 12:30 AM")[DMY] == MORNING - timedelta(hours=7, minutes=30)
    assert readings_of("12.09.2026 12:30 PM +02:00")[DMY] == MORNING + timedelta(hours=2.5)
