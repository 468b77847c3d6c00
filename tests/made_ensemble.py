"""Ensembles made by hand, whose every number a test can say in its head."""

import numpy as np

from powersim.simulation.ensemble import EnsembleResult
from powersim.simulation.ensemble_weeks import EnsembleWeeks, WEEK_h


def ensemble_of(
    *,
    hours=50,
    members=10,
    seed=1,
    step_h=0.25,
    start_utc_s=0.0,
    weeks=None,
    others_Ah=(),
    counted_from_h=0.0,
    **given,
):
    """A quiet ensemble: charge 90 % throughout and 50 L left, nothing burnt, nothing broken.

    What is given replaces a field; a plain number stands for all members.
    """
    never = {"floor_h", "flat_h"}
    shapes = {"hour_soc": (hours, members), "hour_fuel_left_L": (hours, members)}
    shapes |= {"hour_charging_frac": (hours,), "hour_motoring_frac": (hours,)}
    plain = {"hour_soc": 0.9, "lowest_soc": 0.9, "lowest_V": 12.5}
    plain |= {"hour_fuel_left_L": 50.0, "fuel_left_L": 50.0}
    names = set(EnsembleResult.__dataclass_fields__) - {
        *("members", "seed", "step_h", "start_utc_s", "others_Ah", "weeks", "counted_from_h")
    }
    assert set(given) <= names
    fields = {
        name: np.array(
            np.broadcast_to(
                np.asarray(
                    given.get(name, np.inf if name in never else plain.get(name, 0.0)), dtype=float
                ),
                shapes.get(name, (members,)),
            )
        )
        for name in names
    }
    return EnsembleResult(
        members=members,
        seed=seed,
        step_h=step_h,
        start_utc_s=start_utc_s,
        counted_from_h=counted_from_h,
        others_Ah=dict(others_Ah),
        weeks=weeks or weeks_of(hours=hours, members=members, others_Ah=others_Ah),
        **fields,
    )


def weeks_of(*, hours=50, members=10, others_Ah=(), **given):
    """The weeks of a quiet ensemble; what is given stands for all of them, or week by week."""
    starts_h = np.arange(0.0, hours, WEEK_h)
    names = set(EnsembleWeeks.__dataclass_fields__) - {"start_h", "end_h", "others_Ah"}
    assert set(given) <= names
    shape = (len(starts_h), members)
    return EnsembleWeeks(
        start_h=starts_h,
        end_h=np.minimum(starts_h + WEEK_h, hours),
        others_Ah={name: np.zeros(shape) for name in dict(others_Ah)},
        **{
            name: np.array(
                np.broadcast_to(given.get(name, 0.9 if name == "lowest_soc" else 0.0), shape),
                dtype=float,
            )
            for name in names
        },
    )
