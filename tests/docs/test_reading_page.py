"""The tables of what a reading is worth are those of the code."""

import runpy
import sys
from pathlib import Path

DOCS = Path(__file__).parents[2] / "docs"


def test_the_tables_are_up_to_date(monkeypatch):
    monkeypatch.setattr(sys, "path", [str(DOCS), *sys.path])
    made = runpy.run_path(str(DOCS / "reading_figures.py"))
    page = (DOCS / "model/reading.md").read_text(encoding="utf-8")
    for name, rows in made["tables"]().items():
        table = f"<!-- measured: {name} -->\n\n" + "\n".join(rows) + "\n\n<!-- end -->"
        assert table in page, "run: python docs/reading_figures.py"
