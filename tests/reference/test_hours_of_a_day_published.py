"""How a day's light falls on its hours: against hours measured at sea."""

import numpy as np
import pytest
from hour_records import likeness
from hour_records import mooring as mooring_hours
from hour_records import ship as ship_hours

from powersim.sky.hourly_clearness import BRIGHTEST_HOUR, DARKEST_HOUR


@pytest.fixture(scope="module")
def mooring():
    return mooring_hours()


@pytest.fixture(scope="module")
def ship():
    return ship_hours()


@pytest.mark.parametrize(
    ("bright", "measured", "ours"),
    [
        (None, (0.119, 0.107, 0.46, 0.04), (0.119, 0.105, 0.43, 0.06)),
        (True, (0.112, 0.092, 0.35, 0.02), (0.112, 0.095, 0.42, 0.04)),
        (False, (0.133, 0.135, 0.56, 0.06), (0.132, 0.125, 0.46, 0.08)),
    ],
)
def test_hours_change_scatter_and_hang_together_as_at_a_mooring(mooring, bright, measured, ours):
    """NOAA/PMEL RAMA 12 N 90 E, 51 days of 2025: what TROPICS_SPREAD and HOUR_LAG are fitted to."""
    assert len(mooring[0]) == 51
    found = likeness(mooring, bright=bright)
    assert found[:, :2] == pytest.approx(np.array([measured[:2], ours[:2]]), abs=0.0015)
    assert found[:, 2:] == pytest.approx(np.array([measured[2:], ours[2:]]), abs=0.015)
    assert found[1, :2] == pytest.approx(found[0, :2], rel=0.10)


def test_hours_in_the_trades_change_a_little_more_than_a_ship_measured(ship):
    """NOAA ship off Barbados, 11 days of 2020: not fitted to. Ours err to the unsteady side."""
    assert len(ship[0]) == 11
    measured, ours = likeness(ship)
    assert measured == pytest.approx([0.111, 0.077, 0.04, -0.05], abs=0.006)
    assert ours == pytest.approx([0.123, 0.106, 0.33, -0.05], abs=0.015)


def test_one_spread_does_for_bright_days_and_dark_ones(mooring):
    """The same mooring: variance within a day, of the largest there could be, by its brightness."""
    measured, _, clear, sine = mooring
    day_frac = measured.sum(axis=1) / clear.sum(axis=1)
    mean = np.clip((day_frac - DARKEST_HOUR) / (BRIGHTEST_HOUR - DARKEST_HOUR), 0.0, 1.0)
    off = np.where(sine > 0.2, measured / np.maximum(clear, 1.0) - day_frac[:, None], 0.0)
    within = (off**2).sum(axis=1) / (sine > 0.2).sum(axis=1) / (BRIGHTEST_HOUR - DARKEST_HOUR) ** 2
    shares = []
    for low, high in ((0.0, 0.5), (0.5, 0.75), (0.75, 0.9), (0.9, 1.1)):
        these = (day_frac > low) & (day_frac <= high)
        shares.append(within[these].sum() / (mean * (1.0 - mean))[these].sum())
    # About the day's own mean, of a dozen hours that hang together: less than the spread itself.
    assert shares == pytest.approx([0.177, 0.177, 0.136, 0.142], abs=0.006)
