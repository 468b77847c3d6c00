"""The passages in loads/ are whole, differ from each other, and give the engine something to do.

Where the ports lie: from memory, to a tenth of a degree, as any gazetteer has them; 0.2 deg is
allowed for the rounding and for the difference between a town and its anchorage.
"""

import itertools
import re
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import powersim
from powersim.api.log_read import checked_log
from powersim.cli.main import run
from powersim.inputs.cautions import cautions_of
from powersim.inputs.folder import load_folder
from powersim.inputs.log import LOG_FILE
from powersim.logbook.posterior import posterior_of
from powersim.logbook.words import NAMES
from powersim.report.warnings import warnings_of
from powersim.simulation.result import simulate

LISTS = Path(__file__).parents[2] / "loads"
FILES = ("boat.toml", "loads.csv", "route.csv")


@dataclass(frozen=True, kw_only=True)
class Described:
    """What README.md in loads/ and the names of the folder and its ports promise."""

    begins: tuple[float, float]
    ends: tuple[float, float]
    lat_deg: tuple[float, float]
    month: int
    chemistry: str
    reading: str
    controllers: set[str]
    regulator: str
    start_battery: str
    stops: tuple[str, ...]


DESCRIBED = {
    "iceland-to-cabo-verde": Described(
        begins=(64.15, -21.9),  # Reykjavik
        ends=(16.9, -25.0),  # Mindelo
        lat_deg=(16.5, 64.5),
        month=9,
        chemistry="flooded",
        reading="monitor",
        controllers={"mppt"},
        regulator="constant",
        start_battery="separate",
        stops=("Horta roads", "Horta"),
    ),
    "lombok-to-mauritius": Described(
        begins=(-8.7, 116.1),  # Lembar
        ends=(-20.2, 57.5),  # Port Louis
        lat_deg=(-20.5, -8.0),
        month=7,
        chemistry="lifepo4",
        reading="monitor",
        controllers={"mppt"},
        regulator="multi-stage",
        start_battery="separate",
        stops=("Direction Island", "Port Mathurin"),
    ),
    "new-zealand-to-tahiti": Described(
        begins=(-43.6, 172.7),  # Lyttelton
        ends=(-17.5, -149.6),  # Papeete
        lat_deg=(-44.0, -17.3),
        month=5,
        chemistry="agm",
        reading="monitor",
        controllers={"mppt"},
        regulator="constant",
        start_battery="separate",
        stops=("Raivavae",),
    ),
    "canada-to-hawaii": Described(
        begins=(48.4, -123.4),  # Victoria
        ends=(19.7, -155.1),  # Hilo
        lat_deg=(19.5, 48.6),
        month=10,
        chemistry="flooded",
        reading="volts",
        controllers={"pwm"},
        regulator="constant",
        start_battery="hand",
        stops=("Neah Bay",),
    ),
}

passages = pytest.mark.parametrize("name", DESCRIBED)


@cache
def loaded(name):
    return powersim.load(LISTS / name)


@cache
def simulated(name):
    """In the month's mean sky, at the step that the command takes if nothing is said."""
    return simulate(loaded(name))


def test_every_folder_with_a_boat_is_described_here_and_in_the_readme():
    found = {path.parent.name for path in LISTS.glob("*/boat.toml")}
    assert found == set(DESCRIBED)
    readme = (LISTS / "README.md").read_text(encoding="utf-8")
    assert [name for name in found if f"| `{name}/` |" not in readme] == []


@passages
def test_a_passage_says_in_its_first_lines_that_it_is_invented(name):
    for file in FILES:
        top = (LISTS / name / file).read_text(encoding="utf-8").splitlines()[:5]
        notes = " ".join(line for line in top if line.startswith("#"))
        assert "invented" in notes, file
    boat, route = ((LISTS / name / file).read_text(encoding="utf-8") for file in FILES[::2])
    assert loaded(name).boat.name.startswith("an invented ")
    for text in (boat, route):
        assert "not for navigation" in " ".join(text.replace("#", "").split())


@passages
def test_a_passage_is_checked_without_a_mistake_or_a_caution(name, capsys):
    assert run(["check", str(LISTS / name)]) == 0
    shown = capsys.readouterr()
    assert shown.out.startswith(f"No mistakes in {loaded(name).name}.\n")
    assert shown.err == ""
    assert cautions_of(loaded(name)) == ()


@passages
def test_a_passage_is_the_boat_that_is_described(name):
    passage, told = loaded(name), DESCRIBED[name]
    boat = passage.boat
    assert (boat.battery.chemistry, boat.battery.reading) == (told.chemistry, told.reading)
    assert {each.kind for each in boat.controllers} == told.controllers
    assert boat.alternator.regulator == told.regulator
    assert boat.engine.start_battery == told.start_battery
    assert passage.depart_utc.month == told.month
    assert tuple(place.name for place in passage.waypoints if place.stop_h) == told.stops


@passages
def test_a_passage_goes_where_its_name_says(name):
    passage, told = loaded(name), DESCRIBED[name]
    first, last = passage.waypoints[0], passage.waypoints[-1]
    assert (first.lat_deg, first.lon_deg) == pytest.approx(told.begins, abs=0.2)
    assert (last.lat_deg, last.lon_deg) == pytest.approx(told.ends, abs=0.2)
    lat_deg = simulated(name).hourly["lat_deg"].to_numpy()
    assert told.lat_deg[0] < lat_deg.min() < lat_deg.max() < told.lat_deg[1]


@passages
def test_a_passage_is_sailed_at_a_small_boats_speed(name):
    """4 to 6 knots made good, 100 to 140 miles a day: common practice, no source."""
    passage = loaded(name)
    days_at_rest = sum(place.stop_h for place in passage.waypoints) / 24.0
    told = simulated(name).summary["passage"]
    assert 4.0 < told["distance_nm"] / (told["days"] - days_at_rest) / 24.0 < 6.0


@passages
def test_a_passage_holds_in_the_mean_sky_and_nothing_goes_dark(name):
    result = simulated(name)
    summary = result.summary
    assert summary["holds"] is True
    assert summary["average"]["charge"]["lowest_soc"] > loaded(name).boat.battery.floor_soc
    assert summary["average"]["fuel"]["left_above_reserve_L"] > 0.0
    assert summary["average"]["fuel"]["wanted_and_not_there_L"] == 0.0
    assert summary["average"]["charge"]["dark_h"] == 0.0
    assert summary["totals"]["unserved_Ah"] == 0.0
    # All that any of them is warned of: a long time without a full charge, an engine at light load.
    texts = [each.text for each in warnings_of(result)]
    expected = ("not fully charged", "a diesel glazes and soots up")
    assert [text for text in texts if not any(words in text for words in expected)] == []


@passages
def test_a_passage_needs_its_engine_to_charge(name):
    passage = loaded(name)
    assert simulated(name).summary["average"]["engine"]["charging_runs"] >= 3
    rule = replace(passage.boat.charging, by_engine=False)
    boat = replace(passage.boat, charging=rule)
    # An hour a step: whether the floor is broken by days or not at all asks for no more.
    without = simulate(replace(passage, boat=boat), step_h=1.0).summary
    assert without["average"]["charge"]["floor_broken"] is True
    assert without["average"]["engine"]["charging_runs"] == 0


@passages
def test_a_passage_meets_every_load_on_its_way(name):
    """So a sailor who reads `loads.csv` finds each line of it in the results."""
    passage = loaded(name)
    assert {load.role for load in passage.loads} >= {
        "sailing lights",
        "power lights",
        "anchor light",
        "lookout",
        "vhf",
        "bilge pump",
        "pilot",
        "navigation",
        "comms",
    }
    assert all(load.spread_frac > 0.0 for load in passage.loads)
    taken = {each["load"]: each["Ah_per_day"] for each in simulated(name).summary["loads"]}
    assert set(taken) >= {load.name for load in passage.loads}
    assert min(taken.values()) > 0.0


def test_the_wind_generator_that_one_of_them_offers_in_notes_saves_engine_hours(tmp_path):
    name = "new-zealand-to-tahiti"
    texts = {file: (LISTS / name / file).read_text(encoding="utf-8") for file in FILES}
    boat, offered = texts["boat.toml"].split("take the # from\n")
    begin = offered.index("# [[charger]]")
    texts["boat.toml"] = boat + "\n" + offered[begin:].replace("# ", "")
    for file, text in texts.items():
        (tmp_path / file).write_text(text, encoding="utf-8")
    passage = powersim.load(tmp_path)
    assert [each.kind for each in passage.boat.chargers] == ["wind"]
    with_it = simulate(passage, step_h=1.0).summary
    assert with_it["holds"] is True
    hours = simulated(name).summary["average"]["engine"]["charging_h"]
    assert with_it["average"]["engine"]["charging_h"] < 0.2 * hours


def test_between_them_they_show_what_the_files_can_say():
    every = [loaded(name) for name in DESCRIBED]
    assert {each.boat.battery.chemistry for each in every} == {"flooded", "agm", "lifepo4"}
    assert {kind.kind for each in every for kind in each.boat.controllers} == {"mppt", "pwm"}
    assert {each.boat.alternator.regulator for each in every} == {"constant", "multi-stage"}
    assert {each.ship_offset_h for each in every} == {None, -9.0}
    rules = {load.temperature_rule for each in every for load in each.loads}
    assert rules >= {"fridge", "heater"}
    supplies = {supply.name for each in every for supply in each.boat.supplies}
    assert {load.supply for each in every for load in each.loads} == {"dc"} | supplies


def test_one_of_them_crosses_the_date_line_and_lives_a_date_twice():
    """West to east over 180 deg the zone's clock falls back by a day: the zones of UTC+12 and
    UTC-12 meet there (Bowditch, The American Practical Navigator, on zone time; from memory)."""
    jumps = {
        name: int((np.abs(np.diff(simulated(name).hourly["lon_deg"])) > 180.0).sum())
        for name in DESCRIBED
    }
    assert {name for name, count in jumps.items() if count} == {"new-zealand-to-tahiti"}
    assert jumps["new-zealand-to-tahiti"] == 1
    hourly = simulated("new-zealand-to-tahiti").hourly
    offset_h = hourly["ship_offset_h"].to_numpy()
    at = int(np.flatnonzero(np.diff(offset_h) < -12.0)[0])
    assert (offset_h[at], offset_h[at + 1]) == (12.0, -12.0)
    # A row has the place where its hour begins and the clock of its middle.
    around = hourly["lon_deg"].to_numpy()[at : at + 3]
    assert around[0] > 179.7
    assert around[-1] < -179.7


def test_the_log_of_the_demo_is_whole_and_shows_what_it_was_made_with():
    """Draw 1.12 and sun 0.95, as its first lines say, lie in the intervals of 8 in 10."""
    folder = LISTS / "iceland-to-cabo-verde"
    text = (folder / LOG_FILE).read_text(encoding="utf-8")
    assert "Invented" in text
    assert "draw 12 % more" in text
    assert "5 % less" in text
    said = re.search(r'^#   powersim underway (\S+) --now "(.*)"$', text, re.MULTILINE)
    assert LISTS.parent / said[1] == folder
    passage = load_folder(folder)
    log, sounding = checked_log(passage, now=said[2])
    assert (len(log.readings), log.set_aside) == (21, ())
    posterior = posterior_of(passage, log, members=20, seed=1, sounding=sounding)
    assert posterior.left_out == ()
    low, high = posterior.estimate.band()
    names = list(NAMES)
    for name, truth in (("demand", 1.12), ("solar", 0.95)):
        place = names.index(name)
        assert low[place] < truth < high[place], name


def test_the_log_of_the_demo_keeps_her_rule():
    """At 80 % or less the engine charges before the next reading, and not above it."""
    folder = LISTS / "iceland-to-cabo-verde"
    passage = load_folder(folder)
    log, _ = checked_log(passage, now="2026-09-15 09:00")
    entries = [one.entry for one in log.readings]
    # The three hours under engine come before the first reading at sea.
    for entry, after in itertools.pairwise(entries[1:]):
        ran_h = after.engine_h - entry.engine_h
        low = entry.soc <= passage.boat.charging.start_soc
        assert (ran_h > 1.5) == low, entry
