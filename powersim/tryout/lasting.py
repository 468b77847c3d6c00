"""How long the bank lasts if all charging is lost, which is told after the picture: it is slow."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from powersim.planning.cases import ALL_LOADS
from powersim.planning.days_left import DaysLeft, days_left
from powersim.planning.failures import NO_CHARGING
from powersim.report.days_left_text import lasts_told, moment_told
from powersim.report.differences_told import days_difference_told
from powersim.simulation.differences import paired_mean

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.tryout.trials import Trial
    from powersim.tryout.turns import GoOn


def days_of(trial: Trial, go_on: GoOn) -> DaysLeft:
    """The days of a trial, in the members that it was simulated in.

    Parameters
    ----------
    trial : Trial
        The passage as it was changed.
    go_on : callable
        Called while the work goes on.
    """
    ensemble = trial.result.ensemble
    assert ensemble is not None, "two simulated passages are the least that is asked for"
    return days_left(trial.result, members=ensemble.members, seed=ensemble.seed, progress=go_on)


def days_told(trial: Trial, days: DaysLeft, *, own: DaysLeft | None) -> dict[str, Any]:
    """The rows of the page, and when it would hurt most.

    Parameters
    ----------
    trial : Trial
        The passage as it was changed.
    days, own : DaysLeft
        Its days; those of the files' own answer, or None where there is none or it is the same.
    """
    before = [None] * 3 if own is None else [values for _, values in _lines(own)]
    return {
        "rows": [
            {
                "label": label,
                "told": str(lasts_told(values)),
                "difference": "" if other is None else _difference(other, values),
            }
            for (label, values), other in zip(_lines(days), before, strict=True)
        ],
        "moment": str(moment_told(trial.result, days.worst)),
    }


def _lines(days: DaysLeft) -> list[tuple[str, Any]]:
    leaves, hurts = (moment.line(NO_CHARGING, ALL_LOADS) for moment in (days.departure, days.worst))
    return [
        ("from departure, to its floor", leaves.days_to_floor),
        ("from departure, until flat", leaves.days_to_flat),
        ("from the worst moment, until flat", hurts.days_to_flat),
    ]


def _difference(before: Array, after: Array) -> str:
    """What a change does, in the members of which both ends are known."""
    import numpy as np

    both = np.isfinite(before) & np.isfinite(after)
    count, members = int(both.sum()), len(both)
    if count < 2:  # it lasts to landfall in nearly all, before or after
        return ""
    told = days_difference_told(paired_mean(before[both], after[both]))
    return told if count == members else f"{told}, in {count} that do not last to landfall"
