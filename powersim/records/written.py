"""What was put into the sailor's own files, value by value."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One value of one file.

    Attributes
    ----------
    file : str
        Its name, without a folder.
    place : str
        Key or column, and of which panel or load.
    old, new : str
        As the file has them; the old one may be a default that it had not.
    added : bool
        The file did not have it before.
    """

    file: str
    place: str
    old: str
    new: str
    added: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What a write-back did.

    Attributes
    ----------
    folder : str
        That of the passage, as the sailor named it.
    into : str or None
        The folder that has the new values, which may be the same; None where nothing was written.
    changes : tuple of Change
        In the order of the files.
    backups : tuple of str
        Names of the files as they were, kept in the same folder.
    left : tuple of str
        What was not written, and why, a sentence each.
    notes : tuple of str
        What to know of what was written, a sentence each.
    """

    folder: str
    into: str | None
    changes: tuple[Change, ...]
    backups: tuple[str, ...]
    left: tuple[str, ...]
    notes: tuple[str, ...] = ()
