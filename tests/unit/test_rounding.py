"""Number formats. The rounding is Python's own (half to even on the binary value)."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from powersim.report import rounding, when_where

KINDS = (
    rounding.number,
    rounding.signed,
    rounding.ah,
    rounding.wh,
    rounding.watts,
    rounding.amps,
    rounding.volts,
    rounding.soc,
    rounding.litres,
    rounding.litres_per_hour,
    rounding.hours,
    rounding.hours_minutes,
    rounding.minutes,
    rounding.days,
    rounding.miles,
    rounding.knots,
    rounding.degrees,
    rounding.celsius,
)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_what_is_not_known_is_a_dash_and_what_has_no_end_says_so(kind):
    assert kind(None) == kind(float("nan")) == "–"
    assert kind(float("inf")) == "no limit"


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_no_zero_has_a_minus_sign(kind):
    for value in (-0.0, -1e-9, -0.0001):
        assert not kind(value).startswith("-")


@given(st.floats(allow_nan=False, allow_infinity=False, width=32))
def test_a_shown_number_is_within_half_of_its_last_whole_digit(value):
    factors = {rounding.ah: 1, rounding.soc: 100, rounding.litres: 1, rounding.miles: 1}
    for kind, factor in factors.items():
        shown = float(kind(value).split()[0])
        assert abs(shown - value * factor) <= max(0.5 + 1e-9, abs(value * factor) * 1e-9)


@given(st.floats(0.0, 1e4))
def test_days_are_within_half_of_their_last_whole_digit_in_whichever_unit(value):
    shown, unit = rounding.days(value).split()
    in_days = {"min": 1 / 1440, "h": 1 / 24, "days": 1.0}[unit]
    assert abs(float(shown) * in_days - value) <= 0.5 * in_days + 1e-9
    assert (unit == "days") == (value >= 2.0)


@pytest.mark.parametrize(
    ("kind", "value", "text"),
    [
        (rounding.ah, 12.34, "12 Ah"),
        (rounding.ah, 9.94, "9.9 Ah"),
        (rounding.ah, 9.96, "10 Ah"),
        (rounding.ah, -4.0, "-4.0 Ah"),
        (rounding.wh, 9_999.4, "9999 Wh"),
        (rounding.wh, 9_999.6, "10.0 kWh"),
        (rounding.amps, 0.994, "0.99 A"),
        (rounding.amps, 0.996, "1.0 A"),
        (rounding.soc, 0.5, "50 %"),
        (rounding.soc, 1.0, "100 %"),
        (rounding.litres, 99.94, "99.9 L"),
        (rounding.litres, 99.96, "100 L"),
        (rounding.hours, 1.3, "1.3 h"),
        (rounding.hours_minutes, 1.9999, "2 h"),
        (rounding.hours_minutes, 0.0, "0 min"),
        (rounding.hours_minutes, -1.5, "-1 h 30 min"),
        (rounding.hours_minutes, 26.5, "26 h 30 min"),
        (rounding.days, 12.3, "12 days"),
        (rounding.days, 1.5, "36 h"),
        (rounding.days, 1.6, "38 h"),
        (rounding.days, 1.96, "47 h"),
        (rounding.days, 2.0, "2.0 days"),
        (rounding.days, 0.0, "0 h"),
        (rounding.days, 0.02, "29 min"),
        (rounding.bare_days, 2.6, "2.6"),
        (rounding.bare_days, 1.6, "38 h"),
        (rounding.degrees, 14.6, "15°"),
    ],
)
def test_the_digits_shown(kind, value, text):
    assert kind(value) == text


def test_signed():
    assert rounding.signed(3.26, decimals=1, unit="Ah") == "+3.3 Ah"
    assert rounding.signed(-3.26, decimals=1, unit="Ah") == "-3.3 Ah"
    assert rounding.signed(0.04, decimals=1) == "0.0"


@pytest.mark.parametrize(
    ("lat_deg", "lon_deg", "text"),
    [
        (38.5333, -28.6333, "38°32'N 028°38'W"),
        (-0.0001, 0.0001, "00°00'N 000°00'E"),  # what rounds to zero has no side
        (59.9999, -9.9999, "60°00'N 010°00'W"),  # 60 minutes are carried
        (-90.0, 180.0, "90°00'S 180°00'E"),
        (10.0, 190.5, "10°00'N 169°30'W"),  # over the date line
        (float("nan"), 1.0, "–"),
    ],
)
def test_positions(lat_deg, lon_deg, text):
    assert when_where.position(lat_deg, lon_deg) == text


def test_moments_in_ship_time_with_utc_beside():
    when = datetime(2026, 9, 5, 10, 0, tzinfo=UTC)
    assert when_where.moment(when, ship_offset_h=-1.0) == "Sat 5 Sep 09:00 (10:00 UTC)"
    assert when_where.moment(when, ship_offset_h=-11.0) == "Fri 4 Sep 23:00 (Sat 10:00 UTC)"
    assert when_where.moment(when, ship_offset_h=5.5) == "Sat 5 Sep 15:30 (10:00 UTC)"
    assert when_where.ship_time(when, ship_offset_h=-1.0) == "Sat 5 Sep 09:00"


def test_the_year_ends_aboard_when_it_does():
    when = datetime(2026, 12, 31, 23, 0, tzinfo=UTC)
    assert when_where.date(when, ship_offset_h=1.0) == "Fri 1 Jan 2027"
    assert when_where.date(when) == "Thu 31 Dec 2026"


def test_moments_are_rounded_to_the_minute_and_any_zone_will_do():
    east = timezone(timedelta(hours=3))
    when = datetime(2026, 9, 6, 2, 59, 59, 600_000, tzinfo=east)
    assert when_where.moment(when) == "Sun 6 Sep 00:00 (00:00 UTC)"


def test_a_parallel_is_north_or_south():
    """Reykjavik and Cape Town, by any atlas."""
    assert when_where.latitude(64.15) == "64°N"
    assert when_where.latitude(-33.9) == "34°S"


@pytest.mark.parametrize(
    ("share", "text"), [(0.498, "49.8 %"), (0.502, "50.2 %"), (0.5, "50 %"), (0.49, "49 %")]
)
def test_a_charge_close_to_its_floor_shows_on_which_side_it_is(share, text):
    assert rounding.apart(share, 0.5) == text
