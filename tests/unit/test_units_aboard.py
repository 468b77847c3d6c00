"""The units aboard: their sizes against pint, their names in boat.toml, and what is printed."""

from dataclasses import replace

import pytest
from builders import boat_of, in_average, passage_of

from powersim.errors import InputError
from powersim.inputs.boat import read_boat
from powersim.inputs.text import ReadingError
from powersim.inputs.units_named import read_units, write_units
from powersim.physics.tank import sounding
from powersim.records import Tank, TankPart
from powersim.records.units_aboard import (
    CHOICES,
    FAHRENHEIT,
    IMPERIAL_GALLONS,
    INCHES,
    KILOMETRES,
    METRIC,
    US_GALLONS,
    UnitsAboard,
    aboard,
    printed_in,
)
from powersim.report import rounding
from powersim.report.card_limits import stick_m
from powersim.report.figures import plot_fuel
from powersim.report.sounding_text import strip_rows
from powersim.report.text import paragraph

AMERICAN = UnitsAboard(volume=US_GALLONS, depth=INCHES, distance=KILOMETRES, temperature=FAHRENHEIT)
COUNTED_IN = {
    "volume": "liter", "depth": "meter", "distance": "nautical_mile", "temperature": "degC",
}  # fmt: skip
BY_PINT = {
    "litres": "liter", "US gallons": "US_liquid_gallon", "imperial gallons": "imperial_gallon",
    "cm": "centimeter", "inches": "inch", "nautical miles": "nautical_mile", "km": "kilometer",
    "degC": "degC", "degF": "degF",
}  # fmt: skip
BOAT = (
    '[passage]\ndepart = "2026-05-02"\nunits = {}\n[battery]\nchemistry="agm"\ncapacity="90 Ah"\n'
)


@pytest.mark.parametrize("kind", CHOICES)
@pytest.mark.parametrize("number", [0.0, 1.0, 83.7])
def test_every_unit_is_as_large_as_pint_has_it(kind, number):
    import pint

    counted = pint.UnitRegistry().Quantity(number, COUNTED_IN[kind])
    for unit in CHOICES[kind]:
        by_pint = counted.to(BY_PINT[unit.name]).magnitude
        assert unit.of(number) == pytest.approx(by_pint, rel=1e-12, abs=1e-10), unit.name


def test_the_sizes_are_those_of_their_definitions():
    """231 cubic inches of 2.54 cm; 4.54609 L; 25.4 mm; 1,852 m to a nautical mile."""
    assert US_GALLONS.size == pytest.approx(231 * 2.54**3 / 1000.0, rel=1e-15)
    assert IMPERIAL_GALLONS.size == 4.54609
    assert INCHES.size == 0.0254
    assert KILOMETRES.of(1.0) == pytest.approx(1.852, rel=1e-15)
    assert [FAHRENHEIT.of(one) for one in (0.0, 100.0, -40.0)] == pytest.approx([32, 212, -40])


def test_no_symbol_stands_for_two_units_and_no_gallon_is_bare():
    units = [one for choices in CHOICES.values() for one in choices]
    symbols = [one.symbol for one in units]
    assert len(set(symbols)) == len(symbols)
    assert "gal" not in symbols
    spelled = [spelling for one in units for spelling in (one.name.casefold(), *one.spellings)]
    assert len(set(spelled)) == len(spelled)


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("US gallons, inches", "US gallons, inches, nautical miles, degC"),
        ("imperial gallons and km", "imperial gallons, cm, km, degC"),
        ("us gal; °F", "US gallons, cm, nautical miles, degF"),
        ("litres, miles", "litres, cm, nautical miles, degC"),
    ],
)
def test_units_are_read_by_their_names(typed, written):
    assert write_units(read_units(typed)) == written
    assert read_units(written) == read_units(typed)


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        (
            "gallons",
            "'gallons' are of two sizes: US gallons of 3.785 L, imperial gallons of 4.546 L",
        ),
        ("US galons", "'US galons' is no unit to print in; did you mean 'US gallons'?"),
        ("inchs", "'inchs' is no unit to print in; did you mean 'inches'?"),
        ("cm, inches", "names both cm and inches: one of them"),
        ("tons", "'tons' is no unit to print in"),
    ],
)
def test_a_unit_that_is_none_is_told_in_a_sailors_words(typed, reason):
    with pytest.raises(ReadingError) as caught:
        read_units(typed)
    assert caught.value.reason == reason


def test_boat_toml_says_them_and_what_is_wrong_with_them(write_file):
    assert read_boat(write_file("boat.toml", BOAT.format('"US gallons"'))).settings.units == (
        UnitsAboard(volume=US_GALLONS)
    )
    path = write_file("boat.toml", BOAT.format('"gallons, inches"'))
    with pytest.raises(InputError) as caught:
        read_boat(path)
    assert str(caught.value) == (
        f"{path}:3: passage.units: 'gallons' are of two sizes: US gallons of 3.785 L, imperial "
        "gallons of 4.546 L\n"
        '  expected  units to print in, joined by commas, for example "US gallons, inches"'
    )


def test_they_hold_while_an_answer_is_written_and_no_longer():
    with printed_in(AMERICAN):
        assert rounding.litres(10.0) == "2.64 US gal"
        with printed_in(METRIC):
            assert rounding.litres(10.0) == "10.0 L"
        assert aboard() is AMERICAN
    with pytest.raises(KeyError), printed_in(AMERICAN):
        raise KeyError
    assert aboard() is METRIC


@pytest.mark.parametrize(
    ("litres", "metric", "american"),
    [
        # By hand: 0.7 / 3.785411784 = 0.1849; 5.5: 1.4529; 31: 8.1893; 96.1: 25.387; 500: 132.09.
        (0.7, "0.7 L", "0.18 US gal"),
        (5.5, "5.5 L", "1.45 US gal"),
        (31.0, "31.0 L", "8.19 US gal"),
        (96.1, "96.1 L", "25.4 US gal"),
        (500.0, "500 L", "132 US gal"),
        (0.0, "0.0 L", "0.00 US gal"),
        (-0.001, "0.0 L", "0.00 US gal"),
        (None, "–", "–"),
    ],
)
def test_gallons_have_as_many_digits_as_litres(litres, metric, american):
    assert rounding.litres(litres) == metric
    with printed_in(AMERICAN):
        assert rounding.litres(litres) == american


def test_what_else_is_printed_in_them():
    """0.48 / 3.7854 = 0.1268; 0.2349 m / 0.0254 = 9.248, 9 4/16; 1,700 nm = 3,148.4 km."""
    with printed_in(AMERICAN):
        assert rounding.litres_per_hour(0.48) == "0.127 US gal/h"
        assert rounding.more_litres(3.26) == "+0.86 US gal"
        assert rounding.tenth_litres(145.2) == "38.36"
        assert rounding.bare_litres(31.0) == "8.19"
        assert rounding.depth(0.2349) == "9 1/4 in"
        assert rounding.miles(1700.0) == "3148 km"
        assert rounding.celsius(25.0) == "77 °F"
    with printed_in(UnitsAboard(volume=IMPERIAL_GALLONS)):
        assert rounding.litres(31.0) == "6.82 imp gal"


@pytest.mark.parametrize(
    ("depth_m", "told"),
    [
        (0.0, "0 in"),
        (0.0254, "1 in"),
        (0.0127, "1/2 in"),
        (0.00159, "1/16 in"),
        (0.30, "11 13/16 in"),
    ],
)
def test_inches_are_told_in_sixteenths(depth_m, told):
    assert rounding.inches(depth_m) == told


def test_a_line_is_never_broken_within_a_quantity():
    for words in ("26.4 US gal", "3.2 imp gal/h", "9 15/16 in", "77 °F", "3148 km"):
        lines = [paragraph(f"{'x' * wide} {words}") for wide in range(60, 80)]
        assert all(words in line for line in lines), words


def test_the_mark_of_the_reserve_in_inches_never_shows_less_than_it_needs():
    """A quarter inch is the mark that a stick is read to; one below would be too little."""
    tank = Tank(
        parts=(TankPart(shape="wedge", length_m=0.9, width_m=0.55, bottom_m=0.15, height_m=0.27),)
    )
    for litres in (5.0, 12.0, 29.25, 60.0):
        with printed_in(AMERICAN):
            mark_m = stick_m(tank, litres)
        quarters = 4.0 * INCHES.of(mark_m)
        assert quarters == pytest.approx(round(quarters), abs=1e-9)
        assert sounding(tank, mark_m).litres >= litres - 1e-6
        assert sounding(tank, mark_m - 0.25 * INCHES.size).litres < litres


def test_the_strip_has_half_inches_and_the_litres_of_each_in_gallons():
    """A box of 1 m by 0.5 m: 5 L a centimetre, 12.7 mm a half inch. At 4 in less 5 mm of wet
    9.66 cm and 48.3 L are 12.8 US gal, of which 5 L, 1.32 US gal, lie below the pick-up."""
    shape = Tank(parts=(TankPart(shape="box", length_m=1.0, width_m=0.5, height_m=0.2),))
    boat = boat_of()
    fuel = replace(boat.fuel, tank_L=100.0, unusable_frac=0.05, shape=shape)
    with printed_in(AMERICAN):
        rows = strip_rows(replace(boat, fuel=fuel))
    assert [depth for depth, _, _ in rows[:4]] == ["8 in", "7 1/2 in", "7 in", "6 1/2 in"]
    assert {depth: rest for depth, *rest in rows}["4 in"] == ["12.8 US gal", "11.4 US gal"]


def test_the_picture_of_the_fuel_is_drawn_in_them():
    result = in_average(passage_of(days=2.0))
    litres = plot_fuel(result)
    with printed_in(AMERICAN):
        gallons = plot_fuel(result)
    assert gallons.get_ylabel().endswith("[US gal]")
    for one, other in zip(gallons.lines[0].get_ydata(), litres.lines[0].get_ydata(), strict=True):
        assert one == pytest.approx(other / 3.785411784)
    assert gallons.get_ylim()[1] == pytest.approx(litres.get_ylim()[1] / 3.785411784)
