"""Files that boat.toml names: they lie in the passage folder, wherever that came from."""

from __future__ import annotations

from pathlib import Path, PureWindowsPath

from powersim.inputs.text import quoted
from powersim.inputs.toml_table import TomlTable


def file_beside(table: TomlTable, key: str, name: str, *, example: str) -> Path | None:
    """The file that a key names, if it may be read.

    Returns
    -------
    Path or None
        None where the name leads out of the folder that boat.toml lies in: then a folder from
        somebody else could have any file of this computer read, and quoted in messages.
    """
    folder = Path(table.sheet.file).parent
    reason = _reason(folder, name)
    if reason is None:
        return folder / name
    table.problem(
        key,
        f"{quoted(name)} {reason}",
        f'the name of a file in the passage folder, for example "{example}"',
    )
    return None


def _reason(folder: Path, name: str) -> str | None:
    # Read as Windows does, so that a folder is as sound there as here.
    parts = PureWindowsPath(name)
    if parts.drive or parts.root:
        return "is a full path, not a file in the passage folder"
    if ".." in parts.parts:
        return "may lead out of the passage folder"
    try:
        inside = (folder / name).resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):  # too long; links in a circle; a zero byte
        return "cannot be the name of a file"
    return None if inside else "is a link that leads out of the passage folder"
