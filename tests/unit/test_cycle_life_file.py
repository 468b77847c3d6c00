"""battery.cycle_life of boat.toml: how it is written, what is assumed, what is wrong."""

import pytest

from powersim.errors import InputError
from powersim.inputs.boat import collect_boat, read_boat

BATTERY = '[battery]\nchemistry = "flooded"\ncapacity = "220 Ah"\n'
EXPECTED = (
    "\n  expected  cycles to the end of its life by depth, for example 1200 at 30 %; 700 at 50 %"
)


@pytest.mark.parametrize(
    "text",
    [
        "1500 at 30 %; 800 at 50 %; 450 at 80 %",
        "450 cycles at 80 %;1500 AT 30 %; 800   at 50%;",
        "1.5e3 at 0.3 frac; 800 cycles at 50 percent; 450 at 80 %",
    ],
)
def test_points_may_stand_in_any_order(write_file, text):
    path = write_file("boat.toml", f'{BATTERY}cycle_life = "{text}"\n')
    points = read_boat(path).boat.battery.cycle_life
    assert [cycles for _, cycles in points] == [1500.0, 800.0, 450.0]
    assert [depth for depth, _ in points] == pytest.approx([0.3, 0.5, 0.8])


def test_one_point_is_enough(write_file):
    path = write_file("boat.toml", f'{BATTERY}cycle_life = "500 at 50 %"\n')
    assert read_boat(path).boat.battery.cycle_life == ((0.5, 500.0),)


def test_what_is_left_out_is_assumed_and_said_as_it_could_be_written(write_file):
    found = collect_boat(write_file("boat.toml", BATTERY))
    (said,) = (one for one in found.assumptions if one.place == "boat.toml battery.cycle_life")
    assert said.value == "1200 at 30 %; 700 at 50 %; 400 at 80 %"
    assert said.reason == "makers differ by a factor of two; common practice, no source"
    path = write_file("boat.toml", f'{BATTERY}cycle_life = "{said.value}"\n')
    assert read_boat(path).boat.battery == found.boat.battery


@pytest.mark.parametrize(
    ("value", "wrong"),
    [
        ('"30 % 1500"', "cannot read '30 % 1500'"),
        ('"30 % at 1500"', "cannot read '30 % at 1500'"),
        ('"1500 Ah at 30 %"', "cannot read '1500 Ah at 30 %'"),
        ('"many at 30 %"', "cannot read 'many'"),
        (
            '"1,500 at 30 %"',
            "'1,500' has a comma in its number; write a decimal point, as in 45.5, "
            "and nothing between thousands",
        ),
        ('"1500 at 30"', "'30' has no unit"),
        ('"1500 at 30 Ah"', "'30 Ah' is a charge"),
        ('"1500 at 30 % at 40 %"', "cannot read '1500 at 30 % at 40 %'"),
        ('""', "is empty"),
        ('" ; "', "is empty"),
        ("1500", "1500 has no unit; write it with its unit, in quotes"),
        ('["1500 at 30 %"]', "a list is not text in quotes"),
        (
            '"450 at 30 %; 1500 at 80 %"',
            "'450 at 30 %; 1500 at 80 %' has no fewer cycles at 80 % than at 30 %",
        ),
        ('"700 at 50 %; 600 at 50 %"', "'700 at 50 %; 600 at 50 %' has two points at 50 %"),
        (
            '"700 at 0 %"',
            "'700 at 0 %' has a depth of 0 %, which is not above 0 % and at most 100 %",
        ),
        (
            '"700 at 120 %"',
            "'700 at 120 %' has a depth of 120 %, which is not above 0 % and at most 100 %",
        ),
        ('"0 at 50 %"', "'0 at 50 %' has 0 cycles at 50 %, which are not 1 to 1000000"),
        ('"-5 at 50 %"', "'-5 at 50 %' has -5 cycles at 50 %, which are not 1 to 1000000"),
    ],
)
def test_what_cannot_be_a_curve_is_said_with_its_line(write_file, value, wrong):
    path = write_file("boat.toml", f"{BATTERY}cycle_life = {value}\n")
    with pytest.raises(InputError) as caught:
        read_boat(path)
    assert str(caught.value) == f"{path}:4: battery.cycle_life: {wrong}{EXPECTED}"
