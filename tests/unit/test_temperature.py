import numpy as np
import pytest

from powersim.physics.temperature import reachable_frac
from powersim.records import CHEMISTRIES


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_warmth_is_not_credited_and_cold_is_clipped(chemistry):
    shares = reachable_frac(chemistry, np.linspace(-40.0, 60.0, 1001))
    assert shares.max() == 1.0
    assert np.all(np.diff(shares) >= 0)
    assert shares[0] == pytest.approx({"lifepo4": 0.80}.get(chemistry, 1 / 1.52), abs=1e-12)
    assert np.all(reachable_frac(chemistry, np.array([25.0, 35.0, 60.0])) == 1.0)


def test_lithium_gives_all_down_to_freezing():
    """Common practice, no source; half-way to -10 degC the mean of 1 and 0.92."""
    assert reachable_frac("lifepo4", 0.0) == 1.0
    assert reachable_frac("lifepo4", -5.0) == pytest.approx(0.96, abs=1e-12)


def test_a_temperature_that_is_not_known_gives_a_share_that_is_not():
    assert np.isnan(reachable_frac("flooded", np.nan))
