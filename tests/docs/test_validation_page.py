"""docs/validation.md names every outside check, and docs/model.md every page of the model."""

import re
import runpy

import pytest
from pages import ROOT

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


@pytest.mark.parametrize("place", [0, 2, 7])
def test_the_sizes_of_errors_are_those_of_today(place):
    """As it is, loads a fifth larger, a warm cabin; all lines would take too long."""
    maker = runpy.run_path(str(ROOT / "docs" / "error_sizes.py"))
    line = maker["row"](maker["CASES"][place])
    page = (ROOT / "docs" / "model.md").read_text(encoding="utf-8")
    assert line in page.splitlines(), "run: python docs/error_sizes.py"
    assert page.count("\n| ") > len(maker["CASES"])
