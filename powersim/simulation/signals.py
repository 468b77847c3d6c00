"""What the world and the load list ask of the bank, as arrays over steps.

Everything that does not depend on the bank is worked out before the loop starts, so that one
step is arithmetic on one row of each array.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import NamedTuple

import numpy as np


class ControllerRow(NamedTuple):
    """One solar controller or other charger in one step."""

    power_W: float
    first_A: float
    slope_A_per_V: tuple
    absorption_V: float
    float_V: float


@dataclass(frozen=True, slots=True, kw_only=True)
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
    power_W: np.ndarray
    first_A: np.ndarray
    slope_A_per_V: np.ndarray
    absorption_V: np.ndarray
    float_V: np.ndarray
    source: str = "solar"


class Row(NamedTuple):
    """All signals of one step: plain floats for one member, arrays (members or 1,) for more."""

    load_A: tuple
    load_W: tuple
    peak_A: tuple
    motoring: float
    may_run: bool
    opens_h: float
    closes_h: float
    ordered: float
    bank_C: float
    takes_charge: float
    unreachable_Ah: float
    full_V: float
    alternator_absorption_V: float
    alternator_float_V: float
    heater_L: tuple
    controllers: tuple[ControllerRow, ...]
    others: tuple[ControllerRow, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
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
    opens_h, closes_h : ndarray, shape (n, 1)
        When they begin to and cease to, after the step's beginning. [h]
    ordered : ndarray, shape (n, members or 1)
        Share of the step in which a timetable has the engine charge, whatever the rule says. [-]
    bank_C : ndarray, shape (n, 1)
        Temperature of the bank. [degC]
    takes_charge : ndarray, shape (n, 1)
        0 where the bank is too cold to be charged at all (lithium), else 1. [-]
    unreachable_Ah : ndarray, shape (n, 1)
        Charge that the cold locks away. [Ah]
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
    load_A: np.ndarray
    load_W: np.ndarray
    peak_A: np.ndarray
    motoring: np.ndarray
    may_run: np.ndarray
    opens_h: np.ndarray
    closes_h: np.ndarray
    ordered: np.ndarray
    bank_C: np.ndarray
    takes_charge: np.ndarray
    unreachable_Ah: np.ndarray
    full_V: np.ndarray
    alternator_absorption_V: np.ndarray
    alternator_float_V: np.ndarray
    heater_L: np.ndarray
    controllers: tuple[ControllerSignal, ...]
    others: tuple[ControllerSignal, ...] = ()

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

        def cut(record, **others):
            return mapped(record, lambda array: array[first:last], **others)

        return cut(
            self,
            controllers=tuple(map(cut, self.controllers)),
            others=tuple(map(cut, self.others)),
        )

    def rows(self, *, first: int = 0, single: bool) -> list[Row]:
        """One Row a step, from step `first` on.

        Parameters
        ----------
        first : int
            Step to begin with.
        single : bool
            True for one member. What is the same for all members comes as plain floats and bools
            in any case.

        Returns
        -------
        list of Row
        """

        def steps_of(array):
            alike = single or array.shape[-1] == 1
            return array[first:, ..., 0].tolist() if alike else array[first:]

        def by_step(controllers):
            if not controllers:
                return [()] * (self.n_steps - first)
            rows = [
                map(
                    ControllerRow,
                    *(steps_of(getattr(controller, name)) for name in ControllerRow._fields),
                )
                for controller in controllers
            ]
            return zip(*rows, strict=True)

        columns = [
            steps_of(getattr(self, field.name))
            for field in fields(self)
            if field.name not in ("step_h", "controllers", "others")
        ]
        return list(map(Row, *columns, by_step(self.controllers), by_step(self.others)))


def mapped(record, change, **others):
    """A record with all of its arrays changed alike, and some fields replaced.

    Parameters
    ----------
    record : Signals or ControllerSignal
    change : callable
        From one array to another.
    others
        Fields of the new record that are no arrays.

    Returns
    -------
    Signals or ControllerSignal
    """
    named = ((field.name, getattr(record, field.name)) for field in fields(record))
    arrays = {name: change(value) for name, value in named if isinstance(value, np.ndarray)}
    return replace(record, **arrays, **others)
