"""docs/validation.md names every outside check, and docs/model.md every page of the model."""

import re
import runpy
from dataclasses import replace

import pytest
from pages import ROOT

import powersim

VALIDATION = (ROOT / "docs" / "validation.md").read_text(encoding="utf-8")


def test_every_reference_test_is_on_the_page():
    tests = sorted(path.name for path in (ROOT / "tests" / "reference").glob("test_*.py"))
    assert tests
    assert [name for name in tests if f"`tests/reference/{name}`" not in VALIDATION] == []


def test_how_sure_a_row_is_is_said_in_words_that_the_page_explains():
    """And memory has another kind beside it, or says that it stands alone: then the list at the top
    of the page must name it too."""
    explained = set(re.findall(r"\*([a-z ]+)\*", VALIDATION.split("\n## ")[0]))
    cells = [line.strip("| ").split(" | ") for line in VALIDATION.splitlines() if " | " in line]
    rows = {row[0]: row[2].split("; ") for row in cells if len(row) == 5}
    rows = {what: kinds for what, kinds in rows.items() if kinds not in (["how sure"], ["---"])}
    assert len(rows) > 120
    assert {
        kind for kinds in rows.values() for kind in kinds if not kind.endswith(tuple(explained))
    } == set()
    assert [what for what, kinds in rows.items() if kinds == ["memory"]] == []
    alone = [what for what, kinds in rows.items() if "memory alone" in kinds]
    assert len(alone) == 5, "name it in the list at the top of the page"


def test_every_page_of_the_model_is_on_the_map():
    text = (ROOT / "docs" / "model.md").read_text(encoding="utf-8")
    pages = sorted(path.name for path in (ROOT / "docs" / "model").glob("*.md"))
    assert [name for name in pages if f"](model/{name})" not in text] == []


def test_a_start_is_a_threshold_as_the_page_has_it():
    """On the demo in average weather: one point of the start, and many of the lowest charge."""
    demo = powersim.load(ROOT / "loads" / "iceland-to-cabo-verde")
    text = " ".join((ROOT / "docs" / "model.md").read_text(encoding="utf-8").split())
    (told,) = re.findall(
        r"A start at (\d+) % in place of (\d+) % moves the lowest charge from (\d+) to (\d+) % on "
        r"the demo, one at (\d+) % in place of (\d+) % from (\d+) to (\d+) %",
        text,
    )
    for start, instead, before, after in (told[:4], told[4:]):
        for percent, lowest in ((instead, before), (start, after)):
            rule = replace(demo.boat.charging, start_soc=int(percent) / 100.0)
            boat = replace(demo.boat, charging=rule)
            charge = powersim.simulate(replace(demo, boat=boat), members=1).summary["average"]
            assert round(100.0 * charge["charge"]["lowest_soc"]) == int(lowest), percent


@pytest.mark.parametrize("place", [0, 2, 7])
def test_the_sizes_of_errors_are_those_of_today(place):
    """As it is, loads a fifth larger, a warm cabin; all lines would take too long."""
    maker = runpy.run_path(str(ROOT / "docs" / "error_sizes.py"))
    line = maker["row"](maker["CASES"][place])
    page = (ROOT / "docs" / "model.md").read_text(encoding="utf-8")
    assert line in page.splitlines(), "run: python docs/error_sizes.py"
    assert page.count("\n| ") > len(maker["CASES"])
