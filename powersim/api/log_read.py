"""The log of a passage as it is read, and held against the passage and the clock."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from powersim.errors import InputError, Problem

if TYPE_CHECKING:
    from powersim.logbook.readings import CheckedLog
    from powersim.records import Fuel, Log, Passage

#: Litres for a depth on the stick, and one standard deviation. [m] to ([L], [L])
Sounding = Callable[[float], tuple[float, float]]


def checked_log(
    passage: Passage,
    *,
    log: str | PathLike[str] | Log | None = None,
    now: str | datetime | None = None,
) -> tuple[CheckedLog, Sounding | None]:
    """The log, without what contradicts, and what a depth on the stick means.

    Parameters
    ----------
    passage : Passage
        That the log belongs to.
    log : str, path or Log, optional
        log.csv in the passage's folder if left out.
    now : str or datetime, optional
        Goes before the computer's clock.

    Returns
    -------
    tuple of (CheckedLog, callable or None)
        The callable turns a depth into litres; None where the shape of the tank is not known.

    Raises
    ------
    InputError
        If no entry of it can be used, or `now` is no date and time.
    ValueError
        If no log is named and the passage was not read from a folder.
    """
    from powersim.logbook.contradictions import checked
    from powersim.records import Log
    from powersim.simulation.prepare import prepare

    found = log if isinstance(log, Log) else read_for(passage, log)
    track = prepare(passage, step_h=1.0).track
    sounding = _sounding(passage.boat.fuel)
    sound = checked(
        found,
        passage=passage,
        track=track,
        now_utc=now_of(now),
        sounding=sounding,
    )
    if not sound.readings:
        raise InputError(sound.set_aside)
    return sound, sounding


def log_is_there(passage: Passage) -> bool:
    """Whether there is a log in the passage's folder.

    Parameters
    ----------
    passage : Passage
        One that was made in Python has no folder, and no log in it.

    Returns
    -------
    bool
        Whether log.csv is there, whatever is in it.
    """
    from powersim.inputs.log import LOG_FILE

    return passage.folder is not None and (passage.folder / LOG_FILE).exists()


def read_for(passage: Passage, log: str | PathLike[str] | None, lines: Sequence[str] = ()) -> Log:
    """The log as far as it can be read, with the lines of messages behind it.

    Parameters
    ----------
    passage : Passage
        That the log belongs to.
    log : str, path or None
        log.csv in the passage's folder if None.
    lines : sequence of str
        Entries as lines of a short message.

    Returns
    -------
    Log
        Not held against the passage yet.

    Raises
    ------
    InputError
        If there is no log, or none of it can be read.
    ValueError
        If neither a log nor a line is named and the passage was not read from a folder.
    """
    from powersim.inputs.folder import BOAT_FILE
    from powersim.inputs.log import LOG_FILE, can_size_L, read_log
    from powersim.inputs.log_line import LINES, read_lines
    from powersim.logbook.contradictions import latest_utc
    from powersim.records import Log
    from powersim.simulation.prepare import prepare

    folder = passage.folder
    if log is None and folder is None and not lines:
        raise ValueError("the passage was not read from a folder; name its log")
    path = Path(folder or "") / LOG_FILE if log is None else Path(log)
    told: dict[str, Any] = {
        "can_L": None if folder is None else can_size_L(folder / BOAT_FILE),
        "within": (passage.depart_utc, latest_utc(prepare(passage, step_h=1.0).track)),
    }
    needed = log is not None or not lines or (folder is not None and path.exists())
    found = read_log(path, **told) if needed else Log()
    return found.with_more(read_lines(lines, file=LINES, **told)) if lines else found


def now_of(typed: str | datetime | None) -> datetime:
    """The moment that is taken for now.

    Parameters
    ----------
    typed : str, datetime or None
        The computer's clock if left out.

    Returns
    -------
    datetime
        In UTC.

    Raises
    ------
    InputError
        If it is no date and time.
    """
    if typed is None:
        return datetime.now(UTC)
    from powersim.inputs.boat_passage import DEPART_EXPECTED, parse_depart
    from powersim.inputs.text import ReadingError

    try:
        return parse_depart(typed)[0]
    except ReadingError as error:
        problem = Problem(file="now", text=error.reason, expected=DEPART_EXPECTED)
        raise InputError([problem]) from None


def _sounding(fuel: Fuel | None) -> Sounding | None:
    if fuel is None or fuel.shape is None:
        return None
    from powersim.physics.tank import sounding

    shape = fuel.shape
    return lambda depth_m: sounding(shape, depth_m)[:2]
