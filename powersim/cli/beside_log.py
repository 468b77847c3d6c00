"""What `underway` says of a sea trial and of a logger, beside the log or without one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from powersim.errors import Problem
    from powersim.logbook.logger_evidence import LoggerEvidence
    from powersim.logbook.trial import SeaTrial
    from powersim.records import Passage

#: The clock of a logger that shows ship's time.
SHIP = "ship"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BesideLog:
    """A sea trial and a logger's series with their answers.

    Attributes
    ----------
    text : str
        For the screen; empty where there is neither.
    answer : dict
        For `--json`, under "trial" and "logger"; without what is not there.
    trial : SeaTrial or None
        What a meter's readings say.
    evidence : LoggerEvidence or None
        What of a logger's series counts.
    """

    text: str
    answer: dict[str, Any]
    trial: SeaTrial | None
    evidence: LoggerEvidence | None


def log_is_there(folder: Path) -> bool:
    """Whether a passage folder has a log."""
    from powersim.inputs.log import LOG_FILE

    return (Path(folder) / LOG_FILE).exists()


def beside_log(
    passage: Passage,
    folder: Path,
    *,
    trial: Path | None,
    logger: Path | None,
    columns: dict[str, str] | None,
    clock: float | str,
    now: str | None,
    has_log: bool,
) -> BesideLog:
    """What both say.

    Parameters
    ----------
    passage : Passage
        Whose loads were switched.
    folder : Path
        Where trial.csv and logger.csv lie, unless they are named.
    trial, logger : Path or None
        From the command line.
    columns : dict or None
        Of the logger's file: what each is to its heading.
    clock : float or str
        How far the logger's clock is ahead of UTC, or SHIP. [h]
    now : str or None
        Taken for now.
    has_log : bool
        Whether there is a log, in whose way a file must not stand that nobody named.

    Raises
    ------
    InputError
        If nothing of a file can be used that is named, or without a log.
    """
    texts, answer = [], {}
    tried = _unless_in_the_way(trial, has_log, lambda: _trial(passage, folder, trial))
    if tried is not None:
        found, text, answer["trial"] = tried
        texts.append(text)
    logged = _unless_in_the_way(
        logger, has_log, lambda: _logger(passage, folder, logger, columns, clock, now)
    )
    if logged is not None:
        evidence, text, answer["logger"] = logged
        texts.append(text)
    return BesideLog(
        text="\n\n".join(texts),
        answer=answer,
        trial=None if tried is None else found,
        evidence=None if logged is None else evidence,
    )


def _unless_in_the_way(named: Path | None, has_log: bool, read):
    from powersim.errors import InputError

    try:
        return read()
    except InputError as error:
        if named is not None or not has_log:
            raise
        _say_set_aside(error.problems)
        return None


def _trial(passage: Passage, folder: Path, named: Path | None):
    from powersim.inputs.trial import TRIAL_FILE

    sheet = named or Path(folder) / TRIAL_FILE
    if named is None and not sheet.exists():
        return None
    from powersim import api
    from powersim.logbook.trial_day import day_Ah
    from powersim.report.screen_text import screen_text
    from powersim.report.trial_dict import trial_dict
    from powersim.report.trial_view import trial_view

    found = api.sea_trial(passage, trial=sheet)
    _say_set_aside((*found.trial.set_aside, *found.odd))
    day = day_Ah(found)
    return found, screen_text(trial_view(found, day)), trial_dict(found, day)


def _logger(passage: Passage, folder: Path, named: Path | None, columns, clock, now: str | None):
    from powersim.inputs.logger import LOGGER_FILE

    file = named or Path(folder) / LOGGER_FILE
    if named is None and not file.exists():
        return None
    from powersim import api
    from powersim.report.logger_view import logger_dict, logger_view
    from powersim.report.screen_text import screen_text

    ahead_h = None if clock == SHIP else clock
    found = api.logged(passage, logger=file, columns=columns, clock_ahead_h=ahead_h, now=now)
    _say_set_aside(found.series.set_aside)
    sections = logger_view(
        found.series, found.days, counts=found.counts, ship_offset_h=found.ship_offset_h
    )
    answer = logger_dict(found.series, found.days, counts=found.counts)
    return found.evidence, screen_text(sections), answer


def tell_alone(told: BesideLog, passage: Passage, *, as_json: bool, writes: bool) -> None:
    """Print what they say where there is no log yet.

    Raises
    ------
    UsageError
        If something was to be written back, which needs a log.
    """
    from powersim.cli.screen import emphasised, print_json
    from powersim.report.trial_view import without_log

    if writes:
        raise click.UsageError("--write-back needs a log; write what the trial says by hand")
    if as_json:
        print_json({"passage": passage.name} | told.answer)
        return
    click.echo(emphasised(f"{told.text}\n\n{without_log(trial=told.trial is not None)}"))


def _say_set_aside(problems: Iterable[Problem]) -> None:
    for problem in problems:
        click.echo(f"Set aside: {problem}", err=True)
