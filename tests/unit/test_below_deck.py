"""How warm the bank is where it stands."""

import numpy as np
import pytest

from powersim.records import BankPlace
from powersim.sky.below_deck import bank_C, cabin_C

AIR_C = np.array([-4.0, 10.0])
UNKNOWN = np.array([np.nan, np.nan])
GIVEN_C = np.array([16.0, 16.0])


@pytest.mark.parametrize(
    ("place", "guessed_C", "given_C"),
    [
        (BankPlace(), [-1.0, 13.0], [6.0, 13.0]),
        (BankPlace(place="cabin"), [-1.0, 13.0], [16.0, 16.0]),
        (BankPlace(place="outside"), [-4.0, 10.0], [-4.0, 10.0]),
        (BankPlace(fixed_C=12.0), [12.0, 12.0], [12.0, 12.0]),
        (BankPlace(least_C=5.0), [5.0, 13.0], [6.0, 13.0]),
        (BankPlace(place="outside", least_C=5.0), [5.0, 10.0], [5.0, 10.0]),
    ],
)
def test_the_bank_is_as_warm_as_its_place(place, guessed_C, given_C):
    """By hand: a guessed cabin is 3 degrees above the air; halfway between -4 and 16 is 6."""
    for cabins_C, expected_C in ((UNKNOWN, guessed_C), (GIVEN_C, given_C)):
        assert bank_C(place, air_C=AIR_C, given_cabin_C=cabins_C).tolist() == expected_C


def test_the_cabin_is_as_given_else_three_degrees_above_the_air():
    assert cabin_C(AIR_C, np.array([np.nan, 20.0])).tolist() == [-1.0, 20.0]


@pytest.mark.parametrize("given", [{"place": "keel"}, {"least_C": 5.0, "fixed_C": 12.0}])
def test_a_place_that_is_none(given):
    with pytest.raises(ValueError, match=r"place|least"):
        BankPlace(**given)
