"""Positions in every form that a sailor may type, and what is said of the others."""

import pytest

from powersim.inputs.positions import parse_angle, parse_position
from powersim.inputs.text import ReadingError, quoted

# Hand calculation: 38 + 32.0 / 60 = 38.53333, 28 + 37.5 / 60 = 28.625.
HORTA = (38.0 + 32.0 / 60.0, -(28.0 + 37.5 / 60.0))


@pytest.mark.parametrize(
    "text",
    [
        "38°32.0'N 028°37.5'W",
        "38 32.0 N, 28 37.5 W",
        "38 32.0 N 28 37.5 W",
        "38°32.0′N; 28°37.5′W",
        "38º32.0’n 028º37.5’w",
        "38˚ 32.0' N / 28˚ 37.5' W",
        "N38 32.0 W28 37.5",
        "N 38°32.0' W 028°37.5'",
        "38-32.0N 028-37.5W",
        "38deg 32.0 N, 28 degrees 37.5 W",
        "38°32'00\"N 28°37'30\"W",
        "38°32′00″N 28°37′30″W",
        "38°32'00''N 28°37'30''W",
        "38 32 00 N 28 37 30 W",
        "38°32.0', -28°37.5'",
        "38 32.0, −28 37.5",
        "  38\u00a032.0 N ,\u00a028 37.5 W  ",
    ],
)
def test_chart_notation_is_read(text):
    assert parse_position(text) == pytest.approx(HORTA, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "position"),
    [
        ("64.15, -21.95", (64.15, -21.95)),
        ("64.15 -21.95", (64.15, -21.95)),
        ("64.15 N 21.95 W", (64.15, -21.95)),
        ("+64.15; -21.95", (64.15, -21.95)),
        ("64.15°N, 21.95°W", (64.15, -21.95)),
        ("0, 0", (0.0, 0.0)),
        ("0 N 0 W", (0.0, 0.0)),
        ("90 N 0 E", (90.0, 0.0)),
        ("90 S 180 W", (-90.0, -180.0)),
        ("17 S 180 E", (-17.0, 180.0)),
        ("17 S 190.5 E", (-17.0, -169.5)),
        ("-17, 359", (-17.0, -1.0)),
        ("-17, 360", (-17.0, 0.0)),
        ("38 N, 28 W", (38.0, -28.0)),
    ],
)
def test_decimal_degrees_are_read(text, position):
    assert parse_position(text) == pytest.approx(position, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "is not a latitude and a longitude"),
        ("here", "is not a latitude"),
        ("38 32.0 N", "is not a latitude and a longitude"),
        ("64.15 -21.95 3", "is not a latitude and a longitude"),
        ("91 N 20 W", "is a latitude above 90 degrees"),
        ("95.0, 20.0", "is a latitude above 90 degrees"),
        ("-90.01, 20.0", "is a latitude above 90 degrees"),
        ("89 60.0 N 20 W", "has minutes of 60 or more"),
        ("38 32 60 N 20 W", "has seconds of 60 or more"),
        ("38 N 181 W", "is a longitude above 180 degrees"),
        ("38, -180.1", "is a longitude above 180 degrees"),
        ("38 N 361 E", "is a longitude above 360 degrees"),
        (
            "38 32,0 N 28 37,5 W",
            "has a decimal comma; write a point, for example 38 32.5 N",
        ),
        ("64,15, -21,95", "has a decimal comma; write a point, for example 38 32.5 N"),
        ("28 37.5 W, 38 32.0 N", "has the longitude first; the latitude comes first"),
        ("38 N 28 N", "is not a longitude: N should be E or W"),
        ("-38 S 28 W", "has both a sign and S; write one of them"),
        ("38.5 32.0 N 28 W", "has a fraction before its last part"),
        ("38 N, nan", "is not a longitude"),
        ("38 3O N 28 W", "is not a latitude"),
        ("1" * 81, "is too long for a position"),
    ],
)
def test_what_is_no_position_says_why(text, reason):
    with pytest.raises(ReadingError) as caught:
        parse_position(text)
    assert caught.value.reason == f"{quoted(text)} {reason}"


@pytest.mark.parametrize(
    ("text", "axis", "degrees"),
    [
        ("64 09.0 N", "latitude", 64.15),
        ("-64.15", "latitude", -64.15),
        ("21 57.0 W", "longitude", -21.95),
        ("W 21 57.0", "longitude", -21.95),
        ("181.0", "longitude", -179.0),
        ("0°00.5'S", "latitude", -0.5 / 60.0),
    ],
)
def test_one_angle_is_read(text, axis, degrees):
    assert parse_angle(text, axis) == pytest.approx(degrees, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "axis", "reason"),
    [
        ("64,15", "latitude", "has a decimal comma; write a point, for example 38 32.5 N"),
        ("21 57 W", "latitude", "is not a latitude: W should be N or S"),
        ("N 21 57 N", "latitude", "names its hemisphere twice"),
        ("", "longitude", "is not a longitude"),
        ("1e1", "longitude", "is not a longitude"),
    ],
)
def test_what_is_no_angle_says_why(text, axis, reason):
    with pytest.raises(ReadingError) as caught:
        parse_angle(text, axis)
    assert caught.value.reason == f"{quoted(text)} {reason}"
