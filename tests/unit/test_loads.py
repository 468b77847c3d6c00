"""The load list: what each column means, every fault in a sailor's words, the lists we ship."""

from pathlib import Path

import pytest

from powersim.errors import InputError
from powersim.inputs.load_columns import LOAD_COLUMNS
from powersim.inputs.loads import collect_loads, read_loads
from powersim.inputs.sessions import COLUMNS
from powersim.records import BOAT_STATES, Assumption, Load, Window

LISTS = Path(__file__).parents[2] / "loads"
SHIPPED = sorted(LISTS.rglob("*loads.csv")) + sorted(LISTS.glob("*.csv"))


def test_every_column_reaches_its_place(write_file):
    path = write_file(
        "loads.csv",
        "load,draw,standby,count,when,window,on,temp,fuel,role,priority,supply,spread,note\n"
        "tiller pilot,3 A,40 mA,2,sailing; motoring,22:00-06:00,25 %,none,,Pilot,Essential,dc,"
        '20 %," a,  b "\n'
        "laptop,0.05 kW,0.5 W,1,any,always,90 min/day,,,,comfort,Inverter,,\n"
        "heater,18 W,,1,anchored,night,100 %,heater,0.15 L/h,none,useful,DC,5 %,\n",
    )
    pilot, laptop, heater = read_loads(path, supplies=["inverter"])
    assert pilot == Load(
        name="tiller pilot",
        draw_A=3.0,
        standby_A=0.04,
        count=2,
        states=frozenset({"sailing", "motoring"}),
        window=Window(kind="clock", spans_h=((22.0, 6.0),)),
        on_frac=0.25,
        role="pilot",
        priority="essential",
        spread_frac=0.2,
        note="a, b",
    )
    assert laptop == Load(
        name="laptop",
        draw_W=50.0,
        standby_W=0.5,
        on_frac=None,
        on_h_per_day=1.5,
        priority="comfort",
        supply="inverter",
    )
    assert heater == Load(
        name="heater",
        draw_W=18.0,
        states=frozenset({"anchored"}),
        window=Window(kind="night"),
        temperature_rule="heater",
        fuel_L_per_h=0.15,
        spread_frac=0.05,
    )


def test_two_columns_are_enough(write_file):
    path = write_file("loads.csv", "load,draw\nvhf,6 W\n")
    assert read_loads(path) == (Load(name="vhf", draw_W=6.0),)


def test_a_heading_may_name_the_unit(write_file):
    path = write_file("loads.csv", "load,draw_A,on (%)\nvhf,0.5,20\nlamp,6 W,1 h/day\n")
    assert read_loads(path) == (
        Load(name="vhf", draw_A=0.5, on_frac=0.2),
        Load(name="lamp", draw_W=6.0, on_frac=None, on_h_per_day=1.0),
    )


def test_a_count_and_a_draw_of_nothing_are_legal(write_file):
    path = write_file("loads.csv", "load,draw,count\nspare lamp,6 W,0\nclock,0 A,1\n")
    spare, clock = read_loads(path)
    assert spare.count == 0
    assert (clock.draw_A, clock.draw_W) == (0.0, 0.0)


@pytest.mark.parametrize(
    "each", [e for e in LOAD_COLUMNS if e.default], ids=lambda each: each.column.name
)
def test_a_default_as_it_is_shown_reads_as_if_left_out(write_file, each):
    written = write_file("a.csv", f"load,draw,{each.column.name}\nvhf,6 W,{each.default}\n")
    left_out = write_file("b.csv", "load,draw\nvhf,6 W\n")
    empty = write_file("c.csv", f"load,draw,{each.column.name}\nvhf,6 W,\n")
    assert read_loads(written) == read_loads(left_out) == read_loads(empty)


@pytest.mark.parametrize("each", LOAD_COLUMNS, ids=lambda each: each.column.name)
def test_every_example_in_a_message_works(write_file, each):
    name = each.column.name
    for example in each.column.example.replace(", ", " or ").split(" or "):
        beside = {"often": "2 downloads/day of 30 kB", "each": "4 min"} if name in COLUMNS else {}
        cells = {"load": "thing", "draw": "6 W"} | beside | {name: example}
        lines = [",".join(cells), ",".join(cells.values()), "navigation laptop,9 W"]
        lines[2:] = [line + "," * (len(cells) - 2) for line in lines[2:]]
        path = write_file("a.csv", "\n".join(lines) + "\n")
        assert len(read_loads(path, supplies=("converter",))) == 2


def test_every_default_is_told_once(write_file):
    path = write_file(
        "loads.csv", "load,draw,standby,priority,note\nvhf,6 W,,,\nlamp,1 W,,useful,\n"
    )
    _, assumptions, problems = collect_loads(path)
    assert problems == ()
    assert [(each.place, each.value) for each in assumptions] == [
        ("loads.csv count", "1"),
        ("loads.csv when", "any"),
        ("loads.csv window", "always"),
        ("loads.csv on", "100 %"),
        ("loads.csv temp", "none"),
        ("loads.csv fuel", "0 L/h"),
        ("loads.csv role", "none"),
        ("loads.csv priority, where empty", "useful"),
        ("loads.csv supply", "dc"),
        ("loads.csv spread", "0 %"),
    ]
    assert assumptions[2] == Assumption(
        place="loads.csv window", value="always", reason="used at any hour"
    )


def test_letter_o_in_a_number_is_pointed_at(write_file):
    path = write_file("loads.csv", "load,draw,on\ntiller pilot,3O W,20 %\n")
    with pytest.raises(InputError) as caught:
        read_loads(path)
    assert str(caught.value) == (
        f"{path}:2:2: draw (column B): cannot read '3O W'\n"
        "  expected  power or current while on, for example 36 W or 3 A\n"
        "  row       tiller pilot,3O W,20 %"
    )


def test_a_list_in_watts_is_told_what_to_rename(write_file):
    path = write_file("loads.csv", "load,watts,when\ntiller pilot,36,any\n")
    with pytest.raises(InputError) as caught:
        read_loads(path)
    assert str(caught.value) == (
        f"{path}:1: no column 'draw'; found: load, watts, when\n"
        "  expected  draw, power or current while on; rename 'watts' to draw_W if it holds watts"
    )


# Column, cell as typed, what is said about it.
FAULTS = [
    ("load", "", "is empty"),
    ("load", "x" * 61, "'" + "x" * 57 + "...' is longer than 60 letters"),
    ("load", "a\x07b", "'a\\x07b' has characters that cannot be printed"),
    ("draw", "", "is empty"),
    ("draw", "36", "'36' has no unit"),
    ("draw", "-6 W", "'-6 W' is negative"),
    ("draw", "3 Ah", "'3 Ah' is a charge"),
    ("draw", "30 Ah/day", "'30 Ah/day' is a charge a day"),
    ("draw", "36000 W", "'36000 W' is more than 20000 W"),
    ("draw", "3000 A", "'3000 A' is more than 2000 A"),
    ("draw", "nan W", "'nan W' is not a finite number"),
    ("draw", '"4,512 A"', "'4,512 A' may be 4.512 or 4512; write nothing between thousands, and a "
     "point before decimals"),
    ("draw", '"4,5,1 A"', "'4,5,1 A' has a comma in its number; write a decimal point, as in 45.5, "
     "and nothing between thousands"),
    ("standby", "-1 mA", "'-1 mA' is negative"),
    ("count", "1.5", "'1.5' is not a whole number"),
    ("count", "two", "'two' is not a whole number"),
    ("count", "２", "'２' is not a whole number"),
    ("count", "-1", "'-1' is negative"),
    ("count", "9" * 5000, "'" + "9" * 57 + "...' is more than 1000"),
    ("when", "sialing", "unknown state 'sialing'; did you mean 'sailing'?"),
    ("when", "sailing;aground", "unknown state 'aground'"),
    ("when", "not aground", "unknown state 'aground'"),
    ("when", "not any", "cannot read 'not any'"),
    ("when", ";", "cannot read ';'"),
    ("window", "dusk", "cannot read 'dusk'"),
    ("window", "25:00-26:00", "'25:00-26:00': there is no 25:00 on a clock"),
    ("on", "26 h/day", "'26 h/day' is more than a day"),
    ("on", "1500 min/day", "'1500 min/day' is more than a day"),
    ("on", "101 %", "'101 %' is more than 100 %"),
    ("on", "-5 %", "'-5 %' is negative"),
    ("on", "2 h", "'2 h' is a time, not a time a day"),
    ("on", "0.5", "'0.5' has no unit"),
    ("temp", "frige", "unknown rule 'frige'; did you mean 'fridge'?"),
    ("fuel", "0.15 L", "'0.15 L' is a volume"),
    ("fuel", "-1 L/h", "'-1 L/h' is negative"),
    ("fuel", "200 L/h", "'200 L/h' is more than 5 L/h"),
    ("role", "vhff", "unknown role 'vhff'; did you mean 'vhf'?"),
    ("priority", "essental", "unknown priority 'essental'; did you mean 'essential'?"),
    ("supply", "invertor", "unknown supply 'invertor'; did you mean 'inverter'?"),
    ("spread", "120 %", "'120 %' is more than 100 %"),
]  # fmt: skip


@pytest.mark.parametrize(("column", "cell", "reason"), FAULTS)
def test_a_faulty_cell_is_named_with_what_is_wrong(write_file, column, cell, reason):
    cells = {"load": "thing", "draw": "6 W"} | {column: cell, "note": "."}
    path = write_file("a.csv", ",".join(cells) + "\n" + ",".join(cells.values()) + "\n")
    loads, _, (problem,) = collect_loads(path, supplies=["inverter"])
    number = list(cells).index(column) + 1
    assert loads == ()
    assert (problem.line, problem.field) == (2, number)
    assert problem.text == f"{column} (column {'ABCD'[number - 1]}): {reason}"


def test_two_loads_of_one_name(write_file):
    path = write_file("a.csv", "load,draw\nvhf,6 W\nlamp,1 W\nVHF,3 W\n")
    loads, _, (problem,) = collect_loads(path)
    assert [load.name for load in loads] == ["vhf", "lamp"]
    assert str(problem) == (
        f"{path}:4:1: load (column A): 'VHF' is already on line 2\n"
        "  expected  a name of its own for every load\n"
        "  row       VHF,3 W"
    )


def test_an_unknown_supply_lists_those_there_are(write_file):
    path = write_file("a.csv", "load,draw,supply\nlaptop,40 W,mains\n")
    _, _, (problem,) = collect_loads(path, supplies=["inverter", "laptop supply"])
    assert problem.text == "supply (column C): unknown supply 'mains'"
    assert (
        problem.expected == "one of dc, inverter, laptop supply; others are declared in boat.toml"
    )
    assert read_loads(path)[0].supply == "mains"  # not known yet which there are


@pytest.mark.parametrize(
    ("window", "on", "open_h"), [("06:00-06:30; 18:00-18:30", "61 min/day", "1"),
                                 ("23:00-01:30", "2.6 h/day", "2.5")]
)  # fmt: skip
def test_more_time_than_the_window_is_open(write_file, window, on, open_h):
    path = write_file("a.csv", f"load,draw,window,on\nradio,6 W,{window},{on}\n")
    _, _, (problem,) = collect_loads(path)
    assert problem.text == (f"on (column D): '{on}' is longer than its window, {open_h} h a day")


@pytest.mark.parametrize(
    ("window", "on"), [("06:00-06:30; 18:00-18:30", "1 h/day"), ("00:00-24:00", "24 h/day"),
                       ("night", "20 h/day")]
)  # fmt: skip
def test_as_much_time_as_the_window_is_open(write_file, window, on):
    path = write_file("a.csv", f"load,draw,window,on\nradio,6 W,{window},{on}\n")
    assert len(read_loads(path)) == 1


def test_everything_wrong_is_reported_at_once_in_reading_order(write_file):
    path = write_file(
        "a.csv",
        "load,draw,when,colour\nvhf,6 V,sialing,\n# c\nlamp,1 W,any,red,\nvhf,x,any,,more\n",
    )
    with pytest.raises(InputError) as caught:
        read_loads(path)
    assert [(each.line, each.field) for each in caught.value.problems] == [
        (1, 4),
        (2, 2),
        (2, 3),
        (5, 1),
        (5, 2),
        (5, 5),
    ]


def test_a_missing_column_does_not_hide_other_faults(write_file):
    path = write_file("a.csv", "load,when\nvhf,sialing\n")
    loads, _, problems = collect_loads(path)
    assert loads == ()
    assert [each.text for each in problems] == [
        "no column 'draw'; found: load, when",
        "when (column B): unknown state 'sialing'; did you mean 'sailing'?",
    ]


def test_a_missing_file_is_a_problem_like_any_other(tmp_path):
    loads, assumptions, (problem,) = collect_loads(tmp_path / "loads.csv")
    assert (loads, assumptions) == ((), ())
    assert str(problem) == f"{tmp_path / 'loads.csv'}: no such file"


def test_the_shipped_lists_are_those_that_the_readme_names():
    assert [path.relative_to(LISTS).as_posix() for path in SHIPPED] == [
        "canada-to-hawaii/loads.csv",
        "iceland-to-cabo-verde/loads.csv",
        "lombok-to-mauritius/loads.csv",
        "new-zealand-to-tahiti/loads.csv",
        "electric-self-steering-and-fridge.csv",
        "laptop-and-satellite-phone.csv",
        "minimal-wind-vane.csv",
    ]
    readme = (LISTS / "README.md").read_text(encoding="utf-8")
    alone = [path.name for path in SHIPPED if path.parent == LISTS]
    assert [name for name in alone if f"`{name}`" not in readme] == []


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_shipped_list_reads_and_says_that_it_is_invented(path):
    loads, assumptions, problems = collect_loads(
        path, supplies=["inverter", "laptop supply", "usb socket"]
    )
    assert problems == ()
    assert len(loads) > 10
    comments = [line for line in path.read_text(encoding="utf-8").splitlines() if line[0] == "#"]
    assert "invented" in " ".join(comments)
    # What a list leaves out is what nobody would miss, and never how long or how uncertain.
    assert {each.place.split()[1] for each in assumptions} <= {
        "standby",
        "count",
        "temp",
        "fuel",
        "supply",
    }


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_shipped_list_has_a_night_light_for_every_state_that_needs_one(path):
    """International Regulations for Preventing Collisions at Sea, 1972, Rules 20, 23, 25, 30."""
    lights = {
        (load.role, state)
        for load in read_loads(path)
        if load.window.kind == "night" and load.on_frac == 1.0
        for state in load.states
    }
    assert ("sailing lights", "sailing") in lights
    assert ("power lights", "motoring") in lights
    assert ("anchor light", "anchored") in lights
    # The masthead lantern of a sailing boat has no place under power (Rules 23 and 25).
    assert ("sailing lights", "motoring") not in lights


def test_a_supply_may_be_written_in_any_case(write_file):
    path = write_file("a.csv", "load,draw,supply\nlaptop,40 W,INVERTER\nvhf,6 W,DC\n")
    assert [load.supply for load in read_loads(path, supplies=["Inverter"])] == ["Inverter", "dc"]
    assert [load.supply for load in read_loads(path)] == ["INVERTER", "dc"]


def test_a_note_is_kept_on_one_line_and_within_bounds(write_file):
    path = write_file("a.csv", 'load,draw,note\nvhf,6 W,"a\n\x1bb"\nlamp,1 W,' + "x" * 900 + "\n")
    vhf, lamp = read_loads(path)
    assert vhf.note == "a  b"
    assert lamp.note == "x" * 497 + "..."


@pytest.mark.parametrize(
    ("when", "role", "states"),
    [
        ("sailing", "", "sailing hove-to drifting"),
        ("sailing;motoring", "", "sailing motoring hove-to drifting"),
        # A pilot rests while the helm is lashed, unless its line says that it does not.
        ("sailing;motoring", "pilot", "sailing motoring"),
        ("sailing;hove-to", "pilot", "sailing hove-to"),
        ("Hove to; adrift", "", "hove-to drifting"),
        ("motoring", "", "motoring"),
        ("anchored", "", "anchored"),
        ("sailing; not hove-to", "", "sailing drifting"),
        ("sailing;not hove to;not drifting", "", "sailing"),
        ("not berthed", "", "sailing motoring hove-to drifting anchored"),
        ("any;not anchored", "pilot", "sailing motoring hove-to drifting berthed"),
    ],
)
def test_what_counts_under_sail_counts_hove_to_and_adrift(write_file, when, role, states):
    path = write_file("a.csv", f"load,draw,when,role\na,6 W,{when},{role}\n")
    assert read_loads(path)[0].states == frozenset(states.split())


def test_any_is_all_boat_states(write_file):
    path = write_file("a.csv", "load,draw,when\nvhf,6 W,any;sailing\n")
    assert read_loads(path)[0].states == frozenset(BOAT_STATES)
