"""What `try` and `compare` measure of a passage, member by member, so that pairs can be taken."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from powersim.simulation.differences import Difference, paired_mean, paired_share
from powersim.simulation.ensemble_summary import failing_in

if TYPE_CHECKING:
    from powersim.records import Boat
    from powersim.records.arrays import Array
    from powersim.simulation.ensemble import EnsembleResult

#: Units of a measure: what happens or not, a state of charge, and amounts.
HAPPENS, CHARGE, RUNS, HOURS, LITRES = "happens", "charge", "runs", "h", "L"
_HOURS_A_WEEK = 168.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One thing that is measured of every member.

    Attributes
    ----------
    id : str
        Its name for a program.
    label : str
        Its name for a reader; {fuel} stands for the boat's kind of fuel.
    unit : str
        One of HAPPENS, CHARGE, RUNS, HOURS, LITRES.
    of : callable
        From the members and the boat to an array shaped (members,): of bool where it happens or
        not, else of what it comes to.
    engine : bool
        Whether a boat without an engine has nothing of it.
    less_is_worse : bool
        Whether its low end is what a sailor must allow for, as of charge; else its high end.
    """

    id: str
    label: str
    unit: str
    of: Callable[[EnsembleResult, Boat], Array]
    engine: bool = False
    less_is_worse: bool = False

    def told_of(self, boat: Boat) -> bool:
        """Whether there is such a thing aboard.

        Parameters
        ----------
        boat : Boat
            Her engine counts.
        """
        return boat.engine is not None or not self.engine

    def named(self, boat: Boat) -> str:
        """Its name, with the boat's own kind of fuel.

        Parameters
        ----------
        boat : Boat
            Her fuel counts.
        """
        return self.label.format(fuel=boat.fuel_word)

    def difference(self, before: Array, after: Array, *, among: int = 1) -> Difference:
        """How two choices differ in it, pair by pair.

        Parameters
        ----------
        before, after : ndarray, shape (members,)
            What `of` gives of the same members.
        among : int
            How many differences are looked at together.
        """
        if self.unit == HAPPENS:
            return paired_share(before.astype(bool), after.astype(bool), among=among)
        return paired_mean(before, after, among=among)


def _failing(ensemble: EnsembleResult, boat: Boat, *, of: str) -> Array:
    return getattr(failing_in(ensemble, boat.fuel), of)


def _runs_a_week(ensemble: EnsembleResult, _boat: Boat) -> Array:
    return ensemble.charging_runs * (_HOURS_A_WEEK / len(ensemble.hour_soc))


def _engine_h(ensemble: EnsembleResult, _boat: Boat) -> Array:
    return ensemble.charging_h + ensemble.motoring_h


def _bank_L(ensemble: EnsembleResult, _boat: Boat) -> Array:
    return ensemble.charging_L + ensemble.alternator_motoring_L


def _burnt_L(ensemble: EnsembleResult, boat: Boat) -> Array:
    usable_L = boat.fuel.usable_L if boat.fuel else 0.0
    return usable_L - ensemble.fuel_left_L


def _lowest_soc(ensemble: EnsembleResult, _boat: Boat) -> Array:
    return ensemble.lowest_soc


def _left_L(ensemble: EnsembleResult, _boat: Boat) -> Array:
    return ensemble.fuel_left_L


#: In the order in which they are told.
MEASURES = (
    Measure(id="fails", label="fails", unit=HAPPENS, of=partial(_failing, of="any")),
    Measure(id="floor", label="below the floor", unit=HAPPENS, of=partial(_failing, of="floor")),
    Measure(id="dark", label="everything dark", unit=HAPPENS, of=partial(_failing, of="dark")),
    Measure(
        id="reserve", label="{fuel} below its reserve", unit=HAPPENS,
        of=partial(_failing, of="reserve"), engine=True,
    ),
    Measure(
        id="lowest", label="lowest charge", unit=CHARGE,
        of=_lowest_soc, less_is_worse=True,
    ),
    Measure(id="runs", label="charging runs a week", unit=RUNS, of=_runs_a_week, engine=True),
    Measure(id="engine", label="engine, motoring included", unit=HOURS, of=_engine_h, engine=True),
    Measure(id="charging", label="{fuel} for the bank", unit=LITRES, of=_bank_L, engine=True),
    Measure(id="burnt", label="{fuel} burnt in all", unit=LITRES, of=_burnt_L, engine=True),
    Measure(
        id="left", label="{fuel} left at landfall", unit=LITRES,
        of=_left_L, engine=True, less_is_worse=True,
    ),
)  # fmt: skip
_BY_ID = {one.id: one for one in MEASURES}


def measured(ensemble: EnsembleResult, boat: Boat) -> dict[str, Array]:
    """All measures of a passage that was tried in many members.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.
    boat : Boat
        Her fuel and engine.

    Returns
    -------
    dict of str to ndarray, shape (members,)
        By the measure's id, in the order of MEASURES; what she has nothing of is left out.
    """
    return {one.id: one.of(ensemble, boat) for one in MEASURES if one.told_of(boat)}


def measure_of(measure_id: str) -> Measure:
    """A measure by its id.

    Parameters
    ----------
    measure_id : str
        One of those in MEASURES; KeyError says that there is no such.
    """
    return _BY_ID[measure_id]
