"""What was assumed, by why: each once, and what can be measured aboard first."""

import re
from pathlib import Path

import powersim
from powersim.records import Assumption
from powersim.report.assumed import _MEASURED, assumed

ROOT = Path(__file__).parents[2]


def one(place, value, reason):
    return Assumption(place=place, value=value, reason=reason)


MADE = (
    one("boat.toml battery.float", "13.5 V", "common practice, no source"),
    one("boat.toml battery.health", "85 %", "unknown age; common practice, no source"),
    one("boat.toml engine.slope", "0.246 L/kWh", "Someone, A Journal 13 (1989) 72-87"),
    one("boat.toml engine.idle", "0.5 L/h", "0.08 L/h a kW (Someone 1989, from memory)"),
    one("boat.toml panel.count (arch)", "1", "one module"),
    one("boat.toml panel.salt (arch)", "4 %", "salt; common practice, no source"),
    one("route.csv cloud", "climatology", "the monthly ocean climatology"),
    one("boat.toml battery.flat", "20 %", "drops out; common practice, no source"),
)


def test_each_by_its_cause():
    found = assumed(MADE)
    assert found.count == len(MADE)
    assert [row[:3] for row in found.measured.rows] == [
        ("battery.health", "85 %", "unknown age"),
        ("panel.salt (arch)", "4 %", "salt"),
    ]
    assert all(row[3] for row in found.measured.rows)
    assert [(said, table.rows) for said, table in found.folded] == [
        (
            "2 are common practice, without a source",
            (
                ("battery.float", "13.5 V", ""),
                ("battery.flat", "20 %", "drops out"),
            ),
        ),
        (
            "1 is a published figure",
            (("engine.slope", "0.246 L/kWh", "Someone, A Journal 13 (1989) 72-87"),),
        ),
        (
            "1 is a published figure, from memory: not read again",
            (("engine.idle", "0.5 L/h", "0.08 L/h a kW (Someone 1989, from memory)"),),
        ),
        (
            "1 is the month's average over the ocean",
            (("route.csv cloud", "climatology", "the monthly ocean climatology"),),
        ),
        (
            "1 is what is usual, or follows from what the files say",
            (("panel.count (arch)", "1", "one module"),),
        ),
    ]  # fmt: skip


def test_nothing_assumed():
    found = assumed(())
    assert (found.measured, found.folded, found.count) == (None, (), 0)


def test_of_the_demo_each_is_told_once():
    passage = powersim.load(ROOT / "loads" / "iceland-to-cabo-verde")
    found = assumed(passage.assumptions)
    rows = [*found.measured.rows, *(row for _, table in found.folded for row in table.rows)]
    assert sorted(row[0] for row in rows) == sorted(
        a.place.removeprefix("boat.toml ") for a in passage.assumptions
    )
    for said, table in found.folded:
        assert int(said.split()[0]) == len(table.rows)


def test_what_is_to_be_measured_is_a_key_of_boat_toml():
    files = (ROOT / "docs" / "reference" / "files.md").read_text(encoding="utf-8")
    for key in _MEASURED:
        section, name = key.split(".")
        assert re.search(rf"\[+{section}\b", files), key
        assert f"`{name}`" in files, key
