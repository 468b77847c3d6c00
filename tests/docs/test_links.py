"""Every link from one page to another leads somewhere, to the very heading that it names."""

import re

import pytest
from pages import PAGES, ROOT, name_of

_LINK = re.compile(r"\]\(([^)\s]+)\)")
_CODE = re.compile(r"```.*?```", re.DOTALL)
_SHOWN_PATH = re.compile(r"`((?:docs|tests|powersim|loads)/[\w./-]+\.\w+)`")


def anchors(path):
    """Names of the headings of a page, as pages on the web make them of their words."""
    headings = re.findall(r"^#+ (.*)$", path.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", words.lower()).replace(" ", "-") for words in headings}


def broken(path):
    """Links of a page that lead nowhere."""
    for link in _LINK.findall(_CODE.sub("", path.read_text(encoding="utf-8"))):
        if re.match(r"[a-z]+:", link):
            continue
        file, _, heading = link.partition("#")
        target = path.parent / file if file else path
        if not target.exists() or (heading and heading not in anchors(target)):
            yield link


@pytest.mark.parametrize("path", PAGES, ids=name_of)
def test_every_link_leads_somewhere(path):
    assert list(broken(path)) == []


@pytest.mark.parametrize("path", PAGES, ids=name_of)
def test_every_file_that_is_named_is_there(path):
    """Such as `tests/unit/test_track.py`; a name with < or * in it stands for many."""
    named = _SHOWN_PATH.findall(path.read_text(encoding="utf-8"))
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_a_broken_link_is_seen(tmp_path):
    page = tmp_path / "page.md"
    page.write_text("# One heading\n[a](#one-heading) [b](#two) [c](no.md) [d](https://x.org)\n")
    assert list(broken(page)) == ["#two", "no.md"]


def test_every_page_can_be_reached():
    """From README, DEVELOPERS or docs/README.md, by way of any other page."""
    linked = {
        (path.parent / link.partition("#")[0]).resolve()
        for path in PAGES
        for link in _LINK.findall(path.read_text(encoding="utf-8"))
        if not link.startswith(("#", "http"))
    }
    entries = {"README.md", "DEVELOPERS.md", "docs/README.md", "docs/performance.md"}
    lost = [name_of(path) for path in PAGES if path not in linked and name_of(path) not in entries]
    assert lost == []
