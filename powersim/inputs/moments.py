"""Moments of a passage as they are typed after an option."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from powersim.errors import InputError, Problem, refused
from powersim.inputs.boat_passage import DEPART_EXPECTED, parse_depart
from powersim.inputs.text import ReadingError
from powersim.records import Passage

#: The day of the passage, and perhaps the time of day.
_DAY = re.compile(r"day\s*(\d{1,4})\b(.*)", re.IGNORECASE | re.DOTALL)


def moment_of(
    typed: str | datetime,
    passage: Passage,
    *,
    arrival_h: float,
    option: str,
    also: str | None = None,
) -> datetime:
    """A moment of the passage, or an error that names its dates.

    A date alone is noon UTC; on the days of departure and landfall, the nearest moment at sea.
    "day 12" is the twelfth date of the passage, that of departure being day 1; a time may follow.

    Parameters
    ----------
    typed : str or datetime
        UTC unless it has an offset.
    passage : Passage
        For its departure.
    arrival_h : float
        From departure to landfall. [h]
    option : str
        For the message, without its dashes.
    also : str, optional
        A word that may stand in place of a moment, for the message.

    Returns
    -------
    datetime
        UTC, from departure to less than a minute before landfall.

    Raises
    ------
    InputError
        If it cannot be read or does not lie within the passage.
    """
    or_also = "" if also is None else f"; or {also}"
    first, last = passage.depart_utc, _before(passage.depart_utc + timedelta(hours=arrival_h))
    try:
        moment, time_given = parse_depart(_dated(typed, first))
    except ReadingError as error:
        expected = f"{DEPART_EXPECTED}, or day 12{or_also}"
        problem = Problem(file=option, text=error.reason, expected=expected)
        raise InputError([problem]) from None
    if not time_given and moment.date() in (first.date(), last.date()):
        moment = min(max(moment, first), last)
    if not first <= moment <= last:
        expected = (
            f"a moment from {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M} UTC, "
            f"for example {first:%Y-%m-%d}, or day 1 to day "
            f"{(last.date() - first.date()).days + 1}{or_also}"
        )
        text = f"{str(typed)!r} is not within the passage"
        raise refused(option, text, expected)
    return moment


def _dated(typed: str | datetime, depart_utc: datetime) -> str | datetime:
    """What is typed, with the date in place of a day of the passage."""
    found = _DAY.fullmatch(typed.strip()) if isinstance(typed, str) else None
    if found is None:
        return typed
    number, time_of_day = found.groups()
    try:
        day = depart_utc.date() + timedelta(days=int(number) - 1)
    except OverflowError:
        return typed
    return f"{day:%Y-%m-%d}{time_of_day}"


def _before(landfall: datetime) -> datetime:
    """The last whole minute before landfall."""
    minute = landfall.replace(second=0, microsecond=0)
    return minute if minute < landfall else minute - timedelta(minutes=1)
