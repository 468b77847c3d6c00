"""The units aboard: their sizes against pint, their names in boat.toml, and what is printed."""

import pytest

from powersim.errors import InputError
from powersim.inputs.boat import read_boat
from powersim.inputs.text import ReadingError
from powersim.inputs.units_named import read_units, write_units
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
