"""What a log has shown, put into a copy of the passage folder or into the folder itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from powersim.errors import InputError, Problem
from powersim.records import Change, Written

if TYPE_CHECKING:
    from powersim.logbook.trial import SeaTrial


class WriteBack:
    """The files to be written, read before the work begins, and refused as early.

    Parameters
    ----------
    folder : Path
        Of the passage.
    into : Path
        A new folder, or the same one.

    Raises
    ------
    InputError
        If boat.toml or loads.csv cannot be read.
    OutputError
        If the new folder is there already, or lies within the passage folder.
    """

    def __init__(self, folder: Path, into: Path):
        from powersim.inputs.folder import BOAT_FILE, LOADS_FILE, PASSAGE_FILES
        from powersim.report.rewriting import Rewriting

        self.folder = Path(folder)
        before = {
            name: _bytes(self.folder / name, is_table=name == LOADS_FILE)
            for name in (BOAT_FILE, LOADS_FILE)
        }
        self.files = Rewriting(self.folder, into, before, passage_files=PASSAGE_FILES)

    def write(
        self, posterior, *, now_utc: datetime, trial: SeaTrial | None = None, depart=None
    ) -> Written:
        """Write what the log tells at least in part, and the draws of a sea trial.

        Parameters
        ----------
        trial : SeaTrial, optional
            What was measured load by load.
        depart : str, optional
            The departure of the command line, which the copy needs to be read too.

        Raises
        ------
        InputError
            If a value would leave the range of its key, or what was written cannot be read.
        OutputError
            If it cannot be written, or the files have changed since they were read.
        """
        from powersim.logbook.worth_writing import told_of_loads, unlisted_load, worth_writing

        factors, left = worth_writing(posterior)
        loads, unlisted = [1.0] * len(posterior.passage.loads), None
        notes: tuple[str, ...] = ()
        if "demand" in factors:
            loads = posterior.loads.factors.tolist()
            unlisted, notes = unlisted_load(posterior), told_of_loads(posterior)
        states = None
        if trial is not None:
            from powersim.logbook.trial_writing import states_to_write

            names = [load.name for load in posterior.passage.loads]
            by_log = dict(zip(names, loads, strict=True)) if "demand" in factors else None
            states = states_to_write(trial, by_log)
        told = {"now_utc": now_utc, "depart": depart, "left": left, "notes": notes}
        return self._written(posterior.passage.boat, factors, loads, unlisted, states, **told)

    def write_trial(self, trial: SeaTrial, *, now_utc: datetime, depart=None) -> Written:
        """Write the draws of a sea trial alone, where there is no log yet.

        Raises
        ------
        InputError, OutputError
            As `write`.
        """
        from powersim.logbook.trial_writing import states_to_write

        passage, states = trial.passage, states_to_write(trial)
        told = {"now_utc": now_utc, "depart": depart, "left": (), "notes": ()}
        factors = [1.0] * len(passage.loads)
        return self._written(passage.boat, {}, factors, None, states, **told)

    def _written(
        self, boat, factors, loads, unlisted, states, *, now_utc, depart, left, notes
    ) -> Written:
        def tried(folder: Path, texts: Mapping[str, bytes]) -> tuple[Problem, ...]:
            return _problems(folder, texts, depart)

        contents, changes = self._changed(boat, factors, loads, unlisted, states)
        left = (*left, *_without_column(states or {}, changes))
        backups = self.files.write(contents, now_utc=now_utc, tried=tried)
        return Written(
            folder=str(self.folder),
            into=str(self.files.into) if changes else None,
            changes=changes,
            backups=backups,
            left=left,
            notes=notes,
        )

    def _changed(self, boat, factors, loads, unlisted, states):
        """The bytes of both files as they are to be, and what differs in them."""
        from powersim.inputs.encodings import encoded_like
        from powersim.inputs.folder import BOAT_FILE, LOADS_FILE
        from powersim.inputs.text import text_of
        from powersim.inputs.write_back import calibrated_boat, calibrated_loads

        changes: tuple[Change, ...] = ()
        contents: dict[str, bytes] = {}
        for name, before in self.files.before.items():
            file = str(self.folder / name)
            text = text_of(before, file=file, is_table=name == LOADS_FILE)
            if name == BOAT_FILE:
                text, more = calibrated_boat(text, boat, factors, file=file)
            else:
                text, more = calibrated_loads(text, loads, more=unlisted, states=states, file=file)
            if more:
                contents[name] = encoded_like(text, before, file=file)
                changes += more
        return contents, changes


def _without_column(states, changes) -> Iterator[str]:
    """What was measured and has no cell to go to."""
    written = {one.place.casefold() for one in changes}
    for (load, column), (factor, measured) in states.items():
        if factor is None and f"{column} ({load})" not in written:
            yield f"{column} of {load}, {measured}: loads.csv has no column {column}"


def _bytes(path: Path, *, is_table: bool) -> bytes:
    from powersim.inputs.text import read_text

    read_text(path, is_table=is_table)  # says what is wrong with it
    return path.read_bytes()


def _problems(folder: Path, texts: Mapping[str, bytes], depart: str | None) -> tuple[Problem, ...]:
    """What is wrong with a folder whose files hold these texts."""
    from powersim.inputs.folder import load_folder

    try:
        load_folder(folder, depart=depart, texts=texts)
    except InputError as error:
        return error.problems
    return ()
