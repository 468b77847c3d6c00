"""A source of charge is two files: the guide of DEVELOPERS.md is followed in a copy of the package.

A copy of the wind generator and one of shore power, under other names, must give on every command
what the originals give, to the last digit and the last word of caution.
"""

import ast

import pytest
from overlay import edited, modules_with, package_with, run_all, text_of, write_passage
from strings import strings_in

from powersim.records import OTHER_SOURCES, RECORD_OF_KIND
from powersim.records.chargers import CHARGERS

#: Kind, its record, its physics; and the copy's, in words of the same length so that columns stay.
COPIES = {
    ("wind", "WindGenerator", "wind_generator"): ("gust", "GustGenerator", "gust_generator"),
    ("shore", "ShorePower", "shore_power"): ("quays", "QuaysPower", "quays_power"),
}

BOAT = """
[passage]
depart = "2026-07-01 09:00 UTC"
[battery]
chemistry = "agm"
capacity = "200 Ah"
[[panel]]
power = "50 W"
[[charger]]
kind = "{wind}"
name = "mill"
regulated = false
[[charger]]
kind = "{shore}"
name = "plug"
rated = "15 A"
hours = "18:00-08:00"
"""
FILES = {
    # Invented: a day at a berth, then a day and a half at sea.
    "route.csv": "waypoint,position,speed,stop\nA,40 N 20 W,5 kn,1 day berthed\nB,37 N 20 W,,\n",
    "loads.csv": "load,draw,on,role\nautopilot,3 A,60 %,pilot\ncabin light,12 W,4 h/day,\n",
}
FEW = ("--step", "60 min")
COMMANDS = {
    "check": (),
    "budget": (),
    "simulate": (*FEW, "--members", "4", "--no-figures", "--out", "{out}"),
    "endurance": (*FEW, "--members", "4"),
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
    "size": (*FEW, "--members", "20", "--solar", "50W,90W", "--jobs", "1", "--out", "{out}"),
    "report": (*FEW, "--members", "4", "--card", "--out", "{out}"),
}


def sources_added():
    """What the guide says, for each copy: two files, a line in each of two tables, and a curve."""
    files, imports, listed, physics, offered = {}, "", "", "", ""
    for (kind, record, module), (own_kind, own_record, own_module) in COPIES.items():
        files[f"records/chargers/{own_kind}.py"] = edited(
            f"records/chargers/{kind}.py",
            (f"class {record}", f"class {own_record}"),
            (f'kinds: ClassVar[tuple[str, ...]] = ("{kind}",)', f'kinds = ("{own_kind}",)'),
        ).replace(f'{{"{kind}": 1.15}}', f'{{"{own_kind}": 1.15}}')
        files[f"physics/{own_module}.py"] = text_of(f"physics/{module}.py")
        imports += f"\nfrom powersim.records.chargers.{own_kind} import {own_record}"
        listed += f", {own_record}"
        physics += (
            f"\nfrom powersim.physics import {own_module}"
            f"\nfrom powersim.records.chargers.{own_kind} import {own_record}"
        )
        offered += f"\n    {own_record}: {own_module}.OFFERING,"
    files["records/chargers/__init__.py"] = edited(
        "records/chargers/__init__.py",
        ("chargers.charger import Charger\n", f"chargers.charger import Charger{imports}\n"),
        ("WaterGenerator, ShorePower)", f"WaterGenerator, ShorePower{listed})"),
    )
    files["physics/chargers.py"] = edited(
        "physics/chargers.py",
        ("offering import Offering\n", f"offering import Offering{physics}\n"),
        ("shore_power.OFFERING,", f"shore_power.OFFERING,{offered}"),
    )
    files["inputs/curves/gust.csv"] = text_of("inputs/curves/wind.csv")
    return files


@pytest.fixture(scope="module")
def answers(tmp_path_factory):
    """By command: what is said with the originals, and with the copies in their place."""
    folder = tmp_path_factory.mktemp("sources")
    lines = {}
    for which in ("common", "copied"):
        kinds = {kind: own[0] if which == "copied" else kind for (kind, *_), own in COPIES.items()}
        passage = write_passage(folder / which / "p", FILES | {"boat.toml": BOAT.format(**kinds)})
        for command, options in COMMANDS.items():
            given = [option.format(out=folder / which / command) for option in options]
            lines[which, command] = [command, str(passage), *given]
    found = run_all(package_with(folder, sources_added()), lines.values())
    return folder, dict(zip(lines, found, strict=True))


def renamed(text):
    """What the originals' words become: kinds are told behind the chargers' names alone."""
    text = text.replace("/common/", "/copied/")
    for (kind, *_), (own_kind, *_) in COPIES.items():
        for name in ("mill", "plug"):
            text = text.replace(f"{name}, {kind}", f"{name}, {own_kind}")
    return text


@pytest.mark.slow
@pytest.mark.parametrize("command", COMMANDS)
def test_copies_in_the_place_of_the_originals_give_the_same(answers, command):
    _, said = answers
    code, text, errors = said["common", command]
    assert code in (0, 1), errors
    assert said["copied", command] == [code, renamed(text), renamed(errors)]


@pytest.mark.slow
def test_the_files_of_copies_are_the_same(answers):
    folder, _ = answers
    paths = sorted((folder / "common").rglob("*.csv"))
    assert {path.name for path in paths} >= {"hourly.csv", "members.csv", "size.csv"}
    for path in paths:
        made = folder / "copied" / path.relative_to(folder / "common")
        # Of the folders that were compared, compare.csv has the names.
        assert made.read_text("utf-8") == renamed(path.read_text("utf-8")), path.name


@pytest.mark.slow
def test_a_copy_may_have_a_ledger_of_its_own(answers, tmp_path):
    """The guide's last lines: a flow more, and what the quay gives is in columns of its own."""
    common, _ = answers
    record = "records/chargers/quays.py"
    files = sources_added()
    files[record] = files[record].replace(
        'source: ClassVar[str] = "shore"', 'source: ClassVar[str] = "quays"'
    )
    files["kernel/flows.py"] = edited(
        "kernel/flows.py",
        ("    shore_A: Number\n", "    shore_A: Number\n    quays_A: Number\n"),
        ("    SHORE_A,\n", "    SHORE_A,\n    QUAYS_A,\n"),
    )
    boat = BOAT.format(wind="gust", shore="quays")
    passage = write_passage(tmp_path / "p", FILES | {"boat.toml": boat})
    options = [option.format(out=tmp_path / "simulate") for option in COMMANDS["simulate"]]
    # Another kernel would be compiled anew; as plain Python it gives the same to the last bit.
    ((code, text, errors),) = run_all(
        package_with(tmp_path, files),
        [["simulate", str(passage), *options]],
        POWERSIM_COMPILE="no",
    )
    assert code in (0, 1), errors
    assert "quay" in text
    for name in ("hourly.csv", "daily.csv", "members.csv"):
        expected = (common / "common" / "simulate" / name).read_text(encoding="utf-8")
        found = (tmp_path / "simulate" / name).read_text(encoding="utf-8")
        assert found.count("quays_") == expected.count("shore_") > 0, name
        assert found.replace("quays_", "shore_") == expected, name


@pytest.mark.slow
def test_the_copies_are_warned_of_as_the_originals(answers):
    """Blades that maim, mains that kill, and a generator that nothing regulates."""
    _, said = answers
    _, text, _ = said["copied", "check"]
    for told in ("blades maim", "Shore power kills", "mill: it has no regulator"):
        assert told in " ".join(text.split())


def test_no_kind_is_asked_for_by_its_name():
    """Whatever differs is a trait of the record: nobody else compares a kind or a source."""
    names = {*RECORD_OF_KIND, *OTHER_SOURCES}
    found = [
        f"{path}:{node.lineno}"
        for path, source in modules_with({f'"{name}"' for name in names}, but="records/chargers/")
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Compare)
        and {"kind", "source"} & set(_attributes(node))
        and names & {text for _, text in strings_in(ast.unparse(node))}
    ]
    assert found == []
    assert tuple(dict.fromkeys(record.source for record in CHARGERS)) == OTHER_SOURCES


def _attributes(node):
    for each in ast.walk(node):
        if isinstance(each, ast.Attribute):
            yield each.attr
        elif isinstance(each, ast.Name):
            yield each.id
