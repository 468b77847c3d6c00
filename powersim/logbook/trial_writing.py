"""What a sea trial has to be written into loads.csv: a state of a load beyond its own doubt."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from powersim.logbook.trial_day import FIELDS, factors_of, told_draws

if TYPE_CHECKING:
    from powersim.logbook.trial import SeaTrial

#: What comes out this close to what the file says is left as it is; judgement. [-]
_SAME_FRAC = 0.01
#: By a load's name as names are compared and its column: what the cell is multiplied by, None
#: where it has nothing to multiply, and what it comes to with its unit.
States = Mapping[tuple[str, str], tuple[float | None, str]]


def states_to_write(found: SeaTrial, load_factors: Mapping[str, float] | None = None) -> States:
    """Each measured state of a load, as it goes into loads.csv.

    Parameters
    ----------
    found : SeaTrial
        The draws.
    load_factors : mapping of str to float, optional
        What each load draws over what the files say, by its name, where a log has moved it too;
        then its states move on together. [-]

    Returns
    -------
    mapping
        States that the trial found within its own doubt are moved by the log alone.
    """
    by_trial = factors_of(found) if load_factors is not None else {}
    loads = {load.name: load for load in found.passage.loads}
    states: dict[tuple[str, str], tuple[float | None, str]] = {}
    for one in told_draws(found):
        name = one.names[0]
        if name not in loads:
            continue  # a supply's own, which is in boat.toml
        further = 1.0
        if load_factors is not None and name in load_factors and name in by_trial:
            further = load_factors[name] / by_trial[name][0]
        filed = one.filed or 0.0
        draw = further * (max(one.found, 0.0) if one.differs else filed)
        factor = draw / filed if filed else (None if draw else 1.0)
        if factor is not None and abs(factor - 1.0) < _SAME_FRAC:
            factor = 1.0
        states[loads[name].known_as, FIELDS[one.state]] = factor, f"{draw:.3g} {one.unit}"
    return states
