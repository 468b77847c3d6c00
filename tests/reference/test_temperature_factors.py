"""What cold takes, against the sizing factors of the stationary-battery standard."""

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
    """IEEE Std 485, Table 1 (25 to 35 degF from memory). Straight lines between every 5 degF; the
    rows between them are printed to 0.001 or 0.01. Warmth is not credited."""
    expected = min(1.0, 1.0 / float(row["size_multiplier"]))
    found = reachable_frac(chemistry, float(row["temperature_degC"]))
    assert found == pytest.approx(expected, abs=0.005)


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
