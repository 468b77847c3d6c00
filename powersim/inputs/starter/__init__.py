"""The files that `powersim new` and `powersim demo` write out."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

DEMO = "iceland-to-cabo-verde"
_NAMES = ("boat.toml", "loads.csv", "route.csv")


def starter_files() -> dict[str, str]:
    """The commented starter folder: text by file name.

    Examples
    --------
    >>> list(starter_files())
    ['boat.toml', 'loads.csv', 'route.csv']
    """
    return _texts(files(__package__))


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
