"""The pictures of README and of the tutorial show what the passages give today.

What is compared is what each of them says: its words, and the charge day by day. Dots are not,
since no two machines draw letters alike; that the files are those spoken of is told by their sums.
"""

import hashlib
import json
import re
import runpy

import pytest
from pages import PAGES, ROOT

FIGURES = ROOT / "docs" / "figures"
MAKER = runpy.run_path(str(ROOT / "docs" / "make_pictures.py"))
KEPT = json.loads(MAKER["MANIFEST"].read_text(encoding="utf-8"))
STALE = "stale pictures; run: python docs/make_pictures.py"
#: A picture is to open at once where there is hardly a network. [bytes]
LARGEST = 150_000


@pytest.fixture(scope="module")
def today(tmp_path_factory):
    return {
        name: picture.shown()
        for name, picture in MAKER["pictures"](tmp_path_factory.mktemp("my-boat")).items()
    }


def words(shown):
    """In one line: where lines break is a matter of the letters at hand."""
    return " ".join(" ".join(shown["words"]).replace("|", " ").split())


@pytest.mark.slow
def test_there_is_a_picture_for_everything_that_is_drawn(today):
    assert list(KEPT) == list(today), STALE
    assert {path.name for path in FIGURES.glob("*.png")} == set(KEPT)


@pytest.mark.slow
@pytest.mark.parametrize("name", KEPT)
def test_a_picture_shows_what_the_passage_gives_today(name, today):
    assert words(KEPT[name]) == words(today[name]), STALE
    # Half of the tenth to which they are kept, and the half of another machine.
    assert KEPT[name]["percents"] == pytest.approx(today[name]["percents"], abs=0.101), STALE


@pytest.mark.parametrize("name", KEPT)
def test_a_picture_is_the_file_spoken_of_and_a_small_one(name):
    png = (FIGURES / name).read_bytes()
    assert hashlib.sha256(png).hexdigest() == KEPT[name]["sha256"], STALE
    assert len(png) < LARGEST


@pytest.mark.parametrize("page", ["README.md", "docs/tutorial.md"])
def test_curve_page_and_card_are_shown_and_said_in_words(page):
    shown = re.findall(r"!\[([^\]]+)\]\(([^)]+)\)", (ROOT / page).read_text(encoding="utf-8"))
    kinds = {path.rsplit("-", 1)[1] for _, path in shown}
    assert kinds == {"charge.png", "page.png", "card.png"}
    for told, path in shown:
        assert len(told.split()) > 8
        verdicts = re.findall(r"HOLDS|FAILS", told)
        assert all(verdict in words(KEPT[path.rsplit("/", 1)[1]]) for verdict in verdicts), told


def test_every_picture_is_on_a_page():
    text = "".join(path.read_text(encoding="utf-8") for path in PAGES)
    assert [name for name in KEPT if f"figures/{name})" not in text] == []


def test_curves_have_two_figures_for_every_day():
    """Median and edge of 32 days and 10 days; a passage ends within its last day."""
    days = [len(KEPT[f"{name}-charge.png"]["percents"]) for name in ("demo", "tutorial")]
    assert days == [2 * 32, 2 * 10]
