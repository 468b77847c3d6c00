"""A copy of the package with some files added or changed, and command lines run in it.

All that stays as it is are links, so that a copy costs nothing.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import powersim

PACKAGE = Path(powersim.__file__).parent

#: Runs command lines, one a line of standard input, and prints code and text of each.
_SCRIPT = """
import contextlib, io, json, sys
from powersim.cli.main import run
for line in sys.stdin:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(json.loads(line))
    print(json.dumps([code, out.getvalue(), err.getvalue()]))
"""


def package_with(folder: Path, files: dict[str, str]) -> Path:
    """A package in a folder; `files` by their paths in it, with `/`."""
    own = folder / "powersim"
    _link(PACKAGE, own, {tuple(name.split("/")): text for name, text in files.items()})
    return folder


def _link(original, made, files):
    made.mkdir()
    inner = {parts[0] for parts in files}
    for path in original.iterdir():
        if path.name not in inner | {"__pycache__"}:
            (made / path.name).symlink_to(path)
    for name in inner:
        within = {parts[1:]: text for parts, text in files.items() if parts[0] == name}
        if () in within:
            (made / name).write_text(within[()], encoding="utf-8")
        else:
            _link(original / name, made / name, within)


def text_of(name: str) -> str:
    """A file of the package as it is."""
    return (PACKAGE / name).read_text(encoding="utf-8")


def edited(name: str, *changes: tuple[str, str]) -> str:
    """A file of the package with some words replaced, each of which must be there once."""
    text = text_of(name)
    for old, new in changes:
        assert text.count(old) == 1, (name, old)
        text = text.replace(old, new)
    return text


def modules_with(words, *, but: str):
    """Path and text of each module that has one of some words in it, outside a folder."""
    for path in sorted(PACKAGE.rglob("*.py")):
        name, text = path.relative_to(PACKAGE).as_posix(), path.read_text(encoding="utf-8")
        if not name.startswith(but) and any(word in text.casefold() for word in words):
            yield name, text


def run_all(folder: Path, lines, **environment: str) -> list:
    """Exit code, output and errors of command lines, one after the other in one process."""
    ended = subprocess.run(
        [sys.executable, "-c", _SCRIPT],
        input="".join(json.dumps(line) + "\n" for line in lines),
        capture_output=True,
        text=True,
        cwd=folder,
        env=os.environ | environment,
        check=False,
        timeout=300,
    )
    assert ended.returncode == 0, ended.stderr
    return [json.loads(line) for line in ended.stdout.splitlines()]


def write_passage(folder: Path, files: dict[str, str]) -> Path:
    """A passage folder of some texts."""
    folder.mkdir(parents=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder
