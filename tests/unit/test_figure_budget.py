"""The picture of the budget: its bars are the load list's."""

from dataclasses import replace

import pytest
from builders import in_average
from hand_worked import LOADS, passage_of

from powersim.records import Load
from powersim.report.figure_budget import Bar, _words
from powersim.report.figures import budget_figure, plot_budget


def test_the_bars_of_the_hand_worked_passage():
    """By hand: 24 Ah a day of instruments and of pilot; lights for 26 of the passage's 50 hours."""
    numbers = budget_figure(in_average(passage_of()))
    assert {bar.name: bar.charge_Ah for bar in numbers.bars} == pytest.approx(
        {"instruments": 24.0, "pilot": 24.0, "lights": 0.5 * 26 / 50 * 24}
    )
    assert numbers.total_Ah == pytest.approx(54.24)
    assert numbers.title == "two days: loads take 54 Ah a day on average"


def test_small_loads_are_one_bar_and_none_is_lost():
    many = tuple(Load(name=f"lamp {n} $x$", draw_A=0.01 * (n + 1)) for n in range(30))
    result = in_average(passage_of(loads=(*LOADS, *many)), step_h=1.0)
    numbers = budget_figure(result)
    assert len(numbers.bars) == 19
    assert numbers.bars[-1].name == "15 smaller ones"
    assert sum(bar.charge_Ah for bar in numbers.bars) == pytest.approx(numbers.total_Ah)
    assert numbers.total_Ah == pytest.approx(result.loads["Ah_per_day"].sum())
    ax = plot_budget(result)
    assert [label.get_text() for label in ax.get_yticklabels()] == [
        bar.name for bar in numbers.bars
    ]
    ax.figure.draw_without_rendering()
    page = ax.figure.bbox
    for label in (*ax.get_yticklabels(), *ax.texts):
        box = label.get_window_extent()
        assert page.x0 <= box.x0 < box.x1 <= page.x1


def test_drawn_as_the_numbers_with_what_went_without_dashed():
    heavy = Load(name="windlass", draw_A=40.0, on_frac=0.9, priority="comfort")
    result = in_average(passage_of(loads=(*LOADS, heavy)), step_h=1.0)
    numbers, ax = budget_figure(result), plot_budget(result)
    bars = {container.get_label(): list(container) for container in ax.containers}
    assert set(bars) == {"useful", "comfort", "went without"}
    (comfort,) = bars["comfort"]
    assert comfort.get_width() == pytest.approx(numbers.bars[0].charge_Ah)
    assert len(bars["went without"]) == sum(bar.without_Ah > 0.0 for bar in numbers.bars) > 0
    assert {bar.get_hatch() for name in ("useful", "comfort") for bar in bars[name]} == {
        "////",
        "xxxx",
    }
    assert ax.get_xlabel() == "charge a day [Ah]"
    # Each bar says beside it what it is: figures read back, and the group in words.
    for bar, text in zip(numbers.bars, ax.texts, strict=True):
        told = text.get_text()
        charge_Ah = float(told.split(" Ah")[0])
        assert charge_Ah == pytest.approx(bar.charge_Ah, abs=0.05 if charge_Ah < 10 else 0.5)
        assert told.endswith(f", {bar.group}")
        assert ("without" in told) == (bar.without_Ah > 0.0)
    assert len({bar.get_facecolor() for name in ("useful", "comfort") for bar in bars[name]}) == 1


def test_a_boat_without_loads():
    ax = plot_budget(in_average(passage_of(loads=())))
    assert ax.get_legend() is None
    assert ax.get_title(loc="left") == "two days: loads take 0.0 Ah a day on average"


def test_what_rounds_to_nothing_is_not_told_beside_a_bar():
    bar = Bar(name="pilot", group="useful", charge_Ah=19.0, without_Ah=0.04)
    assert _words(bar) == "19 Ah, useful"
    assert _words(replace(bar, without_Ah=0.06)) == "19 Ah, without 0.1 Ah, useful"
