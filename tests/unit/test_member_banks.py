"""Every member has a bank of its own; average weather has the middle one."""

import numpy as np
import pytest
from builders import passage_of

from powersim.physics.bank import bank_of, state_at
from powersim.physics.voltage import emf_V
from powersim.records import CHEMISTRIES, battery_of
from powersim.simulation.differing import of_member
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.member_banks import BankDraws, draw_banks, with_draws
from powersim.simulation.plant import plant_of
from powersim.simulation.prepare import prepare
from powersim.simulation.state import start_state


def draws_of(**given):
    """Two members: the middle bank, and one that differs as given."""
    alike = {"offset_V": 0.0, "slope": 1.0, "resistance": 1.0, "exponent": 1.2, "capacity": 1.0}
    return BankDraws(**{name: np.array([one, given.get(name, one)]) for name, one in alike.items()})


def both(battery, **given):
    bank = bank_of(battery, step_h=0.25)
    made = with_draws(bank, battery, draws_of(**given))
    return bank, of_member(made, 0), of_member(made, 1)


FLOODED = battery_of("flooded", capacity_Ah=220.0, nominal_V=24.0, peukert_exponent=1.2)


def test_without_a_difference_it_is_the_middle_bank():
    bank, first, second = both(FLOODED)
    assert first == second
    for soc in (0.0, 0.3, 0.5, 1.0):
        assert emf_V(first, soc) == pytest.approx(emf_V(bank, soc), abs=1e-12)
    assert state_at(first, 1.0) == pytest.approx(state_at(bank, 1.0), rel=1e-12)


def test_offset_and_slope_by_hand():
    """24 V: 0.05 V per block lift it by 0.10 V; a slope of 1.2 turns it about half charge."""
    bank, _, other = both(FLOODED, offset_V=0.05, slope=1.2)
    middle_V = emf_V(bank, 0.5)
    assert emf_V(other, 0.5) == pytest.approx(middle_V + 0.10)
    assert emf_V(other, 1.0) == pytest.approx(middle_V + 0.10 + 1.2 * (emf_V(bank, 1.0) - middle_V))


def test_capacity_resistance_and_exponent_are_those_of_another_record():
    _, _, other = both(FLOODED, capacity=0.9, exponent=1.3)
    asked = bank_of(
        battery_of(
            "flooded",
            capacity_Ah=220.0,
            nominal_V=24.0,
            peukert_exponent=1.3,
            health_frac=0.9 * FLOODED.health_frac,
        ),
        step_h=0.25,
    )
    for name in ("capacity_Ah", "hidden_Ah", "discharge_ohm", "charge_rise_ohm"):
        assert getattr(other, name) == pytest.approx(getattr(asked, name), rel=1e-9)
    assert other.wells.kept_frac == pytest.approx(asked.wells.kept_frac, rel=1e-9)
    _, _, stiff = both(FLOODED, resistance=0.5)
    assert stiff.charge_ohm == pytest.approx(0.5 * bank_of(FLOODED, step_h=0.25).charge_ohm)


def test_a_second_rating_says_more_than_a_drawn_exponent():
    rated = battery_of("flooded", capacity_Ah=220.0, capacity_5h_Ah=180.0)
    bank, _, other = both(rated, exponent=1.4)
    assert other.wells == bank.wells
    assert other.hidden_Ah == pytest.approx(bank.hidden_Ah)


@pytest.mark.parametrize("chemistry", list(CHEMISTRIES))
def test_draws_spread_as_the_chemistry_says(chemistry):
    battery = battery_of(chemistry, capacity_Ah=100.0)
    spread, draws = battery.traits.spread, draw_banks(battery, seed=5, members=4000)
    assert draws.offset_V.std() == pytest.approx(spread.offset_V, rel=0.05)
    for name in ("slope", "resistance", "capacity"):
        logs = np.log(getattr(draws, name))
        assert logs.std() == pytest.approx(getattr(spread, f"{name}_log"), rel=0.05)
        assert abs(np.median(logs)) < 0.1 * logs.std()
    assert draws.exponent.min() >= 1.0
    assert np.median(draws.exponent) == pytest.approx(battery.peukert_exponent, abs=2e-3)
    # The first members are the same for any number of them.
    few = draw_banks(battery, seed=5, members=3)
    assert np.array_equal(few.offset_V, draws.offset_V[:3])


def test_a_sailor_who_has_measured_the_bank_doubts_its_capacity_less():
    usual, measured = (
        draw_banks(
            battery_of("agm", capacity_Ah=100.0, health_doubt_frac=doubt), seed=5, members=50
        )
        for doubt in (None, 0.02)
    )
    assert np.log(measured.capacity) == pytest.approx(0.2 * np.log(usual.capacity))
    assert np.array_equal(measured.offset_V, usual.offset_V)


def test_members_carry_their_banks_and_average_weather_the_middle_one():
    passage = passage_of(days=1.0)
    prepared = prepare(passage, step_h=1.0)
    forcing = draw_ensemble(passage, prepared, members=6, seed=3)
    bank = forcing.plant.bank
    assert prepared.plant.bank == plant_of(passage.boat, step_h=1.0).bank
    assert np.ptp(bank.capacity_Ah / forcing.banks.capacity) == pytest.approx(0.0, abs=1e-9)
    chosen = forcing.chosen(np.array([4, 1]))
    assert np.array_equal(chosen.plant.bank.capacity_Ah, bank.capacity_Ah[[4, 1]])
    assert np.array_equal(chosen.banks.offset_V, forcing.banks.offset_V[[4, 1]])
    state = start_state(forcing.plant, soc=np.full(6, 0.8))
    for member in range(6):
        assert state.bank_V[member] == pytest.approx(emf_V(of_member(bank, member), 0.8), abs=1e-9)
