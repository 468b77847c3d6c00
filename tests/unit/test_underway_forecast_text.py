"""How long the bank lasts from the last fix on, in words."""

import numpy as np

from powersim.report.underway_text import _days


def test_a_bank_below_its_floor_now_is_told_so_and_not_after_no_days():
    """Of 11 members five are below now, one falls after 3.2 days, five never do."""
    days = np.array([0.0] * 5 + [3.2] + [np.inf] * 5)
    assert _days(days) == ("already", "3.2 days", "not at sea")
