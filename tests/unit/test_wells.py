import math

import pytest

from powersim.physics.wells import (
    Wells,
    available_after_Ah,
    delivered_frac,
    unlevelled_frac,
    well_step,
)


def test_a_step_by_hand():
    """c 0.5, k' ln 2 per hour, one hour: half of a difference in height is left after it.

    100 Ah in all, 20 of them at hand, no current. Level would be 50; half of the 30 missing seep
    in: 35. With 10 A drawn: mean share of a difference left is (1 - 0.5) / ln 2 = 0.721 h, so the
    well loses 10 * (0.721 + 0.5 * (1 - 0.721)) = 8.607 Ah besides.
    """
    step = well_step(Wells(available_frac=0.5, rate_per_h=math.log(2.0)), step_h=1.0)
    rested = available_after_Ah(step, total_Ah=100.0, available_Ah=20.0, current_A=0.0)
    assert rested == pytest.approx(35.0, abs=1e-12)
    drawn = available_after_Ah(step, total_Ah=100.0, available_Ah=20.0, current_A=10.0)
    assert drawn == pytest.approx(35.0 - 8.606737602, abs=1e-8)


def test_a_level_bank_at_rest_stays_as_it_is():
    step = well_step(Wells(available_frac=0.4, rate_per_h=0.3), step_h=7.0)
    left = available_after_Ah(step, total_Ah=50.0, available_Ah=20.0, current_A=0.0)
    assert left == pytest.approx(20.0, abs=1e-12)


def test_a_charge_mirrors_a_discharge():
    step = well_step(Wells(available_frac=0.4, rate_per_h=0.3), step_h=2.0)
    up = available_after_Ah(step, total_Ah=50.0, available_Ah=20.0, current_A=-5.0)
    down = available_after_Ah(step, total_Ah=50.0, available_Ah=20.0, current_A=5.0)
    assert up - 20.0 == pytest.approx(20.0 - down, abs=1e-12)


def test_two_half_steps_make_a_whole_one():
    wells = Wells(available_frac=0.45, rate_per_h=0.36)
    whole, half = well_step(wells, step_h=1.0), well_step(wells, step_h=0.5)
    once = available_after_Ah(whole, total_Ah=90.0, available_Ah=30.0, current_A=12.0)
    middle = available_after_Ah(half, total_Ah=90.0, available_Ah=30.0, current_A=12.0)
    twice = available_after_Ah(half, total_Ah=84.0, available_Ah=middle, current_A=12.0)
    assert twice == pytest.approx(once, abs=1e-12)


def test_slow_steps_lose_no_digits():
    """A second of wells that level in a year: the current's charge, to the last digits."""
    step = well_step(Wells(available_frac=0.5, rate_per_h=1e-4), step_h=1 / 3600)
    left = available_after_Ah(step, total_Ah=100.0, available_Ah=50.0, current_A=36.0)
    assert left == pytest.approx(49.99, abs=1e-9)


def test_delivered_by_hand():
    """k' T 2 and c 0.5: 2 * 0.5 / (1 - e^-2 + 0.5 * (2 - 1 + e^-2)) = 1 / 1.43233 = 0.69816."""
    wells = Wells(available_frac=0.5, rate_per_h=0.4)
    assert delivered_frac(wells, duration_h=5.0) == pytest.approx(0.69816, abs=1e-5)
    assert delivered_frac(wells, duration_h=1e-9) == pytest.approx(0.5, abs=1e-9)
    assert delivered_frac(wells, duration_h=1e9) == pytest.approx(1.0, abs=1e-8)


def test_what_is_delivered_just_empties_the_available_well():
    wells = Wells(available_frac=0.3, rate_per_h=0.2)
    taken_Ah = 100.0 * delivered_frac(wells, duration_h=8.0)
    left = available_after_Ah(
        well_step(wells, step_h=8.0), total_Ah=100.0, available_Ah=30.0, current_A=taken_Ah / 8.0
    )
    assert left == pytest.approx(0.0, abs=1e-12)


def test_unlevelled():
    assert unlevelled_frac(1e-12) == pytest.approx(1.0, abs=1e-12)
    assert unlevelled_frac(1.0) == pytest.approx(1.0 - math.exp(-1.0), abs=1e-15)


@pytest.mark.parametrize("available_frac", [0.0, 1.1, -0.2, math.nan])
def test_an_impossible_share_is_refused(available_frac):
    with pytest.raises(ValueError, match="available_frac must be 0 to 1"):
        Wells(available_frac=available_frac, rate_per_h=0.3)


@pytest.mark.parametrize("rate_per_h", [0.0, -1.0, math.nan])
def test_an_impossible_rate_is_refused(rate_per_h):
    with pytest.raises(ValueError, match="rate_per_h must be above 0"):
        Wells(available_frac=0.5, rate_per_h=rate_per_h)


@pytest.mark.parametrize("step_h", [0.0, -0.25, math.nan])
def test_a_step_of_no_length_is_refused(step_h):
    with pytest.raises(ValueError, match="step_h must be above 0"):
        well_step(Wells(available_frac=0.5, rate_per_h=0.3), step_h=step_h)
