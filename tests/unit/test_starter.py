"""The folders that are written out for the sailor load without a word of complaint."""

import re

import pytest

from powersim.inputs.cautions import cautions_of
from powersim.inputs.folder import load_folder
from powersim.inputs.standing_cautions import standing_cautions
from powersim.inputs.starter import OCEAN, STARTERS, demo_files, demo_names, starter_files
from powersim.records.units_aboard import FAHRENHEIT, UnitsAboard, printed_in


@pytest.fixture
def written_out(tmp_path):
    """A folder with the given files in it."""

    def write(files):
        for name, text in files.items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        return tmp_path

    return write


def test_the_starter_folder_loads(written_out):
    passage = load_folder(written_out(starter_files()))
    assert passage.name == "Hobart to Noumea"
    assert len(passage.loads) == 13
    assert passage.boat.engine.rated_kW == 13.0


#: Lines that each starter offers: all of them but the notes in words.
OFFERED = {
    "ocean": 53,
    "anchorage": 48,
    "coast": 52,
    "no-engine": 30,
    "petrol-outboard": 40,
    "lithium": 42,
}


@pytest.mark.parametrize("like", STARTERS)
def test_every_line_that_a_starter_offers_can_be_uncommented(like, written_out):
    """Lines such as `# health = "85 %"` are worth nothing if they do not load."""
    files = starter_files(like)
    offered = re.compile(r"^# (\w+ = .*|\[+\w+\]+|  \{ from.*|\])$", re.MULTILINE)
    text, count = offered.subn(r"\1", files["boat.toml"])
    assert count == OFFERED[like]
    assert load_folder(written_out(files | {"boat.toml": text})).name


def test_what_the_ocean_starter_offers_is_what_it_says(written_out):
    files = starter_files()
    offered = re.compile(r"^# (\w+ = .*|\[\w+\]|  \{ from.*|\])$", re.MULTILINE)
    passage = load_folder(
        written_out(files | {"boat.toml": offered.sub(r"\1", files["boat.toml"])})
    )
    assert passage.boat.shedding.useful_below_soc == 0.52
    assert len(passage.boat.panels[0].shades) == 2


def test_the_demo_is_the_boat_that_is_described(written_out):
    """220 Ah lead-acid, 2 x 100 W, 45 A hot, 14 kW, 85 L and five cans of 20 L."""
    passage = load_folder(written_out(demo_files()))
    boat = passage.boat
    assert (boat.battery.chemistry, boat.battery.capacity_Ah) == ("flooded", 220.0)
    assert [panel.power_W * panel.count for panel in boat.panels] == [100.0, 100.0]
    assert (boat.alternator.charging_A, boat.engine.rated_kW) == (45.0, 14.0)
    assert (boat.fuel.tank_L, boat.fuel.jerrycans_L) == (85.0, 100.0)
    assert [passage.waypoints[0].name, passage.waypoints[-1].name] == ["Reykjavik", "Mindelo"]
    assert sum(place.stop_h for place in passage.waypoints) == 96.0  # at Horta


def test_the_demo_says_that_it_is_invented():
    for name, text in demo_files().items():
        assert "invented" in text, name


def test_lithium_is_not_to_be_charged_below_freezing_in_the_degrees_aboard(written_out):
    passage = load_folder(written_out(starter_files("lithium")))
    assert "no charge below 0 degC." in " ".join(standing_cautions(passage))
    with printed_in(UnitsAboard(temperature=FAHRENHEIT)):
        assert "no charge below 32 degF." in " ".join(standing_cautions(passage))


@pytest.mark.parametrize("like", STARTERS)
def test_no_starter_is_warned_of_and_each_says_that_it_is_invented(like, written_out):
    """Its parts are all in place, and it lies where no other example does."""
    files = starter_files(like)
    for name, text in files.items():
        assert "nvented" in text, name
        assert "#< " not in text, name
    passage = load_folder(written_out(files))
    assert (cautions_of(passage), passage.doubts) == ((), ())
    others = [files["route.csv"] for files in map(starter_files, STARTERS)]
    others += [demo_files(name)["route.csv"] for name in demo_names()]
    ends = {passage.waypoints[0].name, passage.waypoints[-1].name}
    assert sum(any(f"\n{end}," in text for end in ends) for text in others) == 1


def test_each_starter_is_what_its_name_says(written_out):
    passages = {like: load_folder(written_out(starter_files(like))) for like in STARTERS}
    boats = {like: passage.boat for like, passage in passages.items()}
    stays = passages["anchorage"].waypoints
    assert {(each.lat_deg, each.lon_deg) for each in stays} == {(38 + 22.2 / 60, 20 + 42.9 / 60)}
    assert [each.stop_h / 24.0 for each in stays] == [21.0, 0.0]
    nights = [each.stop_state for each in passages["coast"].waypoints if each.stop_h]
    assert nights.count("berthed") == 4
    assert (boats["no-engine"].engine, boats["no-engine"].alternator) == (None, None)
    assert boats["petrol-outboard"].engine.kind == "petrol"
    assert boats["petrol-outboard"].fuel.jerrycans_L == 20.0
    lithium = boats["lithium"]
    assert (lithium.battery.chemistry, lithium.battery.reading) == ("lifepo4", "monitor")
    assert lithium.alternator.temperature_controlled
    assert lithium.alternator.charging_A == 0.5 * lithium.alternator.nameplate_A
    assert next(iter(boats)) == OCEAN


def test_the_petrol_boat_is_told_of_vapour_in_her_file_and_by_check(written_out):
    files = starter_files("petrol-outboard")
    assert "heavier than air" in files["boat.toml"]
    told = " ".join(standing_cautions(load_folder(written_out(files))))
    assert "Petrol vapour is heavier than air" in told
