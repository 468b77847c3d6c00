"""An entry told in a line is that entry again; any text is read or refused."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from powersim.errors import InputError
from powersim.inputs.line_told import line_of
from powersim.inputs.log_line import read_lines
from powersim.records import LogEntry
from powersim.records.gsm import GSM_LETTERS, MOST_LETTERS

DEPART = datetime(2026, 9, 5, 9, 0, tzinfo=UTC)
PASSAGE = (DEPART, DEPART + timedelta(days=100))


def tenths(least, most):
    return st.none() | st.integers(10 * least, 10 * most).map(lambda whole: whole / 10)


NUMBERS = {
    "voltage_V": tenths(0, 100),
    "resting_h": tenths(0, 1_000),
    "current_A": tenths(-2_000, 2_000),
    "engine_h": tenths(0, 100_000),
    "gear_h": tenths(0, 100_000),
    "cans_L": tenths(0, 10_000),
    "absorb_A": tenths(0, 2_000),
    "fuel_added_L": tenths(0, 10_000),
    "solar_Ah": tenths(0, 10_000_000),
    "monitor_Ah": tenths(-10_000, 0),
    "needle_frac": st.none() | st.integers(0, 20).map(lambda parts: parts / 20),
    "soc": st.none() | st.integers(0, 100).map(lambda percent: percent / 100),
    "dip_m": st.none() | st.integers(0, 5_000).map(lambda whole_mm: whole_mm / 1_000),
    "cloud_oktas": st.none() | st.integers(0, 8).map(float),
}
places = st.none() | st.tuples(st.integers(-54_000, 54_000), st.integers(-108_000, 107_999))
notes = st.text(alphabet=sorted(GSM_LETTERS), max_size=20).map(lambda text: " ".join(text.split()))


@st.composite
def entries(draw):
    """Entries with as many figures as instruments show."""
    at = draw(places)
    lat_deg, lon_deg = (None, None) if at is None else (tenth / 600 for tenth in at)
    minutes = draw(st.integers(0, 100 * 24 * 60))
    return LogEntry(
        file="line",
        line=1,
        row="",
        clock_s=DEPART.timestamp() + 60.0 * minutes,
        in_ship_time=draw(st.booleans()),
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        note=draw(notes),
        **{name: draw(numbers) for name, numbers in NUMBERS.items()},
    )


@settings(max_examples=150)
@given(entries(), st.booleans())
def test_an_entry_told_in_a_line_is_that_entry(entry, in_small_letters):
    text = line_of(entry)
    if len(text) > MOST_LETTERS:
        return
    told = text.lower() if in_small_letters and not entry.note else text
    log = read_lines([told], file="line", within=PASSAGE)
    assert log.set_aside == ()
    (found,) = log.entries
    assert (found.clock_s, found.in_ship_time) == (entry.clock_s, entry.in_ship_time)
    assert found.note == entry.note
    for name in ("lat_deg", "lon_deg", *NUMBERS):
        one, other = getattr(entry, name), getattr(found, name)
        assert other == (None if one is None else pytest.approx(one, abs=1e-9)), name


@settings(max_examples=60)
@given(
    entries()
    .map(line_of)
    .flatmap(
        lambda text: st.tuples(
            st.just(text), st.integers(0, len(text) - 1), st.sampled_from("123456789")
        )
    )
)
def test_one_wrong_digit_is_never_taken(drawn):
    """The check is behind every line that we write; whoever types one may leave it out."""
    text, place, more = drawn
    if len(text) > MOST_LETTERS or not text[place].isdigit():
        return
    wrong = text[:place] + str((int(text[place]) + int(more)) % 10) + text[place + 1 :]
    with pytest.raises(InputError):
        read_lines([wrong], file="line", within=PASSAGE)


@given(st.text(max_size=100) | st.text(alphabet="0123456789.,-/% NSEWVAHZCK", max_size=60))
def test_any_text_is_read_or_refused(text):
    """The sound line before it makes sure that there is an entry."""
    log = read_lines(["12SEP 0600Z 72%", f"12SEP 0630Z {text}", text], file="line", within=PASSAGE)
    assert log.entries[0].soc == 0.72
    assert all(problem.text and problem.line in (2, 3) for problem in log.set_aside)
