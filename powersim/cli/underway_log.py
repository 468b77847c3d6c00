"""The log of a passage folder, read and checked for a command."""

from __future__ import annotations

from datetime import UTC, datetime


def checked_log(folder, passage, *, log_file=None, now=None):
    """The log, without what contradicts, and what a depth on the stick means.

    Parameters
    ----------
    folder : Path
    passage : Passage
    log_file : Path, optional
        log.csv in the folder if left out.
    now : str, optional
        A date and time that goes before the computer's clock.

    Returns
    -------
    tuple of (CheckedLog, callable or None)

    Raises
    ------
    InputError
        If no entry of it can be used.
    click.BadParameter
        If `now` is no date and time.
    """
    from powersim.errors import InputError
    from powersim.inputs.log import LOG_FILE, can_size_L, read_log
    from powersim.logbook.contradictions import checked
    from powersim.simulation.prepare import prepare

    read = read_log(log_file or folder / LOG_FILE, can_L=can_size_L(folder / "boat.toml"))
    sounding = _sounding(passage.boat.fuel)
    log = checked(
        read,
        passage=passage,
        track=prepare(passage, step_h=1.0).track,
        now_utc=now_of(now),
        sounding=sounding,
    )
    if not log.readings:
        raise InputError(log.set_aside)
    return log, sounding


def now_of(typed):
    """The moment that a command takes for now.

    Parameters
    ----------
    typed : str or None
        The computer's clock if left out.

    Returns
    -------
    datetime
        In UTC.

    Raises
    ------
    click.BadParameter
        If it is no date and time.
    """
    if typed is None:
        return datetime.now(UTC)
    import click

    from powersim.inputs.boat_passage import DEPART_EXPECTED, parse_depart
    from powersim.inputs.text import ReadingError

    try:
        return parse_depart(typed)[0]
    except ReadingError as error:
        raise click.BadParameter(
            f"{error.reason}; expected {DEPART_EXPECTED}", param_hint="--now"
        ) from None


def _sounding(fuel):
    if fuel is None or fuel.shape is None:
        return None
    from powersim.physics.tank import sounding

    return lambda depth_m: sounding(fuel.shape, depth_m)[:2]
