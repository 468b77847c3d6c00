"""[fuel.tank]: every way of saying it, and every mistake."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from powersim.errors import InputError
from powersim.inputs.boat import collect_boat, read_boat
from powersim.physics.tank import litres_at

HEAD = (
    '[battery]\nchemistry = "flooded"\ncapacity = "220 Ah"\n'
    '[engine]\nrated = "14 kW"\n[fuel]\njerrycans = "1 x 20 L"\n[fuel.tank]\n'
)
BOX = 'shape = "box"\nlength = "90 cm"\nwidth = "0.5 m"\nheight = "20 cm"\n'


def tank_of(write_file, text, **files):
    for name, content in files.items():
        write_file(f"{name}.csv", content)
    return read_boat(write_file("boat.toml", HEAD + text)).boat.fuel


def test_a_box(write_file):
    fuel = tank_of(write_file, BOX)
    assert fuel.tank_L == pytest.approx(90.0)
    assert fuel.aboard_L == pytest.approx(110.0)
    assert litres_at(fuel.shape, 0.1) == pytest.approx(45.0)
    assert (fuel.shape.rolling_m, fuel.shape.wet_m) == (0.01, 0.01)


def test_what_it_holds_may_be_a_little_less_than_its_shape(write_file):
    fuel = tank_of(write_file, BOX + 'capacity = "85 L"\nrolling = "2 cm"\nwet = "0 mm"\n')
    assert fuel.tank_L == 85.0
    assert (fuel.shape.rolling_m, fuel.shape.wet_m) == (0.02, 0.0)


def test_a_wedge_and_a_cylinder_in_line(write_file):
    fuel = tank_of(
        write_file,
        '[[fuel.tank.part]]\nshape = "wedge"\nlength = "1 m"\nwidth = "40 cm"\nheight = "30 cm"\n'
        'bottom = "10 cm"\n'
        '[[fuel.tank.part]]\nshape = "cylinder"\nlength = "80 cm"\ndiameter = "30 cm"\n'
        'above = "5 cm"\n',
    )
    wedge, cylinder = fuel.shape.parts
    assert (wedge.bottom_m, cylinder.above_m) == pytest.approx((0.1, 0.05))
    assert fuel.tank_L == pytest.approx(75.0 + 800.0 * 3.14159265 * 0.15**2)


def test_a_table_of_soundings(write_file):
    fuel = tank_of(
        write_file, 'table = "dips.csv"\n', dips="depth_cm,litres\n0,1\n10,20 L\n22,64\n"
    )
    assert fuel.tank_L == 64.0
    assert litres_at(fuel.shape, 0.05) == pytest.approx(10.5)


def test_defaults_are_told_with_their_reason(write_file):
    told = read_boat(write_file("boat.toml", HEAD + BOX)).assumptions
    places = {one.place: one.value for one in told}
    assert places["boat.toml fuel.tank.rolling"] == "1 cm"
    assert places["boat.toml fuel.tank.wet"] == "1 cm"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "",
            "boat.toml:8: fuel.tank: does not say its shape\n"
            "  expected  one of: shape, with its measures; table; or [[fuel.tank.part]]",
        ),
        (
            BOX + 'capacity = "60 L"\n',
            "boat.toml:13: fuel.tank.capacity: 60 L, but by its shape the tank holds 90 L\n"
            "  expected  figures that agree to a tenth; are the measures those of the inside?",
        ),
        (
            'shape = "box"\nlength = "90 cm"\nwidth = "50 cm"\n',
            "boat.toml:8: fuel.tank: a box without height\n"
            "  expected  height: from bottom to top, for example 35 cm",
        ),
        (
            BOX + 'diameter = "40 cm"\n',
            "boat.toml:13: fuel.tank.diameter: a box has no diameter\n"
            "  expected  one of length, width, height",
        ),
        (
            'shape = "barrel"\n',
            "boat.toml:9: fuel.tank.shape: 'barrel' is not known here\n"
            "  expected  one of box, wedge, cylinder",
        ),
        (
            'shape = "wedge"\nlength = "1 m"\nwidth = "20 cm"\nheight = "30 cm"\n'
            'bottom = "30 cm"\n',
            "boat.toml:13: fuel.tank.bottom: is wider than the top\n"
            "  expected  at most as wide as width",
        ),
        (
            BOX + 'table = "dips.csv"\n',
            "boat.toml:8: fuel.tank: has a shape and a table\n"
            "  expected  one of: shape, with its measures; table; or [[fuel.tank.part]]",
        ),
        (
            BOX.replace("90 cm", "90 L"),
            "boat.toml:10: fuel.tank.length: '90 L' is a volume\n"
            "  expected  along the boat, or a cylinder's axis, for example 90 cm",
        ),
        (
            "part = 3\n",
            "boat.toml:9: fuel.tank.part: 3 is not a table\n"
            "  expected  a line [[fuel.tank.part]] before each",
        ),
    ],
)
def test_what_is_wrong_is_told(write_file, text, message):
    path = write_file("boat.toml", HEAD + text)
    said = "\n".join(str(problem) for problem in collect_boat(path).problems)
    assert said.replace(str(path), "boat.toml") == message


@pytest.mark.parametrize(
    ("table", "message"),
    [
        (
            "depth,litres\n0 cm,0 L\n10 cm,20 L\n9 cm,30 L\n",
            "dips.csv:4:1: depth (column A): '9 cm' does not rise above the row before\n"
            "  expected  depth and litres that rise together\n"
            "  row       9 cm,30 L",
        ),
        (
            "depth,litres\n0 cm,0 L\n10,20 L\n",
            "dips.csv:3:1: depth (column A): '10' has no unit\n"
            "  expected  on the stick, rising from row to row, for example 12 cm\n"
            "  row       10,20 L",
        ),
        (
            "depth,litres\n3 cm,1 L\n",
            "dips.csv:1: has fewer than two rows\n  expected  two or more",
        ),
    ],
)
def test_what_is_wrong_with_a_table_is_told(write_file, table, message):
    dips = write_file("dips.csv", table)
    path = write_file("boat.toml", HEAD + 'table = "dips.csv"\n')
    said = "\n".join(str(problem) for problem in collect_boat(path).problems)
    assert said.replace(str(dips), "dips.csv") == message


def test_a_table_that_is_not_there(write_file):
    path = write_file("boat.toml", HEAD + 'table = "dips.csv"\n')
    with pytest.raises(InputError, match=r"dips\.csv"):
        read_boat(path)


WORDS = st.sampled_from(
    ["depth", "litres", "10 cm", "-3 L", "nan", "1e400 cm", '"', ",", "\n", "\r", "0", "é", "5 L"]
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(st.lists(WORDS, max_size=14))
def test_a_broken_table_gives_a_tank_or_a_message(write_file, words):
    write_file("dips.csv", "".join(words))
    found = collect_boat(write_file("boat.toml", HEAD + 'table = "dips.csv"\n'))
    assert (found.boat is None) == bool(found.problems)


VALUES = st.sampled_from(
    ['"box"', '"90 cm"', "3", "true", "[1]", '"-2 cm"', '"wedge"', '"x"', "{}"]
)
KEYS = st.sampled_from(
    ["shape", "length", "width", "height", "bottom", "diameter", "above", "part", "table", "wet"]
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=80)
@given(st.dictionaries(KEYS, VALUES, max_size=6))
def test_whatever_stands_in_it_gives_a_tank_or_a_message(write_file, keys):
    text = "".join(f"{key} = {value}\n" for key, value in keys.items())
    found = collect_boat(write_file("boat.toml", HEAD + text))
    assert (found.boat is None) == bool(found.problems)
