"""What a log has shown goes into boat.toml and loads.csv, and nothing else in them moves."""

import csv
import difflib
import io
import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from powersim.errors import InputError
from powersim.inputs.boat import collect_boat
from powersim.inputs.folder import load_folder
from powersim.inputs.loads import read_loads
from powersim.inputs.starter import demo_files
from powersim.inputs.write_back import calibrated_boat, calibrated_loads
from powersim.simulation.factors import Factors, with_factors
from powersim.simulation.plant import plant_of
from powersim.simulation.prepare import prepare

FACTORS = Factors(demand=1.13, solar=0.87, capacity=0.9, burn=1.21, alternator=0.95)
#: Three digits are kept of every value: half of the last one, of a first digit of 1.
ROUNDING = 0.005
DEMO = demo_files()
SHIPPED = sorted((Path(__file__).parents[2] / "loads").glob("*/boat.toml"))
PLAIN = """\
[fuel]
tank = "50 L"
[battery]  # the house bank
chemistry = 'agm'
capacity = '200 Ah'
health   =   '80 %'   # tested in April

# --- the engine, and what hangs on it ---
[engine]
rated = "10 kW"
[alternator]
  nameplate = "50 A"

# the end"""


@pytest.fixture
def boat_of(tmp_path):
    def made(text):
        path = tmp_path / "boat.toml"
        path.write_bytes(text.encode())
        found = collect_boat(path)
        assert found.problems == ()
        return found.boat

    return made


def written(text, boat, **factors):
    return calibrated_boat(text, boat, factors)


def differing(before, after):
    """The lines that are gone, and those that are new."""
    lines = list(difflib.ndiff(before.splitlines(True), after.splitlines(True)))
    return [[one[2:] for one in lines if one.startswith(sign)] for sign in "-+"]


def test_only_the_said_lines_of_boat_toml_differ(boat_of):
    text, changes = written(PLAIN, boat_of(PLAIN), **FACTORS._asdict())
    gone, new = differing(PLAIN, text)
    assert gone == ["health   =   '80 %'   # tested in April\n"]
    assert new == [
        "health   =   '72 %'   # tested in April\n",
        'charging_burn = "0.443 L/h"  # found by the log; 0.3665 L/h was taken before\n',
        'slope = "0.298 L/kWh"  # found by the log; 0.246 L/kWh was taken before\n',
        '  charging = "28.5 A"  # found by the log; 30 A was taken before\n',
        '  motoring = "35.6 A"  # found by the log; 37.5 A was taken before\n',
    ]
    assert [(one.place, one.old, one.new, one.added) for one in changes][:2] == [
        ("battery.health", "80 %", "72 %", False),
        ("alternator.charging", "30 A", "28.5 A", True),
    ]


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("file", SHIPPED, ids=lambda path: path.parent.name)
def test_shipped_boats_change_by_whole_lines_and_come_back(boat_of, file, end):
    text = file.read_text(encoding="utf-8").replace("\n", end)
    made, changes = written(text, boat_of(text), **FACTORS._asdict())
    gone, new = differing(text, made)
    added = [one for one in changes if one.added]
    assert (len(gone), len(new)) == (len(changes) - len(added), len(changes))
    back, _ = written(made, boat_of(made), **{key: 1 / x for key, x in FACTORS._asdict().items()})
    assert boat_of(back).battery.health_frac == pytest.approx(
        boat_of(text).battery.health_frac, rel=2 * ROUNDING
    )


def test_a_key_is_added_above_the_notes_of_the_next_table(boat_of):
    text, _ = written(PLAIN, boat_of(PLAIN), burn=2.0)
    lines = text.splitlines()
    assert lines[lines.index('rated = "10 kW"') + 1].startswith("charging_burn = ")


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("last", ["", "\n"])
def test_line_ends_are_the_files_own(boat_of, end, last):
    plain = PLAIN.removesuffix("\n\n# the end").replace("\n", end) + last.replace("\n", end)
    text, _ = written(plain, boat_of(plain), alternator=0.9)
    assert text.count("\n") == text.count(end)
    assert text.endswith(end) == bool(last)
    assert tomllib.loads(text)["alternator"] == {
        "nameplate": "50 A",
        "charging": "27 A",
        "motoring": "33.8 A",
    }


@pytest.mark.parametrize(
    "plain",
    [
        'battery = { chemistry = "agm", capacity = "200 Ah" }  # all in one\n',
        'battery.chemistry = "agm"\nbattery.capacity = "200 Ah"  # label\n',
    ],
)
def test_a_table_in_another_form_is_kept_in_it(boat_of, plain):
    text, _ = written(plain, boat_of(plain), capacity=0.9)
    assert tomllib.loads(text)["battery"]["health"] == "76.5 %"
    assert plain.partition("  #")[2].strip() in text
    assert "[battery]" not in text


def test_tables_that_do_not_stand_together_stay_where_they_are(boat_of):
    one, other = '[[panel]]\npower = "50 W"\n', '[[panel]]\npower = "9 W"\n# end\n'
    plain = one + PLAIN + "\n" + other
    text, _ = written(plain, boat_of(plain), solar=0.9)
    note = "  # found by the log; 100 % was taken before"
    assert text == plain.replace(' W"\n', f' W"\nyield = "90 %"{note}\n')


def test_keys_with_dots_above_tables_that_do_not_stand_together_are_kept_so(boat_of):
    plain = (
        'fuel.tank = "50 L"\nbattery.chemistry = "agm"\nbattery.capacity = "200 Ah"\n'
        '[[panel]]\npower = "50 W"\n[engine]\nrated = "10 kW"\n[[panel]]\npower = "9 W"\n'
    )
    text, _ = written(plain, boat_of(plain), capacity=0.9)
    line = 'battery.health = "76.5 %"  # found by the log; 85 % was taken before\n'
    assert text == plain.replace("[[panel]]", line + "[[panel]]", 1)


def test_a_unit_of_the_sailors_stays(boat_of):
    plain = PLAIN.replace('rated = "10 kW"', 'rated = "10 kW"\ncharging_burn = "700 mL/h"')
    text, _ = written(plain, boat_of(plain), burn=1.1)
    assert 'charging_burn = "770 mL/h"' in text


def test_a_burn_that_was_measured_under_load_has_no_slope_to_write(boat_of):
    plain = PLAIN.replace(
        'rated = "10 kW"', 'rated = "10 kW"\ncharging_burn = "1 L/h"\ncharging_burn_loaded = true'
    )
    _, changes = written(plain, boat_of(plain), burn=1.1)
    assert [one.place for one in changes] == ["engine.charging_burn"]


def test_a_health_that_no_bank_has_is_refused_with_a_way_out(boat_of):
    with pytest.raises(InputError) as caught:
        written(PLAIN, boat_of(PLAIN), capacity=1.6)
    assert str(caught.value) == (
        "boat.toml:6: battery.health: 80 % times 1.6 would be too much: '128 %' is more than "
        "120 %\n  expected  a battery.capacity that such a bank could have on its label; set it by "
        "hand, then run this again"
    )


def test_the_boat_that_is_written_is_the_boat_with_the_factors(boat_of):
    text, _ = written(DEMO["boat.toml"], boat_of(DEMO["boat.toml"]), **FACTORS._asdict())
    made = plant_of(boat_of(text), step_h=0.5)
    asked = with_factors(plant_of(boat_of(DEMO["boat.toml"]), step_h=0.5), FACTORS)
    for name in ("capacity_Ah", "hidden_Ah", "discharge_ohm", "charge_rise_ohm"):
        assert getattr(made.bank, name) == pytest.approx(getattr(asked.bank, name), rel=ROUNDING)
    for name in ("tail_A", "burn_L_per_h", "charging_slope_L_per_kWh", "motoring_L_per_h"):
        assert getattr(made, name) == pytest.approx(getattr(asked, name), rel=ROUNDING)
    for name in ("charging_A", "motoring_A"):  # the kernel multiplies these by a switch
        assert getattr(made.alternator, name) == pytest.approx(
            FACTORS.alternator * getattr(asked.alternator, name), rel=ROUNDING
        )


def test_loads_and_sun_that_are_written_are_those_with_the_factors(tmp_path):
    # What supplies take idle is no load of the list, and is not written.
    idle = {"boat.toml": DEMO["boat.toml"].replace('idle = "1 W"', 'idle = "0 W"')}
    route = "waypoint,lat,lon,speed\nA,64 N,20 W,5 kn\nB,62 N,20 W,\n"
    for name, text in (DEMO | idle | {"route.csv": route}).items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    before = load_folder(tmp_path)
    boat, _ = calibrated_boat(idle["boat.toml"], before.boat, FACTORS._asdict())
    (tmp_path / "boat.toml").write_text(boat, encoding="utf-8")
    loads, _ = calibrated_loads(DEMO["loads.csv"], [FACTORS.demand] * len(before.loads))
    (tmp_path / "loads.csv").write_text(loads, encoding="utf-8")
    plain, made = (prepare(one, step_h=1.0).signals for one in (before, load_folder(tmp_path)))
    for name in ("load_A", "load_W", "peak_A", "heater_L"):
        asked = FACTORS.demand * getattr(plain, name)
        assert np.any(asked > 0.0)
        assert getattr(made, name) == pytest.approx(asked, rel=ROUNDING)
    for ours, theirs in zip(made.controllers, plain.controllers, strict=True):
        asked = FACTORS.solar * (theirs.power_W + theirs.first_A)
        assert np.any(asked > 0.0)
        assert ours.power_W + ours.first_A == pytest.approx(asked, rel=ROUNDING)


def test_a_cell_keeps_its_unit_and_all_else_is_as_it_was():
    text = (
        "# mine, with a draw, of 3 W\r\n"
        'load;draw (W);standby ;note\r\n"lamp; of ""tin""";"36";0.5 W;3 W\r\n\r\n'
        " fridge ;  4.5 A ;40 mA;'36'\r\n# radio;5 W;;\r\nzero;0;;"
    )
    made, changes = calibrated_loads(text, [1.1] * 3)
    assert made == (
        "# mine, with a draw, of 3 W\r\n"
        'load;draw (W);standby ;note\r\n"lamp; of ""tin""";"39.6";0.55 W;3 W\r\n\r\n'
        " fridge ;  4.95 A ;44 mA;'36'\r\n# radio;5 W;;\r\nzero;0;;"
    )
    assert [(one.place, one.old, one.new) for one in changes] == [
        ('draw (lamp; of "tin")', "36", "39.6"),
        ('standby (lamp; of "tin")', "0.5 W", "0.55 W"),
        ("draw (fridge)", "4.5 A", "4.95 A"),
        ("standby (fridge)", "40 mA", "44 mA"),
    ]


def test_numbers_are_written_with_the_comma_that_the_table_has():
    made, changes = calibrated_loads(
        "load;draw;standby_W\r\nvhf;1,5 A;0,5\r\nais;2 W;\r\n", [1.1, 1.1]
    )
    assert made == "load;draw;standby_W\r\nvhf;1,65 A;0,55\r\nais;2,2 W;\r\n"
    assert (changes[0].old, changes[0].new) == ("1,5 A", "1,65 A")


def test_one_more_load_has_its_cells_in_the_columns_that_are_there():
    more = {"load": "not in the list", "draw": "5.25 W", "spread": "40 %", "when": "any"}
    made, changes = calibrated_loads(
        'note;draw;load\r\nred;1,5 W;lamp\r\n;"2 A";vhf', [1.0, 1.1], more=more
    )
    assert made == 'note;draw;load\r\nred;1,5 W;lamp\r\n;"2,2 A";vhf\r\n;5,25 W;not in the list'
    assert [(one.place, one.old, one.new, one.added) for one in changes] == [
        ("draw (vhf)", "2 A", "2,2 A", False),
        ("draw (not in the list)", "-", "5.25 W", True),
    ]


def test_a_list_with_the_line_ends_of_old_machines_keeps_them():
    made, _ = calibrated_loads("load,draw\rvhf,3 W\rais,2 W\r", [2.0, 2.0])
    assert made == "load,draw\rvhf,6 W\rais,4 W\r"


def test_a_draw_beyond_all_reason_is_refused():
    with pytest.raises(InputError) as caught:
        calibrated_loads("load,draw\nwindlass,15 kW\n", [2.0])
    assert str(caught.value).startswith(
        "loads.csv:2:2: draw (column B): '15 kW' would become too much: '30 kW' is more than 20000 "
    )


WORDS = st.text(alphabet='ab ,;\t"#é\n', max_size=8)
DRAWS = st.builds(
    "{}{}{}{}".format,
    st.sampled_from(["", " "]),
    st.sampled_from(["36", "0.4", "1.25e2", ".5", "+7"]),
    st.sampled_from([" W", "W", " A", " mA", "  mW", " watts"]),
    st.sampled_from(["", " "]),
)


@settings(max_examples=60)
@given(
    rows=st.lists(st.tuples(DRAWS, st.one_of(st.just(""), DRAWS), WORDS), min_size=1, max_size=4),
    delimiter=st.sampled_from(",;\t"),
    end=st.sampled_from(["\n", "\r\n"]),
    quoting=st.sampled_from([csv.QUOTE_ALL, csv.QUOTE_MINIMAL]),
    factor=st.floats(0.4, 2.5),
)
def test_however_the_list_is_written_only_numbers_change(
    tmp_path_factory, rows, delimiter, end, quoting, factor
):
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=delimiter, lineterminator=end, quoting=quoting)
    writer.writerow(["note", "draw", "standby", "load"])
    for number, (draw, standby, note) in enumerate(rows):
        writer.writerow([f"n{note}", draw, standby, f"load {number}"])
    text = stream.getvalue()
    made, changes = calibrated_loads(text, [factor] * len(rows))
    cells, were = (
        list(csv.reader(io.StringIO(one, newline=""), delimiter=delimiter)) for one in (made, text)
    )
    assert [[row[0], row[3]] for row in cells] == [[row[0], row[3]] for row in were]
    assert len(made) - len(text) == sum(len(one.new) - len(one.old) for one in changes)
    folder = tmp_path_factory.mktemp("loads")
    (folder / "a.csv").write_bytes(text.encode())
    (folder / "b.csv").write_bytes(made.encode())
    for plain, more in zip(
        *(read_loads(folder / name) for name in ("a.csv", "b.csv")), strict=True
    ):
        for name in ("draw_W", "draw_A", "standby_W", "standby_A"):
            assert getattr(more, name) == pytest.approx(factor * getattr(plain, name), rel=ROUNDING)
        assert (more.name, more.note, more.on_frac) == (plain.name, plain.note, plain.on_frac)
