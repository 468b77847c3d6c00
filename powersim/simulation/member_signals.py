"""A passage in many members: the kernel's signals of all members, block by block of time."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.kernel.plant import Plant
from powersim.physics.demand import GROUPS, Demand
from powersim.physics.panel_light import PanelLight
from powersim.records import Charger, Load
from powersim.records.brief import brief
from powersim.simulation.differing import of_members
from powersim.simulation.heavy_sea import pilot_rows
from powersim.simulation.member_banks import BankDraws
from powersim.simulation.member_chargers import ask_for_wind, member_chargers
from powersim.simulation.member_loads import by_group
from powersim.simulation.member_weather import MemberWeather
from powersim.simulation.prepared import Prepared
from powersim.simulation.reading import Misreading
from powersim.simulation.signals import ControllerSignal, Signals
from powersim.simulation.yield_table import YieldTable

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Ints

#: What ensembles have in common that differ in nothing but their loads.
_BUT_LOADS = (
    *("prepared", "hour", "clear_frac", "wind_quantile", "calm_turn", "panels", "chargers"),
    *("sailed_motoring", "under_way", "read_anew", "seas"),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EnsembleForcing(MemberWeather):
    """A passage and the members to try it in.

    What they meet is what `MemberWeather` has.

    Attributes
    ----------
    plant : Plant
        With the bank that each member has, and the charging rule as it reads it.
    banks : BankDraws
        How that bank differs from the middle one of its kind.
    seed : int
        Of the random numbers.
    panels : YieldTable
        Of each controller in turn power, or currents at its knots; last the power of all modules.
    panel_light : PanelLight
        What they were made of, kept for a passage with other panels under the same light.
    loads : tuple of Load
        As the passage has them.
    sailed, motored : Demand
        Theirs, with the engine in gear in none and in all of the calms.
    chargers : list of Charger
        Other chargers, in the order of their signals.
    peak_A : ndarray, shape (n, 4, 1)
        What the largest single load of each group adds to the mean while it is on. [A]
    heater_L : tuple of three ndarray, shape (n, 4, 1)
        Diesel that heaters burn in a step, with the calms sailed, motored, and lying to. [L]
    factors : ndarray, shape (rows, members)
        What each load really draws, as a multiple. [-]
    misread : Misreading
        How wrongly each member reads its bank, as far as that lasts.
    read_anew : ndarray, shape (hours, members), or None
        The part of that error that is new at each reading, in standard deviations, with the rows of
        `clear_frac`; None where nobody charges by readings. [-]
    anew_soc : tuple of two ndarray, shape (n,), or None
        Mean of that part at each step, and one standard deviation. [-]
    root : EnsembleForcing or None
        The same members with other loads. Signals that both have in common are worked out once,
        as long as all who ask go through the steps together.
    """

    plant: Plant
    banks: BankDraws
    seed: int
    panels: YieldTable
    panel_light: PanelLight = field(repr=False)
    loads: tuple[Load, ...]
    sailed: Demand
    motored: Demand
    chargers: Sequence[Charger]
    peak_A: Array
    heater_L: tuple[Array, Array, Array]
    factors: Array
    misread: Misreading
    read_anew: Array | None = None
    anew_soc: tuple[Array, Array] | None = None
    root: EnsembleForcing | None = field(default=None, repr=False)
    #: As a root the last steps that were asked for with their signals; else which groups are apart.
    _known: dict[Any, Any] = field(init=False, repr=False, compare=False, default_factory=dict)

    __repr__ = brief

    def signals(self, steps: slice, *, motoring: Array | None = None) -> Signals:
        """The kernel's signals of some steps.

        Parameters
        ----------
        steps : slice
            Of the passage.
        motoring : ndarray, shape (steps, members or 1), optional
            Share of each step in gear, where it is known better than by the calms. [-]

        Returns
        -------
        Signals
            With members last.
        """
        if motoring is None:
            if self.root is not None and self._differs_in_loads_alone():
                return self._with_own_loads(self.root._kept(steps), steps)
            motoring = self.motoring(steps)
        alike = self.prepared.signals.between(steps.start, steps.stop)
        offers = iter(self._offers(steps, motoring, until=-1))
        speed_kn, under_way = self._making_way(steps)
        return replace(
            alike,
            load_A=self._loads("current_A", steps, motoring),
            load_W=self._loads("power_W", steps, motoring),
            peak_A=self.peak_A[steps],
            motoring=motoring,
            sea_lets=self._sea_lets(steps, alike.sea_lets),
            misread_soc=self._misread_soc(steps),
            heater_L=self._heater_L(steps, motoring),
            controllers=tuple(_offering(controller, offers) for controller in alike.controllers),
            others=member_chargers(
                self.chargers,
                alike.others,
                wind_m_s=self.wind_m_s(steps) if ask_for_wind(self.chargers) else None,
                speed_kn=speed_kn,
                under_way=under_way,
                motoring=motoring,
            ),
        )

    def sample(self, steps: slice, count: int) -> Prepared:
        """The first members as a passage of their own, for books that are kept in full.

        Parameters
        ----------
        steps : slice
            Of the passage.
        count : int
            How many members.

        Returns
        -------
        Prepared
            Whose signals, losses of supplies and power of modules are those of these steps alone.
        """
        few = self.first(count)
        motoring = few.motoring(steps)
        return replace(
            self.prepared,
            plant=few.plant,
            signals=few.signals(steps),
            supply_loss_W=few._loads("supply_loss_W", steps, motoring),
            module_W=few._offers(steps, motoring)[-1],
        )

    def first(self, count: int) -> EnsembleForcing:
        """The first members alone.

        Parameters
        ----------
        count : int
            How many.

        Returns
        -------
        EnsembleForcing
            As if no more had been drawn.
        """
        return self.between(0, count)

    def between(self, first: int, last: int) -> EnsembleForcing:
        """Some members alone.

        Parameters
        ----------
        first, last : int
            Members, counted from 0 as in a slice.

        Returns
        -------
        EnsembleForcing
            With views of the arrays.
        """
        return self.chosen(slice(first, last))

    def chosen(self, some: Ints | slice) -> EnsembleForcing:
        """Some members alone, in any order and as often as they are named.

        Parameters
        ----------
        some : slice or ndarray of int
            Which members, in any order.

        Returns
        -------
        EnsembleForcing
            In the order in which they were named.
        """
        wind, turn = self.wind_quantile, self.calm_turn
        return replace(
            self,
            plant=of_members(self.plant, some),
            banks=of_members(self.banks, some),
            members=len(self.misread.drift_per_h[some]),
            clear_frac=self.clear_frac[:, some],
            wind_quantile=None if wind is None else wind[:, some],
            calm_turn=None if turn is None else turn[:, some],
            factors=self.factors[:, some],
            misread=self.misread.chosen(some),
            read_anew=None if self.read_anew is None else self.read_anew[:, some],
            seas=None if self.seas is None else self.seas.chosen(some),
        )

    def _loads(
        self,
        name: str,
        steps: slice,
        motoring: Array,
        *,
        only: Collection[str] = GROUPS,
        into: Array | None = None,
    ) -> Array:
        sailed = getattr(self.sailed, name)[:, steps]
        instead = [(getattr(self.motored, name)[:, steps], motoring)]
        lies = self.lies_to(steps)
        if lies is not None and self.lying is not None:
            instead.append((getattr(self.lying, name)[:, steps], 1.0 * lies))
        how: dict[str, Any] = {"groups": self.sailed.groups, "factors": self.factors, "only": only}
        total = by_group(sailed, instead, order=self.sailed.order, into=into, **how)
        if self.seas is None:
            return total
        # Pilots work harder, in whichever group they are.
        pilots = pilot_rows(self.loads)
        more = self.seas.at(steps, lambda sea: sea.pilot_frac) - 1.0
        if pilots and more.any():
            order = [row for row in self.sailed.order if row in pilots]
            total += more[:, None] * by_group(sailed, instead, order=order, **how)
        return total

    def _offers(self, steps: slice, motoring: Array, *, until: int | None = None) -> Array:
        """What the panels give: by controller and knot, and last the modules at their best."""
        lies = self.lies_to(steps)
        found = self.panels.at(steps, self.light(steps), motoring, lies=lies, until=until)
        if self.seas is not None:
            found *= self.seas.at(steps, lambda sea: sea.sun_frac)
        return found

    def _misread_soc(self, steps: slice) -> Array:
        if self.read_anew is None or self.anew_soc is None:
            return np.zeros((steps.stop - steps.start, 1))
        mean_soc, sd_soc = (one[steps, None] for one in self.anew_soc)
        return mean_soc + sd_soc * self.read_anew[self.hour[steps]]

    def _heater_L(self, steps: slice, motoring: Array) -> Array:
        sailed_L, motored_L, lying_L = (heater_L[steps] for heater_L in self.heater_L)
        more_L, lies = motored_L - sailed_L, self.lies_to(steps)
        found_L = sailed_L + motoring[:, None] * more_L if more_L.any() else sailed_L
        less_L = lying_L - sailed_L
        if lies is not None and less_L.any():
            found_L = found_L + lies[:, None] * less_L
        return found_L

    def _differs_in_loads_alone(self) -> bool:
        """Whether all but its loads is what its root has, row by row of the demand."""
        root = self.root
        return (
            root is not None
            and all(getattr(self, name) is getattr(root, name) for name in _BUT_LOADS)
            and self.sailed.groups == root.sailed.groups
            and self.sailed.order == root.sailed.order
        )

    def _kept(self, steps: slice) -> Signals:
        known = self._known.get("last")
        if known is None or known[0] != steps:
            self._known.clear()  # before the next ones need their memory
            known = self._known["last"] = steps, self.signals(steps)
        return known[1]

    def _with_own_loads(self, signals: Signals, steps: slice) -> Signals:
        """The signals of the root with these loads, where they differ."""
        return replace(
            signals,
            load_A=self._where_other("current_A", signals.load_A, steps, signals.motoring),
            load_W=self._where_other("power_W", signals.load_W, steps, signals.motoring),
            peak_A=self.peak_A[steps],
            heater_L=self._heater_L(steps, signals.motoring),
        )

    def _where_other(self, name: str, roots: Array, steps: slice, motoring: Array) -> Array:
        if name not in self._known:
            self._known[name] = self._groups_apart(name)
        only = self._known[name]
        if not only:
            return roots
        return self._loads(name, steps, motoring, only=only, into=roots.copy(order="K"))

    def _groups_apart(self, name: str) -> frozenset[str]:
        """Groups in which some row is not what it is in the root."""
        assert self.root is not None, "asked of one that has a root"
        other = (self.factors != self.root.factors).any(axis=1)
        for demand in ("sailed", "motored", "lying"):
            own, known = (getattr(one, demand) for one in (self, self.root))
            if own is not None and known is not None:
                other |= (getattr(own, name) != getattr(known, name)).any(axis=1)
        return frozenset(self.sailed.groups[row] for row in np.flatnonzero(other))


def _offering(controller: ControllerSignal, offers: Iterator[Array]) -> ControllerSignal:
    """A controller's signal with what its panels give in the members' members."""
    if not controller.knots_V:
        return replace(controller, power_W=next(offers))
    currents_A = [next(offers) for _ in controller.knots_V]
    slopes = [
        (high_A - low_A) / (high_V - low_V)
        for (low_A, high_A), (low_V, high_V) in zip(
            pairwise(currents_A), pairwise(controller.knots_V), strict=True
        )
    ]
    return replace(controller, first_A=currents_A[0], slope_A_per_V=np.stack(slopes, axis=1))
