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
from powersim.inputs.places import PLACE_EXPECTED, WITHOUT_EXPECTED, parse_set, parts_of
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
    assert replace(changed, values=(), changed=()) == by_hand
    assert (replace(changed, values=(), changed=()) == passage) is (before == after)


def told(passage):
    return [one.told for one in passage.changed]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"battery.capacity": "300 Ah"}, ["battery.capacity 300 Ah (was 220 Ah)"]),
        ({"battery.health": "70 %"}, ["battery.health 70 % (was 85 %, the default)"]),
        ({"battery.capacity": " 220  Ah "}, []),
        ({"battery.capacity": "300 Ah", "Battery.capacity": None}, ["-"]),
        ({"battery.health": None}, []),
        ({"battery.capacity": "220Ah"}, []),
        ({"charging": None}, ["charging left to its defaults"]),
        ({"controller": None}, ["controller left to its defaults"]),
        (
            {"panel.arch": None, "panel.coachroof": None, "controller": None},
            ["panel arch taken out", "panel coachroof taken out", "controller taken out"],
        ),
        ({"fuel.reserve": None}, ["fuel.reserve 37 L, the default (was 25 L)"]),
        ({"panel.2.tilt": "5 deg"}, ["panel.2.tilt 5 deg (was 0 deg, the default)"]),
        (
            {"panel.1": None, "panel.2.tilt": "5 deg"},
            ["panel.2.tilt 5 deg (was 0 deg, the default)", "panel arch taken out"],
        ),
        ({"loads.music.standby": "1 W"}, ["music standby 1 W (was 0 W, the default)"]),
        ({"loads.music": None}, ["music left off"]),
        ({"loads.Music.count": 0}, ["music left off"]),
        ({"loads.music.draw": "4 W"}, ["music draw 4 W (was 5 W)"]),
        ({"loads.music.draw": "4 W", 'loads."music".draw': "5 W"}, []),
        ({"panel.arch": None}, ["panel arch taken out"]),
        ({"panel.arch": None, "panel.2.power": "90 W"}, ["?", "panel arch taken out"]),
        ({"supply": None, "loads.navigation laptop.supply": "dc"}, "-"),
        ({"panel.bow": {"power": "50 W"}}, ["panel bow added: power 50 W"]),
        ({"shedding": {"comfort_below": "60 %"}}, ["shedding.comfort_below 60 % (was not given)"]),
        ({"fuel.tank": "90 L"}, None),
        (
            {"loads.lamp, red": {"draw": "2 W", "on": "5 %"}},
            ["lamp, red added: draw 2 W, on 5 %"],
        ),
        (
            {"passage.depart": "2026-09-06 09:00"},
            ["passage.depart 2026-09-06 09:00 (was 2026-09-05 09:00)"],
        ),
    ],
    ids=str,
)
def test_what_was_changed_is_told(passage, values, words):
    if words in (["-"], "-"):  # a table is spelled as it is; a supply that loads name stays
        with pytest.raises(InputError):
            passage.with_(values)
        return
    found = told(passage.with_(values))
    if words is None:
        assert found == [
            "fuel.tank 90 L (was capacity 85 L, shape wedge, length 90 cm, width 55 cm, "
            "bottom 15 cm, height 27 cm)"
        ]
    else:
        assert found == [word.replace("?", "panel.2.power 90 W (was 100 W)") for word in words]


def test_a_load_that_is_left_off_is_there_with_count_0(passage, folder):
    off = passage.with_("loads.music", None)
    assert [load.name for load in off.loads] == [load.name for load in passage.loads]
    assert [load.count for load in off.loads if load.name == "music"] == [0]
    path = folder / "loads.csv"
    path.write_text("load,draw\nmusic,5 W\nlamp,2 W\n", encoding="utf-8")
    for load in powersim.load(folder).with_("loads.music", None).loads:
        assert load.count == (0 if load.name == "music" else 1)


def test_a_panel_is_named_as_in_the_file_whatever_is_taken_out_before(passage):
    (left,) = passage.with_({"panel.1": None, "panel.2.power": "90 W"}).boat.panels
    assert (left.name, left.power_W) == ("coachroof", 90.0)
    first, _, added = passage.with_({"panel.bow": {"power": "50 W", "mount": "rail"}}).boat.panels
    assert (first.name, added.name, added.power_W) == ("arch", "bow", 50.0)


def test_a_name_that_may_mean_two_is_refused(folder, passage):
    text = (folder / "boat.toml").read_text("utf-8")
    (folder / "boat.toml").write_text(text.replace('name = "arch"', 'name = "2"'), encoding="utf-8")
    with pytest.raises(InputError, match="may mean panel 1 and 2: which"):
        powersim.load(folder).with_("panel.2.power", "90 W")


def test_names_with_dots_need_no_quotes(folder):
    (folder / "loads.csv").write_text("load,draw\nno. 2 pilot,5 W\n", encoding="utf-8")
    passage = powersim.load(folder)
    for place in ("loads.no. 2 pilot.draw", 'loads."no. 2 pilot".draw', "loads.No.2 pilot.draw"):
        assert passage.with_(place, "4 W").loads[0].draw_W == 4.0


def test_a_departure_of_the_command_is_told_too(folder):
    later = powersim.load(folder, depart="2026-09-20 09:00")
    assert told(later) == ["passage.depart 2026-09-20 09:00 (was 2026-09-05 09:00 UTC)"]
    assert told(powersim.load(folder, depart="2026-09-05 09:00")) == []


def test_texts_go_before_what_lies_in_the_folder(folder, passage):
    texts = {path.name: path.read_bytes() for path in folder.iterdir() if path.name != "log.csv"}
    for name in texts:
        (folder / name).write_text("changed since\n", encoding="utf-8")
    assert load_folder(folder, texts=texts, kind=type(passage)) == passage
    with pytest.raises(InputError, match=r"boat\.toml: is not text"):
        load_folder(folder, texts={"boat.toml": b"\0"})


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
        (
            "capacity",
            "300 Ah",
            "set: capacity: names nothing in the files; did you mean 'battery.capacity' or",
        ),
        ("arch.power", "9 W", "set: arch.power: names nothing in the files; did you mean 'panel.a"),
        (
            "vhf radio",
            None,
            "set: vhf radio: names nothing in the files; did you mean 'loads.vhf r",
        ),
        ("vhf radio.draw", "3 W", "set: vhf radio.draw: names nothing in the files; did you mean "),
        ("", "300 Ah", "set: '': names nothing in the files"),
        (
            "battery.capacity",
            ["300 Ah"],
            "set: battery.capacity: a list is not text in quotes\n"
            "  expected  charge at the 20-hour rate, for example 220 Ah",
        ),
        ("battery.capacity", object(), "set: battery.capacity: <object object at 0x"),
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
        ("loads.vhf radio", "2 A", "set: loads.vhf radio: is a whole load: name a column"),
        ("loads.vfh radio.draw", "2 A", "set: loads.vfh radio.draw: no load 'vfh radio'; did you"),
        ("loads.vhf radio.drwa", "2 A", "set: loads.vhf radio.drwa: unknown column; did you mean"),
        ("battery", "300 Ah", "set: battery: is a whole table: name one of its keys, or {} with"),
        ("panel.arch", "100 W", "set: panel.arch: is a whole panel: name one of its keys, or {}"),
        ("batery", None, "set: batery: unknown table; did you mean 'battery'?"),
        ("battery.capcity", None, "set: battery.capcity: unknown key; did you mean 'capacity'?"),
        (
            "battery.capacity",
            None,
            "set: battery.capacity: no capacity\n  expected  capacity: char",
        ),
        ("shedding", None, "set: shedding: there is no [shedding]"),
        ("panel", None, "set: panel: which panel: arch, coachroof?"),
        ("panel.arhc", None, "set: panel.arhc: no panel 'arhc'; did you mean 'arch'?"),
        ("loads.vfh radio", None, "set: loads.vfh radio: no load 'vfh radio'; did you mean 'vhf"),
        ("loads.lamp", {"drwa": "2 W"}, "set: loads.lamp: unknown column; did you mean 'draw'?"),
        ("loads.lamp", {"on": "2 %"}, "set: loads.lamp.draw: is empty\n  expected"),
        ("panel.bow", {"name": "stern"}, "set: panel.bow: is called 'stern' in its own values"),
        (
            "panel.bow",
            {"power": "9 W", "powr": "2 W"},
            "set: panel.bow.powr: unknown key; did you mean 'power'?\n",
        ),
        ("loads.music.load", "#9", "set: loads.music.load: '#9' begins with #, which makes a note"),
        ("boat.name", "a\x07b", "set: boat.name: 'a\\x07b' has characters that cannot be printed"),
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
        PLACE_EXPECTED if value is not None else WITHOUT_EXPECTED,
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


@pytest.mark.parametrize("place", ["", ".", "a.", ".a", "a..b", 'a."b', 'a."b"c', "a.''"])
def test_what_is_no_place(place):
    with pytest.raises(ReadingError):
        parts_of(place)


def test_every_table_of_the_files_can_be_named(passage):
    """A key that no table has: then the table itself was found, or is missing as such."""
    for table in KEYS_BY_TABLE:
        with pytest.raises(InputError) as caught:
            passage.with_(f"{table}.1.no_such_key", "1")
        assert "unknown table" not in str(caught.value)


@pytest.mark.parametrize(
    ("typed", "place", "value"),
    [
        ("battery.capacity=300 Ah", "battery.capacity", "300 Ah"),
        (" battery.capacity = 300 Ah ", "battery.capacity", "300 Ah"),
        ('loads."a=b".note=c=d', 'loads."a=b".note', "c=d"),
        ("loads.skipper's lamp.draw=2 W", "loads.skipper's lamp.draw", "2 W"),
        ("alternator.splitter=true", "alternator.splitter", True),
        ('charging.read_at=["06:00"]', "charging.read_at", ["06:00"]),
        ('boat.name="true"', "boat.name", "true"),
        ('loads.lamp={draw = "2 W", count = 2}', "loads.lamp", {"draw": "2 W", "count": 2}),
        ("loads.lamp={draw=2 W,on = 5 %}", "loads.lamp", {"draw": "2 W", "on": "5 %"}),
        ("loads.lamp={note='a, b', draw=2 W}", "loads.lamp", {"note": "a, b", "draw": "2 W"}),
        ("charging.read_at=[06:00, 18:00]", "charging.read_at", ["06:00", "18:00"]),
        (
            "charging={read_at=[06:00,18:00],run=2 h}",
            "charging",
            {"read_at": ["06:00", "18:00"], "run": "2 h"},
        ),
        ("panel.bow={count=2, wired=true}", "panel.bow", {"count": 2, "wired": True}),
        ("shedding={}", "shedding", {}),
        (
            "loads.lamp={note=skipper's, draw=2 W}",
            "loads.lamp",
            {"note": "skipper's", "draw": "2 W"},
        ),
        ("a.b=[it's, a = b]", "a.b", ["it's", "a = b"]),
    ],
)
def test_what_is_typed_after_set(typed, place, value):
    assert parse_set(typed) == (place, value)


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("battery.capacity", "has no = between its place and its value"),
        ("battery.capacity=", "has nothing behind its =; to take it out, --without"),
        ("=300 Ah", "names nothing in the files"),
        ("loads.lamp={draw=2 W", "cannot read '{draw=2 W': is what it begins with closed"),
        ("loads.lamp={draw 2 W}", "cannot read '{draw 2 W}': each part is a key, = and its"),
        ("loads.lamp={draw=2 W, =3}", "cannot read '{draw=2 W, =3}': each part"),
        ("loads.lamp={a=[b=2 W}", "cannot read '\\[b=2 W': is what it begins with closed"),
        ("loads.lamp={", "cannot read '{': is what"),
        ("loads.lamp=" + "[" * 60_000, "cannot read '\\[\\["),
        ("loads.lamp=" + "[" * 60_000 + "]" * 60_000, "cannot read '\\[\\["),
        ('loads."lamp=2', "has no = between"),
    ],
)
def test_what_cannot_be_meant_after_set(typed, reason):
    with pytest.raises(ReadingError, match=f"^{reason}"):
        parse_set(typed)
