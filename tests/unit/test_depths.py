"""A depth on the stick: the units that a stick has, and no others."""

import pytest

from powersim.inputs.depths import read_depth
from powersim.inputs.log import read_log
from powersim.inputs.text import ReadingError


@pytest.mark.parametrize(
    ("text", "depth_m"),
    [
        ("23.5 cm", 0.235),
        ("235mm", 0.235),
        ("0.235 m", 0.235),
        ("2 dm", 0.2),
        ("23 centimetres", 0.23),
        ("9.25 IN", 0.23495),  # an inch is 25.4 mm and a foot twelve of them, by definition
        ("9 1/4 inches", 0.23495),
        ("1/2 in", 0.0127),
        ("0.5 ft", 0.1524),
    ],
)
def test_units_of_a_stick(text, depth_m):
    assert read_depth(text) == (pytest.approx(depth_m), "m")


@pytest.mark.parametrize("text", ["5 furlongs", "0.1 fathom", "9 nm", "1 yard", "2 km", "1e9 pm"])
def test_other_lengths_are_slips_of_the_pen(text):
    with pytest.raises(ReadingError) as caught:
        read_depth(text)
    assert "mm, cm, m, in or ft" in str(caught.value) or "unknown unit" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("23", "has no unit"),
        ("23 L", "is a volume"),
        ("23 mil", "is a share"),
        ("1/0 in", "cannot read"),
    ],
)
def test_what_is_no_depth(text, reason):
    with pytest.raises(ReadingError, match=reason):
        read_depth(text)


def test_litres_and_bare_numbers_where_they_are_allowed():
    assert read_depth("41 L", or_litres=True) == (41.0, "L")
    assert read_depth("41", or_litres=True, bare="L") == (41.0, "L")
    assert read_depth("23.5", bare="cm") == (pytest.approx(0.235), "m")


def test_the_log_takes_the_same_depths(write_file):
    text = "time,dip\n2026-09-12 06:00,9 1/4 in\n2026-09-13 06:00,2 furlongs\n"
    log = read_log(write_file("log.csv", text))
    assert [entry.dip_m for entry in log.entries] == [pytest.approx(0.23495), None]
    assert "is in a unit that no dip stick has; write mm, cm, m, in or ft" in log.set_aside[0].text
