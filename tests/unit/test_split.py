"""Beam and diffuse: books that close, a clear hour's own beam, none for grey days, no jumps."""

import numpy as np
import pytest

from powersim.sky.clear_sky import clear_light
from powersim.sky.split import direct_and_diffuse_W_m2

HEIGHTS_DEG = np.array([3.5, 6.0, 10.0, 20.0, 45.0, 88.0])
DAYS = np.full(HEIGHTS_DEG.size, 196.0)


def skies(turbidity=3.0):
    flat = np.ones(HEIGHTS_DEG.size)
    return clear_light(HEIGHTS_DEG, turbidity=turbidity * flat, extra_W_m2=1330.0 * flat)


def split(clear_frac, *, turbidity=3.0):
    clear = skies(turbidity)
    ghi_W_m2 = clear.ghi_W_m2 * clear_frac
    dni_W_m2, dhi_W_m2 = direct_and_diffuse_W_m2(
        ghi_W_m2, clear=clear, elevation_deg=HEIGHTS_DEG, day_of_year=DAYS
    )
    return clear, ghi_W_m2, dni_W_m2, dhi_W_m2


@pytest.mark.parametrize("turbidity", [1.5, 2.0, 3.0, 5.0, 8.0])
def test_beam_and_diffuse_add_up_and_are_never_negative(turbidity):
    shares = np.linspace(0.0, 2.0, 201)[:, None]
    clear, ghi_W_m2, dni_W_m2, dhi_W_m2 = split(shares, turbidity=turbidity)
    sine = np.sin(np.radians(HEIGHTS_DEG))
    assert dni_W_m2 * sine + dhi_W_m2 == pytest.approx(ghi_W_m2, abs=1e-9)
    assert dni_W_m2.min() >= 0.0
    assert dhi_W_m2.min() >= 0.0
    assert (dni_W_m2 <= clear.dni_W_m2).all()


def test_a_clear_hour_has_the_clear_skys_own_beam_and_no_brighter_one_has_more():
    for share in (1.0, 1.05, 1.5):
        clear, _, dni_W_m2, _ = split(share)
        assert dni_W_m2 == pytest.approx(clear.dni_W_m2, rel=1e-12)
    assert skies().dni_W_m2.min() > 50.0


def test_a_grey_hour_has_next_to_no_beam():
    """A third of the clear sky's light, on average under such cloud: 1 to 7 % of it is beam."""
    _, ghi_W_m2, _, dhi_W_m2 = split(1.0 / 3.0)
    assert 0.005 < (1.0 - dhi_W_m2 / ghi_W_m2).min() < (1.0 - dhi_W_m2 / ghi_W_m2).max() < 0.07


def test_nothing_jumps_as_a_sky_clears():
    shares = np.linspace(0.0, 1.3, 1301)[:, None]
    clear, _, dni_W_m2, dhi_W_m2 = split(shares)
    rise_W_m2 = np.diff(dni_W_m2, axis=0)
    assert (rise_W_m2 >= 0.0).all()
    assert (rise_W_m2 < 0.012 * clear.dni_W_m2).all()  # by a thousandth of the light
    assert (np.abs(np.diff(dhi_W_m2, axis=0)) < 0.004 * clear.ghi_W_m2).all()


def test_a_low_sun_is_all_diffuse():
    elevation_deg, day = np.array([2.0, -10.0]), np.array([80, 80])
    clear = clear_light(elevation_deg, turbidity=np.full(2, 2.0), extra_W_m2=np.full(2, 1366.1))
    dni_W_m2, dhi_W_m2 = direct_and_diffuse_W_m2(
        np.array([20.0, 0.0]), clear=clear, elevation_deg=elevation_deg, day_of_year=day
    )
    assert dni_W_m2.tolist() == [0.0, 0.0]
    assert dhi_W_m2.tolist() == [20.0, 0.0]
