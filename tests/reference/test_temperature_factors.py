"""What cold takes, against the sizing factors of the stationary-battery standard.

The code has the table itself, from the same copy as the file here, and the copy does not name the
standard. So the rows find a slip of the pen and a fault between the points, not a wrong table; the
trade's own figures and the other table of the copy are what it is held against.
"""

import pytest
from published import read_published

from powersim.physics.temperature import reachable_frac

ROWS = read_published("lead_acid_temperature_factors.csv")
SIZING = [row for row in ROWS if row["standard"].startswith("IEEE 485")]
TEST_FACTOR = [row for row in ROWS if row["standard"].startswith("IEEE 450")]


def name_of(row):
    return f"{row['temperature_degF']} degF"


@pytest.mark.parametrize("row", SIZING, ids=name_of)
@pytest.mark.parametrize("chemistry", ["flooded", "gel", "agm"])
def test_reachable_share_is_the_reciprocal_of_ieee_485(chemistry, row):
    """IEEE Std 485, Table 1, by a copy that does not name it (25 to 35 degF from memory). Straight
    lines between every 5 degF; the rows between them are printed to 0.001 or 0.01. Warmth is not
    credited."""
    expected = min(1.0, 1.0 / float(row["size_multiplier"]))
    found = reachable_frac(chemistry, float(row["temperature_degC"]))
    assert found == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize(
    ("bank_C", "least", "most"), [(-10.0, 0.50, 0.70), (0.0, 0.65, 0.80), (10.0, 0.80, 0.92)]
)
def test_what_cold_leaves_is_what_electricians_reckon_with(bank_C, least, most):
    """Of what a bank gives at 25 degC over many hours: common practice, no source. Below -4 degC
    the row of -4 stands for all colder ones."""
    assert least <= reachable_frac("flooded", bank_C) <= most


@pytest.mark.parametrize("row", TEST_FACTOR, ids=name_of)
def test_reachable_share_is_no_less_than_the_capacity_test_allows(row):
    """IEEE Std 450's time-adjusted factor is for the short discharges of a capacity test, which
    cold hits harder: up to 0.10 lower at 4 degC, and never higher below 25 degC."""
    if float(row["temperature_degC"]) <= 25.0:
        found = reachable_frac("flooded", float(row["temperature_degC"]))
        factor = float(row["capacity_relative_to_25degC"])
        assert factor - 0.005 <= found <= factor + 0.105
    else:
        assert reachable_frac("flooded", float(row["temperature_degC"])) == 1.0
