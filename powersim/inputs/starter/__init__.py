"""The files that `powersim new` and `powersim demo` write out.

A starter is a folder here, of files that are whole but for lines such as `#< bank.toml`: each
stands for the text of that name in `parts/`, which several starters share.
"""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

DEMO = "iceland-to-cabo-verde"
#: Each starter and what it is like, the usual one first.
STARTERS = {
    "ocean": "weeks at sea, an engine to charge with",
    "anchorage": "three weeks at one anchor",
    "coast": "short hops in tidal waters, nights alongside",
    "no-engine": "an ocean without an engine",
    "petrol-outboard": "island hops with an outboard, petrol in cans",
    "lithium": "an ocean with a lithium bank and its counter",
}
OCEAN = next(iter(STARTERS))
_NAMES = ("boat.toml", "loads.csv", "route.csv")
_PART = "#< "


def starter_files(like: str = OCEAN) -> dict[str, str]:
    """A commented starter folder: text by file name.

    Examples
    --------
    >>> list(starter_files("coast"))
    ['boat.toml', 'loads.csv', 'route.csv']
    """
    shelf = files(__package__)
    return {name: _filled(text, shelf) for name, text in _texts(shelf / like).items()}


def demo_names() -> list[str]:
    """The passages that `powersim demo` can copy out, the usual one first."""
    names = sorted(each.name for each in _loads().iterdir() if (each / "boat.toml").is_file())
    return sorted(names, key=lambda name: name != DEMO)


def demo_files(name: str = DEMO) -> dict[str, str]:
    """One of the passages in loads/, all of them invented: text by file name."""
    return _texts(_loads() / name)


def _loads():
    """The folder loads/: within the package once installed, beside it in the source."""
    within = files("powersim") / "loads"
    return within if within.is_dir() else Path(__file__).parents[3] / "loads"


def _texts(folder) -> dict[str, str]:
    return {name: (folder / name).read_text(encoding="utf-8") for name in _NAMES}


def _filled(text: str, shelf) -> str:
    """The text with its parts in place."""
    return "".join(
        (shelf / "parts" / line.removeprefix(_PART).strip()).read_text(encoding="utf-8")
        if line.startswith(_PART)
        else line
        for line in text.splitlines(keepends=True)
    )
