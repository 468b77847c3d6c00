"""The climatology's share of light, worked by hand."""

import numpy as np
import pytest

from powersim.sky.cloud import climatology_frac, reed_frac

# Two steps of six hours with 12 hours around: mean over two steps either way, the outer ones half.
ABOVE_W_m2 = np.array([200.0, 400.0, 800.0, 300.0, 0.0, 400.0])
CLEAR_W_m2 = np.array([100.0, 200.0, 600.0, 150.0, 0.0, 300.0])


def test_share_is_clearness_over_the_clear_days_clearness():
    """First step: above (200/2 + 400 + 800 + 300 + 0/2) / 4 = 400, clear (100/2 + 200 + 600 + 150 +
    0/2) / 4 = 250. Second: above (400/2 + 800 + 300 + 0 + 400/2) / 4 = 375, clear (200/2 + 600 +
    150 + 0 + 300/2) / 4 = 250. Clearness 0.5 and 0.3: 0.5 x 400/250 = 0.8, 0.3 x 375/250 = 0.45.
    """
    share = climatology_frac(
        np.array([0.5, 0.3]),
        extra_horizontal_W_m2=ABOVE_W_m2,
        clear_W_m2=CLEAR_W_m2,
        half_day_steps=2,
    )
    assert share == pytest.approx([0.8, 0.45])


def test_polar_night_takes_no_ratio():
    dark = np.zeros(7)
    share = climatology_frac(
        np.full(3, 0.4), extra_horizontal_W_m2=dark + 0.01, clear_W_m2=dark, half_day_steps=2
    )
    assert share.tolist() == [0.0, 0.0, 0.0]


def test_light_under_no_cloud_is_the_clear_skys_at_any_noon():
    assert np.all(reed_frac(np.zeros(5), noon_elevation_deg=np.linspace(-20, 90, 5)) == 1.0)
