"""Comparisons made by hand, whose every number a test can say in its head."""

from datetime import UTC, datetime, timedelta

import numpy as np
from builders import passage_of

from powersim.planning.compare import Choice, Lost, Outcome, Study
from powersim.planning.compare_best import Compared
from powersim.simulation.verdict import Failing, verdict_of

DEPART = datetime(2026, 9, 5, 9, 0, tzinfo=UTC)


def outcome_made(
    *, members=10, failing=0, burnt=20.0, runs=2.0, lowest=0.7, days=2.0, risk_frac=0.05, **given
):
    """A choice in which the first so many members fall below the floor; numbers are of all."""
    fails, never = np.arange(members) < failing, np.zeros(members, dtype=bool)
    failing = Failing(floor=fails, dark=given.pop("dark", never), reserve=never)

    def each(value):
        return np.array(np.broadcast_to(np.asarray(value, dtype=float), members))

    measured = {"fails": failing.any, "floor": fails, "dark": failing.dark, "reserve": never}
    measured |= {"lowest": each(lowest), "runs": each(runs), "engine": each(10.0)}
    measured |= {"charging": each(15.0), "burnt": each(burnt), "left": 100.0 - each(burnt)}
    plain = {
        "verdict": verdict_of(failing, risk_frac=risk_frac, seed=1),
        "landfall_utc": DEPART + timedelta(days=30),
        "measured": measured,
        "lost": Lost(at_utc=DEPART, floor_days=each(days) / 2.0, flat_days=each(days)),
    }
    return Outcome(**(plain | given))


def choice_of(*, days_later=0, name="made", told=()):
    """A choice that leaves so many days later."""
    passage = passage_of(depart_utc=DEPART + timedelta(days=days_later))
    return Choice(passage=passage, name=name, told=tuple(told))


def compared_of(*made, choices=None, risk_frac=0.05):
    """Outcomes compared; each leaves a week later than the one before, unless choices are given."""
    choices = choices or [choice_of(days_later=7 * at) for at in range(len(made))]
    members = made[0].verdict.members
    study = Study(members=members, seed=1, step_h=1.0, risk_frac=risk_frac)
    return Compared(study=study, choices=tuple(choices), outcomes=tuple(made))
