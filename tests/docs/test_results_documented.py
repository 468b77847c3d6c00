"""docs/reference/results.md describes every column and key that is written, and no other."""

import csv
import io
import json
import re
from array import array
from dataclasses import replace
from pathlib import Path

import pytest
from builders import in_average
from compared_made import compared_of, outcome_made
from hand_worked import LOADS, boat_of, passage_of
from logged import NOW, write_logged
from planned import grey_passage
from size_made import point_of_size

import powersim
from powersim.cli.main import run
from powersim.errors import Problem
from powersim.logbook.words import NAMES
from powersim.planning.size_front import compare_choices
from powersim.planning.size_point import Study
from powersim.records import (
    Device,
    HeavyWeather,
    Irradiance,
    Load,
    Session,
    SetValue,
    ShorePower,
    WaterGenerator,
    WindGenerator,
)
from powersim.report.compare_files import compare_files
from powersim.report.endurance_dict import endurance_dict
from powersim.report.files import result_files
from powersim.report.ladder_dict import ladder_dict
from powersim.report.paper_view import paper_dict
from powersim.report.size_files import size_files

#: Columns that only some boats have.
_OF_SOME_BOATS = "(wind|water|shore)_|lain_to_h|waited_h|runs_waited"
TABLES = ["hourly.csv", "daily.csv", "engine.csv", "members.csv", "bands.csv", "risk.csv"]
#: Their columns and keys are there only where a boat has them.
CHARGERS = (
    WindGenerator(speeds_m_s=(3.0, 10.0), powers_W=(0.0, 60.0)),
    WaterGenerator(speeds_kn=(2.0, 6.0), powers_W=(0.0, 60.0)),
    ShorePower(rated_A=20.0),
)
CHANGED = SetValue(place="loads.lamp", old="1", new="0", told="lamp left off")
#: A laptop that the weather wants, things to be heard by, and one that is not worth giving up.
LADDER_LOADS = (
    Load(
        name="weather",
        draw_W=7.0,
        role="comms",
        on_frac=None,
        session=Session(words="downloads", each_h=0.5, beside=("laptop",)),
    ),
    Load(
        name="laptop",
        draw_W=30.0,
        on_frac=None,
        on_h_per_day=4.0,
        role="navigation",
        priority="comfort",
    ),
    Load(name="beacon", draw_A=0.001, role="comms", priority="essential"),
    Load(name="vhf", draw_A=0.3, role="vhf"),
    Load(name="AIS transponder", draw_A=0.2, role="lookout"),
)
REPORTS = Load(name="tracker", draw_W=2.0, on_frac=None, session=Session(each_h=0.1))
TORCH = Device(name="torch", battery_Wh=9.0, use_Wh_per_day=4.0)
#: Two that fail together.
PHONES = (
    Load(name="phone", draw_W=1.0, role="comms"),
    Load(name="weather by phone", draw_W=1.0, role="comms"),
)
PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "results.md"


@pytest.fixture(scope="module")
def files():
    """Results in which every list of the summary has a member."""
    never_used = Load(name="shore lamp", draw_A=1.0, states=frozenset({"berthed"}))
    boat = boat_of(
        devices=(TORCH,), chargers=CHARGERS, heavy_weather=HeavyWeather(lie_to_above_kn=34.0)
    )
    passage = passage_of(boat=boat, loads=(*LOADS, never_used))
    light = Irradiance(
        file="light.csv",
        start_utc_s=array("d", [passage.depart_utc.timestamp()]),
        step_s=3600.0,
        ghi_W_m2=array("d", [300.0]),
    )
    unread = Problem(file="tuesday.grib2", text="is empty")
    passage = replace(passage, irradiance=light, left_out=(unread,), changed=(CHANGED,))
    return result_files(powersim.simulate(passage, members=3), figures=False)


def described(name):
    """Names in the first column of the tables of a file's section, and their units."""
    section = PAGE.read_text(encoding="utf-8").split(f"\n## {name}\n")[1].split("\n## ")[0]
    return re.findall(r"^\| `([^`]+)` \|([^|]*)\|", section, re.MULTILINE)


def test_a_boat_without_other_chargers_has_the_rest():
    files = result_files(powersim.simulate(passage_of(), members=3), figures=False)
    for name in TABLES:
        written = next(csv.reader(io.StringIO(files[name])))
        rest = [column for column, _ in described(name) if not re.match(_OF_SOME_BOATS, column)]
        assert sorted(written) == sorted(rest)


def keys_of(value, place=""):
    """Dotted names of everything in the summary that is no dict and no list."""
    if isinstance(value, dict):
        for key, part in value.items():
            yield from keys_of(part, f"{place}.{key}" if place else key)
    elif isinstance(value, list):
        for part in value:
            yield from keys_of(part, f"{place}[]")
    else:
        yield place


@pytest.mark.parametrize("name", TABLES)
def test_every_column_is_described_once_and_no_other(files, name):
    columns = next(csv.reader(io.StringIO(files[name])))
    assert sorted(column for column, _ in described(name)) == sorted(columns)


def test_every_key_of_the_summary_is_described_once_and_no_other(files):
    written = set(keys_of(json.loads(files["summary.json"])))
    assert sorted(key for key, _ in described("summary.json")) == sorted(written)


@pytest.mark.parametrize("name", [*TABLES, "summary.json", "underway --json", "sounding --json"])
def test_the_unit_is_that_of_the_name(name):
    ends = {"_Ah": "Ah", "_Wh": "Wh", "_V": "V", "_L": "L", "_h": "h", "_nm": "nm", "_C": "degC"}
    ends |= {"_Ah_per_day": "Ah/day", "_min_per_day": "min/day", "_deg": "deg", "_days": "days"}
    for key, unit in described(name):
        column = re.sub(r"\.p\d\d$", "", key)  # a band has the unit of what it is of
        for end, expected in ends.items():
            if column.endswith(end):
                assert unit.strip() == expected, column


@pytest.mark.parametrize("members", [1, 2])
def test_every_key_of_endurance_is_described_once_and_no_other(members):
    asked = passage_of(
        boat=boat_of(devices=(TORCH,)), loads=(*LOADS, *PHONES, *LADDER_LOADS[:4], REPORTS)
    )
    result = in_average(replace(asked, changed=(CHANGED,)))
    found = powersim.endurance(result, from_h="worst", members=members)
    written = set()
    for name in keys_of(endurance_dict(found, result)):
        written.add(re.sub(r"\.p(10|50|90)$", "", name))
    told = [name for name, _ in described("endurance --json")]
    assert len(told) == len(set(told))
    assert set(told) == written - {"ensemble.members", "ensemble.seed"}


def test_every_key_of_the_ladder_is_described_once_and_no_other():
    """Of a boat with an engine, a laptop for the weather, and two things to be heard by."""
    found = powersim.ladder(
        replace(passage_of(loads=LADDER_LOADS), changed=(CHANGED,)), step_h=1.0, members=20
    )
    written = {re.sub(r"\.p(10|50|90)$", "", name) for name in keys_of(ladder_dict(found))}
    told = [name for name, _ in described("ladder --json")]
    assert len(told) == len(set(told))
    assert set(told) == written


def test_every_key_of_the_table_on_paper_is_described_once_and_no_other():
    passage = replace(grey_passage(battery={"reading": "volts"}), changed=(CHANGED,))
    found = powersim.paper(passage, step_h=1.0, members=20)
    told = [name for name, _ in described("paper --json")]
    assert len(told) == len(set(told))
    assert set(told) == set(keys_of(paper_dict(found)))


def test_every_column_and_key_of_size_is_described_once_and_no_other():
    passage = passage_of()
    study = Study(passage=passage, boats={}, members=20, seed=1, step_h=0.25)
    files = size_files(compare_choices([point_of_size()], risk_frac=0.05), study, figures=False)
    columns = next(csv.reader(io.StringIO(files["size.csv"])))
    assert [column for column, _ in described("size.csv")] == columns
    assert [key for key, _ in described("size.json")] == list(json.loads(files["size.json"]))


def test_every_column_and_key_of_compare_is_described_once_and_no_other():
    files = compare_files(compared_of(outcome_made(), outcome_made()), figures=False)
    columns = next(csv.reader(io.StringIO(files["compare.csv"])))
    assert [column for column, _ in described("compare.csv")] == columns
    assert [key for key, _ in described("compare.json")] == list(json.loads(files["compare.json"]))


def printed(capsys, *arguments):
    """What a command prints as JSON."""
    assert run([*map(str, arguments), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_every_key_of_underway_is_described_once_and_no_other(tmp_path, capsys):
    folder = write_logged(tmp_path / "passage")
    with (folder / "log.csv").open("a", encoding="utf-8") as log:
        log.write("2031-01-01 00:00,,,,,,,,\n")  # so that something is set aside
        log.write("2026-09-08 07:00,,12.32,,,,,,\n")  # so that something is taken for volts
    quick = ("underway", folder, "--now", NOW, "--members", "20", "--step", "60 min")
    quick += ("--line", "8SEP 0715Z ENG815.4H")
    answer = printed(capsys, *quick, "--write-back", folder)
    # What is not asked, what has ended, and what has no forecast, engine or alternator.
    nothing = {"written", "ahead", "ahead.sky", "new_rule", "new_rule.panel"}
    nothing |= {"new_rule.rule.read_at_h[]", "new_rule.offers[].rule.read_at_h[]"}
    nothing |= {"new_rule.panel.after_sun_h[]"}  # read by a counter, or before dawn
    # A rule may have no daily runs.
    for rule in ("new_rule.rule", "new_rule.offers[].rule"):
        nothing |= {f"{rule}.daily[].{key}" for key in ("at_h", "run_h", "south_deg", "north_deg")}
    # What is in the ladder is told of `ladder --json`. A port is near on so short a passage.
    written = {re.sub(r"^ladder\..*", "ladder", key) for key in keys_of(answer)} | nothing
    bands = re.compile(r"(?<!factors\.NAME)\.p(10|50|90)$")
    names = "|".join(NAMES)
    keys = {
        bands.sub("", re.sub(rf"^factors\.({names})\.", "factors.NAME.", key)) for key in written
    }
    told = [key for key, _ in described("underway --json")]
    assert len(told) == len(set(told))
    assert set(told) == keys
    page = PAGE.read_text(encoding="utf-8").split("\n## underway --json\n")[1]
    assert all(f"`{name}`" in page.split("| key |")[0] for name in NAMES)


def test_every_key_of_a_sea_trial_is_described_once_and_no_other(tmp_path, capsys):
    folder = write_logged(tmp_path / "passage")
    (folder / "log.csv").unlink()
    sheet = "load,on\n,\nvhf radio,O A\nvhf radio,5.4\nvhf,1.2\n"
    (folder / "trial.csv").write_text(sheet, encoding="utf-8")
    answer = printed(capsys, "underway", folder)
    keys = {re.sub(r"day_Ah\.[^.]+", "day_Ah.LOAD", key) for key in keys_of(answer)}
    told = [key for key, _ in described("underway --json, the sea trial")]
    assert len(told) == len(set(told))
    assert {"passage", *told} == keys


def test_every_key_of_a_logger_is_described_once_and_no_other(tmp_path, capsys):
    folder = write_logged(tmp_path / "passage")
    (folder / "log.csv").unlink()
    # Before departure: later days would be held against the passage.
    rows = [f"2026-09-{1 + h // 24:02} {h % 24:02}:00,12.6,-2" for h in range(72)]
    text = "\n".join(["time,V,A", *rows, "cut"])
    (folder / "logger.csv").write_text(text, encoding="utf-8")
    answer = printed(capsys, "underway", folder, "--now", NOW)
    told = [key for key, _ in described("underway --json, the logger")]
    assert len(told) == len(set(told))
    assert {"passage", *told} == set(keys_of(answer))


def test_every_key_of_sounding_is_described_once_and_no_other(tmp_path, capsys):
    folder = write_logged(tmp_path / "passage")
    dip = printed(capsys, "sounding", folder, "20 cm")
    boat = folder / "boat.toml"
    marks = '[fuel]\nneedle = "4 L at E; 85 L at F"\n'
    boat.write_text(boat.read_text("utf-8").replace("[fuel]\n", marks), encoding="utf-8")
    strip = printed(capsys, "sounding", folder, "--table")
    told = [key for key, _ in described("sounding --json")]
    assert len(told) == len(set(told))
    assert set(told) == set(keys_of(dip)) | set(keys_of(strip))
