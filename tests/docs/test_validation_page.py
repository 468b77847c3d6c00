"""docs/validation.md names every outside check, and docs/model.md every page of the model."""

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
