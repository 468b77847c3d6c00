"""Windows as a sailor writes them."""

import pytest

from powersim.inputs.text import ReadingError
from powersim.inputs.windows import window_of
from powersim.records import Window


def clock(*spans_h, utc=False):
    return Window(kind="clock", spans_h=spans_h, utc=utc)


READ = [
    ("always", Window()),
    (" Night ", Window(kind="night")),
    ("DAY", Window(kind="day")),
    ("06:00-06:30; 18:00-18:30", clock((6.0, 6.5), (18.0, 18.5))),
    ("06:00-06:30;18:00-18:30;", clock((6.0, 6.5), (18.0, 18.5))),
    ("06:00-06:30; 18:00-18:30 UTC", clock((6.0, 6.5), (18.0, 18.5), utc=True)),
    ("06:00-06:30 utc; 18:00-18:30 UTC", clock((6.0, 6.5), (18.0, 18.5), utc=True)),
    ("6:15 – 7:45 ship", clock((6.25, 7.75))),
    ("22:00-06:00", clock((22.0, 6.0))),
    ("22:00-00:00", clock((22.0, 0.0))),
    ("22:00-24:00", clock((22.0, 24.0))),
    ("24:00-06:00", clock((0.0, 6.0))),
    ("00:00-24:00", clock((0.0, 24.0))),
    ("22:00-06:00; 06:00-07:00", clock((22.0, 6.0), (6.0, 7.0))),
]


@pytest.mark.parametrize(("text", "window"), READ)
def test_a_window_is_read(text, window):
    assert window_of(text) == window


WRONG = [
    ("25:00-26:00", "'25:00-26:00': there is no 25:00 on a clock"),
    ("23:00-24:01", "'23:00-24:01': there is no 24:01 on a clock"),
    ("06:60-07:00", "'06:60-07:00': there is no 06:60 on a clock"),
    ("06:00-06:00", "'06:00-06:00' ends as it begins; write always for the whole day"),
    ("24:00-00:00", "'24:00-00:00' ends as it begins; write always for the whole day"),
    ("06:00-09:00; 08:00-10:00", "'06:00-09:00; 08:00-10:00' has spans that overlap"),
    ("22:00-06:00; 05:00-07:00", "'22:00-06:00; 05:00-07:00' has spans that overlap"),
    ("06:00-07:00 UTC; 08:00-09:00 ship", "'06:00-07:00 UTC; 08:00-09:00 ship' mixes UTC and "
     "ship's time"),
    ("nigth", "cannot read 'nigth'; did you mean 'night'?"),
    ("night UTC", "cannot read 'night UTC'; did you mean 'night'?"),
    ("06:00", "cannot read '06:00'"),
    ("6-18", "cannot read '6-18'"),
    ("０６:00-07:00", "cannot read '０６:00-07:00'"),
    (";", "cannot read ';'"),
    ("", "cannot read ''"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "reason"), WRONG)
def test_what_is_no_window_is_said(text, reason):
    with pytest.raises(ReadingError) as caught:
        window_of(text)
    assert caught.value.reason == reason
