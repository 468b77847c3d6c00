import dataclasses

import pytest

from powersim.records import CHEMISTRIES
from powersim.records.battery import Battery

OF_ONE_ALONE = {"chemistry", "capacity_Ah"}


def test_the_table_is_in_the_order_of_the_pages():
    assert list(CHEMISTRIES) == ["flooded", "gel", "agm", "lifepo4"]


@pytest.mark.parametrize("one", CHEMISTRIES.values(), ids=CHEMISTRIES)
def test_every_field_that_has_no_default_of_its_own_has_the_chemistrys(one):
    needed = {
        field.name for field in dataclasses.fields(Battery) if field.default is dataclasses.MISSING
    }
    assert set(one.defaults) == needed - OF_ONE_ALONE


def test_only_lithium_must_not_be_charged_in_frost():
    assert {name: one.curves.least_charge_C for name, one in CHEMISTRIES.items()} == {
        "flooded": None,
        "gel": None,
        "agm": None,
        "lifepo4": 0.0,
    }


def test_frost_is_spoken_of_where_something_comes_of_it():
    """Lithium from a cold spell above its limit down, lead-acid below freezing, others never."""
    assert [one.frost_C for one in CHEMISTRIES.values()] == [0.0, 0.0, 0.0, 5.0]
    assert dataclasses.replace(CHEMISTRIES["agm"], has_acid=False).frost_C is None


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
        dataclasses.replace(CHEMISTRIES["flooded"].curves, **change)
    assert str(caught.value) == message
