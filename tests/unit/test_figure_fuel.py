"""The picture of the diesel: its ledgers add up to what is gone, and it shows them."""

import pytest
from hand_worked import boat_of, passage_of, without_engine
from made_ensemble import ensemble_of

import powersim
from powersim.records import Fuel
from powersim.report.figures import fuel_figure, names_for, plot_fuel


@pytest.fixture(scope="module")
def result():
    return powersim.simulate(passage_of())


def test_the_ledgers_of_the_hand_worked_passage(result):
    """Sums in tests/reference/test_hand_worked_passage.py: 6 L of motoring, 1 L of charging; of 60
    L aboard a twentieth of the tank's 40 cannot be reached."""
    numbers = fuel_figure(result)
    totals = {ledger.name: ledger.total_L[-1] for ledger in numbers.ledgers}
    assert totals == pytest.approx({"motoring": 6.0, "charging runs": 1.0})
    assert (numbers.usable_L, numbers.reserve_L) == (58.0, 20.0)
    assert numbers.left_L[0] == 58.0
    assert numbers.left_L[-1] == pytest.approx(51.0)
    assert numbers.left_L[-1] == result.summary["fuel"]["left_L"]
    assert numbers.band_L == ()


def test_what_is_drawn_ends_at_what_is_left(result):
    numbers, ax = fuel_figure(result), plot_fuel(result)
    stacks = ax.collections
    assert [stack.get_label() for stack in stacks] == ["motoring", "charging runs"]
    last = stacks[-1].get_paths()[0].vertices
    assert last[:, 1].min() == pytest.approx(numbers.left_L[-1])
    assert {stack.get_hatch() for stack in stacks} == {"////", "\\\\\\\\"}
    left = next(line for line in ax.lines if line.get_label() == "left")
    assert list(left.get_ydata()) == list(numbers.left_L)
    assert {text.get_text() for text in ax.texts} == {"reserve 20 L", "none left"}
    assert ax.get_ylabel().endswith("[L]")


def test_what_is_wanted_and_not_there_reaches_below_nothing():
    little = Fuel(tank_L=40.0, unusable_frac=0.0, aboard_L=4.0, reserve_L=0.0)
    result = powersim.simulate(passage_of(boat=boat_of(fuel=little)))
    numbers = fuel_figure(result)
    wanted_L = sum(ledger.total_L[-1] for ledger in numbers.ledgers)
    short_L = result.summary["fuel"]["wanted_and_not_there_L"]
    assert numbers.left_L[-1] == pytest.approx(4.0 - wanted_L + short_L)
    lowest = plot_fuel(result).get_ylim()[0]
    assert lowest < min(0.0, 4.0 - wanted_L)


def test_members_are_two_lines(result):
    from dataclasses import replace

    hours = len(result.hourly)
    tried = replace(result, ensemble=ensemble_of(hours=hours, hour_fuel_left_L=40.0))
    low_L, median_L, high_L = fuel_figure(tried).band_L
    assert low_L[0] == high_L[0] == 58.0
    assert low_L[-1] == median_L[-1] == high_L[-1] == 40.0
    dashed = [line for line in plot_fuel(tried).lines if line.get_linestyle() == "--"]
    assert [list(line.get_ydata()) for line in dashed[:2]] == [list(low_L), list(high_L)]


def test_a_boat_without_an_engine_has_no_such_picture():
    result = powersim.simulate(passage_of(boat=without_engine()))
    assert "fuel" not in names_for(result)
    with pytest.raises(ValueError, match="without an engine"):
        plot_fuel(result)


def test_a_reserve_above_all_that_can_be_burnt_is_on_the_picture():
    """Where little is within reach: a label far above the axes crushed them to nothing."""
    little = Fuel(tank_L=200.0, unusable_frac=0.05, aboard_L=12.0, reserve_L=11.0)
    ax = plot_fuel(powersim.simulate(passage_of(boat=boat_of(fuel=little)), step_h=1.0))
    low_L, high_L = ax.get_ylim()
    assert low_L < 0.0
    assert high_L > 11.0
    ax.figure.draw_without_rendering()  # no warning of axes that collapse
