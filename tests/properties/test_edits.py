"""Values put into the sailor's text: simulated as if they were set, and nothing else is altered.

What reads the new text is the standard library's `tomllib` and `csv`, by way of the readers of
every passage; what is compared with it is the same folder read with the values set in it.
"""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from powersim.errors import InputError
from powersim.inputs.edits import edited
from powersim.inputs.folder import load_folder
from powersim.inputs.starter import demo_files

DEMO = demo_files()
PLAIN = """\
# the boat of a test, invented
[passage]
speed = '4.5 kn'
depart = 2026-09-05T09:00:00Z   # a date of TOML
[battery]  # the house bank
chemistry = 'agm'
capacity = '200 Ah' # [label] = "x"
health   =   '80 %'   # tested in April (was 85 %)
# capacity = "90 Ah"

  # --- the sun ---
  [[panel]]
  power = "50 W"
[engine]
rated = "10 kW"
# on the other rail
[[panel]]
name = "port \\"rail\\""
power = "60 W"
  shade = [ # two masts
    { from = "10 deg", to = "20 deg", below = "30 deg" },
    { from = "200 deg", to = "220 deg", below = "30 deg" }, # the mizzen
  ]
[[supply]]
name = "no. 2"
[fuel]
tank = "50 L"
[charging]
read_at = ["06:00",
  "18:00"]

# the end"""
DENSE = """\
battery = { chemistry = "agm", capacity = "200 Ah" }  # all in one
panel = [{ name = "port \\"rail\\"", power = '50 W' }, {power="60 W"},]
fuel.tank = "50 L"
engine.rated = "10 kW" # dots
passage = { depart = "2026-09-05 09:00", speed = "4.5 kn" }
supply = [{ name = "no. 2" }]
charging.costs.start = "0.1 L"
charging.start = "70 %"
"""
ROUTE = "waypoint,position\nA,40 N 20 W\nB,35 N 20 W\n"
LOADS = (
    '# a note\nload,draw_W,on,note\n"lamp, ""red""",3,50 %\nno. 2 pilot, 2 A ,,"some (was x)"\n\n'
    "fridge,40 W,40 %,\n# last\n",
    '"load";draw;count;standby;when\n'
    'lamp, red;3 W\nno. 2 pilot;2 A;1;;sailing;\n"fridge";"40 W";;;"any"',
)
VALUES = {
    "battery.capacity": ["210 Ah", " 200  Ah", "1 W", None],
    "battery.health": ["75 %", "80 %", None],
    "battery.chemistry": ["flooded"],
    "panel.1": [None, {"power": "70 W", "mount": "rail"}],
    "panel.1.power": ["55 W"],
    "panel.2.name": ["starboard", "a \\ 'b' \"c\""],
    "panel.'port \"rail\"'.tilt": ["5 deg"],
    "panel.2": [None],
    "panel.bow": [{"power": "20 W", "yield": "90 %"}, None],
    "panel.bow.tilt": ["7 deg"],
    "engine": [None],
    "fuel": [None, {"tank": "60 L"}],
    "fuel.tank": ["40 L", {"shape": "box", "length": "50 cm", "width": "50 cm", "height": "30 cm"}],
    "fuel.reserve": ["5 L"],
    "charging": [None],
    "charging.read_at": [["07:00"], [], None],
    "charging.costs.start": ["0.2 L", None],
    "charging.costs": [{"hour": "0.1 L"}],
    "shedding": [{"comfort_below": "60 %"}],
    "shedding.useful_below": ["55 %"],
    "heavy_weather.lie_to_above": ["34 kn", None],
    "heavy_weather": [{"spray_above": "24 kn", "lie_to": "drifting"}],
    "supply.no. 2": [None],
    "supply.usb": [{"output": "5 V"}],
    "passage.depart": ["2026-09-08 09:00", "2026-09-05 09:00"],
    "charger": [{"kind": "wind"}],
    "controller": [{"kind": "pwm", "rated": "10 A"}],
    "loads.fridge": [None, {"draw": "30 W", "on": "30 %"}],
    "loads.fridge.on": ["20 %"],
    "loads.fridge.count": ["2", 0],
    "loads.no. 2 pilot": [None],
    "loads.no. 2 pilot.standby": ["0.1 A", None],
    "loads.no. 2 pilot.when": ["sailing;motoring"],
    "loads.no. 2 pilot.load": ['the "pilot", old; and #2'],
    "loads.no. 2 pilot.supply": ["no. 2"],
    "loads.no. 2 pilot.note": ["measured; twice, at least", None],
    "loads.new one": [{"draw": "4 W"}, {"draw": "4 W", "window": "night", "note": "x, y"}],
    "loads.new one.on": ["3 %"],
}
FORMS = [DEMO["boat.toml"], PLAIN, DENSE]


@st.composite
def folders(draw):
    """boat.toml and loads.csv in some form or other."""
    number = draw(st.integers(0, 2))
    loads = DEMO["loads.csv"] if number == 0 else draw(st.sampled_from(LOADS))
    texts = {"boat.toml": FORMS[number], "loads.csv": loads}
    texts["route.csv"] = DEMO["route.csv"] if number == 0 else ROUTE
    for name in ("boat.toml", "loads.csv"):
        text = texts[name].rstrip("\n") + draw(st.sampled_from(["", "\n", "\n\n"]))
        text = text.replace("\n", draw(st.sampled_from(["\n", "\r\n"])))
        texts[name] = draw(st.sampled_from(["", "\ufeff"])) + text
    return texts


changes = st.lists(
    st.sampled_from(list(VALUES)).flatmap(
        lambda place: st.tuples(st.just(place), st.sampled_from(VALUES[place]))
    ),
    min_size=1,
    max_size=5,
    unique_by=lambda one: one[0],
).map(dict)


def read(folder, texts, values):
    """The passage, or what is wrong, without what differs between a value set and one in a file."""
    raw = {name: text.encode() for name, text in texts.items()}
    try:
        passage = load_folder(folder, texts=raw, values=values)
    except InputError as error:
        return error
    loads = tuple(replace(load, note="") for load in passage.loads)
    return replace(passage, loads=loads, values=(), changed=(), doubts=())


def put(texts, values):
    """What the files are to hold, or why they cannot."""
    try:
        return edited(texts, values)
    except InputError as error:
        return error


@settings(max_examples=150, deadline=None)
@given(texts=folders(), values=changes)
def test_what_is_written_is_what_was_set_and_nothing_else(tmp_path_factory, texts, values):
    folder = tmp_path_factory.getbasetemp()
    was_set = read(folder, texts, values)
    found = put(texts, values)
    if isinstance(found, InputError):
        assert isinstance(was_set, InputError), str(found)
        assert {one.text for one in found.problems} <= {one.text for one in was_set.problems}
        return
    made = texts | found.texts
    written = read(folder, made, {})
    if isinstance(was_set, InputError):
        assert isinstance(written, InputError)
        return
    assert written == was_set
    for name in ("boat.toml", "loads.csv"):
        assert_kept(texts[name], made[name])
    before = load_folder(folder, texts={name: text.encode() for name, text in texts.items()})
    if not found.changed:
        assert made == texts
        assert read(folder, texts, {}) == was_set
    assert before.folder == written.folder


def assert_kept(before, after):
    """Notes on lines of their own, byte-order mark and line ends are as they were, in order."""
    assert before.startswith("\ufeff") == after.startswith("\ufeff")
    assert ("\r\n" in before) == ("\r\n" in after) or "\n" not in before
    assert after.count("\n") == after.count("\r\n") or "\r\n" not in before
    notes = [line for line in before.splitlines() if line.strip("\ufeff ").startswith("#")]
    left = iter(after.splitlines())
    assert all(note in left for note in notes)
