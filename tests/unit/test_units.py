"""Quantities: every entry of the table against pint, and every way to write one wrongly."""

import subprocess
import sys
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from powersim.inputs import units
from powersim.inputs.units import UNITS, UnitError, dimension_name, find, measure, split, to_float
from powersim.records.units_aboard import IMPERIAL_GALLONS, METRIC, printed_in

SPELLINGS = [(name, unit) for unit in UNITS for name in (unit.symbol, *unit.spellings)]


@pytest.fixture(scope="module")
def registry():
    import pint

    registry = pint.UnitRegistry()
    registry.define("okta = 0.125 = okta")  # an eighth of the sky: definition, pint lacks it
    return registry


def base_of(unit):
    return next(other for other in UNITS if other.dimension == unit.dimension)


@pytest.mark.parametrize("number", [0.0, 1.0, 37.5])
@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.symbol)
def test_every_entry_of_the_table_agrees_with_pint(unit, number, registry):
    by_pint = registry.Quantity(number, unit.pint_name).to(base_of(unit).pint_name).magnitude
    # Our factors are definitions and pint's are products of them: a few roundings apart.
    assert (number + unit.shift) * unit.factor == pytest.approx(by_pint, rel=1e-12, abs=1e-10)


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.symbol)
def test_every_entry_has_the_dimension_that_pint_gives_it(unit, registry):
    base = base_of(unit)
    assert base.factor == 1.0
    assert base.shift == 0.0
    assert registry.Quantity(1.0, unit.pint_name).is_compatible_with(base.pint_name)


@pytest.mark.parametrize(("spelling", "unit"), SPELLINGS, ids=lambda value: str(value)[:12])
def test_every_spelling_is_found_in_any_case(spelling, unit):
    assert find(spelling) is unit
    assert find(spelling.lower()) is unit
    assert find(f"  {spelling} ") is unit


def test_no_spelling_stands_for_two_units():
    keys = {}
    for spelling, unit in SPELLINGS:
        assert keys.setdefault(spelling.casefold(), unit) is unit


# What a sailor means by each; factors by definition of the units.
MEANT = [
    ("1.5 kW", "W", 1500.0),
    ("220Ah", "Ah", 220.0),
    ("3 amps", "A", 3.0),
    ("3 AMPS", "A", 3.0),
    ("40 mA", "A", 0.04),
    ("50 %", "frac", 0.5),
    ("6 oktas", "frac", 0.75),
    ("50 %", "okta", 4.0),
    ("12 min/day", "h/day", 0.2),
    ("2 hours a day", "h/day", 2.0),
    ("2 hours per day", "h/day", 2.0),
    ("30 s / day", "h/day", 30 / 3600),
    ("3 days", "h", 72.0),
    ("20 US gal", "L", 75.70823568),
    ("20 gal", "L", 75.70823568),
    ("20 imp gal", "L", 90.9218),
    ("0.5 gph", "L/h", 1.892705892),
    ("65 degF", "degC", 18.333333333333336),
    ("65°F", "degC", 18.333333333333336),
    ("−5 °C", "degC", -5.0),
    ("20 C", "degC", 20.0),
    ("10 nm", "m", 18520.0),
    ("120 nm/day", "kn", 5.0),
    ("10 m/s", "kn", 19.438444924406046),
    ("-30 mV/°C", "V/degC", -0.030),
    ("-0.4 %/degC", "frac/degC", -0.004),
    ("5 %/month", "frac/month", 0.05),
    ("3\N{NO-BREAK SPACE}W", "W", 3.0),
    ("3\N{THIN SPACE}W", "W", 3.0),
    ("3\N{NARROW NO-BREAK SPACE}W", "W", 3.0),
    ("1e3 W", "W", 1000.0),
    (".5 W", "W", 0.5),
    ("5. W", "W", 5.0),
    ("+5 W", "W", 5.0),
    # not in the table, left to pint
    ("3 fathoms", "m", 5.4864),
    ("2 Ah/week", "A", 2 / 168),
    ("60 nm/min", "kn", 3600.0),
]


@pytest.mark.parametrize(("text", "unit", "meant"), MEANT)
def test_a_quantity_is_what_a_sailor_means(text, unit, meant):
    # pint's fathom is the survey one, 2 parts in a million longer than six feet
    tolerance = 3e-6 if "fathoms" in text else 1e-12
    assert to_float(text, unit) == pytest.approx(meant, rel=tolerance)


def test_a_number_already_in_the_unit_asked_for_is_not_touched():
    assert to_float("0.1 cm", "cm") == 0.1
    assert to_float("65.1 degF", "degF") == 65.1


WRONG = [
    ("3O W", "W", "cannot read '3O W'"),
    ("45,5 A", "A", "'45,5 A' has a comma in its number; write a decimal point, as in 45.5, "
     "and nothing between thousands"),
    ("1,500 W", "W", "'1,500 W' has a comma in its number; write a decimal point, as in 45.5, "
     "and nothing between thousands"),
    ("1 500 W", "W", "cannot read '1 500 W'"),
    ("1.5.2 W", "W", "cannot read '1.5.2 W'"),
    ("nan W", "W", "'nan W' is not a finite number"),
    ("-inf W", "W", "'-inf W' is not a finite number"),
    ("Infinity", "W", "'Infinity' is not a finite number"),
    ("1e999 W", "W", "'1e999 W' is not a finite number"),
    ("1e308 kW", "W", "'1e308 kW' is not a finite number"),
    ("３ W", "W", "cannot read '３ W'"),
    ("W", "W", "cannot read 'W'"),
    ("", "W", "is empty"),
    ("  ", "W", "is empty"),
    ("36", "W", "'36' has no unit"),
    ("220 W", "Ah", "'220 W' is a power"),
    ("2 h", "h/day", "'2 h' is a time"),
    ("50 %", "h/day", "'50 %' is a share"),
    ("30 Ah/day", "A", "'30 Ah/day' is a charge a day"),
    ("5 furlong", "W", "'5 furlong' is a length"),
    ("5 MW", "W", "'5 MW' has a capital M; write 'mW' if you mean that"),
    ("3 wats", "W", "cannot read '3 wats': unknown unit 'wats'; did you mean 'watts'?"),
    ("5 aW", "W", "cannot read '5 aW': unknown unit 'aW'"),
    ("5 W**99999", "W", "cannot read '5 W**99999': unknown unit 'W**99999'"),
    ("5 xyzzy", "W", "cannot read '5 xyzzy': unknown unit 'xyzzy'"),
    ("5 cd", "W", "cannot read '5 cd': unknown unit 'cd'"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "unit", "reason"), WRONG)
def test_what_cannot_be_read_is_said_in_a_sailors_words(text, unit, reason):
    with pytest.raises(UnitError) as caught:
        to_float(text, unit)
    assert caught.value.reason == reason


def test_a_heading_gives_a_bare_number_its_unit_and_a_cell_its_own():
    assert to_float("36", "W", bare="kW") == 36000.0
    assert to_float("36 W", "W", bare="kW") == 36.0


def test_measure_takes_the_first_unit_of_the_same_kind():
    assert measure("1200 mA", ("W", "A")) == (1.2, "A")
    assert measure("0.1 kW", ("W", "A")) == (100.0, "W")


def test_split_and_dimension_name():
    assert split("20  US  gal") == (20.0, "US gal")
    assert split("7") == (7.0, None)
    assert dimension_name("Ah") == "a charge"


@given(st.text(max_size=30) | st.from_regex(r"[0-9.]{1,4} ?[A-Za-z/*%° 23]{0,8}", fullmatch=True))
def test_no_text_gives_anything_but_a_number_or_a_reason(text):
    try:
        number = to_float(text, "W")
    except UnitError as error:
        assert error.reason  # noqa: PT017 - either outcome is right
    else:
        assert abs(number) < float("inf")


def test_common_units_do_without_pint_and_others_load_it():
    script = (
        "import sys; from powersim.inputs.units import to_float, UnitError\n"
        "to_float('20 US gal', 'L'); to_float('12 min/day', 'h/day'); to_float('65 degF', 'degC')\n"
        "print('pint' in sys.modules, 'numpy' in sys.modules)\n"
        "to_float('3 fathoms', 'm')\n"
        "print('pint' in sys.modules)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["False", "False", "True"]


def test_the_registry_is_built_once():
    assert units._registry() is units._registry()


@pytest.mark.parametrize("percent", range(1, 101))
def test_a_share_in_percent_is_the_share_that_is_written_with_a_point(percent):
    """Else a bound of 95 % is more than 95 %: 95 x 0.01 is 0.9500000000000001 in binary."""
    assert to_float(f"{percent} %", "frac") == percent / 100
    assert to_float(f"{percent} mA", "A") == percent / 1000


@pytest.mark.parametrize("text", ["3 gal", "3 gallons", "0.2 gal/h", "0.2 gph"])
def test_a_gallon_of_no_country_is_asked_about_where_units_are_imperial(text):
    """3 US gallons are 2.5 imperial ones: a reserve that is a sixth smaller than meant."""
    unit = "L/h" if "h" in text else "L"
    assert to_float(text, unit) > 0.0
    with printed_in(replace(METRIC, volume=IMPERIAL_GALLONS)):
        with pytest.raises(UnitError, match="may be of either gallon"):
            to_float(text, unit)
        assert to_float("3 imp gal", "L") == pytest.approx(13.638, abs=1e-3)
        assert to_float("3 US gal", "L") == pytest.approx(11.356, abs=1e-3)
