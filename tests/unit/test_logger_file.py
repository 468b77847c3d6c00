"""logger.csv: any headings, any order of day and month, decimal commas, rows cut off."""

import math
import re
from datetime import UTC, datetime, timedelta

import pytest

from powersim.errors import InputError
from powersim.inputs import logger as logger_module
from powersim.inputs.logger import read_logger

FIRST = datetime(2026, 9, 12, 22, 0, tzinfo=UTC)
WITHIN = (datetime(2026, 9, 5, tzinfo=UTC), datetime(2026, 11, 5, tzinfo=UTC))


def file_of(heading, row, *, rows=300, sign=",", minutes=20, above=""):
    """Rows of so many minutes; `row` is called with a moment."""
    moments = [FIRST + timedelta(minutes=minutes * place) for place in range(rows)]
    return above + "\n".join([heading, *(sign.join(row(moment)) for moment in moments)]) + "\n"


def plain(moment):
    return [f"{moment:%Y-%m-%d %H:%M:%S}", "12.61", "-2.35"]


@pytest.mark.parametrize(
    ("heading", "row", "sign"),
    [
        ("Timestamp,Battery voltage (V),Battery current (A)", plain, ","),
        ("time,V,A", plain, ","),
        ("Date/Time;U [mV];I [mA]", lambda t: [plain(t)[0], "12610", "-2350"], ";"),
        ("DateTime\tVolts\tAmps", lambda t: [f"{t:%d.%m.%Y %H:%M}", "12,61 V", "-2,35 A"], "\t"),
        ("date;time;volts;amps", lambda t: [f"{t:%d/%m/%Y}", f"{t:%H:%M}", "12,61", "-2,35"], ";"),
        ("epoch time,bank volts,amps", lambda t: [f"{t.timestamp():.0f}", "12.61", "-2.35"], ","),
        ("time,volts,amps", lambda t: [f"{1000 * t.timestamp():.0f}", "12.61", "-2.35"], ","),
        ("time,V,I", lambda t: [f"{t:%Y-%m-%dT%H:%M:%S}+00:00", '"12.61"', "-2.35"], ","),
    ],
)  # fmt: skip
def test_volts_and_amperes_are_found_by_their_headings(write_file, heading, row, sign):
    series = read_logger(write_file("logger.csv", file_of(heading, row, sign=sign)), within=WITHIN)
    assert len(series.times_s) == 300
    assert series.times_s[0] == FIRST.timestamp()
    assert series.times_s[1] - series.times_s[0] == 1200.0
    assert series.volts_V[0] == pytest.approx(12.61)
    assert series.amps_A[-1] == pytest.approx(-2.35)
    assert (series.broken, series.lines[0]) == (0, 2)


def test_what_was_taken_for_what_is_told(write_file):
    heading = "Time (UTC),House voltage,House current,Starter voltage,PV power (W),SOC,Temperature"

    def row(moment):
        return [*plain(moment), "12.8", "50", "81", "19"]

    series = read_logger(write_file("logger.csv", file_of(heading, row)), within=WITHIN)
    assert series.taken == (
        "Time (UTC) (column A) is the time",
        "House voltage (column B) is volts at the bank",
        "House current (column C) is amperes at the bank",
        "PV power (W) (column E) is what the panels give",
        "SOC (column F) is state of charge",
        "not used: Starter voltage, Temperature",
    )
    assert series.in_utc
    assert series.soc[0] == pytest.approx(0.81)
    assert series.solar_A[0] == pytest.approx(50.0 / 12.61)


def test_a_date_and_a_time_of_the_day_are_told_apart(write_file):
    def row(moment):
        return [f"{moment:%Y-%m-%d}", f"{moment:%H:%M}", "12.6"]

    series = read_logger(write_file("logger.csv", file_of("Date,Time,V", row)), within=WITHIN)
    assert series.taken[:2] == (
        "Time (column B) is the time of the day",
        "Date (column A) is the date",
    )


def test_two_that_could_be_it_are_asked_and_the_sailor_says_which(write_file):
    text = file_of("time,Current 1,Current 2", plain)
    path = write_file("logger.csv", text)
    with pytest.raises(InputError) as caught:
        read_logger(path, within=WITHIN)
    assert str(caught.value) == (
        f"{path}:1: cannot tell which column is amperes at the bank: 'Current 1' (B) and "
        "'Current 2' (C)\n"
        '  expected  say which with --logger-columns, for example "current=the heading of that '
        'column"\n'
        "  row       time, Current 1, Current 2"
    )
    named = read_logger(path, within=WITHIN, named={"current": "current 2"})
    assert named.amps_A[0] == -2.35


def test_headings_of_any_language_are_named(write_file):
    path = write_file("logger.csv", file_of("Zeitpunkt,Bordnetz,Verbraucher", plain))
    with pytest.raises(InputError, match="has no column for the time"):
        read_logger(path, within=WITHIN)
    named = {"time": "Zeitpunkt", "voltage": "Bordnetz"}
    series = read_logger(path, within=WITHIN, named=named)
    assert series.volts_V[0] == 12.61
    assert series.amps_A is None
    with pytest.raises(InputError, match="has no one column 'Bordnetzt'; did you mean"):
        read_logger(path, within=WITHIN, named=named | {"voltage": "Bordnetzt"})


def test_day_and_month_are_told_by_the_whole_column_or_asked(write_file):
    rows = file_of("time,V,A", lambda t: [f"{t:%m/%d/%Y %H:%M}", "12.6", "-2"])
    series = read_logger(write_file("logger.csv", rows), within=WITHIN)
    assert series.times_s[0] == FIRST.timestamp()
    assert any("month first" in told for told in series.taken)
    both = re.sub(r"/1[3-7]/", "/11/", rows)
    with pytest.raises(InputError, match="the other lines do not tell which"):
        read_logger(write_file("both.csv", both), within=None)


def test_rows_cut_off_and_what_cannot_be_are_set_aside_and_counted(write_file):
    lines = file_of("time,V,A", plain).splitlines()
    lines[10] = lines[10][:15]
    lines[20] = lines[20].replace("12.61", "1261")
    lines[30] = lines[30].replace("2026-09", "2026-19")
    lines[40] = lines[40].replace("-2.35", "x7")
    lines[50] = lines[50].replace("-2.35", "")
    lines[60] = '"' + lines[60]
    series = read_logger(write_file("logger.csv", "\n".join(lines)), within=WITHIN)
    assert series.broken == 5
    assert [(one.line, one.text) for one in series.set_aside] == [
        (11, "the row is cut short"),
        (21, "'1261' is not what V can be"),
        (31, f"cannot read {lines[30].split(',')[0]!r} as a time"),
        (41, "'x7' is not what A can be"),
        (61, "a quotation mark is not closed"),
    ]
    assert len(series.times_s) == 295
    assert math.isnan(series.amps_A[series.lines.tolist().index(51)])


def test_rows_in_any_order_and_twice_are_put_in_order(write_file):
    head, *rows = file_of("time,V,A", plain, rows=20).splitlines()
    text = "\n".join([head, *rows[::-1], rows[3]])
    series = read_logger(write_file("logger.csv", text), within=WITHIN)
    assert (series.times_s[1:] > series.times_s[:-1]).all()
    assert series.taken[-1] == "1 rows of a time that is there already are left out"


@pytest.mark.parametrize("raw", [
    "sep=;\n" + file_of("time;V;A", plain, sign=";"),
    "Logger 3, firmware 1.2\nserial,77\n\n" + file_of("time,V,A", plain),
    "\ufeff" + file_of("time,V,A", plain),
    file_of("time,V,A", plain).encode("utf-16"),
    file_of("time,V,A,Temp \u00b0C", lambda t: [*plain(t), "19"]).encode("cp1252"),
])  # fmt: skip
def test_what_spreadsheets_and_loggers_put_around_it_is_read_over(write_file, raw):
    series = read_logger(write_file("logger.csv", raw), within=WITHIN)
    assert len(series.times_s) == 300
    assert series.volts_V[0] == 12.61


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ("", "is empty"),
        (b"PK\x03\x04 zip", "is a spreadsheet or an archive, not text"),
        ("time,V,A\n", "has 0 rows that can be read"),
        ("time,V,A\n2026-09-12 22:00,12.6,-2\n", "has 1 rows that can be read"),
        (file_of("time,temperature", lambda t: [plain(t)[0], "19"]), "has no column for volts"),
        (file_of("time,V,A", lambda t: ["noon", "12.6", "-2"]), "cannot read 'noon' as a date"),
        (file_of("time,voltage (Ah)", plain), "'voltage (Ah)' is in a unit that is not read"),
    ],
)
def test_what_is_no_series_is_refused(write_file, raw, words):
    with pytest.raises(InputError) as caught:
        read_logger(write_file("logger.csv", raw), within=WITHIN)
    assert words in str(caught.value)


def test_a_file_larger_than_can_be_is_refused(write_file, monkeypatch):
    path = write_file("logger.csv", file_of("time,V,A", plain))
    monkeypatch.setattr(logger_module, "MOST_LOGGER_ROWS", 100)
    with pytest.raises(InputError, match="has 301 lines"):
        read_logger(path, within=WITHIN)
    monkeypatch.setattr(logger_module, "LARGEST_LOGGER_BYTES", 1000)
    with pytest.raises(InputError, match="holds"):
        read_logger(path, within=WITHIN)
