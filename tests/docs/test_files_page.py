"""docs/reference/files.md names every column and key, and its examples and bounds are true."""

import re
import runpy
from pathlib import Path

import pytest

from powersim.errors import InputError
from powersim.inputs.boat import KEYS_BY_TABLE, collect_boat
from powersim.inputs.boat_solar import SHADE_KEYS
from powersim.inputs.folder import load_folder
from powersim.inputs.load_columns import LOAD_COLUMNS
from powersim.inputs.loads import read_loads
from powersim.inputs.log import log_columns, read_log
from powersim.inputs.power_curve import read_curve
from powersim.inputs.route import ROUTE_COLUMNS, read_route
from powersim.inputs.trial import TRIAL_COLUMNS, read_trial
from powersim.logbook.charge_readings import REST_AFTER_CHARGE_h, REST_AFTER_DISCHARGE_h
from powersim.logbook.contradictions import FARTHEST_NM, LATEST_h
from powersim.logbook.counters import METER_SLACK_h
from powersim.records.chargers.power_curve import AIR, SEA

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "reference" / "files.md").read_text(encoding="utf-8")
RANGES = runpy.run_path(str(DOCS / "make_reference.py"))["COLUMN_RANGES"]
KEYS = [
    (table, key) for table, keys in (*KEYS_BY_TABLE.items(), ("shade", SHADE_KEYS)) for key in keys
]
ENDS = [
    (file, column, least, most)
    for file, columns in RANGES.items()
    if file != "curve"
    for column, ranges in columns.items()
    for least, most in ranges
]


def generated(name):
    """What stands between the marks of one table."""
    return PAGE.split(f"<!-- generated: {name} -->")[1].split("<!-- end -->")[0]


def example(language, place=0):
    """A block of code on the page."""
    return re.findall(rf"^```{language}\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)[place]


@pytest.mark.parametrize("column", LOAD_COLUMNS, ids=lambda each: each.column.name)
def test_every_column_of_the_load_list_is_described(column):
    assert f"\n| `{column.column.name}` | {column.column.meaning} |" in generated("loads.csv")


@pytest.mark.parametrize("column", ROUTE_COLUMNS, ids=lambda each: each.column.name)
def test_every_column_of_the_route_is_described(column):
    assert f"\n| `{column.column.name}` | {column.column.meaning} |" in generated("route.csv")


@pytest.mark.parametrize(("table", "key"), KEYS, ids=lambda each: getattr(each, "name", each))
def test_every_key_of_the_boat_is_described(table, key):
    assert f"\n| `{key.name}` | " in generated(table)
    heading = {"shade": "#### Shade sectors"}.get(table, f"[{table}]")
    assert heading in PAGE


@pytest.mark.parametrize("column", TRIAL_COLUMNS, ids=lambda each: each.name)
def test_every_column_of_the_trial_is_described(column):
    assert f"\n| `{column.name}` | {column.meaning} |" in generated("trial.csv")


def read_cell(tmp_path, file, heading, text):
    """Read one cell as the only optional one of its file."""
    path = tmp_path / file
    if file == "trial.csv":
        cells = {"load": "lamp", "on": "1 A"} | {heading: text}
        path.write_text(f"{','.join(cells)}\n{','.join(cells.values())}\n", encoding="utf-8")
        trial = read_trial(path)
        if trial.set_aside:
            raise InputError(trial.set_aside)
        return trial
    if file == "loads.csv":
        other = {} if heading.startswith("draw") else {"draw": "1 W"}
        if heading.startswith("failed"):  # of nothing, unless tries are made
            other |= {"often": "1 message/day", "each": "1 min"}
        cells = {"load": "lamp", **other, heading: text}
        path.write_text(f"{','.join(cells)}\n{','.join(cells.values())}\n", encoding="utf-8")
        return read_loads(path)
    cells = {"waypoint": "A", "lat": "10 N", "lon": "10 E", "speed": "4 kn"} | {heading: text}
    if heading == "speed_kn":
        del cells["speed"]
    last = {"waypoint": "B", "lat": "11 N", "lon": "11 E"}
    rows = [cells, cells | dict.fromkeys(set(cells) - set(last), "") | last]
    lines = [",".join(row[name] for name in cells) for row in rows]
    path.write_text("\n".join([",".join(cells), *lines]), encoding="utf-8")
    return read_route(path)


def nudged(text, by):
    number, _, unit = text.partition(" ")
    return f"{float(number) + by:.3f} {unit}".strip()


@pytest.mark.parametrize(("file", "column", "least", "most"), ENDS)
def test_bounds_are_those_of_the_readers(tmp_path, file, column, least, most):
    row = next(line for line in generated(file).splitlines() if line.startswith(f"| `{column}`"))
    assert f"{least} to {most}" in row
    read_cell(tmp_path, file, column, least)
    if column == "stop":  # 366 days are read, and are no passage only together with the others
        most = "183 days"
    read_cell(tmp_path, file, column, most)
    for beyond in (nudged(least, -0.001), nudged(most, 200.0 if column == "stop" else 0.001)):
        with pytest.raises(InputError):
            read_cell(tmp_path, file, column, beyond)


@pytest.mark.parametrize("column", ["wind", "speed", "power"])
def test_bounds_of_a_power_curve_are_those_of_its_reader(tmp_path, column):
    ((least, most),) = RANGES["curve"][column]
    row = next(line for line in generated("curve").splitlines() if line.startswith(f"| `{column}`"))
    assert f"{least} to {most}" in row

    def problems(first, last):
        cells = {"power": ["0 kn,{}", "39 kn,{}"]}.get(column, ["{},0 W", "{},9 W"])
        heading = "speed,power" if column == "power" else f"{column},power"
        rows = [cell.format(text) for cell, text in zip(cells, (first, last), strict=True)]
        path = tmp_path / "curve.csv"
        path.write_text("\n".join([heading, *rows]) + "\n", encoding="utf-8")
        return read_curve(path, AIR if column == "wind" else SEA).problems

    assert problems(least, most) == ()
    assert problems(nudged(least, -0.001), most)
    assert problems(least, nudged(most, 0.001))


@pytest.mark.parametrize("heading", ["wind_kn", "wind_m_s", "speed_kn", "power_W"])
def test_headings_for_bare_numbers_of_a_curve_are_read(tmp_path, heading):
    assert f"`{heading}`" in PAGE
    other = "speed_kn" if heading == "power_W" else "power_W"
    path = tmp_path / "curve.csv"
    path.write_text(f"{heading},{other}\n0,0\n9,9\n", encoding="utf-8")
    assert read_curve(path, AIR if heading.startswith("wind") else SEA).problems == ()


BARE = re.findall(
    r"`([a-z_]+?_(?:W|A|%|h_per_day|L_per_h|deg|kn|h|m_per_s|degC|okta))`",
    re.sub(r"\n## (?:log|trial)\.csv\n.*?(?=\n## )", "", PAGE, flags=re.DOTALL),
)


@pytest.mark.parametrize(
    "heading", sorted(set(re.findall(r"`([a-z_]+_(?:A|Ah|V|h))`", generated("trial.csv"))))
)
def test_headings_for_bare_numbers_of_the_trial_are_read(tmp_path, heading):
    also = {"counted_over": "1 h"} if heading.endswith("_Ah") else {}
    cells = {"load": "lamp", "on": "1 A"} | also | {heading: "10"}
    if heading.startswith("on_"):
        del cells["on"]
    path = tmp_path / "trial.csv"
    path.write_text(f"{','.join(cells)}\n{','.join(cells.values())}\n", encoding="utf-8")
    trial = read_trial(path)
    assert trial.set_aside == ()
    assert any(10.0 in (one.shown_A, one.voltage_V) for one in trial.readings) or "over" in heading


def test_headings_for_bare_positions_are_read(tmp_path):
    assert {"lat_deg", "lon_deg"} < set(BARE)
    path = tmp_path / "route.csv"
    path.write_text("waypoint,lat_deg,lon_deg,speed\nA,1,1,4 kn\nB,2,2,\n")
    assert [place.lat_deg for place in read_route(path)] == [1.0, 2.0]


@pytest.mark.parametrize("heading", sorted(set(BARE) - {"lat_deg", "lon_deg", "power_W"}))
def test_headings_for_bare_numbers_are_read(tmp_path, heading):
    loads = [head for head in BARE if f"`{head}`" in generated("loads.csv")]
    assert read_cell(tmp_path, "loads.csv" if heading in loads else "route.csv", heading, "1")


def test_the_example_of_a_folder_loads(tmp_path):
    for name, text in (
        ("boat.toml", example("toml", 1)),
        ("loads.csv", example("csv", 1)),
        ("route.csv", example("csv", 2)),
    ):
        (tmp_path / name).write_text(text, encoding="utf-8")
    passage = load_folder(tmp_path)
    assert passage.name == "Suva to Honiara"
    assert [load.name for load in passage.loads][-1] == "laptop"
    assert passage.waypoints[2].stop_h == 48.0


def test_the_example_of_other_chargers_is_read_with_its_curve(tmp_path):
    (tmp_path / "my-curve.csv").write_text(example("csv"), encoding="utf-8")
    path = tmp_path / "boat.toml"
    path.write_text('[battery]\nchemistry = "gel"\ncapacity = "90 Ah"\n' + example("toml"))
    found = collect_boat(path)
    assert found.problems == ()
    assert [charger.kind for charger in found.boat.chargers] == ["wind", "towed", "shore"]
    assert found.boat.chargers[0].powers_W == (0.0, 18.0, 70.0, 150.0, 300.0)


@pytest.mark.parametrize(
    "position", re.findall(r"`([^`]+)`", PAGE.split("- **position**")[1].split("Latitude")[0])
)
def test_the_ways_of_writing_a_position_are_one_place(tmp_path, position):
    path = tmp_path / "route.csv"
    path.write_text(
        f'waypoint,position,speed\nA,"{position.replace(chr(34), "")}",4 kn\nB,0 N 0 E,\n'
    )
    start = read_route(path)[0]
    assert (start.lat_deg, start.lon_deg) == pytest.approx((-17.5333, 177.975), abs=1e-3)


def test_the_words_for_a_stop_and_for_motoring_are_read(tmp_path):
    said = PAGE.split("- **stop**")[1].split("- **tack**")[0]
    stops, motoring = (re.findall(r"`(\w[^`;]+)`", part) for part in said.split("- **motoring**"))
    assert len(stops) == 4
    for text in stops:
        assert read_cell(tmp_path, "route.csv", "stop", text)[0].stop_h > 0
    assert motoring == ["2 h at start", "3 h at end", "60 % of calms", "none"]
    for text in motoring:
        read_cell(tmp_path, "route.csv", "motoring", text)


LOG_COLUMNS = [each for each in log_columns(can_L=20.0) if each.column.name != "note"]
#: Columns whose cells are a quantity between two bounds: `0 V to 100 V`.
LOG_ENDS = [
    (each.column.name, *ends)
    for each in LOG_COLUMNS
    for ends in re.findall(r"(-?\d+ \S+) to (\d+ \w+|\d+ %)", each.span)
]


def read_log_cell(tmp_path, heading, text):
    """The one entry of a log with one cell besides its time, and the problems."""
    path = tmp_path / "log.csv"
    path.write_text(f'time,{heading}\n2026-09-12 08:00,"{text}"\n', encoding="utf-8")
    log = read_log(path, can_L=20.0)
    return log.entries[0], log.set_aside


@pytest.mark.parametrize("each", LOG_COLUMNS, ids=lambda each: each.column.name)
def test_every_column_of_the_log_is_described(each):
    assert f"\n| `{each.column.name}` | {each.column.meaning} |" in generated("log.csv")
    assert "`note`: free text" in PAGE


def test_all_but_a_few_columns_of_the_log_have_bounds():
    bounded = {name for name, _, _ in LOG_ENDS}
    names = {each.column.name for each in LOG_COLUMNS}
    assert names - bounded == {"time", "ship_time", "date", "position"}


@pytest.mark.parametrize(("column", "least", "most"), LOG_ENDS)
def test_bounds_of_the_log_are_those_of_its_reader(tmp_path, column, least, most):
    for within in (least, most):
        assert read_log_cell(tmp_path, column, within)[1] == ()
    for beyond in (nudged(least, -0.001), nudged(most, 0.001)):
        entry, (problem,) = read_log_cell(tmp_path, column, beyond)
        assert "is not between" in problem.text
        assert entry.clock_s


@pytest.mark.parametrize(
    "heading",
    [
        heading
        for row in generated("log.csv").splitlines()[3:]
        for heading in re.findall("`([^`]+)`", row.split("|")[-2] if row else "")
    ],
)
def test_headings_for_bare_numbers_of_the_log_are_read(tmp_path, heading):
    bare = "-1" if heading == "monitor_Ah" else "1"  # which alone is never above 0
    assert read_log_cell(tmp_path, heading, bare)[1] == ()


def test_examples_of_the_log_are_read(tmp_path):
    for each in LOG_COLUMNS:
        if each.read is not None:
            said = each.column.example.split("; a bare")[0]
            for text in re.split(r", | or ", said):
                assert read_log_cell(tmp_path, each.column.name, text)[1] == (), each.column.name


def test_the_example_of_a_log_is_read(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(example("csv", 3), encoding="utf-8")
    log = read_log(path, can_L=20.0)
    assert log.set_aside == ()
    assert [entry.cans_L for entry in log.entries] == [60.0, 60.0, None, 40.0]
    assert [entry.in_ship_time for entry in log.entries] == [False, True, False, False]
    assert log.entries[3].dip_m == pytest.approx(0.214)
    assert log.entries[2].solar_Ah is None


def test_limits_of_the_log_are_those_of_the_program():
    said = " ".join(PAGE.split("\n## log.csv\n")[1].split("\n## ")[0].split())
    assert f"more than {FARTHEST_NM:.0f} nm off the route" in said
    assert f"more than {LATEST_h / 24.0:.0f} days after landfall" in said
    assert METER_SLACK_h == 0.2
    assert "and two tenths for its reading" in said
    assert (
        f"From {REST_AFTER_DISCHARGE_h:.0f} h after discharge, "
        f"or {REST_AFTER_CHARGE_h:.0f} h after charging" in said
    )


def test_a_bank_alone_is_enough_for_a_boat(tmp_path):
    path = tmp_path / "boat.toml"
    path.write_text('[battery]\nchemistry = "gel"\ncapacity = "90 Ah"\n')
    assert collect_boat(path).boat.battery.capacity_Ah == 90.0
