"""From light to the cells, their temperature and power."""

import numpy as np
import pvlib
import pytest

from powersim.physics import module
from powersim.physics.irradiance import PlaneLight
from powersim.records import panel_of


def _light(incidence_deg, beam=0.0, ring=0.0, sky=0.0, sea=0.0):
    return PlaneLight(
        incidence_deg=np.asarray(incidence_deg, dtype=float),
        direct_W_m2=beam,
        circumsolar_W_m2=ring,
        isotropic_W_m2=sky,
        sea_W_m2=sea,
    )


def test_glass_takes_nothing_from_square_light_and_all_of_grazing_light():
    share = module.effective_light_W_m2(
        _light([0.0, 60.0, 85.0, 90.0, 120.0], beam=1.0), tilt_deg=0
    )
    assert share[0] == pytest.approx(1.0)
    assert np.all(np.diff(share[:4]) < 0)
    assert share[3:] == pytest.approx([0.0, 0.0], abs=1e-12)


@pytest.mark.parametrize("tilt_deg", [0.0, 30.0, 75.0, 90.0, 130.0])
def test_the_glass_share_of_sky_and_sea_is_that_of_the_beam_summed_over_them(tilt_deg):
    """pvlib.iam.marion_diffuse sums the beam's share over sky and ground patch by patch; the
    closed form is its authors' fit, at most 1.1 % off the sky and 1.4 % off the sea."""
    summed = pvlib.iam.marion_diffuse("martin_ruiz", tilt_deg)
    sky = module.effective_light_W_m2(_light(0.0, sky=1.0), tilt_deg=tilt_deg)
    assert sky == pytest.approx(summed["sky"], rel=0.012)
    if tilt_deg > 0:
        sea = module.effective_light_W_m2(_light(0.0, sea=1.0), tilt_deg=tilt_deg)
        assert sea == pytest.approx(summed["ground"], rel=0.015)


def test_a_tilt_of_a_rounding_error_is_level():
    """The closed form divides 0 by 0 there."""
    tilt_deg = np.array([0.0, 1e-15, 1e-9, 1e-6])
    share = module.effective_light_W_m2(_light(np.zeros(4), sky=1.0, sea=1.0), tilt_deg=tilt_deg)
    assert np.ptp(share) < 1e-6


def test_power_is_never_negative_however_hot():
    stern = panel_of("stern", power_W=100.0)
    assert module.full_power_W(stern, light_W_m2=1000.0, cell_C=400.0) == 0.0
