"""Values set in place of the files': put there, read and refused as if they stood in the files."""

import pickle
from dataclasses import replace

import pytest
from builders import passage_of

import powersim
from powersim.errors import InputError
from powersim.inputs.boat import KEYS_BY_TABLE
from powersim.inputs.folder import load_folder
from powersim.inputs.other_chemistry import boat_of_chemistry
from powersim.inputs.passage_with import passage_with
from powersim.inputs.set_values import PLACE_EXPECTED, parts_of
from powersim.inputs.starter import demo_files
from powersim.inputs.text import ReadingError


@pytest.fixture
def folder(tmp_path):
    for name, text in demo_files().items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


@pytest.fixture
def passage(folder):
    return powersim.load(folder)


def edited(folder, name, before, after):
    """The passage when a hand has put one text into a file in place of another."""
    path = folder / name
    text = path.read_text("utf-8")
    assert text.count(before) == 1
    path.write_text(text.replace(before, after), encoding="utf-8")
    return powersim.load(folder)


@pytest.mark.parametrize(
    ("place", "value", "name", "before", "after"),
    [
        ("battery.capacity", "300 Ah", "boat.toml", '"220 Ah"', '"300 Ah"'),
        ("battery.chemistry", "agm", "boat.toml", '"flooded"', '"agm"'),
        ("battery.health", "70 %", "boat.toml", "[battery]", '[battery]\nhealth = "70 %"'),
        ("panel.coachroof.mount", "clear", "boat.toml", '"coachroof"\n\n', '"clear"\n\n'),
        ("panel.2.mount", "clear", "boat.toml", '"coachroof"\n\n', '"clear"\n\n'),
        ("controller.rated", "30 A", "boat.toml", '"20 A"', '"30 A"'),
        ("fuel.tank.width", "57 cm", "boat.toml", '"55 cm"', '"57 cm"'),
        ("shedding.comfort_below", "60 %", "boat.toml", "[alternator]", "@"),
        ("passage.ship_time", "UTC-1", "boat.toml", '"zone"', '"UTC-1"'),
        ("loads.ais transponder.draw", "4 W", "loads.csv", "transponder,3 W", "transponder,4 W"),
        ("loads.AIS transponder.count", 2, "loads.csv", "transponder,3 W,,1", "transponder,3 W,,2"),
        ("loads.bilge pump.supply", "dc", "loads.csv", "pump,5 A", "pump,5 A"),
    ],
)
def test_it_is_as_if_the_file_said_so(passage, folder, place, value, name, before, after):
    if after == "@":  # a table that the file has not
        after = '[shedding]\ncomfort_below = "60 %"\n\n[alternator]'
    changed = passage.with_(place, value)
    assert changed.values == ((place, value),)
    by_hand = edited(folder, name, before, after)
    assert replace(changed, values=()) == by_hand
    assert (replace(changed, values=()) == passage) is (before == after)


def test_a_passage_that_was_changed_stays_one_and_can_be_changed_again(passage):
    changed = passage.with_("battery.capacity", "300 Ah").with_(
        {"battery.capacity": "400 Ah", "loads.vhf radio.draw": "4 A"}
    )
    assert isinstance(changed, powersim.Passage)
    assert changed.boat.battery.capacity_Ah == 400.0
    assert dict(changed.values) == {"battery.capacity": "400 Ah", "loads.vhf radio.draw": "4 A"}
    assert passage.boat.battery.capacity_Ah == 220.0
    assert pickle.loads(pickle.dumps(changed)) == changed


def test_what_was_said_on_loading_stays_and_can_be_changed_too(folder):
    later = powersim.load(folder, depart="2026-09-20 09:00")
    assert later.with_("battery.capacity", "300 Ah").depart_utc == later.depart_utc
    latest = later.with_("passage.depart", "2026-10-01 09:00")
    assert latest.depart_utc.isoformat() == "2026-10-01T09:00:00+00:00"


def test_what_python_has_changed_stays_unless_the_value_changes_that_very_thing(passage):
    fewer = replace(passage, loads=passage.loads[:3])
    assert fewer.with_("battery.capacity", "300 Ah").loads == passage.loads[:3]
    with pytest.raises(ValueError, match=r"^loads is not what the files say: .* load the passage"):
        fewer.with_("loads.vhf radio.draw", "4 A")


def test_files_that_have_been_written_since_are_not_mixed_with_what_was_read(passage, folder):
    edited(folder, "boat.toml", '"220 Ah"', '"230 Ah"')
    with pytest.raises(ValueError, match=r"^boat\.battery is not what the files say"):
        passage.with_("battery.floor", "55 %")


def test_a_passage_of_no_folder():
    with pytest.raises(ValueError, match="not read from a folder"):
        passage_with(passage_of(), {"battery.capacity": "300 Ah"})


@pytest.mark.parametrize(
    ("place", "value", "message"),
    [
        (
            "battery.capacity",
            "300 W",
            "set: battery.capacity: '300 W' is a power\n"
            "  expected  charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            "battery.capacity",
            300,
            "set: battery.capacity: 300 has no unit; write it with its unit, in quotes\n"
            "  expected  charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            "battery.capcity",
            "300 Ah",
            "set: battery.capcity: unknown key; did you mean 'capacity'?\n"
            "  expected  capacity, charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            "batery.capacity",
            "300 Ah",
            "set: batery.capacity: unknown table; did you mean 'battery'?",
        ),
        ("capacity", "300 Ah", "set: capacity: names nothing in the files"),
        ("", "300 Ah", "set: '': names nothing in the files"),
        ("battery.capacity", ["300 Ah"], "set: battery.capacity: a list is not what a file says"),
        ("battery.capacity.label", "1", "set: battery.capacity.label: '220 Ah' is not a table"),
        ("panel.power", "90 W", "set: panel.power: which panel: arch, coachroof?"),
        (
            "panel.arhc.power",
            "90 W",
            "set: panel.arhc.power: no panel 'arhc'; did you mean 'arch'?",
        ),
        ("charger.wind.kind", "wind", "set: charger.wind.kind: there is no [[charger]]"),
        (
            "loads.vhf radio.draw",
            "2",
            "set: loads.vhf radio.draw: '2' has no unit\n"
            "  expected  power or current while on, for example 36 W or 3 A",
        ),
        ("loads.vhf radio", "2 A", "set: loads.vhf radio: needs a load and one of its columns"),
        ("loads.vfh radio.draw", "2 A", "set: loads.vfh radio.draw: no load 'vfh radio'; did you"),
        ("loads.vhf radio.drwa", "2 A", "set: loads.vhf radio.drwa: unknown column; did you mean"),
        ("loads.music.load", "vhf radio", "set: loads.music.load: 'vhf radio' is already on line"),
    ],
)
def test_a_value_that_the_files_could_not_say_is_refused_in_their_words(
    passage, place, value, message
):
    with pytest.raises(InputError) as caught:
        passage.with_(place, value)
    (problem,) = caught.value.problems
    assert str(problem).startswith(message)
    assert "\n" in message or problem.expected in (
        PLACE_EXPECTED,
        "a name of its own for every load",
    )


def test_all_mistakes_are_told_at_once(passage):
    with pytest.raises(InputError) as caught:
        passage.with_({"battery.capacity": "1 W", "loads.vhf radio.draw": "1", "x": "1"})
    assert len(caught.value.problems) == 3


def test_what_a_value_makes_of_the_rest_is_told_with_its_line(passage, folder):
    """The stop of 80 % stands in the file; the value alone would do."""
    with pytest.raises(InputError) as caught:
        passage.with_("charging.stop", "60 %")
    (problem,) = caught.value.problems
    assert problem.file == str(folder / "boat.toml")


def test_another_chemistry_keeps_what_was_set(passage):
    boat, _ = boat_of_chemistry(passage.with_("battery.capacity", "300 Ah"), "agm")
    assert (boat.battery.chemistry, boat.battery.capacity_Ah) == ("agm", 300.0)


def test_a_command_can_ask_for_it_too(folder):
    passage = load_folder(folder, values={"battery.capacity": "300 Ah"})
    assert passage.boat.battery.capacity_Ah == 300.0


@pytest.mark.parametrize(
    ("place", "parts"),
    [
        ("battery.capacity", ("battery", "capacity")),
        (' loads . "no. 2" . draw ', ("loads", "no. 2", "draw")),
        ("loads.'a \"b\".c'.draw", ("loads", 'a "b".c', "draw")),
    ],
)
def test_parts_of_a_place(place, parts):
    assert parts_of(place) == parts


@pytest.mark.parametrize("place", ["", ".", "a", "a.", ".a", "a..b", 'a."b', 'a."b"c', "a.''"])
def test_what_is_no_place(place):
    with pytest.raises(ReadingError):
        parts_of(place)


def test_every_table_of_the_files_can_be_named(passage):
    """A key that no table has: then the table itself was found, or is missing as such."""
    for table in KEYS_BY_TABLE:
        with pytest.raises(InputError) as caught:
            passage.with_(f"{table}.1.no_such_key", "1")
        assert "unknown table" not in str(caught.value)
