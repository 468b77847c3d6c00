"""What was changed on the page, put into the files or into a new folder beside theirs."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from powersim.errors import InputError, OutputError, Problem, refused
from powersim.inputs.edits import edited
from powersim.inputs.encodings import encoded_like
from powersim.inputs.folder import BOAT_FILE, LOADS_FILE, PASSAGE_FILES, load_folder
from powersim.inputs.pasteable import pasteable
from powersim.inputs.text import text_of
from powersim.records import Passage
from powersim.report.rewriting import Rewriting
from powersim.report.text import listed
from powersim.tryout.changes import PAGE
from powersim.tryout.reading import Reading

FILES, NEW = "files", "new"
#: What of a passage its boat.toml, loads.csv and route say, and a simulation asks for.
_SIMULATED = ("depart_utc", "waypoints", "boat", "ship_offset_h", "cloud_model")
#: More folders of one name than anybody keeps.
_MOST_FOLDERS = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Saved:
    """What was written.

    Attributes
    ----------
    told : str
        Where, in a sentence or two.
    folder : str
        The passage folder that it is in, as it could be typed.
    backups : tuple of str
        The files as they were, beside those of the folder; none of a new one.
    changes : tuple of str
        What differs, in words.
    """

    told: str
    folder: str
    backups: tuple[str, ...]
    changes: tuple[str, ...]


def saved(reading: Reading, values: Mapping[str, Any], *, into: object) -> Saved:
    """Write the passage with some values changed.

    Parameters
    ----------
    reading : Reading
        The files as they were read.
    values : mapping
        By place.
    into : str
        FILES for the files themselves, with backups; NEW for a folder beside theirs.

    Raises
    ------
    InputError
        If something is wrong with the files as they would be.
    OutputError
        If they cannot be written, were changed on disk, or would hold nothing new.
    """
    if into not in (FILES, NEW):
        raise refused(PAGE, "asked to save into no place that there is", f"{FILES!r} or {NEW!r}")
    refuse_changed(reading.files.state()["files"])
    passage = reading.passage(values)
    contents = _contents(reading, values)
    if not contents:
        raise OutputError("Nothing differs from the files; nothing was written.")
    folder = reading.folder
    target = folder if into == FILES else _beside(folder)
    rewriting = Rewriting(folder, target, reading.files.contents, passage_files=PASSAGE_FILES)

    def tried(where: Path, texts: Mapping[str, bytes]) -> Sequence[Problem]:
        return _problems(where, reading.texts | dict(texts) if texts else {}, passage)

    backups = rewriting.write(contents, now_utc=datetime.now(UTC), tried=tried)
    return Saved(
        told=_told(contents, target, backups, here=rewriting.here),
        folder=pasteable(target),
        backups=backups,
        changes=tuple(one.told for one in passage.changed),
    )


def refuse_changed(names: Sequence[str]) -> None:
    """Refuse to write where files are no longer those that the page shows.

    Parameters
    ----------
    names : sequence of str
        Of those that are not.
    """
    if names:
        raise OutputError(
            f"{listed(names)} changed on disk since the page read the files; nothing was written. "
            "Read them again first."
        )


def _contents(reading: Reading, values: Mapping[str, Any]) -> dict[str, bytes]:
    """The files that are to be written, as they are to be."""
    before = {name: reading.files.contents[name] for name in (BOAT_FILE, LOADS_FILE)}
    held = {
        name: text_of(raw, file=f"{reading.folder}{os.sep}{name}", is_table=name == LOADS_FILE)
        for name, raw in before.items()
    }
    found = edited(held, values, folder=f"{reading.folder}{os.sep}")
    return {
        name: encoded_like(text, before[name], file=f"{reading.folder}{os.sep}{name}")
        for name, text in found.texts.items()
    }


def _problems(folder: Path, texts: Mapping[str, bytes], asked: Passage) -> Sequence[Problem]:
    """What is wrong with what would be written; it must be the passage that the page tells of."""
    try:
        found = load_folder(folder, texts=texts or None)
    except InputError as error:
        return error.problems
    # A change may only move what it names, and be noted; all else is a fault of ours.
    unlike = [name for name in _SIMULATED if getattr(found, name) != getattr(asked, name)]
    if unlike or _drawn(found) != _drawn(asked):
        raise RuntimeError(f"the files would say something else of {', '.join(unlike) or 'loads'}")
    return ()


def _drawn(passage: Passage) -> list[Any]:
    return [replace(load, note="") for load in passage.loads]


def _beside(folder: Path) -> Path:
    """A folder beside the passage's, of its name with a number, that is not there yet."""
    whole = Path(os.path.abspath(folder))
    # As it was typed, so that what is said of it can be typed too.
    parent = folder.parent if folder.name == whole.name else whole.parent
    match = re.fullmatch(r"(.+)-([1-9][0-9]{0,2})", whole.name)
    counted = match is not None and (parent / match[1]).is_dir()  # else it is part of its name
    name, number = (match[1], int(match[2])) if match and counted else (whole.name, 1)
    for more in range(number + 1, number + _MOST_FOLDERS):
        target = parent / f"{name}-{more}"
        if not os.path.lexists(target):
            return target
    raise OutputError(f"{name}-2 and all that follow it are there; move some of them away")


def _told(
    contents: Mapping[str, bytes], target: Path, backups: Sequence[str], *, here: bool
) -> str:
    if not here:
        return f"Written as a new passage folder, {target}. Yours is as it was."
    names, kept = listed(contents), listed(backups)
    return f"Written into {names}. As they were, they are kept in {kept}."
