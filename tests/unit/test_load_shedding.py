"""What each group of loads goes without, and the sag under the heaviest load, by hand."""

import pytest
from one_step import row_of

from powersim.kernel.load_shedding import unserved_A
from powersim.records import Shedding

#: Protected, essential, useful, comfort: 1, 2, 4, 8 A, and at 12 V 1, 2, 3, 4 A more.
WANTS = row_of(load_A=(1.0, 2.0, 4.0, 8.0), load_W=(12.0, 24.0, 36.0, 48.0))
ALL = (1.0, 1.0, 1.0, 1.0)


@pytest.mark.parametrize(
    ("groups", "served", "useful_on", "comfort_on", "lacks_A"),
    [
        (ALL, 1.0, 1.0, 1.0, 0.0),
        (ALL, 1.0, 0.0, 1.0, 4.0 + 3.0),  # useful alone is shed
        (ALL, 1.0, 1.0, 0.0, 8.0 + 4.0),  # comfort alone
        (ALL, 1.0, 0.0, 0.0, 19.0),  # both
        (ALL, 0.75, 1.0, 1.0, 0.25 * 25.0),  # a quarter of all
        (ALL, 0.75, 1.0, 0.0, 0.25 * 13.0 + 12.0),  # of what is left, and all of the comfort
        (ALL, 0.75, 0.0, 1.0, 0.25 * 18.0 + 7.0),
        (ALL, 0.0, 0.0, 1.0, 25.0),  # dark: what is shed lacks no more than all
        # Half of the useful loads is wanted, and no comfort: neither lacks what nobody wants.
        ((1.0, 1.0, 0.5, 0.0), 1.0, 0.0, 0.0, 3.5),
        ((1.0, 1.0, 0.5, 0.0), 0.0, 1.0, 1.0, 2.0 + 4.0 + 3.5),
    ],
)
def test_what_each_group_goes_without(groups, served, useful_on, comfort_on, lacks_A):
    """Groups draw 2, 4, 7 and 12 A at 12 V, 25 A in all."""
    found_A = unserved_A(
        row=WANTS,
        groups=groups,
        served=served,
        useful_on=useful_on,
        comfort_on=comfort_on,
        bank_V=12.0,
    )
    assert found_A == pytest.approx(lacks_A)


@pytest.mark.parametrize(("shed", "lacks_A"), [("useful", 4.0), ("comfort", 8.0)])
def test_a_group_that_is_shed_alone_is_the_one_that_lacks(one_step, shed, lacks_A):
    """At 75 %, one level above it and none for the other."""
    shedding = Shedding(**{f"{shed}_below_soc": 0.80})
    flows = one_step(soc=0.75, shedding=shedding).take(load_A=WANTS.load_A)
    assert (flows.unserved_A, flows.load_A) == pytest.approx((lacks_A, 15.0 - lacks_A))


@pytest.mark.parametrize("group", range(4))
def test_the_heaviest_load_of_any_group_is_in_the_sag(one_step, group):
    """75 % (tests/unit/test_kernel.py): 12.45 V behind 0.0267896 ohm. 3 A on the mean and 20 A
    above it: 12.45 - 23 x 0.0267896 = 11.8338392 V. The others' peaks of 5 A add nothing, since
    only the heaviest is thought to be on at one time.
    """
    peak_A = tuple(20.0 if place == group else 5.0 for place in range(4))
    flows = one_step(soc=0.75).take(load_A=(0.0, 3.0, 0.0, 0.0), peak_A=peak_A)
    assert flows.sag_V == pytest.approx(11.8338392, abs=1e-6)
