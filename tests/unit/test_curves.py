import dataclasses

import pytest

from powersim.physics.chemistry import CURVES
from powersim.records import CHEMISTRIES


def test_every_chemistry_has_its_curves():
    assert tuple(CURVES) == CHEMISTRIES


def test_only_lithium_must_not_be_charged_in_frost():
    assert {name: curves.least_charge_C for name, curves in CURVES.items()} == {
        "flooded": None,
        "gel": None,
        "agm": None,
        "lifepo4": 0.0,
    }


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"emf_knots": ((0.1, 12.0), (1.0, 12.7))}, "emf_knots must rise in soc from 0 to 1"),
        ({"emf_knots": ((0.0, 12.0), (0.9, 12.7))}, "emf_knots must rise in soc from 0 to 1"),
        (
            {"emf_knots": ((0.0, 12.0), (0.6, 12.3), (0.5, 12.4), (1.0, 12.7))},
            "emf_knots must rise in soc from 0 to 1",
        ),
        ({"emf_knots": ((0.0, 12.8), (1.0, 12.7))}, "emf_knots must rise in voltage"),
        ({"charge_end_soc": 1.0}, "charge_end_soc must be above 1, got 1.0"),
    ],
)
def test_curves_that_make_no_bank_are_refused(change, message):
    with pytest.raises(ValueError) as caught:
        dataclasses.replace(CURVES["flooded"], **change)
    assert str(caught.value) == message
