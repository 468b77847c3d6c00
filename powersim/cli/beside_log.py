"""What `underway` says of a sea trial and of a logger, beside the log or without one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from powersim.api.beside import Beside
    from powersim.cli.write_back import WriteBack
    from powersim.records import Passage


def log_is_there(folder: Path) -> bool:
    """Whether a passage folder has a log."""
    from powersim.inputs.log import LOG_FILE

    return (Path(folder) / LOG_FILE).exists()


def say_set_aside(beside: Beside) -> None:
    """Name on the error stream what does not count."""
    problems = list(beside.unread)
    if beside.trial is not None:
        problems += [*beside.trial.trial.set_aside, *beside.trial.odd]
    if beside.logged is not None:
        problems += beside.logged.series.set_aside
    for problem in problems:
        click.echo(f"Set aside: {problem}", err=True)


def beside_told(beside: Beside, *, with_log: bool) -> tuple[str, dict[str, Any]]:
    """Both answers for the screen and for `--json`; nothing where there is neither.

    Parameters
    ----------
    with_log : bool
        Whether they stand beside a log, and are told in short.
    """
    from powersim.report.logger_view import logger_dict, logger_view
    from powersim.report.screen_text import screen_text
    from powersim.report.trial_dict import trial_dict
    from powersim.report.trial_view import trial_view

    sections, answer = [], {}
    if beside.trial is not None:
        from powersim.logbook.trial_day import day_Ah

        day = day_Ah(beside.trial)
        sections += trial_view(beside.trial, day, brief=with_log)
        answer["trial"] = trial_dict(beside.trial, day)
    if (found := beside.logged) is not None:
        sections += logger_view(
            found.series, found.days, counts=found.counts, ship_offset_h=found.ship_offset_h
        )
        answer["logger"] = logger_dict(found.series, found.days, counts=found.counts)
    return screen_text(sections), answer


def tell_alone(
    beside: Beside,
    passage: Passage,
    *,
    as_json: bool,
    back: WriteBack | None,
    now: str | None,
    depart: str | None,
) -> None:
    """Print what they say where there is no log yet, and write back what a trial found.

    Raises
    ------
    UsageError
        If something was to be written back that only a log could tell.
    """
    from powersim.api.log_read import now_of
    from powersim.cli.screen import answered, emphasised, print_json
    from powersim.report.trial_view import without_log
    from powersim.report.written_text import written_dict, written_text

    if back is not None and beside.trial is None:
        raise click.UsageError("--write-back needs a log or a sea trial")
    say_set_aside(beside)
    text, answer = beside_told(beside, with_log=False)
    if not as_json:
        has = {"trial": beside.trial is not None, "engine": passage.boat.engine is not None}
        click.echo(emphasised(f"{text}\n\n{without_log(**has)}"))

    def write():
        if back is None or beside.trial is None:
            return None
        return back.write_trial(beside.trial, now_utc=now_of(now), depart=depart)

    def show(written):
        if as_json:
            more = {} if back is None else written_dict(written)
            print_json({"passage": passage.name} | answer | more)
        elif written is not None:
            click.echo("\n" + emphasised(written_text(written)))

    answered(write, show)
