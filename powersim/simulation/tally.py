"""What is kept of many members while they are carried from step to step."""

from __future__ import annotations

import numpy as np

from powersim.errors import BalanceError
from powersim.physics.bank import soc_of
from powersim.simulation.books import books_of, group_shares
from powersim.simulation.milestones import below_frac
from powersim.simulation.state import Flows, Switches

#: Rounding of a day's sums of flows. [Ah]
TOLERANCE_Ah = 1e-6


def all_served(flows):
    """Whether all loads got all they wanted in a step, told without looking at every member.

    Parameters
    ----------
    flows : Flows
        The kernel leaves a plain 1.0 where no member went without.

    Returns
    -------
    bool
    """
    return all(
        type(share) is float and share == 1.0
        for share in (flows.served, flows.useful_on, flows.comfort_on)
    )


class Milestones:
    """Lowest charge, times below the floor and dark, and when first, of every member.

    Parameters
    ----------
    plant : Plant
        For its bank.
    state : State
        As the run begins; arrays shaped (members,).
    floor_soc : float
        [-]
    step_h : float
        Length of a step. [h]
    counted_from_h : float
        From when on charge counts: before that, no charge is the lowest and none below its floor,
        so that a bank which is low as the run begins may be brought up. Darkness always counts.
        [h]

    Attributes
    ----------
    lowest_soc, lowest_h : ndarray, shape (members,)
        Lowest state of charge, that with which the run begins among them, and when, after the
        run's begin. [-], [h]
    lowest_V : ndarray, shape (members,)
        Lowest voltage, with the heaviest load on. [V]
    floor_h, flat_h : ndarray, shape (members,)
        As `milestones.days_to_floor` and `days_to_flat` have them, in hours. [h]
    below_h : ndarray, shape (members,)
        Time below the floor. [h]
    """

    def __init__(self, *, plant, state, floor_soc, step_h, counted_from_h=0.0):
        soc = soc_of(plant.bank, state.total_Ah)
        self.floor_soc, self.step_h, self.elapsed_h = floor_soc, step_h, 0.0
        self.counted_from_h = counted_from_h
        self.lowest_V = np.full_like(soc, np.inf)
        self.flat_h, self.below_h = np.full_like(soc, np.inf), np.zeros_like(soc)
        self._count_from(soc)

    def _count_from(self, soc):
        """Let charge count from this moment on."""
        self._before_soc, self._before_least_soc = soc, soc.min()
        self.lowest_soc, self.lowest_h = soc.copy(), np.full_like(soc, self.elapsed_h)
        self.floor_h = np.where(soc < self.floor_soc, self.elapsed_h, np.inf)

    def add(self, flows):
        """Take in one step.

        Parameters
        ----------
        flows : Flows
        """
        np.minimum(self.lowest_V, flows.sag_V, out=self.lowest_V)
        np.minimum(self.lowest_V, flows.bank_V, out=self.lowest_V)
        if not all_served(flows):
            np.minimum(self.flat_h, np.where(flows.dark, self.elapsed_h, np.inf), out=self.flat_h)
        uncounted = self.elapsed_h + 0.5 * self.step_h < self.counted_from_h
        if not uncounted:
            self._add_charge(flows.soc)
        self.elapsed_h += self.step_h
        if uncounted:
            self._count_from(flows.soc)

    def _add_charge(self, soc):
        np.copyto(self.lowest_h, self.elapsed_h + self.step_h, where=soc < self.lowest_soc)
        np.minimum(self.lowest_soc, soc, out=self.lowest_soc)
        least_soc = soc.min()
        if least_soc < self.floor_soc:
            now = (soc < self.floor_soc) & np.isinf(self.floor_h)
            above, fall = self._before_soc - self.floor_soc, self._before_soc - soc
            part = above / np.where(now, fall, 1.0)
            np.copyto(self.floor_h, self.elapsed_h + part * self.step_h, where=now)
        if min(least_soc, self._before_least_soc) < self.floor_soc:
            part = below_frac(self._before_soc, soc, floor_soc=self.floor_soc)
            self.below_h += part * self.step_h
        self._before_soc, self._before_least_soc = soc, least_soc


class Ledger:
    """Sums over the passage, of every member.

    Parameters
    ----------
    members : int
    step_h : float
        Length of a step. [h]
    groups : tuple of float
        Switches.groups of the run.

    Attributes
    ----------
    sums : dict of str to ndarray, shape (members,)
        Fields of Flows, summed over the steps as they are, and `unserved_A` and `runs`.
    longest_since_full_h : ndarray, shape (members,)
        Longest time between full charges. [h]
    """

    SUMMED = (
        *("solar_A", "solar_offered_A", "alternator_A", "load_A", "in_A", "out_A"),
        *("gassing_A", "self_discharge_A", "charging", "motoring", "charging_L", "motoring_L"),
        *("alternator_motoring_L", "heater_L", "fuel_short_L", "dark"),
        *("wind_A", "water_A", "shore_A", "wind_water_offered_A"),
    )

    def __init__(self, *, members, step_h, groups=(1.0, 1.0, 1.0, 1.0)):
        self.step_h, self.groups = step_h, groups
        names = (*self.SUMMED, "unserved_A", "runs")
        self.sums = {name: np.zeros(members) for name in names}
        self.longest_since_full_h = np.zeros(members)
        self._ran = False
        self._summed = [(Flows._fields.index(name), self.sums[name]) for name in self.SUMMED]

    def add(self, flows, after, *, load_A, load_W):
        """Take in one step.

        Parameters
        ----------
        flows : Flows
        after : State
            After it.
        load_A, load_W : ndarray, shape (4, members)
            What each group wanted. [A], [W]
        """
        for place, total in self._summed:
            value = flows[place]
            if type(value) is np.ndarray or value:  # a plain zero: nothing of the kind occurred
                total += value
        np.maximum(self.longest_since_full_h, flows.since_full_h, out=self.longest_since_full_h)
        runs = flows.charging > 0.0
        if np.any(runs):
            self.sums["runs"] += runs & np.logical_not(self._ran)
        self._ran = runs
        if not all_served(flows):
            shares = group_shares(flows, groups=self.groups)
            for share, whole, amps, watts in zip(shares, self.groups, load_A, load_W, strict=True):
                wanted_A = amps + watts / flows.bank_V
                self.sums["unserved_A"] += (whole - share) * wanted_A

    @property
    def surplus_A(self):
        """What sun, wind and water offered and nothing took, summed. (members,) [A]"""
        sums = self.sums
        not_taken_A = (
            sums["solar_offered_A"] - sums["solar_A"],
            sums["wind_water_offered_A"] - sums["wind_A"] - sums["water_A"],
        )
        # Rounding may leave either a whisker below.
        return sum(np.maximum(amps, 0.0) for amps in not_taken_A)

    def check(self, *, before_Ah, after_Ah):
        """Raise BalanceError unless every member's sums close.

        Parameters
        ----------
        before_Ah, after_Ah : ndarray, shape (members,)
            Charge in both wells as the run began, and now. [Ah]

        Raises
        ------
        BalanceError
            Naming the first member whose books do not close.
        """
        sums, step_h = self.sums, self.step_h
        sources = ("solar_A", "alternator_A", "wind_A", "water_A", "shore_A", "out_A")
        over_bus_A = sum(sums[name] for name in sources)
        _close("charge over the bus", step_h * (over_bus_A - sums["load_A"] - sums["in_A"]))
        wasted_A = sums["gassing_A"] + sums["self_discharge_A"]
        stayed_Ah = step_h * (sums["in_A"] - sums["out_A"] - wasted_A)
        _close("charge in the bank", stayed_Ah - (after_Ah - before_Ah))


def _close(what, off_Ah):
    off = ~(np.abs(off_Ah) <= TOLERANCE_Ah)  # written so that nan is off too
    if off.any():
        member = int(off.argmax())
        raise BalanceError(
            f"the books of {what} do not close for member {member}: {off_Ah[member]:.3g} Ah too "
            "much in"
        )


class SampleBooks:
    """Books in full, in every step, of the first members.

    Parameters
    ----------
    weathers : Weathers
    count : int
        How many members.
    switches : Switches
        Of the run.
    """

    def __init__(self, weathers, *, count, switches=None):
        self.weathers, self.count = weathers, min(count, weathers.members)
        self.switches = switches or Switches()
        self._flows = None

    def open(self, steps):
        """Begin a stretch of steps.

        Parameters
        ----------
        steps : slice
        """
        self._steps = steps
        self._flows = np.empty((len(Flows._fields), steps.stop - steps.start, self.count))

    def add(self, step, flows):
        """Take in one step.

        Parameters
        ----------
        step : int
            Of the passage.
        flows : Flows
        """
        row = step - self._steps.start
        for place, value in enumerate(flows):
            self._flows[place, row] = value[: self.count] if type(value) is np.ndarray else value

    def close(self, state):
        """Check the stretch.

        Parameters
        ----------
        state : State
            As it began.

        Raises
        ------
        BalanceError
            If the books do not close.
        """
        books_of(
            Flows(*self._flows),
            state=type(state)(
                *(value[: self.count] if np.ndim(value) else value for value in state)
            ),
            prepared=self.weathers.sample(self._steps, self.count),
            switches=self.switches,
        )
