"""What lies beside a log: a sea trial's readings, and a logger's series."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from powersim.api.from_logger import Logged, logged
from powersim.api.from_trial import sea_trial
from powersim.errors import InputError, Problem
from powersim.logbook.trial import SeaTrial
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.records import Passage

_Found = TypeVar("_Found", SeaTrial, Logged)
#: The clock of a logger that shows ship's time.
SHIP = "ship"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Beside:
    """What lies beside a log.

    Attributes
    ----------
    trial : SeaTrial or None
        What a meter showed as loads were switched.
    logged : Logged or None
        What a logger's series says.
    unread : tuple of Problem
        Why a file that nobody named was not read.
    """

    trial: SeaTrial | None = None
    logged: Logged | None = None
    unread: tuple[Problem, ...] = ()

    __repr__ = brief


def beside_of(
    passage: Passage,
    *,
    trial: str | PathLike[str] | SeaTrial | None = None,
    logger: str | PathLike[str] | Logged | None = None,
    logger_columns: Mapping[str, str] | None = None,
    logger_clock: float | str = 0.0,
    now: str | datetime | None = None,
    lenient: bool = True,
) -> Beside:
    """Read what lies beside a log.

    Parameters
    ----------
    passage : Passage
        Whose loads were switched.
    trial, logger : str, path, or what was read of it
        trial.csv and logger.csv in the passage's folder if left out, where they are there.
    logger_columns, logger_clock
        As `underway` has them. [h]
    now : str or datetime, optional
        Taken for now.
    lenient : bool
        Whether a file that nobody named, and that cannot be read, is told and not raised.

    Returns
    -------
    Beside
        None for what is not there.

    Raises
    ------
    InputError
        If a file that is named cannot be read.
    """
    from powersim.inputs.logger import LOGGER_FILE
    from powersim.inputs.trial import TRIAL_FILE

    unread: list[Problem] = []

    def found(
        given: Any, name: str, read: Callable[[Path], _Found], kind: type[_Found]
    ) -> _Found | None:
        if isinstance(given, kind):
            return given
        file = Path(given) if given is not None else Path(passage.folder or "") / name
        if given is None and (passage.folder is None or not file.exists()):
            return None
        try:
            return read(file)
        except InputError as error:
            if given is not None or not lenient:
                raise
            unread.extend(error.problems)
            return None

    ahead_h = None if logger_clock == SHIP else float(logger_clock)
    tried = found(trial, TRIAL_FILE, lambda file: sea_trial(passage, trial=file), SeaTrial)
    series = found(
        logger,
        LOGGER_FILE,
        lambda file: logged(
            passage, logger=file, columns=logger_columns, clock_ahead_h=ahead_h, now=now
        ),
        Logged,
    )
    return Beside(trial=tried, logged=series, unread=tuple(unread))
