"""The pages that a reader may open, and the blocks of code on them."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]
PAGES = sorted(
    path
    for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").rglob("*.md"))
    if path.exists()
)
HOW_TO = sorted((ROOT / "docs" / "how-to").glob("*.md"))


def name_of(path):
    """A page by its place in the project, as a test's name."""
    return path.relative_to(ROOT).as_posix()


def blocks(path, language):
    """Blocks of one language on a page, without the indent that a list gives them."""
    found = re.findall(
        rf"^( *)```{language}\n(.*?)^\1```$", path.read_text("utf-8"), re.DOTALL | re.MULTILINE
    )
    return ["\n".join(line[len(indent) :] for line in text.split("\n")) for indent, text in found]
