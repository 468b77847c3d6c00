"""Which file of a passage folder is the route."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from powersim.errors import Problem
from powersim.records import Assumption

ROUTE_FILE, GPX_FILE = "route.csv", "route.gpx"
_GPX = ".gpx"
_MOST_NAMED = 5


def route_file(folder: Path, *, known: Collection[str] = ()) -> Path | Problem:
    """The route: route.csv, route.gpx, or the one GPX file of another name.

    Parameters
    ----------
    folder : Path
        Of the passage.
    known : collection of str
        Names of files whose text is known already, whatever lies there now; if a route is among
        them, no other counts.

    Returns
    -------
    Path or Problem
        What is wrong where there is none, or more than one may be meant.
    """
    named = {ROUTE_FILE, GPX_FILE}
    there = named & set(known) or {name for name in named if (folder / name).exists()}
    if len(there) == 2:
        return _unclear(folder, f"holds both {ROUTE_FILE} and {GPX_FILE}: which one?")
    if there:
        return folder / there.pop()
    others = gpx_files(folder)
    if len(others) == 1:
        return others[0]
    text = f"holds neither {ROUTE_FILE} nor {GPX_FILE}"
    if not others:
        return _unclear(folder, text)
    names = ", ".join(path.name for path in others[:_MOST_NAMED])
    more = f" and {len(others) - _MOST_NAMED} more" if len(others) > _MOST_NAMED else ""
    return Problem(
        file=str(folder),
        text=f"{text}, and {len(others)} other GPX files: {names}{more}: which one?",
        expected=f"one of them named {GPX_FILE}",
    )


def _unclear(folder: Path, text: str) -> Problem:
    return Problem(file=str(folder), text=text, expected="one of them")


def gpx_files(folder: Path) -> list[Path]:
    """The GPX files of a folder by whatever name, hidden ones left out.

    Parameters
    ----------
    folder : Path
        Of the passage.
    """
    try:
        paths = sorted(folder.iterdir())
    except OSError:
        return []
    return [
        path
        for path in paths
        if path.suffix.casefold() == _GPX and path.name[:1] != "." and path.is_file()
    ]


def route_assumed(path: Path) -> tuple[Assumption, ...]:
    """That a file is taken for the route, where its name does not say so.

    Parameters
    ----------
    path : Path
        As `route_file` has it.
    """
    if path.name in (ROUTE_FILE, GPX_FILE):
        return ()
    reason = f"the only GPX file in the folder; there is no {ROUTE_FILE}"
    return (Assumption(place="route", value=path.name, reason=reason),)
