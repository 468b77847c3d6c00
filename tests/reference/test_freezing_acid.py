"""When acid freezes, against the freezing points of sulphuric acid and water."""

import numpy as np
import pytest

from powersim.physics.freezing import _ACID, freezes_C

#: Sulphuric acid by weight, its specific gravity at 20 to 25 degC, and where ice begins to form in
#: it. Handbook figures for the binary system, from memory; good to about 0.005 and 2 degrees.
_ACID_AND_WATER = (
    (0.10, 1.066, -5.5),
    (0.15, 1.102, -8.9),
    (0.20, 1.139, -14.0),
    (0.25, 1.178, -22.0),
    (0.30, 1.218, -36.0),
    (0.35, 1.260, -60.0),
)


def test_every_state_of_charge_freezes_where_acid_of_its_strength_does():
    """The density says how strong the acid is, the strength where it freezes: 5 degrees apart at
    most, where the curve falls by 6 degrees for each hundredth of density."""
    _, density, ice_C = zip(*_ACID_AND_WATER, strict=True)
    for soc, specific_gravity, point_C in _ACID:
        assert point_C == pytest.approx(np.interp(specific_gravity, density, ice_C), abs=5.0), soc


def test_a_flat_bank_freezes_within_what_is_said_of_it():
    """Common practice, no source: flat (specific gravity 1.10 to 1.12) at -8 to -11, full at
    about -60 degC."""
    assert -11.0 <= freezes_C(0.0) <= -8.0
    assert freezes_C(1.0) == pytest.approx(-60.0, abs=5.0)


def test_the_flatter_the_sooner():
    assert np.all(np.diff(freezes_C(np.linspace(0.0, 1.0, 21))) < 0.0)
