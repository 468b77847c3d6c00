"""What the world and the load list ask of the bank, as arrays over steps.

Everything that does not depend on the bank is worked out before the loop starts, so that one
step is arithmetic on one row of each array.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from powersim.kernel.chargers import Offer
from powersim.kernel.step_signals import StepSignals
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ControllerSignal:
    """One solar controller, or another charger, over the run.

    What is said of MPPT holds for a charger that offers a power, of PWM for one that offers a
    current.

    Attributes
    ----------
    rated_A : float
        Most that it passes into the bank; infinity for no limit. [A]
    knots_V : tuple of float
        Bank voltages between which the current of a PWM controller is interpolated. [V]
    power_W : ndarray, shape (n, members or 1)
        MPPT: power offered to the bank. [W]
    first_A : ndarray, shape (n, members or 1)
        PWM: current offered at the first knot. [A]
    slope_A_per_V : ndarray, shape (n, knots - 1, members or 1)
        PWM: change of current between knots. [A/V]
    absorption_V, float_V : ndarray, shape (n, 1)
        Setpoints at the bank's temperature. [V]
    source : str
        "solar", or one of records.OTHER_SOURCES.
    """

    rated_A: float
    knots_V: tuple[float, ...]
    power_W: Array
    first_A: Array
    slope_A_per_V: Array
    absorption_V: Array
    float_V: Array
    source: str = "solar"

    __repr__ = brief


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Signals:
    """All signals of a run; every array has time first and members last.

    Attributes
    ----------
    step_h : float
        Length of a step. [h]
    load_A, load_W : ndarray, shape (n, 4, members or 1)
        Mean draw at the bank by group (protected, essential, useful, comfort). [A], [W]
    peak_A : ndarray, shape (n, 4, members or 1)
        What the largest single load of each group adds to the mean while it is on. [A]
    motoring : ndarray, shape (n, members or 1)
        Share of the step with the engine in gear. [-]
    may_run : ndarray of bool, shape (n, 1)
        Whether the charging rule's hours allow a run in any part of the step.
    sea_lets : ndarray, shape (n, members or 1)
        0 where the sea lets nobody run the engine to charge, 1 elsewhere. [-]
    opens_h, closes_h : ndarray, shape (n, 1)
        When they begin to and cease to, after the step's beginning. [h]
    ordered : ndarray, shape (n, members or 1)
        Share of the step in which a timetable has the engine charge, whatever the rule says. [-]
    reads : ndarray, shape (n, 1)
        1 where the rule has the bank read for the first time of a day as the step begins, 2 for a
        later time, else 0.
    misread_soc : ndarray, shape (n, members or 1)
        How much more the bank seems to hold if it is read in the step, by an error that is new each
        time. [-]
    bank_C : ndarray, shape (n, 1)
        Temperature of the bank. [degC]
    takes_charge : ndarray, shape (n, 1)
        0 where the bank is too cold to be charged at all (lithium), else 1. [-]
    unreachable_frac : ndarray, shape (n, 1)
        Share of the bank's capacity that the cold locks away. [-]
    full_V : ndarray, shape (n, 1)
        Bank voltage from which a small current means full. [V]
    alternator_absorption_V, alternator_float_V : ndarray, shape (n, 1)
        Regulator's setpoints as they arrive at the bank. [V]
    heater_L : ndarray, shape (n, 4, 1)
        Diesel that heaters of each group burn in the step. [L]
    controllers : tuple of ControllerSignal
        One for each solar controller.
    others : tuple of ControllerSignal
        One for each other charger, in the order in which they are used.
    """

    step_h: float
    load_A: Array
    load_W: Array
    peak_A: Array
    motoring: Array
    may_run: Bools
    sea_lets: Array
    opens_h: Array
    closes_h: Array
    ordered: Array
    reads: Array
    misread_soc: Array
    bank_C: Array
    takes_charge: Array
    unreachable_frac: Array
    full_V: Array
    alternator_absorption_V: Array
    alternator_float_V: Array
    heater_L: Array
    controllers: tuple[ControllerSignal, ...]
    others: tuple[ControllerSignal, ...] = ()

    __repr__ = brief

    @property
    def n_steps(self) -> int:
        """Number of steps."""
        return len(self.load_A)

    def between(self, first: int, last: int) -> Signals:
        """The same signals from one step to before another.

        Parameters
        ----------
        first, last : int
            Steps, counted as in a slice.

        Returns
        -------
        Signals
            With views of the arrays.
        """

        def cut(array: np.ndarray) -> np.ndarray:
            return array[first:last]

        return mapped(
            self,
            cut,
            controllers=tuple(mapped(one, cut) for one in self.controllers),
            others=tuple(mapped(one, cut) for one in self.others),
        )

    @property
    def members(self) -> int:
        """Number of members that they are for; 1 where all is alike."""
        records: tuple[Signals | ControllerSignal, ...] = (self, *self.chargers)
        values = [getattr(record, field.name) for record in records for field in fields(record)]
        return max(value.shape[-1] for value in values if isinstance(value, np.ndarray))

    @property
    def chargers(self) -> tuple[ControllerSignal, ...]:
        """All of them, the sun's first, in the order in which they are used."""
        return (*self.controllers, *self.others)

    def member(self, place: int) -> tuple[list[StepSignals], list[tuple[Offer, ...]]]:
        """What the kernel wants of one member, as plain floats.

        Parameters
        ----------
        place : int
            Which; without effect on what is the same for all.

        Returns
        -------
        tuple of (list of StepSignals, list of tuple of Offer)
            One a step; and one a step and charger.
        """

        def by_step(
            kind: type[Offer | StepSignals], record: ControllerSignal | Signals
        ) -> Iterator[Any]:
            arrays = (getattr(record, name) for name in kind._fields)
            return map(kind, *(one[..., place % one.shape[-1]].tolist() for one in arrays))

        offers = [by_step(Offer, charger) for charger in self.chargers]
        by_charger: list[tuple[Offer, ...]]
        by_charger = list(zip(*offers, strict=True)) if offers else [()] * self.n_steps
        return list(by_step(StepSignals, self)), by_charger


Mapped = TypeVar("Mapped", Signals, ControllerSignal)


def mapped(record: Mapped, change: Callable[[np.ndarray], np.ndarray], **others: Any) -> Mapped:
    """A record with all of its arrays changed alike, and some fields replaced.

    Parameters
    ----------
    record : Signals or ControllerSignal
        Left as it is.
    change : callable
        From one array to another.
    others
        Fields of the new record that are no arrays.

    Returns
    -------
    Signals or ControllerSignal
        Of the same kind.
    """
    named = ((field.name, getattr(record, field.name)) for field in fields(record))
    arrays: dict[str, Any] = {
        name: change(value) for name, value in named if isinstance(value, np.ndarray)
    }
    return replace(record, **arrays, **others)
