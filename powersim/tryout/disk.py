"""The files of a passage as they were read, and whether somebody has changed them since."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from powersim.errors import InputError
from powersim.inputs.folder import PASSAGE_FILES
from powersim.inputs.text import LARGEST_FILE_BYTES, text_of

#: Size, time of the last change, and which file it is; None for one that is not there.
_Stamp = tuple[int, int, int] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """The files of a passage folder, all of one moment.

    Attributes
    ----------
    folder : Path
        That they lie in.
    contents : mapping of str to bytes
        By name; those that are there.
    stamps : mapping of Path to tuple
        What the system says of each file, of those that are not there too, and of those that lie
        elsewhere.
    """

    folder: Path
    contents: Mapping[str, bytes]
    stamps: Mapping[Path, _Stamp] = field(default_factory=lambda: MappingProxyType({}))

    def __contains__(self, name: str) -> bool:
        """Whether there was such a file."""
        return name in self.contents

    def state(self) -> dict[str, Any]:
        """Whether files were changed on disk since, and which."""
        names = [path.name for path, stamp in self.stamps.items() if self._changed(path, stamp)]
        return {"changed_on_disk": bool(names), "files": names}

    def _changed(self, path: Path, stamp: _Stamp) -> bool:
        """Whether a file is another one: saved again as it was, it is not."""
        if _stamp(path) == stamp:
            return False
        held = self.contents.get(path.name) if path.parent == self.folder else None
        return held is None or _bytes(path) != held

    def text(self, name: str) -> str:
        """What a file holds, as far as it is text; empty where there is none."""
        raw = self.contents.get(name, b"")
        try:
            return text_of(raw, file=name, is_table=name.endswith(".csv"))
        except InputError:
            return raw.decode("utf-8-sig", errors="replace")


def snapshot(folder: Path, *, beside: Iterable[Path] = ()) -> Snapshot:
    """Read the files of a passage folder.

    Parameters
    ----------
    folder : Path
        The folder.
    beside : iterable of Path
        Further files that an answer hangs on: weather, curves, a plan.
    """
    paths = [*(folder / name for name in PASSAGE_FILES), *beside]
    stamps, contents = {}, {}
    for path in paths:
        stamps[path] = _stamp(path)  # before it is read: what is changed meanwhile shows
        held = _bytes(path) if path.parent == folder else None
        if held is not None:
            contents[path.name] = held
    return Snapshot(folder=folder, contents=contents, stamps=stamps)


def _stamp(path: Path) -> _Stamp:
    try:
        status = os.stat(path)
    except (OSError, ValueError):
        return None
    return status.st_size, status.st_mtime_ns, status.st_ino


def _bytes(path: Path) -> bytes | None:
    """What a file holds; None where it cannot be read, or is no list kept by hand."""
    try:
        if not path.is_file() or path.stat().st_size > LARGEST_FILE_BYTES:
            return None
        return path.read_bytes()
    except (OSError, ValueError):
        return None
