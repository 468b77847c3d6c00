"""Load lists: no input gives anything but loads or an InputError; units do not matter."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from powersim.errors import InputError
from powersim.inputs.loads import collect_loads, read_loads

DEMO = Path(__file__).parents[2] / "loads" / "iceland-to-cabo-verde" / "loads.csv"
GOOD = DEMO.read_bytes()

quick = settings(
    max_examples=100,
    suppress_health_check=[HealthCheck.function_scoped_fixture],  # each example writes anew
)
# Signs that mean something in a csv file or a quantity come up more often than others.
pieces = st.sampled_from(
    ["", ",", ";", '"', "\n", "\r", "#", "%", "-", "−", "nan", "1e999", "0", "9" * 400, "3O W",
     "4,5 A", "W", "Ah", "\ufeff", "\u2028", "load", "draw", "always", "24:00-24:00", "any;"]
)  # fmt: skip


def read_or_refused(path):
    """Check that there are loads, or problems that are fit to be shown."""
    loads, _, problems = collect_loads(path, supplies=["laptop supply"])
    assert loads or problems
    assert all(each.file == str(path) and each.text for each in problems)
    assert all(each.line is None or each.line >= 1 for each in problems)
    if problems:
        with pytest.raises(InputError) as caught:
            read_loads(path, supplies=["laptop supply"])
        assert caught.value.problems == problems
    else:
        assert read_loads(path, supplies=["laptop supply"]) == loads


@quick
@given(st.text(max_size=200) | st.lists(pieces, max_size=40).map("".join))
def test_arbitrary_text_is_read_or_refused(write_file, text):
    content = text.encode("utf-8", "surrogatepass")
    read_or_refused(write_file("loads.csv", content))
    read_or_refused(write_file("loads.csv", b"load,draw,when,window,on,count\n" + content))


@quick
@given(st.binary(max_size=200))
def test_arbitrary_bytes_are_read_or_refused(write_file, content):
    read_or_refused(write_file("loads.csv", content))


@quick
@given(st.integers(0, len(GOOD)), st.integers(0, 12), pieces | st.text(max_size=4))
def test_a_good_file_with_a_wound_is_read_or_refused(write_file, at, cut, put):
    wounded = GOOD[:at] + put.encode("utf-8", "surrogatepass") + GOOD[at + cut :]
    read_or_refused(write_file("loads.csv", wounded))


@quick
@given(st.data())
def test_a_cell_with_anything_in_it_is_read_or_named(write_file, data):
    names = ["load", "draw", "standby", "count", "when", "window", "on", "temp", "fuel", "role",
             "priority", "supply", "spread", "note"]  # fmt: skip
    good = ["vhf", "6 W", "1 W", "1", "any", "always", "5 %", "none", "0 L/h", "vhf", "useful",
            "dc", "20 %", ""]  # fmt: skip
    column = data.draw(st.integers(0, len(names) - 1))
    cell = data.draw(st.text(max_size=20) | st.lists(pieces, max_size=4).map("".join))
    good[column] = '"' + cell.replace('"', '""') + '"'
    text = ",".join(names) + "\n" + ",".join(good) + "\n"
    path = write_file("loads.csv", text.encode("utf-8", "surrogatepass"))
    _, _, problems = collect_loads(path, supplies=["laptop supply"])
    for problem in problems:
        # A byte that is no UTF-8 and a zero byte belong to the file, all else to the cell.
        assert problem.field in (column + 1, None)


positive = st.floats(0.001, 100.0).map(lambda number: round(number, 3))
SAME = [
    ("draw", "{} W", 1.0, "{} kW", 1e-3),
    ("draw", "{} A", 1.0, "{} mA", 1e3),
    ("draw", "{} W", 1.0, "{} watts", 1.0),
    ("standby", "{} mA", 1.0, "{} amps", 1e-3),
    ("on", "{} h/day", 0.01, "{} min/day", 0.6),
    ("on", "{} %", 1.0, "{} frac", 0.01),
    ("fuel", "{} L/h", 0.01, "{} mL/h", 10.0),
    ("fuel", "{} gal/h", 0.01, "{} L/h", 0.03785411784),  # 231 cubic inches, by definition
    ("spread", "{} %", 1.0, "{} percent", 1.0),
]
NUMBERS = ("draw_W", "draw_A", "standby_A", "on_frac", "on_h_per_day", "fuel_L_per_h",
           "spread_frac")  # fmt: skip


@pytest.mark.parametrize(("column", "one", "by_one", "other", "by_other"), SAME)
@settings(
    max_examples=12,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(number=positive)
def test_a_load_is_the_same_in_another_unit(
    write_file, column, one, by_one, other, by_other, number
):
    def load_with(cell):
        cells = {"load": "thing", "draw": "6 W"} | {column: cell}
        lines = ",".join(cells) + "\n" + ",".join(cells.values()) + "\n"
        (load,) = read_loads(write_file("loads.csv", lines))
        numbers = {name: getattr(load, name) for name in NUMBERS}
        return {name: number for name, number in numbers.items() if number is not None}

    first = load_with(one.format(number * by_one))
    second = load_with(other.format(number * by_other))
    # Only the rounding of the factors lies between the two.
    assert first == pytest.approx(second, rel=1e-12)
