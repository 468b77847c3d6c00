"""Where no charging rule holds: which limit is in the way, and the least change that would help.

Each change is by itself: more diesel, a battery monitor, more panel, a larger bank, or loads left
off. It helps if the rule that was found, or the same at other starts, then keeps all limits.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.cases import without_loads
from powersim.planning.policy_evaluation import evaluate_policies
from powersim.planning.rule_candidates import at_level, highest_start, least_start, never_charge
from powersim.planning.rule_limits import failing, member_margins
from powersim.planning.scenario import changed, with_loads
from powersim.planning.size_choices import boat_with, choice_of
from powersim.records import Passage
from powersim.simulation.calibration import usual_points
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.verdict import most_that_may

if TYPE_CHECKING:
    from powersim.planning.rule_limits import RuleLimits
    from powersim.planning.rule_search import FoundRule
    from powersim.simulation.member_signals import EnsembleForcing

#: Most members in which changes are evaluated, the hardest of those that are given.
MOST_MEMBERS = 150
#: Largest size, as a multiple of what is aboard, and into how many parts the range is divided.
_MOST, _PARTS = 6.0, 16
#: How far above the least temperature for charging the warm bank is kept. [degC]
_WARMER_C = 5.0
#: Starts of the ladder above the least, and how far the best rule's start is moved. [-]
_LADDER_SOC, _MOVED_SOC = (0.0, 0.15, 0.3), (-0.1, -0.05, 0.0, 0.05)
#: Changes are rounded up to it. [W], [Ah], [L]
_WHOLE_W, _WHOLE_Ah, _WHOLE_L = 10.0, 5.0, 1.0
#: Groups of loads that may be left off, in this order; never those called essential.
_SHED_ORDER = ("comfort", "useful")


@dataclass(frozen=True, slots=True, kw_only=True)
class Help:
    """What is in the way, and the least change of each kind that would help by itself.

    Attributes
    ----------
    in_the_way : str
        "cold" where a warm bank alone would help, "reserve" where more diesel alone would; else
        what the least bad rule breaks more often, "floor" or "reserve".
    more_L : float or None
        Extra diesel to take along; None where that does not help. [L]
    more_W : float or None
        Extra rated power of panels; None where six times as much does not help, or there are none.
        [W]
    more_Ah : float or None
        Extra capacity at the 20-hour rate; None where six times as much does not help. [Ah]
    leave_off : tuple of str, or None
        Names of loads to do without; None where all that may be left off is not enough.
    warm_bank : bool or None
        Whether it would be enough to keep the bank warm; None where it is never too cold to be
        charged.
    monitor : bool or None
        Whether it would be enough to read the bank off a battery monitor; None where it is.
    own_volts : bool or None
        Whether two points of the bank's own rested volts on its own meter would be enough; None
        where no volts are read, or some points are known.
    """

    in_the_way: str
    more_L: float | None
    more_W: float | None
    more_Ah: float | None
    leave_off: tuple[str, ...] | None
    warm_bank: bool | None
    monitor: bool | None
    own_volts: bool | None


def what_would_help(
    passage: Passage, forcing: EnsembleForcing, found: FoundRule, limits: RuleLimits
) -> Help:
    """The least change of each kind that would make a rule hold.

    Parameters
    ----------
    passage : Passage
        On which no rule holds.
    forcing : EnsembleForcing
        The members that `found` was validated in.
    found : FoundRule
        The rule that comes nearest.
    limits : RuleLimits
        What it has to keep.
    """
    remedies = _Remedies(passage, forcing, found, limits)
    own = choice_of(passage.boat)

    def resized(**sizes):
        boats = {own.chemistry: passage.boat}
        return replace(passage, boat=boat_with(boats, replace(own, **sizes)))

    warm_bank = remedies.warm_bank()
    more_L = remedies.more_L()
    often = found.verdict.reserve.frac > found.verdict.floor.frac
    in_the_way = "reserve" if more_L is not None or often else "floor"
    return Help(
        in_the_way="cold" if warm_bank else in_the_way,
        more_L=more_L,
        more_W=_least_more(
            own.solar_W,
            lambda watts: remedies.holds(resized(solar_W=watts)),
            whole=_WHOLE_W,
        ),
        more_Ah=_least_more(
            own.battery_Ah,
            lambda amp_hours: remedies.holds(resized(battery_Ah=amp_hours)),
            whole=_WHOLE_Ah,
        ),
        leave_off=remedies.leave_off(),
        warm_bank=warm_bank,
        monitor=remedies.monitor(),
        own_volts=remedies.own_volts(),
    )


def _least_more(own, helps: Callable, *, whole):
    """The least addition that helps, by bisection; None if the most does not."""
    if not own > 0.0 or not helps(_MOST * own):
        return None
    low, high = own, _MOST * own
    while high - low > (_MOST - 1.0) * own / _PARTS:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if helps(middle) else (middle, high)
    return whole * math.ceil((high - own) / whole - 1e-9)


class _Remedies:
    """A ladder of rules, evaluated with one thing changed."""

    def __init__(self, passage, forcing, found, limits):
        self.passage, self.forcing, self.limits = passage, forcing, limits
        # Those that are hardest by the rule that comes nearest. No more of them may fail than of
        # all, since the others are easier still.
        margins = member_margins(found.validated, limits)[0]
        self.hard = np.argsort(margins, kind="stable")[:MOST_MEMBERS]
        surely = most_that_may(len(margins), limits.risk_frac, surely=True)
        self.allowed = surely if surely >= 0 else most_that_may(len(margins), limits.risk_frac)
        self.rules = [never_charge(passage.boat)]
        if has_charging_alternator(passage.boat):
            self.rules += _ladder(passage.boat, found.rule)

    def holds(self, passage) -> bool:
        """Whether any rule holds on a changed passage."""
        return self._any_holds(passage.boat, changed(self.forcing, passage))

    def warm_bank(self) -> bool | None:
        """Whether a rule holds if the bank is kept warm; None if it can always be charged."""
        battery, prepared = self.passage.boat.battery, self.forcing.prepared
        if prepared.signals.takes_charge.all():
            return None
        least_C = prepared.plant.bank.least_charge_C + _WARMER_C
        kept = replace(battery, place=replace(battery.place, least_C=least_C, fixed_C=None))
        boat = replace(self.passage.boat, battery=kept)
        return self.holds(replace(self.passage, boat=boat))

    def monitor(self) -> bool | None:
        """Whether a rule holds if the bank is read off a monitor; None if it is."""
        battery = self.passage.boat.battery
        if battery.reading != "volts" or len(self.rules) == 1:
            return None
        read = replace(self.passage.boat, battery=replace(battery, reading="monitor"))
        return self.holds(replace(self.passage, boat=read))

    def own_volts(self) -> bool | None:
        """Whether a rule holds if two points of the rested volts are known."""
        battery = self.passage.boat.battery
        if not battery.volts_tell or battery.rested or len(self.rules) == 1:
            return None
        own = replace(battery, rested=usual_points(battery))
        return self.holds(replace(self.passage, boat=replace(self.passage.boat, battery=own)))

    def more_L(self) -> float | None:
        """Diesel that is missing from the reserve, by the rule that misses least among those that
        keep all other limits."""
        if self.passage.boat.fuel is None:
            return None
        # With endless diesel, to see what each rule takes.
        plenty = replace(self.forcing, plant=replace(self.forcing.plant, usable_L=math.inf))
        evaluation = self._try(self.passage.boat, plenty)
        below = failing(evaluation, self.limits).floor
        wanted_L = [
            np.sort(burnt_L[~low])[::-1][self.allowed - low.sum()]
            for burnt_L, low in zip(evaluation.burnt_L, below, strict=True)
            if low.sum() <= self.allowed < len(low)
        ]
        if not wanted_L:
            return None
        fuel = self.passage.boat.fuel
        missing_L = float(min(wanted_L)) + fuel.reserve_L - fuel.usable_L
        if any(one.place == "boat.toml fuel.reserve" for one in self.passage.assumptions):
            # A reserve that nobody set grows with what is aboard.
            if not fuel.reserve_L < fuel.aboard_L:
                return None
            missing_L /= 1.0 - fuel.reserve_L / fuel.aboard_L
        return _WHOLE_L * math.ceil(missing_L / _WHOLE_L) if missing_L > 0.0 else None

    def leave_off(self) -> tuple[str, ...] | None:
        """The fewest loads to do without: comfort first, and the hungriest of each group first."""
        order = _expendable(self.passage, self.forcing.prepared)
        if not order:
            return None

        def holds(count):
            off = order[:count]
            places = [at for at, load in enumerate(self.passage.loads) if load.name in off]
            without = without_loads(self.passage, places)
            return self._any_holds(without.boat, with_loads(self.forcing, without))

        if not holds(len(order)):
            return None
        low, high = 0, len(order)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if holds(middle) else (middle, high)
        return tuple(order[:high])

    def _any_holds(self, boat, forcing) -> bool:
        limits = replace(self.limits, fuel=boat.fuel)
        fails = failing(self._try(boat, forcing), limits).any.sum(axis=1)
        return bool((fails <= self.allowed).any())

    def _try(self, boat, forcing):
        """All rules in the hard members."""
        from_h = self.limits.counted_from_h
        some = forcing.chosen(self.hard)
        return evaluate_policies(boat, some, self.rules, counted_from_h=from_h)


def _ladder(boat, rule):
    """The best rule at many starts."""
    own = rule if rule.by_engine else replace(boat.charging, by_engine=True, daily=())
    least_soc, most_soc = least_start(boat), highest_start(own)
    around = [own.start_soc + moved_soc for moved_soc in _MOVED_SOC]
    starts = [*(least_soc + above_soc for above_soc in _LADDER_SOC), *around]
    kept = {round(min(max(soc, least_soc), max(most_soc, least_soc)), 4) for soc in starts}
    return [at_level(own, soc) for soc in sorted(kept)]


def _expendable(passage, prepared) -> list[str]:
    """Names of loads that may be left off, in the order in which they should be."""
    demand = prepared.demand
    nominal_V = passage.boat.battery.nominal_V
    taken = dict(
        zip(
            demand.names,
            (demand.current_A + demand.power_W / nominal_V).sum(axis=1).tolist(),
            strict=True,
        )
    )
    groups = dict(zip(demand.names, demand.groups, strict=True))
    known = [load.name for load in passage.loads if groups.get(load.name) in _SHED_ORDER]
    return sorted(known, key=lambda name: (_SHED_ORDER.index(groups[name]), -taken[name]))
