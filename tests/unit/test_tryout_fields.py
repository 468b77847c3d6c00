"""The boat as fields: as in the files, or what stands for what they leave out."""

import pytest
from tried import BOAT, LOADS, Page, folder_in, listed, session_of

from powersim.errors import InputError
from powersim.inputs.folder import load_folder
from powersim.inputs.starter import STARTERS, demo_files, starter_files
from powersim.tryout.changes import values_of


@pytest.fixture
def folder(tmp_path):
    return folder_in(tmp_path)


def boat_of(folder):
    return session_of(folder).questions["boat"]({})


def fields_of(folder):
    return Page(session_of(folder)).fields()


def test_a_value_stands_as_in_the_files(folder):
    fields = fields_of(folder)
    assert fields["battery.capacity"]["text"] == "90 Ah"
    assert fields["battery.capacity"]["given"]
    assert fields["loads.laptop.on"]["text"] == "3 h/day"
    assert fields["charging.read_at"]["text"] == "06:00, 18:00"
    assert fields['panel."rail no. 2".mount']["text"] == "rail"


def test_what_is_left_out_has_its_default_and_its_reason(folder):
    """The reasons are those that `check` gives."""
    assumed = {one.place: one for one in load_folder(folder).assumptions}
    fields = fields_of(folder)
    for place in ("battery.health", "battery.floor", "engine.motoring_burn", "charging.hours"):
        one, told = fields[place], assumed[f"boat.toml {place}"]
        assert (one["given"], one["text"]) == (False, "")
        assert (one["default"], one["reason"]) == (told.value, told.reason)


def test_every_default_that_check_tells_is_on_the_page(folder):
    shown = {(one["default"], one["reason"]) for one in fields_of(folder).values()}
    told = [one for one in load_folder(folder).assumptions if "boat.toml" in one.place]
    # Of these each key has its own.
    left_out = {"boat.toml shedding", "boat.toml heavy_weather"}
    places = ("boat.toml controller.",)  # a controller that nobody wrote down
    missing = [
        one.place
        for one in told
        if (one.value, one.reason) not in shown
        and one.place not in left_out
        and not one.place.startswith(places)
    ]
    assert missing == []


def test_a_value_that_is_given_has_the_default_that_would_stand_for_it(folder):
    """It is what the reader takes once the key is gone: by hand here, by `values` on the page."""
    before = fields_of(folder)["charging.start"]
    (folder / "boat.toml").write_text(BOAT.replace('start = "75 %"\n', ""), encoding="utf-8")
    after = fields_of(folder)["charging.start"]
    assert (before["given"], after["given"]) == (True, False)
    assert (before["default"], before["reason"]) == (after["default"], after["reason"])
    assert after["default"] == "65 %"


def test_a_load_is_ticked_unless_its_count_is_nothing(folder):
    (folder / "loads.csv").write_text(
        "load,draw,count\npilot,2 A,\nlaptop,32 W,0\nlights,6 W,2\n", encoding="utf-8"
    )
    rows = boat_of(folder)["groups"][0]["rows"]
    assert [(row["name"], row["on"]) for row in rows] == [
        ("pilot", True),
        ("laptop", False),
        ("lights", True),
    ]


def test_a_unit_in_the_heading_is_told_beside_the_number(folder):
    (folder / "loads.csv").write_text("load,draw_W\nlaptop,32\n", encoding="utf-8")
    field = fields_of(folder)["loads.laptop.draw"]
    assert (field["label"], field["text"], field["step"]["by"]) == ("draw (W)", "32", 5)


def test_words_are_chosen_and_dates_stepped_by_the_day(folder):
    fields = fields_of(folder)
    assert fields["battery.chemistry"]["choices"] == ("flooded", "gel", "agm", "lifepo4")
    assert fields["charging.by_engine"]["choices"] == ("true", "false")
    assert fields["loads.ais.supply"]["choices"] == ("dc", "laptop supply")
    assert fields["passage.depart"]["step"] == {"days": 1}
    assert fields["passage.depart"]["text"] == "2026-09-05 09:00"


def test_what_can_be_left_off_says_so(folder):
    groups = {group["id"]: group for group in boat_of(folder)["groups"]}
    assert all(row["on"] for row in groups["panel"]["rows"])
    assert groups["alternator"]["rows"][0]["on"]
    assert groups["battery"]["rows"][0]["on"] is None
    assert groups["panel"]["add"]["prefix"] == "panel."
    assert groups["loads"]["add"]["prefix"] == "loads."


@pytest.mark.parametrize(
    "files", [demo_files(), *map(starter_files, STARTERS)], ids=["demo", *STARTERS]
)
def test_every_place_can_be_set_to_what_stands_in_it(tmp_path, files):
    """So every field is one that a change goes back to; and it changes nothing."""
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    session = session_of(tmp_path)
    reading = session._now.reading
    given = {place: one["text"] for place, one in Page(session).fields().items() if one["given"]}
    values = values_of(listed(given))
    assert len(given) > 40
    assert reading.passage(values).changed == ()


def test_every_default_can_be_typed_into_its_field(folder):
    session = session_of(folder)
    typed = {
        place: one["default"]
        for place, one in Page(session).fields().items()
        if one["default"] is not None and not one["given"]
    }
    passage = session._now.reading.passage(values_of(listed(typed)))
    assert len(typed) > 60
    assert passage.boat.battery == load_folder(folder).boat.battery


def test_mistakes_are_told_beside_their_fields_and_the_rest_can_be_seen(folder):
    (folder / "boat.toml").write_text(BOAT.replace('"90 Ah"', '"9O Ah"'), encoding="utf-8")
    (folder / "loads.csv").write_text(LOADS.replace("32 W", "32"), encoding="utf-8")
    found = boat_of(folder)
    assert [(one["place"], one["line"]) for one in found["problems"]] == [
        ("battery.capacity", 8),
        ("loads.laptop.draw", 4),
    ]
    with pytest.raises(InputError) as caught:
        load_folder(folder)
    assert [one["said"] for one in found["problems"]] == [str(one) for one in caught.value.problems]
    fields = fields_of(folder)
    assert fields["battery.capacity"]["text"] == "9O Ah"
    assert fields["loads.ais.draw"]["text"] == "3 W"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("boat.toml", b"[battery\n"),
        ("boat.toml", b""),
        ("boat.toml", b"\xff\xfe\x00"),
        ("boat.toml", b"battery = 3\npanel = 'x'\ncharging = []\n"),
        ("boat.toml", b"[[battery]]\n[panel]\n[[panel.arch]]\n"),
        ("boat.toml", b"[fuel.tank]\nx = 1\n[[charger]]\nkind = 3\ncurve = ['a']\n"),
        ("loads.csv", b""),
        ("loads.csv", b'load,draw\n"pilot,2 A\n'),
        ("loads.csv", b"watt\n3\n"),
        ("loads.csv", b"load,draw\n,3 W\npilot,2 A\npilot,3 A\n"),
        ("route.csv", b"nothing\n"),
    ],
)
def test_whatever_the_files_hold_the_page_opens(folder, name, content):
    (folder / name).write_bytes(content)
    found = boat_of(folder)
    assert found["problems"]
    assert found["groups"][0]["id"] == "loads"
    (folder / name).unlink()
    assert boat_of(folder)["problems"]
