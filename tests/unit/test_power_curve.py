"""Power curves from a file: units in the heading or in the cell, every mistake with its place."""

import pytest

from powersim.inputs.power_curve import (
    GENERIC_DIAMETER_M,
    generic_curve,
    read_curve,
)
from powersim.records import WaterGenerator, WindGenerator
from powersim.records.chargers.power_curve import AIR, M_S_PER_KN, SEA

POWER_EXPECTED = "what it gives the bank at that speed, 0 in the first row, for example 60 W"
WIND_EXPECTED = "apparent wind at the hub, more in every row, for example 12 kn"


@pytest.fixture
def curve_of(write_file):
    def read(text, stream=AIR, **given):
        return read_curve(write_file("mine.csv", text), stream, **given)

    return read


def messages(curve):
    return [str(problem).replace(problem.file, "mine.csv", 1) for problem in curve.problems]


@pytest.mark.parametrize(
    "text",
    [
        "wind_m_s,power_W\n3,0\n10,60\n",
        "wind_m_per_s,power_W\n3,0\n10,60\n",
        "wind (m/s);power (W)\n3;0\n10;60\n",
        "# invented\npower,wind\n0 W,3 m/s\n0.06 kW,36 km/h\n",
    ],
)
def test_the_unit_stands_in_the_heading_or_in_the_cell(curve_of, text):
    curve = curve_of(text)
    assert curve.problems == ()
    assert curve.speeds == pytest.approx((3.0, 10.0))
    assert curve.powers_W == pytest.approx((0.0, 60.0))


def test_knots_of_wind_become_metres_a_second_and_knots_in_the_water_stay(curve_of):
    """By definition a knot is 1852 m an hour."""
    assert curve_of("wind_kn,power_W\n0,0\n36,90\n").speeds[1] == pytest.approx(18.52)
    assert curve_of("speed_kn,power_W\n0,0\n6,90\n", SEA).speeds == (0.0, 6.0)
    assert curve_of("speed_m_s,power_W\n0,0\n3,90\n", SEA).speeds[1] == pytest.approx(
        3 * 3600 / 1852
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "wind_kn,power_W\n6,0\n12,4O\n",
            f"mine.csv:3:2: power (column B): cannot read '4O'\n  expected  {POWER_EXPECTED}\n"
            "  row       12,4O",
        ),
        (
            "wind_kn,power_W\n6,0\n12,-4\n",
            f"mine.csv:3:2: power (column B): '-4' is below 0\n  expected  {POWER_EXPECTED}\n"
            "  row       12,-4",
        ),
        (
            "wind_kn,power_W\n6,2\n12,40\n",
            "mine.csv:2:2: power (column B): '2' is not 0: a curve begins where the generator "
            f"gives nothing\n  expected  {POWER_EXPECTED}\n  row       6,2",
        ),
        (
            "wind_kn,power_W\n6,0\n12,0\n",
            "mine.csv:3:2: power (column B): '0' is 0, and so are all others\n"
            f"  expected  {POWER_EXPECTED}\n  row       12,0",
        ),
        (
            "wind_kn,power_W\n6,0\n12,40\n11,50\n",
            "mine.csv:4:1: wind (column A): '11' is not above the one before it\n"
            f"  expected  {WIND_EXPECTED}\n  row       11,50",
        ),
        (
            "wind_kn,power_W\n-6,0\n0,0\n12,40\n",
            "mine.csv:2:1: wind (column A): '-6' is below 0\n"
            f"  expected  {WIND_EXPECTED}\n  row       -6,0",
        ),
        (
            "wind_kn,power_W\n6,0\n1200,40\n",
            "mine.csv:3:1: wind (column A): '1200' is more than 100 m/s\n"
            f"  expected  {WIND_EXPECTED}\n  row       1200,40",
        ),
        (
            "wind_kn,power_W\n6,0\n12,nan\n",
            "mine.csv:3:2: power (column B): 'nan' is not a finite number\n"
            f"  expected  {POWER_EXPECTED}\n  row       12,nan",
        ),
        (
            "wind_kn,power_W\n12,0\n",
            "mine.csv:2: a curve of one point\n"
            "  expected  two rows or more, the first with a power of 0\n  row       12,0",
        ),
        (
            "wind_kn,power_W\n",
            "mine.csv:1: no rows below the heading\n  expected  one row or more",
        ),
        (
            "wind,power\n6 kn,0 W\n12 A,40 W\n",
            "mine.csv:3:1: wind (column A): '12 A' is a current\n"
            f"  expected  {WIND_EXPECTED}\n  row       12 A,40 W",
        ),
        (
            "wind_kn,amps\n6,0\n12,3\n",
            "mine.csv:1: no column 'power'; found: wind_kn, amps\n"
            "  expected  power, what it gives the bank at that speed, 0 in the first row; rename "
            "'amps' to power_W after multiplying by the volts it was measured at",
        ),
    ],
)
def test_a_mistake_is_told_with_its_place(curve_of, text, message):
    assert messages(curve_of(text)) == [message]


def test_all_mistakes_are_told_at_once(curve_of):
    curve = curve_of("speed_kn,power_W\n0,0\n2,-1\n1,5\n3,x\n4,20\n3.5,30\n", SEA)
    assert [message.split(" (")[0] for message in messages(curve)] == [
        "mine.csv:3:2: power",
        "mine.csv:4:1: speed",
        "mine.csv:5:2: power",
        "mine.csv:7:1: speed",
    ]


def test_more_than_any_rotor_can_take_is_told_once(curve_of):
    """Betz: 16/27 of half of 1.225 kg/m3 times the area of 1 m times 10 m/s cubed are 285 W."""
    text = "wind_m_s,power_W\n3,0\n10,300\n12,600\n"
    (message,) = messages(curve_of(text, diameter_m=1.0))
    assert message == (
        "mine.csv:3:2: power (column B): '300' is more than the 285 W that any rotor of 1 m can "
        "take there (Betz)\n"
        "  expected  less; is the unit of the speeds right, and diameter in boat.toml?\n"
        "  row       10,300"
    )
    assert curve_of(text).problems == ()  # nobody knows how large it is


@pytest.mark.parametrize(("kind", "diameter_m"), GENERIC_DIAMETER_M.items())
def test_the_invented_curves_are_within_what_their_rotors_can_take(kind, diameter_m):
    """The records refuse what is beyond Betz."""
    curve = generic_curve(kind, diameter_m=diameter_m)
    given = {"powers_W": curve.powers_W, "diameter_m": diameter_m}
    if kind == "wind":
        assert WindGenerator(speeds_m_s=curve.speeds, **given).speeds_m_s[-1] == pytest.approx(
            40 * M_S_PER_KN
        )
    else:
        assert WaterGenerator(kind=kind, speeds_kn=curve.speeds, **given).speeds_kn[-1] == 10.0
    assert max(curve.powers_W) > 100.0


def test_half_the_diameter_gives_a_quarter_of_the_power():
    """Power goes with the area."""
    whole = generic_curve("wind", diameter_m=1.15)
    half = generic_curve("wind", diameter_m=0.575)
    assert half.speeds == whole.speeds
    assert half.powers_W == pytest.approx([power_W / 4.0 for power_W in whole.powers_W])
