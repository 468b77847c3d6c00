"""`--set` and `--without`: answers as from files that say so, which say first what they are of."""

import json

import pytest

import powersim
from powersim.inputs.boat import TABLES
from powersim.report.card import card_of
from powersim.report.changed_told import changed_told
from powersim.report.figure_charge import charge_figure
from powersim.report.figure_energy import energy_figure

BOAT = """\
[passage]
depart = "2026-09-05 09:00"
[battery]
chemistry = "agm"
capacity = "200 Ah"
[[panel]]
name = "arch"
power = "100 W"
[alternator]
charging = "45 A"
[engine]
rated = "12 kW"
[fuel]
tank = "50 L"
"""
LOADS = "load,draw,on\npilot,2 A,40 %\nfridge,40 W,40 %\n"
ROUTE = "waypoint,position,speed\nA,40 N 30 W,5 kn\nB,36 N 30 W,\n"
QUICK = ("--step", "60 min", "--members", "2")
ASKED = (
    *("--set", "battery.capacity=300 Ah", "--set", "battery.floor=55 %"),
    *("--without", "loads.fridge", "--depart", "2026-09-07 09:00"),
)
TOLD = (
    "What if, not as the files say: battery.capacity 300 Ah (was 200 Ah); "
    "battery.floor 55 % (was 50 %, the default); fridge left off; "
    "passage.depart 2026-09-07 09:00 (was 2026-09-05 09:00 UTC)."
)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    made = tmp_path / "tern"
    made.mkdir()
    for name, text in (("boat.toml", BOAT), ("loads.csv", LOADS), ("route.csv", ROUTE)):
        (made / name).write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return made


def words(text):
    return " ".join(text.split())


def test_simulate_says_first_what_was_changed_and_is_what_such_files_give(call, folder):
    changed = call("simulate", "tern", *QUICK, *ASKED, "--no-figures")
    assert words(changed.out).startswith(TOLD)
    found = json.loads((folder / "what-if" / "summary.json").read_text("utf-8"))
    assert [one["told"] for one in found["changed"]] == TOLD[:-1].split(": ", 1)[1].split("; ")
    assert found["changed"][2] == {
        "place": "loads.fridge",
        "old": None,
        "new": "0",
        "told": "fridge left off",
    }
    brief = call("simulate", "tern", *QUICK, *ASKED, "--no-figures", "--quiet")
    assert words(brief.out).startswith(TOLD)

    edits = (("200 Ah", "300 Ah"), ("09-05", "09-07"), ('"agm"', '"agm"\nfloor = "55 %"'))
    text = BOAT
    for old, new in edits:
        text = text.replace(old, new)
    (folder / "boat.toml").write_text(text, encoding="utf-8")
    loads = "load,draw,on,count\npilot,2 A,40 %\nfridge,40 W,40 %,0\n"
    (folder / "loads.csv").write_text(loads, encoding="utf-8")
    edited = call("simulate", "tern", *QUICK, "--no-figures")
    assert not edited.out.startswith("What if")
    again = json.loads((folder / "results" / "summary.json").read_text("utf-8"))
    assert again["changed"] == []
    told = {"changed", "warnings"}
    assert {key: value for key, value in found.items() if key not in told} == {
        key: value for key, value in again.items() if key not in told
    }


def test_plan_and_all_that_it_writes_say_what_they_are_for(call, folder):
    asked = ("plan", "tern", "--step", "60 min", "--members", "20", *ASKED)
    text = call(*asked)
    assert words(text.out).startswith(TOLD)
    notes = [
        "# What if, not as the files say:",
        "# battery.capacity 300 Ah (was 200 Ah)",
        "# battery.floor 55 % (was 50 %, the default)",
        "# fridge left off",
        "# passage.depart 2026-09-07 09:00 (was 2026-09-05 09:00 UTC)",
    ]
    assert "To make it the rule of a boat that was changed so, put this into" in words(text.out)
    keep = text.out.split("boat.toml:\n")[1].strip().splitlines()
    assert keep[:5] == notes
    path = folder / "what-if" / "plan.csv"
    assert path.read_text("utf-8").splitlines()[:5] == notes
    assert len(json.loads(call(*asked, "--json", "--force").out)["changed"]) == 4
    with path.open("a", encoding="utf-8") as plan:
        plan.write("2026-09-05 18:00,60\n")  # no run is needed with so large a bank
    ran = call("simulate", "tern", *QUICK, "--no-figures", "--engine-plan", path, "--json")
    assert json.loads(ran.out)["changed"] == []
    given = ("simulate", "tern", *QUICK, "--no-figures", "--engine-plan", path)
    warned = words(call(*given).out)
    assert warned.startswith(
        "- plan.csv was planned for another boat (battery.capacity 300 Ah (was"
    )
    assert "run it with these changes, or plan anew. tern: A to B" in warned
    # Of the boat that it was made for nothing is said, nor of one that was made without changes.
    assert "another boat" not in call(*given, *ASKED).out
    lines = path.read_text("utf-8").splitlines(keepends=True)
    path.write_text("".join(line for line in lines if not line.startswith("#")), encoding="utf-8")
    assert "another boat" not in call(*given).out


def test_page_and_card_say_it_first(call, folder):
    outcome = call("report", "tern", *QUICK, *ASKED, "--out", "r")
    assert words(outcome.out).startswith(TOLD)
    page = (folder.parent / "r" / "report.html").read_text("utf-8")
    body = page[page.index("<body>") :]
    assert TOLD in words(body)
    assert body.index("What if") < body.index("Will it hold?")


def test_what_nobody_should_be_without_is_warned_of_wherever_the_answer_is_told(call, folder):
    lights = "lantern,2 W,,sailing lights,sailing,night\npump,6 A,4 min/day,bilge pump,any,always\n"
    text = LOADS.replace("on\n", "on,role,when,window\n", 1) + lights
    (folder / "loads.csv").write_text(text, encoding="utf-8")
    off = ("--without", "loads.lantern", "--without", "loads.pump", *QUICK)
    dark = (
        # COLREGs 1972, Rules 20(b) and 25: sunset to sunrise, whatever a light draws.
        "No light that shines all night under sail: Rules 20(b), 25(a) and 25(b) of the",
        "keep on: lantern.",
        "Pump, which pumps while you sleep, is left off; keep it on at sea",
    )
    simulated = call("simulate", "tern", *off, "--no-figures").out
    endured = call("endurance", "tern", *off).out
    reported = call("report", "tern", *off, "--set", "battery.chemistry=lifepo4").out
    page = (folder / "what-if" / "report.html").read_text("utf-8")
    head = page[page.index("<body>") : page.index("Will it hold?")]
    for said in (simulated, endured, reported, head):
        for one in dark:
            assert one in words(said)
    # What `check` would say of such a bank: it knows only that of the files.
    assert "Lithium needs its protection system" in words(head)
    assert "Lithium" not in words(simulated)
    assert "<h1>What if: tern</h1>" in page


def test_of_files_that_a_value_mends_all_that_is_off_is_warned_of(call, folder):
    text = LOADS.replace("on\n", "on,role\n", 1).replace("2 A", "2 Q") + "ais,3 W,,lookout\n"
    (folder / "loads.csv").write_text(text, encoding="utf-8")
    mended = ("--set", "loads.pilot.draw=2 A", "--without", "loads.ais", "--quiet")
    said = words(call("simulate", "tern", *QUICK, "--no-figures", *mended).out)
    assert "- Ais, your lookout while you sleep, is left off; keep it on at sea" in said


def test_results_of_the_files_as_they_are_stay(call, folder):
    quick = ("simulate", "tern", *QUICK, "--no-figures")
    call(*quick)
    before = {one.name: one.read_bytes() for one in (folder / "results").iterdir()}
    said = call(*quick, "--set", "battery.capacity=300 Ah").out
    assert "Results in tern/what-if: hourly.csv" in words(said)
    assert {one.name: one.read_bytes() for one in (folder / "results").iterdir()} == before
    # What the files say is no change, and a departure by option is one.
    assert "Results in tern/results" in words(call(*quick, "--set", "battery.capacity=200 Ah").out)
    said = call(*quick, "--depart", "2026-09-07 09:00").out
    assert "Results in tern/what-if" in words(said)


def test_endurance_says_it_and_knows_a_line_from_what_is_taken_out(call, folder):
    given = ("endurance", "tern", "--step", "60 min", "--members", "1")
    found = call(*given, "--set", "battery.capacity=300 Ah", "--without", "fridge")
    first, rest = found.out.split("\n\n", 1)
    assert words(first) == "What if, not as the files say: battery.capacity 300 Ah (was 200 Ah)."
    assert "without fridge" in rest
    found = call(*given, "--without", "loads.fridge")
    assert found.out.startswith("What if, not as the files say: fridge left off.")
    assert "without fridge" not in found.out
    (one,) = json.loads(call(*given, "--without", "panel.arch", "--json").out)["changed"]
    assert one["told"] == "panel arch taken out"
    found = call(*given, "--without", "shedding")
    assert (found.code, found.err.splitlines()[0]) == (
        2,
        "--without shedding: there is no [shedding]",
    )


def test_what_was_changed_in_a_notebook_is_told_too(folder):
    passage = powersim.load(folder).with_({"loads.fridge": None, "battery.capacity": "300 Ah"})
    result = powersim.simulate(passage, step_h=1.0, members=1)
    told = "What if, not as the files say: battery.capacity 300 Ah (was 200 Ah); fridge left off."
    assert changed_told(result.summary["changed"]) == told
    assert energy_figure(result).title.startswith("What if: tern: charge in and out")
    assert charge_figure(result).title.startswith("What if: tern: A to B")
    card = card_of(result, endurance=powersim.endurance(result, members=1))
    assert card.changed == told
    assert card.title.startswith("What if: tern: ")
    assert not passage.change_warnings
    lithium = passage.with_("battery.chemistry", "lifepo4")
    assert lithium.change_warnings[0].startswith("The floor goes with it to 20 %, from 50 %")
    assert lithium.change_warnings[1].startswith("Lithium needs its protection system")
    card = card_of(
        powersim.simulate(lithium, step_h=1.0, members=1),
        endurance=powersim.endurance(lithium, members=1),
    )
    assert "Lithium needs its protection system" in card.changed


def test_what_fails_with_changes_is_not_sent_to_a_plan_without_them(call, folder):
    outcome = call("simulate", "tern", *QUICK, "--no-figures", "--set", "battery.capacity=12 Ah")
    assert outcome.code == 1
    assert "'powersim plan tern' with the same changes looks for" in words(outcome.out)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            ("--set", "battery.capacty=300 Ah"),
            "--set battery.capacty=300 Ah: unknown key; did you mean 'capacity'?\n"
            "  expected  capacity, charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            ("--set", "battery.capacity=300 W"),
            "--set battery.capacity=300 W: '300 W' is a power\n"
            "  expected  charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            ("--set", 'loads.lamp={on="5 %"}'),
            '--set loads.lamp={on="5 %"}: draw: is empty\n'
            "  expected  power or current while on, for example 36 W or 3 A",
        ),
        (("--without", "loads.frigde"), "--without loads.frigde: no load 'frigde'; did you mean"),
        (("--without", "battery.capacity"), "--without battery.capacity: no capacity\n"),
        (("--set", "battery.capacity"), "--set battery.capacity: has no = between its place"),
        (
            ("--set", "battery.capacity=1 Ah", "--set", "Battery . capacity=2 Ah"),
            "--set Battery . capacity=2 Ah: asks for the same place as --set battery.capacity=1",
        ),
        (
            ("--depart", "2026-09-07 09:00", "--set", "passage.depart=2026-09-08 09:00"),
            "--set passage.depart=2026-09-08 09:00: asks for the same place as --depart\n",
        ),
        (
            ("--without", "passage.depart"),
            "--without passage.depart: there is no other departure\n",
        ),
        (
            ("--without", "loads.pilot", "--set", "loads.pilot={draw='1 W'}"),
            "--without loads.pilot: asks for the same place as --set loads.pilot={draw='1 W'}",
        ),
    ],
)
@pytest.mark.parametrize("command", ["simulate", "plan", "endurance", "report"])
def test_a_mistake_names_the_option_as_it_was_typed(call, folder, command, options, message):
    outcome = call(command, "tern", *options)
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err.startswith(message)
    assert not (folder / "results").exists()


def test_a_figure_that_is_odd_is_doubted_by_the_option_that_set_it(call, folder):
    outcome = call("simulate", "tern", *QUICK, "--no-figures", "--set", "battery.capacity=3 Ah")
    assert "--set battery.capacity=3 Ah" in words(outcome.out + outcome.err)


def test_no_table_is_hidden_by_the_name_of_a_failure():
    """`endurance --without NAME` has these names for lines of their own."""
    from powersim.cli.lost import parted

    for table in TABLES:
        lost, places = parted([table, f"{table}.x"])
        assert (table in lost) != (table in places)
        assert f"{table}.x" in places
