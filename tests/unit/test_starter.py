"""The folders that are written out for the sailor load without a word of complaint."""

import re

import pytest

from powersim.inputs.folder import load_folder
from powersim.inputs.starter import demo_files, starter_files


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


def test_every_line_that_the_starter_offers_can_be_uncommented(written_out):
    """Lines such as `# health = "85 %"` are worth nothing if they do not load."""
    files = starter_files()
    offered = re.compile(r"^# (\w+ = .*|\[\w+\]|  \{ from.*|\])$", re.MULTILINE)
    text, count = offered.subn(r"\1", files["boat.toml"])
    assert count == 52  # all of them but the notes in words
    passage = load_folder(written_out(files | {"boat.toml": text}))
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
