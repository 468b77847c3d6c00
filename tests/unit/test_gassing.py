import numpy as np
import pytest

from powersim.physics.gassing import gassing_of


def cycle_efficiency(kept, gassing, floor_soc):
    """Ah stored over Ah in, by Simpson's rule on 4,000 panels: another rule than the module's."""
    soc = np.linspace(floor_soc, 1.0, 8001)
    into = 1.0 / (kept - gassing * soc**8)
    weights = np.where(np.arange(8001) % 2, 4.0, 2.0)
    weights[[0, -1]] = 1.0
    return 1.0 / (np.dot(weights, into) / weights.sum())


@pytest.mark.parametrize("efficiency", [0.3, 0.6, 0.75, 0.88, 0.93, 0.99])
@pytest.mark.parametrize("floor_soc", [0.0, 0.2, 0.5, 0.9])
def test_a_cycle_has_the_efficiency_asked_for(efficiency, floor_soc):
    kept, gassing = gassing_of(efficiency, floor_soc=floor_soc)
    assert cycle_efficiency(kept, gassing, floor_soc) == pytest.approx(efficiency, abs=2e-5)
    assert 0 < kept <= 1
    assert 0 <= gassing < kept  # something of the current stays even when full


def test_a_bank_without_loss_does_not_gas():
    kept, gassing = gassing_of(1.0, floor_soc=0.5)
    assert kept == 1.0
    assert gassing == pytest.approx(0.0, abs=1e-12)


def test_a_bank_too_poor_for_gassing_alone_loses_everywhere():
    assert gassing_of(0.88, floor_soc=0.5)[0] == 1.0
    assert gassing_of(0.30, floor_soc=0.5)[0] < 1.0
