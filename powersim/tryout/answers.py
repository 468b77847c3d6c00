"""What the page is told of a trial: verdict, measures with their differences, picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from powersim.planning.measures import measure_of
from powersim.report.differences_told import difference_told, measure_told
from powersim.report.fan_svg import fan_svg
from powersim.report.verdict_view import verdict_view, word_of
from powersim.tryout.warned import warnings_told

if TYPE_CHECKING:
    from powersim.tryout.trials import Trial


def answer_of(trial: Trial, *, own: Trial | None, folder: str) -> dict[str, Any]:
    """Verdict, measures and picture of a trial.

    Parameters
    ----------
    trial : Trial
        The passage as it was changed.
    own : Trial or None
        As the files say; None where something is wrong with them.
    folder : str
        The passage's, as it is typed in a command.
    """
    ensemble = trial.result.ensemble
    assert ensemble is not None, "two simulated passages are the least that is asked for"
    verdict = verdict_view(trial.summary, folder=folder, weeks=ensemble.weeks)
    before = None if own is None or own is trial else own
    changed = trial.result.passage.changed
    return {
        "verdict": {
            "word": word_of(verdict.holds),
            "holds": verdict.holds,
            "sentence": str(verdict.why),
            "next": None if verdict.next is None else str(verdict.next),
        },
        "measures": _measures(trial, before),
        "picture": str(fan_svg(trial.figure, files=None if before is None else before.figure)),
        "warnings": [] if own is trial else warnings_told(trial, own=own),
        "changed": [{"place": one.place, "told": one.told} for one in changed],
    }


def _measures(trial: Trial, own: Trial | None) -> list[dict[str, str]]:
    differences = {} if own is None else differences_of(trial, own)
    return [
        {
            "id": name,
            "label": measure_of(name).named(trial.result.passage.boat),
            "told": measure_told(measure_of(name), values),
            "difference": differences.get(name, ""),
        }
        for name, values in trial.measured.items()
    ]


def differences_of(trial: Trial, own: Trial) -> dict[str, str]:
    """How a trial differs from another in each measure that both have, in words, by its id.

    Parameters
    ----------
    trial, own : Trial
        The passage as it was changed, and what it is held against.
    """
    found = {}
    for name, values in trial.measured.items():
        before = own.measured.get(name)
        if before is not None:
            measure = measure_of(name)
            found[name] = difference_told(measure, measure.difference(before, values))
    return found
