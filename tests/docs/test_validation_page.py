"""docs/validation.md names every outside check, and docs/model.md every page of the model."""

import runpy

import pytest
from pages import ROOT

VALIDATION = (ROOT / "docs" / "validation.md").read_text(encoding="utf-8")


def test_every_reference_test_is_on_the_page():
    tests = sorted(path.name for path in (ROOT / "tests" / "reference").glob("test_*.py"))
    assert tests
    assert [name for name in tests if f"`tests/reference/{name}`" not in VALIDATION] == []


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
