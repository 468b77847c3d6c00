"""An entry of the log as one line of a short message."""

from datetime import UTC, datetime

import pytest

from powersim.errors import InputError
from powersim.inputs.line_told import check_of, line_of
from powersim.inputs.log_line import read_lines
from powersim.records import LogEntry
from powersim.records.gsm import GSM_LETTERS, as_gsm, strangers

PASSAGE = (datetime(2026, 9, 5, 9, 0, tzinfo=UTC), datetime(2026, 12, 20, tzinfo=UTC))
WHEN_s = datetime(2026, 9, 12, 6, 30, tzinfo=UTC).timestamp()


def read(*lines, within=PASSAGE):
    return read_lines(lines, file="line", can_L=20.0, within=within)


def only(*lines):
    log = read(*lines)
    assert log.set_aside == ()
    (entry,) = log.entries
    return entry


def test_every_piece_is_read_whatever_its_order():
    entry = only(
        "ENG1234.5H DIP23.5CM 12.45V 52-10.5N 027-31.0W REST3H 72% OUT3.2A 12SEP 0630Z GEAR31.5H "
        "CANS2 ABS4.2A ADD20L SUN182AH MON-35.2AH CLOUD6/8 CK146"
    )
    assert entry.clock_s == WHEN_s
    assert not entry.in_ship_time
    assert (entry.lat_deg, entry.lon_deg) == pytest.approx((52.175, -27.516667))
    assert (entry.soc, entry.voltage_V, entry.resting_h, entry.current_A) == (0.72, 12.45, 3, -3.2)
    assert (entry.engine_h, entry.gear_h, entry.solar_Ah) == (1234.5, 31.5, 182.0)
    assert (entry.dip_m, entry.cans_L, entry.absorb_A) == (pytest.approx(0.235), 40.0, 4.2)
    assert (entry.fuel_added_L, entry.monitor_Ah, entry.cloud_oktas) == (20.0, -35.2, 6.0)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("12sep 0630z, 12,45 v, rest 3 h", {"voltage_V": 12.45, "resting_h": 3.0}),
        ("12 September 2026 06:30 52 10.5 n 27 31 w", {"lat_deg": 52.175}),
        ("2026-09-12 0630Z 52.175N 27.517W", {"lat_deg": 52.175, "lon_deg": -27.517}),
        ("12SEP26 06:30 UTC 52°10.5'N, 027°31.0'W", {"lat_deg": 52.175}),
        ("12SEP 0630Z in 3200 mA", {"current_A": 3.2}),
        ("12SEP 0630Z -3.2A", {"current_A": -3.2}),
        ("12SEP 0630Z DIP 41 L cans 2x20L", {"dip_L": 41.0, "cans_L": 40.0}),
        ("12SEP 0630Z dip 9 in", {"dip_m": pytest.approx(9 * 0.0254)}),
        ("CK14 12SEP 0630Z 2% note Reefed at noon, ok", {"note": "Reefed at noon, ok"}),
        ("12SEP 0630Z note 2 reefs CK14", {"note": "2 reefs"}),
        ("12SEP 0630Z NEEDLE1/4", {"needle_frac": 0.25}),
        ("12SEP 0630Z needle e", {"needle_frac": 0.0}),
        ("12SEP 0630Z soc 72 % monitor -35", {"soc": 0.72, "monitor_Ah": -35.0}),
    ],
)
def test_capitals_blanks_and_commas_do_not_matter(text, told):
    entry = only(text)
    assert entry.clock_s == WHEN_s
    assert {name: getattr(entry, name) for name in told} == told


def test_ships_time_is_kept_as_such():
    assert only("12SEP 0630 SHIP 72%").in_ship_time


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("12SEP 0630Z 3.2A", "'3.2A' does not say which way: out of the bank, or into it"),
        ("12SEP 0630Z MON35AH", "is its minus left out, or is it what is left of the bank?"),
        ("12SEP 0630Z DIP23", "'23' has no unit"),
        ("12SEP 0630Z 105%", "'105 %' is not between 0 % and 100 %"),
        ("12SEP 0630Z ABX4.2A", "cannot read 'ABX4.2A'"),
        ("12SEP 0630Z REST3H12.45V", "cannot read 'REST3H12.45V'"),
        ("12SEP 0630Z 12.4V 12.5V", "says '12.4V' and '12.5V' of the same; neither counts"),
        ("12SEP 0630Z 13SEP 0630Z", "'13SEP 0630Z' is a second time"),
        ("12SEP 0630Z ENG1,234H", "'1,234h' may be 1.234 or 1234"),
        ("12SEP 0630Z 52-10.5N 27-31.0", "cannot read '52-10.5N'"),
        ("12SEP 0630Z 52-61.0N 027-31.0W", "has minutes of 60 or more"),
        ("12SEP 0630Z OUT-3A", "'OUT-3A' is no current"),
    ],
)
def test_a_piece_that_cannot_be_read_is_set_aside(text, reason):
    log = read(text)
    assert reason in log.set_aside[0].text
    entry = log.entries[0]
    assert (entry.voltage_V, entry.dip_m, entry.current_A, entry.lat_deg, entry.soc) == (None,) * 5


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("12.4V 72%", "says no time that can be read"),
        ("12SEP 2026 12.4V", "says no time that can be read"),  # a year, or 20:26? it is neither
        ("12/09 0630Z 12.4V", "says no time that can be read"),
        ("30FEB26 0630Z 12.4V", "30FEB 0630 is not in the calendar, or not on the clock"),
        ("12SEP 2460Z 12.4V", "12SEP is within no year of the passage"),
        ("12JAN 0630Z 12.4V", "names no year, and 12JAN is within no year of the passage"),
        ("12SEP 0630Z 12.45V CK99", "its digits add up to 24, not to 99: one of them is wrong"),
        ("12SEP 0630Z NOTE " + "x" * 150, "has 167 letters; a message of 160 has lost its end"),
        ("", "holds no line of the log"),
    ],
)
def test_a_line_that_cannot_be_trusted_is_refused(text, reason):
    with pytest.raises(InputError) as caught:
        read(text)
    assert reason in str(caught.value)


def test_all_that_is_strange_in_a_line_is_told_at_once():
    (problem,) = read("12SEP 0630Z FOO 72% BAR7").set_aside
    assert problem.text == "cannot read 'FOO', 'BAR7'"


def test_a_file_of_something_else_is_told_in_a_few_words():
    with pytest.raises(InputError) as caught:
        read(*(f"load {number},36 W,sailing" for number in range(50)))
    assert [problem.text for problem in caught.value.problems] == [
        *["says no time that can be read"] * 3,
        "holds no line of the log",
    ]


def test_without_the_passage_a_line_needs_its_year():
    with pytest.raises(InputError, match="names no year"):
        read("12SEP 0630Z 72%", within=None)
    assert read("12SEP26 0630Z 72%", within=None).entries[0].clock_s == WHEN_s


def test_several_lines_with_notes_between_them():
    log = read("# sent on Friday", "11SEP 0600Z 80%", "", "12SEP 0630Z 72%")
    assert [(one.line, one.soc) for one in log.entries] == [(2, 0.8), (4, 0.72)]


def test_the_check_is_a_sum_that_a_pencil_can_do():
    """1+2 + 0+6+3+0 + 1+2+4+5 = 24, by hand; any single wrong digit changes it."""
    text = "12SEP 0630Z 12.45V"
    assert check_of(text) == 24
    for place, sign in enumerate(text):
        if sign.isdigit():
            other = str((int(sign) + 1) % 10)
            assert check_of(text[:place] + other + text[place + 1 :]) != 24


def test_what_was_read_is_told_back_in_one_form():
    entry = LogEntry(
        file="", line=1, row="", clock_s=WHEN_s, in_ship_time=True, lat_deg=-0.05, lon_deg=179.9999,
        voltage_V=12.4, note="below 22 C",
    )  # fmt: skip
    assert line_of(entry) == "12SEP26 0630 SHIP 00-03.0S 180-00.0E 12.4V NOTE below 22 C CK43"


def test_the_alphabet_of_phones():
    """3GPP TS 23.038, 6.2.1 (from memory): 128 signs, of which are left out one escape, two
    line ends and the ten Greek capitals that no Latin one looks like."""
    assert len(GSM_LETTERS) == 128 - 1 - 2 - 10
    assert strangers("12.45V at 22 °C [ok]") == "°[]"
    assert as_gsm("Kühlschrank, fridge's “œil” №1") == 'KÜHLSCHRANK, FRIDGE\'S "OEIL" N1'
