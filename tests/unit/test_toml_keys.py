"""Values of boat.toml: how they are read, and how a default is written back."""

import math

import pytest

from powersim.inputs.text import ReadingError
from powersim.inputs.toml_keys import FLAG, NAME, cans_L, choice, number, quantity, written
from powersim.records import Bounds

ANY = Bounds(-math.inf, math.inf)
SHARE = quantity("frac", Bounds(0.0, 1.0))
VOLTAGE = quantity("V", Bounds(0.0, 100.0, above=True))


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.85, "frac", "85 %"),
        (0.05, "frac/month", "5 %/month"),
        (-0.004, "frac/degC", "-0.4 %/degC"),
        (-0.03, "V/degC", "-30 mV/degC"),
        (0.015, "A", "15 mA"),
        (45.0, "A", "45 A"),
        (0.0, "A", "0 A"),
        (0.513135, "L/h", "0.5131 L/h"),
        (100_000.0, "Ah", "100000 Ah"),
        (9999.96, "W", "10000 W"),
        (10_000.0, "W", "10000 W"),
        (-12_345.0, "Ah", "-12345 Ah"),
    ],
)
def test_a_default_is_written_so_that_it_can_be_read(value, unit, text):
    assert written(value, unit) == text
    assert quantity(unit, ANY).read(text) == pytest.approx(value, rel=1e-4)


@pytest.mark.parametrize(
    ("kind", "value", "found"),
    [
        (VOLTAGE, "14400 mV", 14.4),
        (SHARE, "85 %", 0.85),
        (SHARE, "100 %", 1.0),
        (SHARE, "0 %", 0.0),
        (choice("agm", "gel"), " AGM ", "agm"),
        (number(Bounds(0, 9), whole=True), "3", 3),
        (number(Bounds(0, 9)), 1.25, 1.25),
        (NAME, "  port   rail ", "port rail"),
        (FLAG, True, True),
    ],
)
def test_values_are_read(kind, value, found):
    assert kind.read(value) == pytest.approx(found)


@pytest.mark.parametrize(
    ("read", "value", "reason"),
    [
        (VOLTAGE.read, "0 V", "'0 V' is not above 0 V"),
        (VOLTAGE.read, "101 V", "'101 V' is more than 100 V"),
        (VOLTAGE.read, "nan V", "'nan V' is not a finite number"),
        (VOLTAGE.read, 12, "12 has no unit; write it with its unit, in quotes"),
        (VOLTAGE.read, 10**99, f"1{'0' * 56}... has no unit; write it with its unit, in quotes"),
        (VOLTAGE.read, True, "true is not text in quotes"),
        (VOLTAGE.read, {}, "a table is not text in quotes"),
        (VOLTAGE.read, "", "is empty"),
        (SHARE.read, "-1 %", "'-1 %' is less than 0 %"),
        (choice("agm").read, "amg", "'amg' is not known here; did you mean 'agm'?"),
        (number(Bounds(0, 9)).read, 10, "10 is not between 0 and 9"),
        (number(Bounds(0, 9)).read, float("nan"), "nan is not between 0 and 9"),
        (number(Bounds(0, 9)).read, False, "false is not a number"),
        (number(Bounds(0, 9)).read, "3 W", "'3 W' should have no unit"),
        (number(Bounds(0, 9), whole=True).read, 2.5, "2.5 is not a whole number"),
        (NAME.read, " ", "is empty"),
        (NAME.read, 7, "7 is not text in quotes"),
        (NAME.read, "x" * 61, f"'{'x' * 57}...' is longer than 60 letters"),
        (NAME.read, "a\x07b", r"'a\x07b' has characters that cannot be printed"),
        (FLAG.read, "yes", "'yes' is neither true nor false"),
        (cans_L, "x 20 L", "cannot read 'x 20 L'"),
        (cans_L, "-3 x 20 L", "cannot read '-3 x 20 L'"),
        (cans_L, "3 x 20", "'20' has no unit"),
        (cans_L, "9999 x 20 L", "'9999 x 20 L' is not between 0 L and 10000 L"),
    ],
)
def test_what_cannot_be_meant_says_why(read, value, reason):
    with pytest.raises(ReadingError) as caught:
        read(value)
    assert caught.value.reason == reason


@pytest.mark.parametrize(
    ("kind", "span"),
    [
        (quantity("Ah", Bounds(0.0, 100_000.0, above=True)), "above 0 Ah, at most 100,000 Ah"),
        (quantity("V/degC", Bounds(-1.0, 1.0)), "-1,000 mV/degC to 1,000 mV/degC"),
        (SHARE, "0 % to 100 %"),
        (quantity("frac", Bounds(0.0, 1.2, above=True)), "above 0 %, at most 120 %"),
        (choice("mppt", "pwm"), "mppt, pwm"),
        (number(Bounds(0, 1000), whole=True), "0 to 1000, whole"),
        (FLAG, "true, false"),
    ],
)
def test_a_kind_says_what_it_accepts(kind, span):
    assert kind.span == span
