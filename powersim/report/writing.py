"""A set of files written whole or not at all, and never over a file of the sailor's.

Beside its files `write_all` leaves `.powersim-results`, which lists them with their SHA-256
digests. A later run may overwrite what it lists as long as it is unchanged; everything else in
the way needs `force`.
"""

from __future__ import annotations

import contextlib
import errno
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from powersim.errors import NotWrittenError, OutputError
from powersim.report.file_moves import digest
from powersim.report.staging import HIDDEN, Content, Staging, staging

if TYPE_CHECKING:
    from collections.abc import Iterator

MARKER = ".powersim-results"
_FIRST_LINE = "# Files written by powersim, with their SHA-256 digests. It overwrites only these."


def write_all(
    folder: Path,
    files: Mapping[str, Content],
    *,
    force: bool = False,
    replace_own: bool = True,
    only_into_empty: bool = False,
    removed: Iterable[str] = (),
    check: Callable[[], None] = lambda: None,
) -> tuple[Path, ...]:
    """Write every file of a set, or none.

    Parameters
    ----------
    folder : Path
        Where to; made if it does not exist.
    files : mapping of str to bytes, str or callable
        Name without a folder -> what it holds. A callable writes to the path it is given.
    force : bool
        Overwrite files in the way, whoever wrote them.
    replace_own : bool
        Keep the list of digests, and overwrite what it lists. False for files that are the
        sailor's from the start.
    only_into_empty : bool
        Refuse a folder that holds anything at all, unless forced.
    removed : iterable of str
        Files of ours that are to be gone when the others are there.
    check : callable
        Called when nobody else writes there; what it raises ends it.

    Returns
    -------
    tuple of Path
        The files, in the order given.

    Raises
    ------
    OutputError
        If the folder cannot be written, or a file of the sailor's is in the way. Then, as when
        it is interrupted, everything is as it was before; when it dies, the next command sees to
        that.
    """
    folder = Path(folder)
    for name in files:
        if Path(name).name != name:
            raise ValueError(f"a file name without a folder is needed, got {name!r}")
    removed = frozenset(removed)
    with said_for_the_sailor(folder), staging(folder / HIDDEN, folder) as stage:
        if only_into_empty and not force and holds_anything(folder):
            raise OutputError(f"{folder} is not empty; name another folder, or use --force")
        check()
        own = written_by_powersim(folder) if replace_own else {}
        _refuse_what_is_in_the_way(folder, files, own, force=force)
        staged = {name: stage.write(name, content) for name, content in files.items()}
        if replace_own:
            own = {name: own[name] for name in own if name not in removed}
            digests = own | {name: digest(path) for name, path in staged.items()}
            staged[MARKER] = stage.write(MARKER, _marker_text(digests))
        stage.put_in_place(staged, removed=removed)
    return tuple(folder / name for name in files)


def refuse_what_is_in_the_way(folder: Path, names: Iterable[str], *, force: bool = False) -> None:
    """Say before long work what `write_all` would refuse after it.

    Parameters
    ----------
    folder : Path
        Where they will be written.
    names : iterable of str
        Of the files that will be written.
    force : bool
        Overwrite files in the way.

    Raises
    ------
    OutputError
        If a file of the sailor's, or a folder, is in the way.
    """
    folder = Path(folder)
    # While another run renames its files, some are not yet on the list; `write_all` waits for it.
    if folder.is_dir() and not Staging(folder / HIDDEN, folder).is_open:
        with said_for_the_sailor(folder):
            _refuse_what_is_in_the_way(
                folder, list(names), written_by_powersim(folder), force=force
            )


@contextlib.contextmanager
def said_for_the_sailor(folder: Path) -> Iterator[None]:
    """Turn what the system says of a folder that cannot be written into an OutputError."""
    try:
        yield
    except (FileExistsError, NotADirectoryError) as error:
        nowhere = folder.is_symlink() and not folder.exists()
        what = "a link that leads nowhere" if nowhere else "a file of that name"
        raise OutputError(
            f"cannot write to {folder}: {what} is in the way; name another folder"
        ) from error
    except PermissionError as error:
        raise OutputError(
            f"cannot write to {folder}: no permission; name another folder"
        ) from error
    except OSError as error:
        if error.errno == errno.ENAMETOOLONG:
            # A path like any other that is too long, and told so where the command ends.
            raise OSError(error.errno, error.strerror, str(folder)) from error
        raise NotWrittenError(
            f"cannot write to {folder}: {error.strerror or error}; nothing was written"
        ) from error


def _refuse_what_is_in_the_way(folder: Path, files, own: Mapping[str, str], *, force: bool) -> None:
    folders = [name for name in files if (folder / name).is_dir()]
    if folders:
        raise OutputError(
            f"cannot write to {folder}: a folder named {', '.join(folders)} is in the way"
        )
    if force:
        return
    strange = [
        name
        for name in files
        if (folder / name).exists() and own.get(name) != digest(folder / name)
    ]
    if strange:
        raise OutputError(
            f"{folder} holds {', '.join(strange)}, not written by powersim or changed since; "
            "name another folder, or overwrite with --force"
        )


def holds_anything(folder: Path) -> bool:
    """Whether anything is in a folder, what we are writing aside."""
    return any(path.name != HIDDEN for path in folder.iterdir())


def _marker_text(digests: Mapping[str, str]) -> str:
    lines = [f"{digest}  {name}" for name, digest in sorted(digests.items())]
    return "\n".join([_FIRST_LINE, *lines, ""])


def written_by_powersim(folder: Path) -> dict[str, str]:
    """What the list in a folder says; one that cannot be read vouches for nothing.

    Parameters
    ----------
    folder : Path
        Of results.

    Returns
    -------
    dict of str to str
        Name -> digest as last written.
    """
    try:
        text = (folder / MARKER).read_text(encoding="utf-8")
    except (FileNotFoundError, UnicodeDecodeError):
        return {}
    pairs = (line.split("  ", 1) for line in text.splitlines() if not line.startswith("#"))
    return {pair[1]: pair[0] for pair in pairs if len(pair) == 2}
