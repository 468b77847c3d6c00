"""How far an arrow key moves a value."""

import pytest

from powersim.records import Battery, Load, Panel, bounds_of
from powersim.records.declared import Bounds
from powersim.tryout.steps import step_of


@pytest.mark.parametrize(
    ("text", "unit", "by"),
    [
        ("220 Ah", "Ah", 10),
        ("20 Ah", "Ah", 5),
        ("100 W", "W", 10),
        ("32 W", "W", 5),
        ("9 W", "W", 1),
        ("2.5 W", "W", 0.5),
        ("0.6 W", "W", 0.1),
        ("5 A", "A", 1),
        ("250 mA", "A", 50),
        ("3 h/day", "h/day", 0.5),
        ("40 min/day", "h/day", 10),
        ("5 min/day", "h/day", 1),
        ("2 h", "h", 0.5),
        ("80 %", "frac", 5),
        ("5 %", "frac", 1),
        ("4.5 kn", "kn", 0.5),
        ("25 L", "L", 5),
        ("14.4 V", "V", 0.1),
        ("0 W", "W", 0.1),
    ],
)
def test_it_is_as_far_as_a_sailor_would_go(text, unit, by):
    assert step_of(text, unit=unit)["by"] == by


def test_the_ends_are_those_of_the_field_in_the_unit_that_is_typed():
    assert step_of("1.5 kW", unit="W", bounds=bounds_of(Load, "draw_W"))["most"] == 20
    share = step_of("50 %", unit="frac", bounds=bounds_of(Battery, "floor_soc"))
    assert (share["least"], share["most"]) == (0, 100)


def test_what_must_be_above_nothing_is_stepped_no_lower_than_one_step():
    assert bounds_of(Panel, "power_W").least == 1.0
    run = step_of("2 h", unit="h", bounds=Bounds(0.0, 24.0, above=True))
    assert (run["by"], run["least"], run["most"]) == (0.5, 0.5, 24)


def test_a_number_keeps_its_decimals():
    assert step_of("18.0 V", unit="V")["decimals"] == 1
    assert step_of("220 Ah", unit="Ah")["decimals"] == 0
    assert step_of("0.246 L/kWh", unit="L/kWh")["decimals"] == 3


def test_a_count_goes_one_by_one():
    assert step_of("2", whole=True, bounds=Bounds(0.0, 20.0)) == {
        "by": 1,
        "least": 0,
        "most": 20,
        "decimals": 0,
    }


@pytest.mark.parametrize("text", ["", "always", "3 x 20 L", "60", "-", "1,5 L", "20 parsecs"])
def test_what_is_no_number_with_its_unit_has_no_step(text):
    assert step_of(text, unit="L") is None


def test_a_heading_may_name_the_unit():
    assert step_of("32", unit="W", bare="W")["by"] == 5


def test_degrees_of_another_scale_are_stepped_without_ends():
    fahrenheit = step_of("60 degF", unit="degC", bounds=Bounds(-30.0, 60.0))
    assert (fahrenheit["least"], fahrenheit["most"]) == (None, None)
