"""A chemistry is one file: the guide of DEVELOPERS.md is followed in a copy of the package.

A copy of lithium iron phosphate and one of AGM, under other names, must give on every command what
the original gives, to the last digit and the last word of caution.
"""

import pytest
from overlay import edited, modules_with, package_with, run_all, write_passage
from strings import strings_in

from powersim.records import CHEMISTRIES

#: The original, and a name of the same length that no chemistry has, so that columns stay.
COPIES = {"lifepo4": "copied1", "agm": "cpy"}

BOAT = """
[passage]
depart = "2026-07-01 09:00 UTC"
[battery]
chemistry = "{chemistry}"
capacity = "200 Ah"
temperature = "outside"
[engine]
rated = "12 kW"
[fuel]
tank = "80 L"
[alternator]
nameplate = "60 A"
charging = "45 A"
[[panel]]
power = "50 W"
[[charger]]
kind = "wind"
regulated = false
"""
FILES = {
    # Invented: two days from 53 S in July, so cold that a lithium bank on deck takes no charge.
    "route.csv": "waypoint,position,speed\nA,53 S 20 W,5 kn\nB,57 S 20 W,\n",
    "loads.csv": "load,draw,on,role\nautopilot,3 A,60 %,pilot\ncabin light,12 W,4 h/day,\n",
    "log.csv": "time,position,voltage,resting_h\n2026-07-01 09:00,,12.9 V,3 h\n"
    "2026-07-02 09:00,55 S 20 W,12.6 V,3 h\n",
}
#: A page with its pictures takes a second: one chemistry will do.
PICTURED = ("lifepo4", COPIES["lifepo4"])
FEW = ("--step", "60 min")
COMMANDS = {
    "check": (),
    "budget": (),
    "simulate": (*FEW, "--members", "4", "--no-figures", "--out", "{out}"),
    "endurance": (*FEW, "--members", "20"),
    "ladder": (*FEW, "--members", "20"),
    "plan": (*FEW, "--members", "20", "--out", "{out}"),
    "compare": (
        *FEW,
        "--members",
        "20",
        "--no-figures",
        "--without",
        "loads.cabin light",
        "--out",
        "{out}",
    ),
    "size": (*FEW, "--members", "20", "--solar", "50W,200W", "--jobs", "1", "--out", "{out}"),
    "underway": (*FEW, "--members", "20", "--no-plan", "--now", "2026-07-02 12:00"),
    "report": (*FEW, "--members", "4", "--card", "--out", "{out}"),
}


def chemistries_added():
    """What the guide says, for each copy: a file, and its name in the table."""
    folder = "records/chemistry"
    files, imports, listed = {}, "", ""
    for original, name in COPIES.items():
        named = (f'name="{original}"', f'name="{name}"')
        files[f"{folder}/{name}.py"] = edited(f"{folder}/{original}.py", named)
        imports, listed = f"{imports}, {name}", f"{listed}, {name}"
    files[f"{folder}/__init__.py"] = edited(
        f"{folder}/__init__.py",
        ("chemistry import agm", f"chemistry import agm{imports}"),
        ("lifepo4)", f"lifepo4{listed})"),
    )
    return files


@pytest.fixture(scope="module")
def answers(tmp_path_factory):
    """By chemistry and command: exit code, output and errors, all of one process."""
    folder = tmp_path_factory.mktemp("chemistries")
    lines = {}
    for chemistry in (*COPIES, *COPIES.values()):
        boat = {"boat.toml": BOAT.format(chemistry=chemistry)}
        passage = write_passage(folder / chemistry / "p", FILES | boat)
        for command, options in COMMANDS.items():
            if command != "report" or chemistry in PICTURED:
                out = str(folder / chemistry / command)
                given = [option.format(out=out) for option in options]
                lines[chemistry, command] = [command, str(passage), *given]
    found = run_all(package_with(folder, chemistries_added()), lines.values())
    return folder, dict(zip(lines, found, strict=True))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("original", "command"),
    [
        (original, command)
        for original in COPIES
        for command in COMMANDS
        if command != "report" or original in PICTURED
    ],
)
def test_a_copy_under_another_name_gives_the_same(answers, original, command):
    _, said = answers
    code, text, errors = said[original, command]
    assert code in (0, 1), errors
    name = COPIES[original]
    assert original in text or command not in ("check", "simulate")
    assert said[name, command] == [
        code,
        text.replace(original, name),
        errors.replace(original, name),
    ]


@pytest.mark.slow
@pytest.mark.parametrize("original", COPIES)
def test_the_files_of_a_copy_are_the_same(answers, original):
    folder, _ = answers
    name = COPIES[original]
    for path in sorted((folder / original).rglob("*.csv")):
        made = folder / name / path.relative_to(folder / original)
        text = path.read_text(encoding="utf-8").replace(original, name)
        assert made.read_text(encoding="utf-8") == text, path.name


@pytest.mark.slow
def test_the_copy_of_lithium_is_warned_as_lithium(answers):
    """No hydrogen, but frost and protection; the copy of AGM hears of hydrogen and of acid."""
    _, said = answers
    lithium, agm = said["copied1", "check"][1], said["cpy", "check"][1]
    assert ("hydrogen" in lithium, "hydrogen" in agm) == (False, True)
    assert ("too cold to be charged" in lithium, "too cold to be charged" in agm) == (True, False)
    assert ("the acid of a" in lithium, "the acid of a" in agm) == (False, True)
    assert ("Protection that opens" in lithium, "Protection that opens" in agm) == (True, False)


def test_no_chemistry_is_asked_for_by_its_name():
    """Whatever differs is a trait: outside the chemistries no string is a chemistry's name."""
    names = {name.casefold() for name in CHEMISTRIES}
    found = [
        f"{path}:{line}: {text!r}"
        for path, source in modules_with(names, but="records/chemistry/")
        for line, text in strings_in(source)
        if text.strip().casefold() in names
    ]
    assert found == []
