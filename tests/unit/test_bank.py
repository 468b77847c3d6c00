import pytest

from powersim.physics.bank import (
    available_after_Ah,
    bank_of,
    full_state,
    most_charge_A,
    most_discharge_A,
    soc_of,
    state_at,
)
from powersim.physics.ratings import wells_of
from powersim.physics.wells import delivered_frac
from powersim.records import CHEMISTRIES, battery_of


def bank(chemistry="flooded", *, step_h=0.25, **given):
    return bank_of(battery_of(chemistry, **{"capacity_Ah": 220.0, **given}), step_h=step_h)


def test_capacity_counts_health():
    assert bank(health_frac=0.85).capacity_Ah == pytest.approx(187.0, abs=1e-12)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_what_20_hours_leave_behind_is_hidden(chemistry):
    made = bank(chemistry)
    share = delivered_frac(wells_of(battery_of(chemistry, capacity_Ah=220.0)), duration_h=20.0)
    assert made.capacity_Ah / made.full_Ah == pytest.approx(share, rel=1e-12)
    assert made.hidden_Ah > 0


def test_full_and_half_full_at_rest():
    made = bank()
    total, available = full_state(made)
    assert total == pytest.approx(made.full_Ah, abs=1e-12)
    assert available == pytest.approx(made.wells.available_frac * total, abs=1e-12)
    assert soc_of(made, total) == pytest.approx(1.0, abs=1e-12)
    assert soc_of(made, state_at(made, 0.5)[0]) == pytest.approx(0.5, abs=1e-12)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_the_20_hour_rate_from_full_is_just_held_for_20_hours(chemistry):
    """80 steps at C/20 end with the available well empty and soc 0; another is not possible."""
    made = bank(chemistry)
    amps = made.capacity_Ah / 20.0
    total, available = full_state(made)
    for _ in range(80):
        assert most_discharge_A(made, total, available, 0.0) >= amps * (1 - 1e-9)
        available = available_after_Ah(made, total, available, amps)
        total -= amps * 0.25
    assert soc_of(made, total) == pytest.approx(0.0, abs=1e-9)
    assert available == pytest.approx(0.0, abs=1e-9)
    # All that is left to give is what seeps over in the step and stands above soc 0: nothing.
    assert most_discharge_A(made, total, available, 0.0) == pytest.approx(0.0, abs=1e-8)


def test_a_slow_discharge_stops_at_soc_0_with_charge_still_at_hand():
    made = bank(step_h=1.0)
    total, available = full_state(made)
    hours = 0
    while most_discharge_A(made, total, available, 0.0) >= 1.87 * (1 - 1e-9):
        available = available_after_Ah(made, total, available, 1.87)
        total -= 1.87
        hours += 1
    assert hours == 100  # 187 Ah at 1.87 A; nothing beyond the label's capacity is credited
    assert available > 5.0


def test_cold_keeps_its_share():
    """Half full, a third unreachable: what is left goes in one step of an hour at most."""
    made = bank(step_h=1.0)
    total, available = state_at(made, 0.34)
    amps = most_discharge_A(made, total, available, 0.33 * made.capacity_Ah)
    assert amps == pytest.approx(0.01 * made.capacity_Ah, rel=1e-9)
    assert most_discharge_A(made, total, available, 0.4 * made.capacity_Ah) == 0.0


def test_the_most_current_out_empties_the_available_well():
    made = bank()
    total, available = state_at(made, 0.8)
    amps = most_discharge_A(made, total, available, 0.0)
    left = available_after_Ah(made, total, available, amps)
    assert left == pytest.approx(0.0, abs=1e-9)
    assert soc_of(made, total - amps * 0.25) > 0


def test_the_most_current_in_fills_the_bank():
    made = bank()
    total, _ = state_at(made, 0.99)
    amps = most_charge_A(made, total)
    assert soc_of(made, total + amps * 0.25) == pytest.approx(1.0, abs=1e-12)
    assert most_charge_A(made, full_state(made)[0]) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_without_peukert_there_is_one_well(chemistry):
    made = bank(chemistry, peukert_exponent=1.0)
    total, available = full_state(made)
    assert made.hidden_Ah == 0.0
    assert available == total
    assert available_after_Ah(made, total, available, 40.0) == pytest.approx(total - 10.0, abs=1e-9)


def test_only_lithium_is_not_charged_in_frost():
    assert bank("lifepo4").least_charge_C == 0.0
    assert bank("agm").least_charge_C is None
