"""log.csv: what can be read of it, and what is set aside and named."""

from datetime import UTC, datetime

import pytest

from powersim.errors import InputError
from powersim.inputs.log import can_size_L, read_log

HEAD = (
    "time,position,soc,voltage,resting_h,current,engine_h,dip,cans_left,absorb_A,fuel_added,"
    "solar_Ah,cloud,note\n"
)


def at(*moment):
    return datetime(*moment, tzinfo=UTC).timestamp()


def test_every_column_is_read(write_file):
    row = (
        "2026-09-12 06:30,52 10.5 N 27 31.0 W,72 %,12.45 V,3,-3200 mA,1234.5,23.5 cm,2,4.2,20 L,"
        '182,6/8,"squalls, reefed"\n'
    )
    (entry,) = read_log(write_file("log.csv", HEAD + row), can_L=20.0).entries
    assert entry.clock_s == at(2026, 9, 12, 6, 30)
    assert not entry.in_ship_time
    assert (entry.lat_deg, entry.lon_deg) == pytest.approx((52.175, -27.5167), abs=1e-4)
    assert (entry.soc, entry.voltage_V, entry.resting_h) == (0.72, 12.45, 3.0)
    assert (entry.current_A, entry.engine_h, entry.dip_m) == pytest.approx((-3.2, 1234.5, 0.235))
    assert (entry.cans_L, entry.absorb_A, entry.fuel_added_L) == (40.0, 4.2, 20.0)
    assert (entry.solar_Ah, entry.cloud_oktas, entry.note) == (182.0, 6.0, "squalls, reefed")
    assert (entry.line, entry.dip_L) == (2, None)


def test_all_but_the_time_may_be_missing_and_rows_come_in_any_order(write_file):
    log = read_log(write_file("log.csv", "time\n2026-09-12 06:30\n2026-09-11 06:30Z\n"))
    assert [entry.clock_s for entry in log.entries] == [
        at(2026, 9, 12, 6, 30),
        at(2026, 9, 11, 6, 30),
    ]
    assert log.set_aside == ()


@pytest.mark.parametrize(
    ("text", "ship"),
    [
        ("time\n2026-09-12 06:30 ship\n", True),
        ("ship_time\n2026-09-12 06:30\n", True),
        ("time\n2026-09-12 06:30\n", False),
        ("time\n2026-09-12 05:30-01:00\n", False),
    ],
)
def test_time_is_of_utc_or_of_the_ship(write_file, text, ship):
    (entry,) = read_log(write_file("log.csv", text)).entries
    assert (entry.clock_s, entry.in_ship_time) == (at(2026, 9, 12, 6, 30), ship)


def test_the_needle_is_read_as_its_dial_has_it(write_file):
    text = "time,needle\n2026-09-12 06:30,1/4\n2026-09-13 06:30,E\n2026-09-14 06:30,9/8\n"
    log = read_log(write_file("log.csv", text))
    assert [entry.needle_frac for entry in log.entries] == [0.25, 0.0, None]
    (aside,) = log.set_aside
    assert aside.text == "needle (column B): '9/8' is not between E and F"
    assert aside.expected == "the tank's gauge, where no stick is read, for example 1/4, E or 30 %"


def test_cans_and_dip_are_read_in_litres_too(write_file):
    text = "time,dip,cans_left\n2026-09-12 06:30,41 L,2 x 20 L\n2026-09-13 06:30,40 L,18 L\n"
    first, second = read_log(write_file("log.csv", text)).entries
    assert (first.dip_L, first.dip_m, first.cans_L, second.cans_L) == (41.0, None, 40.0, 18.0)


def test_a_count_of_cans_needs_their_size(write_file):
    text = "time,cans_left\n2026-09-12 06:30,2\n2026-09-13 06:30,0\n"
    log = read_log(write_file("log.csv", text))
    assert [entry.cans_L for entry in log.entries] == [None, 0.0]
    assert "'2' is a count, and boat.toml does not say how large a can is" in str(log.set_aside[0])
    boat = write_file("boat.toml", '[fuel]\ntank = "85 L"\njerrycans = "3 x 20 L"\n')
    assert can_size_L(boat) == 20.0
    assert can_size_L(write_file("other.toml", '[fuel]\njerrycans = "60 L"\n')) is None


def test_a_bad_cell_is_set_aside_and_the_rest_of_its_row_counts(write_file):
    path = write_file("log.csv", "time,voltage,engine_h\n2026-09-12 06:30,12O5 V,101.2\n")
    log = read_log(path)
    assert (log.entries[0].voltage_V, log.entries[0].engine_h) == (None, 101.2)
    assert [str(problem) for problem in log.set_aside] == [
        f"{path}:2:2: voltage (column B): cannot read '12O5 V'\n"
        "  expected  volts at the bank, for example 12.45 V\n"
        "  row       2026-09-12 06:30,12O5 V,101.2"
    ]


def test_a_row_without_a_time_is_set_aside(write_file):
    path = write_file(
        "log.csv", "time,soc\nyesterday,70 %\n,71 %\n2026-09-12,72 %\n2026-09-12 06:30,73 %\n"
    )
    log = read_log(path)
    assert [entry.soc for entry in log.entries] == [0.73]
    assert [problem.line for problem in log.set_aside] == [2, 3, 4]


def test_a_decimal_comma_that_shifts_cells_costs_only_its_row(write_file):
    path = write_file(
        "log.csv", "time,voltage\n2026-09-12 06:30,12,45 V\n2026-09-13 06:30,12.4 V\n"
    )
    log = read_log(path)
    assert [entry.voltage_V for entry in log.entries] == [12.4]
    assert log.set_aside[0].line == 2


def test_an_open_quotation_mark_costs_only_its_row(write_file):
    text = 'time,note\n2026-09-12 06:30,"ripped\n2026-09-13 06:30,fine\n2026-09-14 06:30,"a" b\n'
    log = read_log(write_file("log.csv", text + "2026-09-15 06:30,good\n"))
    assert [entry.note for entry in log.entries] == ["fine", "good"]
    assert [problem.line for problem in log.set_aside] == [2, 4]


def test_an_unknown_column_is_named_and_the_others_count(write_file):
    log = read_log(write_file("log.csv", "time,volts,soc\n2026-09-12 06:30,12 V,70 %\n"))
    assert log.entries[0].soc == pytest.approx(0.7)
    assert "unknown column 'volts'" in log.set_aside[0].text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("soc\n70 %\n", "has no time column"),
        ("time,ship_time\n2026-09-12 06:30,2026-09-12 06:30\n", "has both a time and a ship_time"),
        ("time,soc\n", "no rows below the heading"),
        ("time\nnoon\n", "cannot read 'noon'"),
    ],
)
def test_a_log_of_no_use_is_an_error(write_file, text, said):
    with pytest.raises(InputError) as caught:
        read_log(write_file("log.csv", text))
    assert said in str(caught.value)


def test_a_log_without_a_heading_is_told_in_one_message(write_file):
    path = write_file("log.csv", "2026-09-12 06:30,12.4 V,101.2\n2026-09-13 06:30,12.4 V,101.2\n")
    with pytest.raises(InputError) as caught:
        read_log(path)
    assert str(caught.value) == (
        f"{path}:1: this line should be the heading, but names no column of a log\n"
        "  expected  names above the first entry, for example time,position,voltage,engine_h,dip"
    )


def test_lines_that_are_no_text_are_set_aside_and_the_rest_counts(write_file):
    """A stray byte; zero bytes where the power failed as the file was written."""
    text = (
        b"time,note,soc\n2026-09-12 06:30,17\x81 below,70 %\n2026-09-13 06:30,,71 %\n" + 99 * b"\0"
    )
    path = write_file("log.csv", text)
    log = read_log(path)
    assert [entry.soc for entry in log.entries] == [0.71]
    assert [str(problem) for problem in log.set_aside] == [
        f"{path}:2: byte 0x81 in this line is not UTF-8\n  expected  UTF-8; write the line anew",
        f"{path}:4: not text: it holds zero bytes\n  expected  UTF-8; write the line anew",
    ]


def test_a_heading_that_is_no_text_is_told(write_file):
    path = write_file("log.csv", b"time,note\x9d\n2026-09-12 06:30,fine\n")
    with pytest.raises(InputError) as caught:
        read_log(path)
    assert [problem.line for problem in caught.value.problems] == [1, 2]


def test_a_file_of_no_text_is_told_in_one_message(write_file):
    with pytest.raises(InputError, match="is not text") as caught:
        read_log(write_file("log.csv", b"\x00\x01\n\x00\n\x00\ntime\n"))
    assert len(caught.value.problems) == 1


def test_a_number_without_a_unit_is_told_of_the_heading_that_would_do(write_file):
    log = read_log(write_file("log.csv", "time,soc,dip\n2026-09-12 06:30,0.72,23\n"))
    assert [problem.expected.split("; ")[1] for problem in log.set_aside] == [
        "bare numbers go under a heading soc_%",
        "bare numbers go under a heading dip_cm or dip_L",
    ]


def test_no_file_is_an_error(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_log(tmp_path / "log.csv")


def test_hours_in_gear_and_the_monitors_count_are_read(write_file):
    text = "time,gear_h,monitor_Ah\n2026-09-12 06:30,31.5,-35.2\n2026-09-13 06:30,33 h,−0.0 Ah\n"
    log = read_log(write_file("log.csv", text))
    assert [(one.gear_h, one.monitor_Ah) for one in log.entries] == [(31.5, -35.2), (33.0, 0.0)]
    assert log.set_aside == ()


@pytest.mark.parametrize(
    ("cell", "reason"),
    [
        (
            "35.2",
            "'35.2' is not between -10000 Ah and 0 Ah: is its minus left out, or is it what is ",
        ),
        ("-12000 Ah", "'-12000 Ah' is not between -10000 Ah and 0 Ah"),
        ("-35.2 %", "'-35.2 %' is a share"),
    ],
)
def test_what_cannot_be_a_monitors_count_is_set_aside(write_file, cell, reason):
    log = read_log(write_file("log.csv", f"time,monitor_Ah\n2026-09-12 06:30,{cell}\n"))
    assert log.entries[0].monitor_Ah is None
    assert reason in str(log.set_aside[0])
