"""Dates in any order and dress: a column is read as it was meant, or asks; never otherwise."""

from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from powersim.inputs.date_columns import ORDERS, read_dates

DEPART = datetime(2026, 9, 5, 9, 0, tzinfo=UTC)
#: How programs of several countries write 12 September 2026, in the words of strftime.
DRESSES = (
    "%d/%m/%Y", "%m/%d/%Y", "%d/%m/%y", "%m/%d/%y", "%y/%m/%d", "%d-%m-%Y", "%y-%m-%d", "%d.%m.%Y",
    "%d.%m.%y", "%y.%m.%d", "%Y/%m/%d", "%Y-%m-%d", "%d-%b-%y", "%d %B %Y", "%b %d, %Y", "%Y%m%d",
)  # fmt: skip
CLOCKS = ("%H:%M", "%H:%M:%S", "%I:%M %p", "%Hh%M", "%H.%M")
departures = st.datetimes(datetime(2005, 1, 1), datetime(2060, 1, 1)).map(
    lambda moment: moment.replace(second=0, microsecond=0, tzinfo=UTC)
)


@settings(max_examples=150)
@given(
    departures,
    st.lists(st.integers(0, 110 * 24 * 60), min_size=1, max_size=6).map(sorted),
    st.sampled_from(DRESSES),
    st.sampled_from(CLOCKS),
    st.booleans(),
)
def test_a_column_is_read_as_it_was_meant_or_asks(depart, minutes, dress, clock, in_order):
    """Entries of a passage in the order of time, or the last first, all in the same dress."""
    meant = [depart + timedelta(minutes=minute) for minute in minutes]
    meant = meant if in_order else meant[::-1]
    texts = [f"{moment:{dress} {clock}}" for moment in meant]
    column = read_dates(texts, within=(depart, depart + timedelta(days=110)))
    read = [one for one in column.moments if isinstance(one, datetime)]
    assert all(
        one == right
        for one, right in zip(column.moments, meant, strict=True)
        if isinstance(one, datetime)
    )
    assert len(read) == len(meant) or column.asked is not None


@given(
    st.lists(st.integers(20_000, 73_000), min_size=1, max_size=4),
    st.integers(0, 1439),
    st.sampled_from(".,"),
)
def test_bare_numbers_are_the_days_they_count_or_ask(days, minute, sign):
    """The reference is the calendar's own: 36526 is 1 January 2000 (from memory, ECMA-376)."""
    texts = [f"{day}{sign}{minute / 1440:.8f}".replace(f"{sign}0.", sign) for day in days]
    meant = [
        datetime(2000, 1, 1, tzinfo=UTC) + timedelta(days=day - 36_526, minutes=minute)
        for day in days
    ]
    column = read_dates(texts, within=(min(meant), max(meant) + timedelta(days=60)))
    for one, right in zip(column.moments, meant, strict=True):
        assert not isinstance(one, datetime) or one == right


@given(st.text(max_size=30) | st.text(alphabet="0123456789/-. :apm,TZ", max_size=24))
def test_any_text_is_a_moment_or_a_fault(text):
    for order in (None, *ORDERS):
        column = read_dates([text], order=order)
        assert len(column.moments) == 1
