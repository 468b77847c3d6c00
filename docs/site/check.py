"""What is wrong with a built site: things fetched from elsewhere, links that lead nowhere."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

#: Attributes by which a page loads something, and the elements for which they only lead there.
_LOADS = ("action", "background", "cite", "data", "href", "poster", "src", "srcset")
_LEADS = {("a", "href"), ("area", "href"), ("blockquote", "cite"), ("q", "cite")}
#: An address in CSS, or one that begins a string in a script.
_IN_STYLE = re.compile(r"""(?:url\(|@import)\s*["']?((?:[a-z]+:)?//[^"')\s]+)""", re.IGNORECASE)
_IN_SCRIPT = re.compile(r"""["'`]((?:https?:|wss?:)?//[^"'`\s]+)""", re.IGNORECASE)
#: Names of kinds of XML, which look like addresses and are never opened.
_NAMESPACES = "http://www.w3.org/"


class Page(HTMLParser):
    """What a page of HTML names, loads and links to."""

    def __init__(self, text: str):
        super().__init__()
        self.names: set[str] = set()
        self.loads: list[str] = []
        self.links: list[str] = []
        self.scripts: list[str] = []
        self.styles: list[str] = []
        self._within = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        """Note names, addresses and styles of an element."""
        self._within = tag
        for key, value in attrs:
            value = value or ""
            if key == "id" or (tag == "a" and key == "name"):
                self.names.add(value)
            elif (tag, key) in _LEADS:
                self.links.append(value)
            elif key == "srcset":
                self.loads += [each.split()[0] for each in value.split(",") if each.strip()]
            elif key in _LOADS:
                self.loads.append(value)
            elif key == "style":
                self.styles.append(value)
            elif tag == "meta" and key == "content" and "url=" in value.lower():
                self.loads.append(re.split("url=", value, flags=re.IGNORECASE)[1])

    def handle_endtag(self, tag):
        """Leave an element."""
        self._within = ""

    def handle_data(self, data):
        """Note scripts and styles that stand in the page itself."""
        if self._within == "script":
            self.scripts.append(data)
        elif self._within == "style":
            self.styles.append(data)


def faults_of(site: Path) -> list[str]:
    """All that is wrong with a site, a line each.

    Parameters
    ----------
    site : Path
        Its folder.

    Returns
    -------
    list of str
        The file, and what is wrong in it.
    """
    site = site.resolve()
    pages = {path: Page(path.read_text(encoding="utf-8")) for path in sorted(site.rglob("*.html"))}
    if not pages:
        return [f"{site}: no pages"]
    found = [
        f"{path.relative_to(site)}: {what}" for path in pages for what in _of_page(path, pages)
    ]
    for path in sorted([*site.rglob("*.css"), *site.rglob("*.js")]):
        text = path.read_text(encoding="utf-8")
        fetched = fetched_by_style(text) if path.suffix == ".css" else fetched_by_script(text)
        found += [f"{path.relative_to(site)}: fetches {each}" for each in fetched]
    return found


def fetched_by_style(text: str) -> list[str]:
    """Addresses of other hosts in CSS."""
    return _IN_STYLE.findall(text)


def fetched_by_script(text: str) -> list[str]:
    """Addresses of other hosts that begin a string of a script."""
    return [each for each in _IN_SCRIPT.findall(text) if not each.startswith(_NAMESPACES)]


def _of_page(path: Path, pages: dict[Path, Page]) -> Iterator[str]:
    page = pages[path]
    for text in page.styles:
        yield from (f"fetches {each}" for each in fetched_by_style(text))
    for text in page.scripts:
        yield from (f"fetches {each}" for each in fetched_by_script(text))
    for address in page.loads:
        if _elsewhere(address):
            yield f"fetches {address}"
        elif not _is_there(path, address, pages):
            yield f"loads {address}, which is not there"
    for address in page.links:
        if not _elsewhere(address) and not _is_there(path, address, pages):
            yield f"links to {address}, which is not there"


def _elsewhere(address: str) -> bool:
    parts = urlsplit(address)
    return bool(parts.netloc) or parts.scheme not in ("", "data")


def _is_there(path: Path, address: str, pages: dict[Path, Page]) -> bool:
    parts = urlsplit(address)
    if parts.scheme == "data":
        return True
    target = (path.parent / unquote(parts.path)).resolve() if parts.path else path
    if not target.exists():
        return False
    name = unquote(parts.fragment)
    return not name or target not in pages or name in pages[target].names
