"""The books of a run as a record: what flowed in each step, by the names of the columns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import OTHER_SOURCES
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.kernel.flows import Flows
    from powersim.records.arrays import Array, Floats
    from powersim.simulation.signals import Signals


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Books:
    """What flowed in every step; arrays shaped (steps, members).

    Nothing is negative but the changes and, when one long step crosses a bend of the voltage curve,
    the loss in the resistance.

    Attributes
    ----------
    solar_Ah, alternator_Ah : ndarray
        Charge onto the bus. [Ah]
    others_Ah : dict of str to ndarray
        The same of other chargers, by column, such as wind_Ah. [Ah]
    loads_Ah, into_battery_Ah, from_battery_Ah : ndarray
        Charge off the bus, into the bank and out of it; controllers draw with the loads. [Ah]
    gassing_Ah, self_discharge_Ah, change_Ah : ndarray
        What the bank wastes and what it gains. [Ah]
    surplus_Ah, unserved_Ah : ndarray
        Offered by sun, wind and water and not taken, and what loads went without. [Ah]
    solar_Wh, alternator_Wh : ndarray
        At modules and alternator, of what was taken. [Wh]
    others_Wh : dict of str to ndarray
        By column, such as wind_Wh: at the bank, of what was taken. [Wh]
    loads_Wh : ndarray
        At the loads themselves. [Wh]
    solar_path_loss_Wh, alternator_cable_loss_Wh, supply_loss_Wh, controller_idle_Wh : ndarray
        Lost on the way to the bus and to the loads. [Wh]
    resistance_loss_Wh, gassing_loss_Wh, self_discharge_loss_Wh : ndarray
        Lost in the bank. [Wh]
    change_Wh : ndarray
        Gain of stored energy. [Wh]
    surplus_Wh, unserved_Wh : ndarray
        As in Ah. [Wh]
    """

    solar_Ah: Array
    alternator_Ah: Array
    others_Ah: Mapping[str, Array]
    loads_Ah: Array
    into_battery_Ah: Array
    from_battery_Ah: Array
    gassing_Ah: Array
    self_discharge_Ah: Array
    change_Ah: Array
    surplus_Ah: Array
    unserved_Ah: Array
    solar_Wh: Array
    alternator_Wh: Array
    others_Wh: Mapping[str, Array]
    loads_Wh: Array
    solar_path_loss_Wh: Array
    alternator_cable_loss_Wh: Array
    supply_loss_Wh: Array
    controller_idle_Wh: Array
    resistance_loss_Wh: Array
    gassing_loss_Wh: Array
    self_discharge_loss_Wh: Array
    change_Wh: Array
    surplus_Wh: Array
    unserved_Wh: Array

    __repr__ = brief

    @classmethod
    def names(cls) -> tuple[str, ...]:
        """The columns, in order; other chargers have one for each source."""
        columns: list[str] = []
        for field in fields(cls):
            each, others, unit = field.name.partition("others_")
            columns += [f"{source}_{unit}" for source in OTHER_SOURCES] if others else [each]
        return tuple(columns)

    def column(self, name: str) -> np.ndarray:
        """One of them.

        Parameters
        ----------
        name : str
            One of `names`.

        Returns
        -------
        ndarray, shape (steps, members)
            In the unit that its name ends with.
        """
        of_others = {**self.others_Ah, **self.others_Wh}
        column: np.ndarray = of_others[name] if name in of_others else getattr(self, name)
        return column


def columns_of(signals: Signals) -> tuple[str, ...]:
    """The columns that say something of a boat: those of other chargers only where she has them.

    Parameters
    ----------
    signals : Signals
        For the sources.

    Returns
    -------
    tuple of str
        As Books.names.
    """
    missing = set(OTHER_SOURCES) - {charger.source for charger in signals.others}
    return tuple(name for name in Books.names() if name.split("_")[0] not in missing)


def group_shares(
    flow: Flows[Array], *, groups: tuple[Floats, ...] = (1.0, 1.0, 1.0, 1.0)
) -> tuple[Array, ...]:
    """Share of each group's demand that was served, in the order of physics.demand.GROUPS.

    Parameters
    ----------
    flow : Flows
        Of arrays shaped (steps, members).
    groups : tuple of float or ndarray, shape (members,)
        The run's Switches.groups.

    Returns
    -------
    tuple of four ndarray, shape (steps, members)
        0 to 1.
    """
    return (
        groups[0] * flow.served,
        groups[1] * flow.served,
        groups[2] * flow.served * flow.useful_on,
        groups[3] * flow.served * flow.comfort_on,
    )
