"""What `underway` says of a sea trial, beside the log or where there is no log yet."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from powersim.logbook.trial import SeaTrial
    from powersim.records import Passage


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrialTold:
    """A sea trial with its answer.

    Attributes
    ----------
    found : SeaTrial
        What its readings say.
    text : str
        For the screen.
    answer : dict
        For `--json`.
    """

    found: SeaTrial
    text: str
    answer: dict[str, Any]


def trial_told(passage: Passage, folder: Path, named: Path | None) -> TrialTold | None:
    """What the sheet says; None where there is none.

    Parameters
    ----------
    passage : Passage
        Whose loads were switched.
    folder : Path
        Where the sheet lies unless it is named.
    named : Path or None
        The sheet, from the command line.

    Raises
    ------
    InputError
        If nothing of a sheet that is named can be used; of the one in the folder it is said on the
        error stream, since it must not stand in the way of the log.
    """
    from powersim.errors import InputError
    from powersim.inputs.trial import TRIAL_FILE

    sheet = named or Path(folder) / TRIAL_FILE
    if named is None and not sheet.exists():
        return None
    from powersim import api

    try:
        found = api.sea_trial(passage, trial=sheet)
    except InputError as error:
        if named is not None or not log_is_there(folder):
            raise
        _say_set_aside(error.problems)
        return None
    from powersim.logbook.trial_day import day_Ah
    from powersim.report.screen_text import screen_text
    from powersim.report.trial_dict import trial_dict
    from powersim.report.trial_view import trial_view

    _say_set_aside((*found.trial.set_aside, *found.odd))
    day = day_Ah(found)
    return TrialTold(
        found=found, text=screen_text(trial_view(found, day)), answer=trial_dict(found, day)
    )


def tell_alone(told: TrialTold, passage: Passage, *, as_json: bool, writes: bool) -> None:
    """Print what a trial says where there is no log yet.

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
        print_json({"passage": passage.name, "trial": told.answer})
        return
    click.echo(emphasised(f"{told.text}\n\n{without_log()}"))


def log_is_there(folder: Path) -> bool:
    """Whether a passage folder has a log."""
    from powersim.inputs.log import LOG_FILE

    return (Path(folder) / LOG_FILE).exists()


def _say_set_aside(problems) -> None:
    for problem in problems:
        click.echo(f"Set aside: {problem}", err=True)
