"""What holds for every bank, state and current."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from powersim.physics.bank import (
    available_after_Ah,
    bank_of,
    charge_resistance_ohm,
    coulombic_frac,
    discharge_resistance_ohm,
    emf_slope_V,
    emf_V,
    full_state,
    most_charge_A,
    most_discharge_A,
    soc_of,
    state_at,
    stored_Wh,
)
from powersim.records import CHEMISTRIES, battery_of

banks = st.builds(
    lambda chemistry, capacity_Ah, exponent, health_frac, nominal_V, step_h: bank_of(
        battery_of(
            chemistry,
            capacity_Ah=capacity_Ah,
            peukert_exponent=exponent,
            health_frac=health_frac,
            nominal_V=nominal_V,
        ),
        step_h=step_h,
    ),
    chemistry=st.sampled_from(tuple(CHEMISTRIES)),
    capacity_Ah=st.floats(10.0, 2000.0),
    exponent=st.one_of(st.just(1.0), st.floats(1.0, 1.6)),
    health_frac=st.floats(0.3, 1.1),
    nominal_V=st.sampled_from((12.0, 24.0, 48.0)),
    step_h=st.sampled_from((1 / 60, 0.25, 1.0, 3.0)),
)
shares = st.floats(0.0, 1.0)
temperatures = st.floats(-30.0, 60.0)
quick = settings(max_examples=60)


def slack_Ah(bank):
    """What rounding may leave: digits lost in sums of the size of the bank."""
    return 1e-11 * bank.full_Ah


@quick
@given(bank=banks, soc=shares, wishes=st.lists(st.floats(-1.0, 1.0), max_size=40), cold=shares)
def test_charge_is_kept_and_stays_within_the_wells(bank, soc, wishes, cold):
    """Any sequence of currents within the limits: no well below empty, soc from 0 to 1."""
    step_h = bank.wells.step_h
    unreachable_Ah = 0.5 * cold * bank.capacity_Ah
    total, available = state_at(bank, soc)
    moved_Ah = 0.0
    started_Ah = total
    for wish in wishes:
        most_out = most_discharge_A(bank, total, available, unreachable_Ah)
        most_in = most_charge_A(bank, total)
        assert most_out >= 0
        assert most_in >= 0
        amps = wish * most_out if wish > 0 else wish * most_in
        available = available_after_Ah(bank, total, available, amps)
        total -= amps * step_h
        moved_Ah += amps * step_h
        assert -slack_Ah(bank) <= available <= total + slack_Ah(bank)
        assert -1e-9 <= soc_of(bank, total) <= 1 + 1e-9
        if amps > 0:
            assert total >= bank.hidden_Ah + unreachable_Ah - slack_Ah(bank)
    assert total + moved_Ah == pytest.approx(started_Ah, abs=100 * slack_Ah(bank))


@quick
@given(bank=banks, soc=shares, wish=shares)
def test_rest_levels_the_wells(bank, soc, wish):
    """After a discharge, rest brings charge back to hand and takes none of the total."""
    total, available = state_at(bank, soc)
    amps = wish * most_discharge_A(bank, total, available, 0.0)
    available = available_after_Ah(bank, total, available, amps)
    total -= amps * bank.wells.step_h
    rested = available_after_Ah(bank, total, available, 0.0)
    level = bank.wells.available_frac * total
    assert available - slack_Ah(bank) <= rested <= level + slack_Ah(bank)


@quick
@given(bank=banks, soc=shares, other=shares)
def test_voltage_energy_and_taper_rise_with_charge(bank, soc, other):
    assume(soc < other)
    assert emf_V(bank, soc) <= emf_V(bank, other)
    assert stored_Wh(bank, soc) <= stored_Wh(bank, other)
    assert charge_resistance_ohm(bank, soc, 25.0) <= charge_resistance_ohm(bank, other, 25.0)
    assert discharge_resistance_ohm(bank, soc, 25.0) >= discharge_resistance_ohm(bank, other, 25.0)
    assert 0 < coulombic_frac(bank, other) <= coulombic_frac(bank, soc) <= 1


@quick
@given(bank=banks, soc=st.floats(0.001, 0.999), cold=temperatures, warm=temperatures)
def test_cold_never_lowers_resistance(bank, soc, cold, warm):
    assume(cold < warm)
    for resistance in (charge_resistance_ohm, discharge_resistance_ohm):
        assert resistance(bank, soc, cold) >= resistance(bank, soc, warm) > 0


@quick
@given(bank=banks, soc=st.floats(0.0, 0.999))
def test_stored_energy_is_the_integral_of_voltage(bank, soc):
    """Over any small piece of charge, energy over charge is the mean of a voltage that is straight
    but for a bend, so it lies between the voltages at its ends."""
    small = 1e-3
    volts = (stored_Wh(bank, soc + small) - stored_Wh(bank, soc)) / (small * bank.capacity_Ah)
    assert emf_V(bank, soc) - 1e-8 <= volts <= emf_V(bank, soc + small) + 1e-8


@quick
@given(bank=banks, soc=st.lists(shares, min_size=1, max_size=8), wish=shares)
def test_floats_and_arrays_give_the_same(bank, soc, wish):
    """Where a function has no `if`; tests/unit/test_compiled.py holds the others to what is
    compiled."""
    many = np.array(soc)
    total, available = state_at(bank, many)
    available = wish * available
    rows = list(zip(total.tolist(), available.tolist(), strict=True))
    pairs = [
        (stored_Wh(bank, many), [stored_Wh(bank, one) for one in soc]),
        (soc_of(bank, total), [soc_of(bank, row[0]) for row in rows]),
        (
            available_after_Ah(bank, total, available, 7.0),
            [available_after_Ah(bank, *row, 7.0) for row in rows],
        ),
    ]
    for arrays, floats in pairs:
        assert np.shape(arrays) == many.shape
        assert arrays == pytest.approx(np.array(floats), rel=1e-12, abs=1e-12 * bank.full_Ah)


@quick
@given(bank=banks, soc=st.one_of(shares, st.sampled_from((-0.01, 0.05, 0.1, 0.5, 0.95, 1.0, 1.01))))
def test_voltage_and_its_slope_lie_on_the_line_that_the_charge_is_on(bank, soc):
    """numpy's interpolation, which holds the ends, and the line above a knot found by hand."""
    assert emf_V(bank, soc) == pytest.approx(
        np.interp(soc, bank.emf_soc, bank.emf_knots_V), rel=1e-12
    )
    line = max(place for place, knot in enumerate(bank.emf_soc[:-1]) if place == 0 or knot <= soc)
    low, high = bank.emf_knots_V[line : line + 2]
    width = bank.emf_soc[line + 1] - bank.emf_soc[line]
    assert emf_slope_V(bank, soc) == pytest.approx((high - low) / width, rel=1e-12)


@quick
@given(bank=banks, amps=st.floats(0.001, 0.999))
def test_a_bigger_load_never_lasts_longer(bank, amps):
    """Steps that a constant current is held from full, for one current and for one 5 % larger."""

    def steps_held(current_A):
        total, available = full_state(bank)
        steps = 0
        while steps < 500 and most_discharge_A(bank, total, available, 0.0) >= current_A:
            available = available_after_Ah(bank, total, available, current_A)
            total -= current_A * bank.wells.step_h
            steps += 1
        return steps

    current_A = amps * bank.capacity_Ah
    assert steps_held(1.05 * current_A) <= steps_held(current_A)
