"""The files that `powersim new` and `powersim demo` write out."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

_DEMO = "iceland-to-cabo-verde"
_NAMES = ("boat.toml", "loads.csv", "route.csv")


def starter_files() -> dict[str, str]:
    """The commented starter folder: text by file name.

    Examples
    --------
    >>> list(starter_files())
    ['boat.toml', 'loads.csv', 'route.csv']
    """
    return _texts(files(__package__))


def demo_files() -> dict[str, str]:
    """The demo passage: text by file name.

    The folder loads/ beside the package is installed as `powersim_loads` (pyproject.toml), so
    that there is one copy of it.
    """
    return _texts(_loads() / _DEMO)


def _loads():
    beside = Path(__file__).parents[3] / "loads"
    # Run from the source, also by an editable install, whose finder cannot open powersim_loads.
    return beside if (beside / _DEMO).is_dir() else files("powersim_loads")


def _texts(folder) -> dict[str, str]:
    return {name: (folder / name).read_text(encoding="utf-8") for name in _NAMES}
