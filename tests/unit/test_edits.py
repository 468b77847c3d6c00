"""What is put into the sailor's text, to the character; tests/properties has every combination."""

import tomllib

import pytest

from powersim.errors import InputError
from powersim.inputs.edits import edited
from powersim.inputs.table_cells import with_cells

LOADS = "load,draw,on,note\nvhf,5 A,,\n"


def boat(text, values):
    """boat.toml with values put into it."""
    return edited({"boat.toml": text, "loads.csv": LOADS}, values).texts.get("boat.toml", text)


def loads(text, values):
    """loads.csv with values put into it."""
    return edited({"loads.csv": text}, values).texts.get("loads.csv", text)


@pytest.mark.parametrize(
    ("text", "values", "made"),
    [
        (  # in place, with its note, in its column
            '[battery]\nname   = "x"   # its name\ncapacity = "80 Ah"    # two of 40 Ah\n',
            {"battery.capacity": "120 Ah"},
            '[battery]\nname   = "x"   # its name\n'
            'capacity = "120 Ah"   # two of 40 Ah (was 80 Ah)\n',
        ),
        (  # a second time: one note, of what it was last
            "[battery]\ncapacity = '120 Ah' # label (was 80 Ah)\n",
            {"battery.capacity": "90 Ah"},
            "[battery]\ncapacity = '90 Ah'  # label (was 120 Ah)\n",
        ),
        (  # what somebody noted in brackets stays
            '[battery]\ncapacity = "80 Ah"  # (was cracked) glued\n',
            {"battery.capacity": "90 Ah"},
            '[battery]\ncapacity = "90 Ah"  # (was cracked) glued (was 80 Ah)\n',
        ),
        (  # what is there already changes nothing
            '[battery]\ncapacity = "80 Ah"\n',
            {"battery.capacity": "80Ah", "battery.health": None},
            '[battery]\ncapacity = "80 Ah"\n',
        ),
        (  # a key in a note is no key
            '[battery]\n# health = "70 %"\ncapacity = "80 Ah"\n'
            '\n# the end\n[engine]\nrated = "9 kW"',
            {"battery.health": "75 %", "engine.slope": "0.3 L/kWh"},
            '[battery]\n# health = "70 %"\ncapacity = "80 Ah"\nhealth = "75 %"  # (was not given)\n'
            '\n# the end\n[engine]\nrated = "9 kW"\nslope = "0.3 L/kWh"  # (was not given)',
        ),
        (  # the line ends of the file; a table that it has not
            '[battery]\r\ncapacity = "80 Ah"\r\n',
            {"shedding": {"comfort_below": "60 %"}},
            '[battery]\r\ncapacity = "80 Ah"\r\n\r\n[shedding]\r\ncomfort_below = "60 %"\r\n',
        ),
        (  # one of several, by name; the note above stays for those that are left
            '# the sun\n[[panel]]\nname = "a"\npower = "1 W"\n\n[[panel]]\nname = "b"  # new\n'
            'power = "2 W"\n',
            {"panel.a": None, "panel.b.power": "3 W"},
            '# the sun\n\n[[panel]]\nname = "b"  # new\npower = "3 W"  # (was 2 W)\n',
        ),
        (  # behind the last of its kind, wherever that stands
            '[[panel]]\npower = "1 W"\n\n[[panel.shade]]\nfrom = "1 deg"\n'
            '[engine]\nrated = "9 kW"\n',
            {"panel.b": {"power": "2 W", "wired": 'a "b" \\ c'}},
            '[[panel]]\npower = "1 W"\n\n[[panel.shade]]\nfrom = "1 deg"\n\n[[panel]]\nname = "b"\n'
            'power = "2 W"\nwired = "a \\"b\\" \\\\ c"\n[engine]\nrated = "9 kW"\n',
        ),
        (  # two changes on one line
            'battery = { capacity = "80 Ah", health = "70 %" }  # all in one\n',
            {"battery.capacity": "90 Ah", "battery.health": None, "battery.floor": "55 %"},
            'battery = { capacity = "90 Ah", floor = "55 %" }   # all in one (was capacity '
            "80 Ah, health 70 %)\n",
        ),
        (
            'battery = { capacity = "80 Ah", health = "70 %" }  # all in one\n',
            {"battery.capacity": "90 Ah", "battery.health": "7 %"},
            'battery = { capacity = "90 Ah", health = "7 %" }   # all in one (was capacity '
            "80 Ah and health 70 %)\n",
        ),
        (  # a comma behind the last
            'panel = [{ name = "a", power = "1 W" }, { power = "2 W" },]\n',
            {"panel.2": None, "panel.b": {"power": "3 W"}},
            'panel = [{ name = "a", power = "1 W" }, { name = "b", power = "3 W" }]  '
            "# (was [name a, power 1 W], [power 2 W])\n",
        ),
        (  # keys with dots stay so
            'battery.capacity = "80 Ah"\nengine.rated = "9 kW"  # new\n',
            {"battery.floor": "55 %", "engine": None},
            'battery.capacity = "80 Ah"\nbattery.floor = "55 %"  # (was not given)\n',
        ),
        (  # a list over several lines, with a note in it
            '[charging]\nread_at = ["06:00",  # dawn\n  "18:00"]  # dusk\n',
            {"charging.read_at": ["07:00"]},
            '[charging]\nread_at = ["07:00"]  # dusk (was 06:00, 18:00)\n',
        ),
        (  # a table for a value, and a value for a table
            '[fuel]\ntank = "80 L"  # by the label\n',
            {"fuel.tank": {"capacity": "82 L", "shape": "box"}},
            '[fuel]\ntank = { capacity = "82 L", shape = "box" }  # by the label (was 80 L)\n',
        ),
        (
            '[fuel]\nreserve = "9 L"\n[fuel.tank]  # inside\ncapacity = "82 L"\n',
            {"fuel.tank": "80 L"},
            '[fuel]\nreserve = "9 L"\ntank = "80 L"  # (was not given)\n',
        ),
    ],
)  # fmt: skip
def test_boat_toml_to_the_character(text, values, made):
    assert boat(text, values) == made
    tomllib.loads(made)


@pytest.mark.parametrize(
    ("text", "values", "made"),
    [
        (  # a row shorter than its heading is filled up, and the next stays as it is
            "load,draw,on\nvhf,5 A\nlamp,3 W,50 %\n",
            {"loads.vhf.on": "2 %"},
            "load,draw,on\nvhf,5 A,2 %\nlamp,3 W,50 %\n",
        ),
        (
            "load,draw,on,note\nvhf\nlamp,3 W",
            {"loads.vhf.draw": "5 A", "loads.lamp.on": "2 %"},
            "load,draw,on,note\nvhf,5 A,,(was draw not given)\nlamp,3 W,2 %,(was on 100 %)",
        ),
        (  # off: a count of 0, in a column of its own where there is none
            "# mine\r\nload,draw\r\n\r\nvhf,5 A\r\nlamp,3 W\r\n# end\r\n",
            {"loads.lamp": None},
            "# mine\r\nload,draw,count\r\n\r\nvhf,5 A\r\nlamp,3 W,0\r\n# end\r\n",
        ),
        (  # quotation marks where they are needed, and where they were
            'load,draw,when,note\n"vhf","5 A",any,\n',
            {"loads.vhf.draw": "4 A", "loads.vhf.note": 'his, the "old" one'},
            'load,draw,when,note\n"vhf","4 A",any,"his, the ""old"" one"\n',
        ),
        (  # semicolons part what commas do not, and the other way round
            "load;draw;when;note\nvhf;5 A;any;new, or so\n",
            {"loads.vhf.when": "sailing;motoring"},
            'load;draw;when;note\nvhf;5 A;"sailing;motoring";new, or so (was when any)\n',
        ),
        (  # two changes on one line, one of them to and fro
            "load,draw,on,note\nvhf,5 A,2 %,Sunday\n",
            {"loads.vhf.draw": "4 A", "loads.vhf.on": "3 %", "loads.VHF.draw": "5 A"},
            "load,draw,on,note\nvhf,5 A,3 %,Sunday (was on 2 %)\n",
        ),
        (
            'load,draw,on,note\nvhf,5 A,2 %,"Sunday (was on 9 % and draw 1 A)"\n',
            {"loads.vhf.draw": "4 A", "loads.vhf.on": "3 %"},
            'load,draw,on,note\nvhf,4 A,3 %,"Sunday (was draw 5 A and on 2 %)"\n',
        ),
        (  # behind the last row, above the notes under it
            "load,draw,note\nvhf,5 A,\n# the end",
            {"loads.lamp, red": {"draw": "2 W", "count": "2"}},
            'load,draw,note,count\nvhf,5 A,\n"lamp, red",2 W,,2\n# the end',
        ),
        (  # all of a load anew; what is noted of it stays
            "load,draw,on,note\nvhf,5 A,2 %,old\n",
            {"loads.vhf": {"draw": "4 A"}},
            'load,draw,on,note\nvhf,4 A,,old (was draw 5 A and on 2 %)\n',
        ),
    ],
)  # fmt: skip
def test_loads_csv_to_the_character(text, values, made):
    assert loads(text, values) == made


def test_only_files_that_differ_are_given_back_and_a_mark_at_the_beginning_stays():
    texts = {"boat.toml": '\ufeff[battery]\ncapacity = "80 Ah"\n', "loads.csv": LOADS}
    found = edited(texts, {"battery.capacity": "90 Ah"})
    assert found.texts == {
        "boat.toml": '\ufeff[battery]\ncapacity = "90 Ah"  # (was 80 Ah)\n',
    }
    assert [one.told for one in found.changed] == ["battery.capacity 90 Ah (was 80 Ah)"]
    assert edited(texts, {"battery.capacity": "80 Ah"}).texts == {}


@pytest.mark.parametrize("value", [None, "60 %"])
def test_a_form_that_cannot_be_changed_alone_is_refused(value):
    """A key spelled by an escape is found by what reads TOML, and not in the text."""
    text = '[battery]\ncapacity = "80 Ah"\n"healt\\u0068" = "70 %"\n'
    assert tomllib.loads(text)["battery"]["health"] == "70 %"
    with pytest.raises(InputError, match="cannot be changed without touching the rest of it"):
        boat(text, {"battery.health": value})


def test_what_is_wrong_in_both_files_is_told_at_once():
    with pytest.raises(InputError) as caught:
        edited(
            {"boat.toml": "[battery]\n", "loads.csv": LOADS},
            {"batery.capacity": "90 Ah", "loads.vfh": None, "loads.vhf.drew": "1 W"},
        )
    assert [problem.place for problem in caught.value.problems] == [
        *("batery.capacity", "loads.vfh", "loads.vhf.drew")
    ]
    with pytest.raises(InputError, match=r"here/boat\.toml:1: "):
        edited({"boat.toml": "[battery\n"}, {"battery.capacity": "9 Ah"}, folder="here/")


def test_cells_of_rows_over_several_lines():
    text = 'a,b\n"x\n, y",1\n,\n2'
    assert with_cells(text, {(2, 2): "3", (4, 1): "z", (5, 2): "4"}) == 'a,b\n"x\n, y",3\nz,\n2,4'
