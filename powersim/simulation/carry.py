"""The one driver: banks carried through stretches of steps, side by side, and what is kept.

For one member the kernel's functions run as plain Python; for many they are compiled, and run on
all cores. Whoever carries a bank anywhere does it here.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from powersim.kernel.bus import bus_of
from powersim.kernel.carry import carry_member
from powersim.kernel.flows import Flows, place_of
from powersim.kernel.plant import Plant
from powersim.kernel.records import MEMBER, STATE, TOLD, fill
from powersim.kernel.state import State, Switches
from powersim.kernel.told import Keep, Told
from powersim.physics.bank import soc_of
from powersim.simulation import compiled
from powersim.simulation.cores import side_by_side
from powersim.simulation.differing import count_of, of_member
from powersim.simulation.flat import Laid, Room
from powersim.simulation.ledgers import check_ledgers, surplus_of

if TYPE_CHECKING:
    from powersim.kernel.machine_code import MachineCode
    from powersim.kernel.state import BatchState
    from powersim.records.arrays import Array, Bools, Ints
    from powersim.simulation.signals import Signals

#: Arguments of kernel.carry.carry_members that each of the stretches of members has of its own:
#: which they are, rows and offers that theirs are written into, memory to work in.
_OWN = (*(0, 1), *(4, 5, 6, 7), *(17, 18, 19))


class Batch:
    """Members carried side by side; each has a state and a boat of its own.

    Parameters
    ----------
    plant : Plant
        Constants of the boat: floats, or arrays shaped (boats,) where they differ.
    state : State
        As the run begins; floats, or arrays shaped (members,).
    step_h : float
        Length of a step. [h]
    switches : Switches, optional
        What works and what is wanted; as the plant.
    floor_soc : float
        What charge is held against. [-]
    counted_from_h : float
        From when on charge counts: before that, no charge is the lowest and none below its floor,
        so that a bank which is low as the run begins may be brought up. Darkness always counts.
        [h]
    until_dark : bool
        Whether a member is carried no further than the step in which it goes dark.
    sums : sequence of str
        Flows that are added up for each member, step by step; LEDGERS for books that are checked.
    source_of : ndarray of int, shape (members,), optional
        Which of the signals' members each meets; in order if left out.
    order_of : ndarray of int, shape (members,), optional
        Which of the orders to the engine each follows (Laid); the first if left out.
    boat_of : ndarray of int, shape (members,), optional
        Which of the boats each is; in order if left out, and one for all where none differ.
    joins_h : ndarray, shape (members,), optional
        From when on each is carried, after the run's begin; until then it stays as it is. All from
        the begin if left out. [h]

    Attributes
    ----------
    state : State
        As it is now, of arrays shaped (members,).
    told : ndarray of records.TOLD, shape (members,)
        Lowest charge and voltage, when first below the floor and first dark (after the run's begin,
        infinite if never), time below the floor, longest time between full charges, and how often
        the engine was started to charge.
    sums : dict of str to ndarray, shape (members,)
        Flows added up, as they are.
    """

    def __init__(
        self,
        *,
        plant: Plant,
        state: BatchState,
        step_h: float,
        switches: Switches | None = None,
        floor_soc: float = 0.0,
        counted_from_h: float = 0.0,
        until_dark: bool = False,
        sums: tuple[str, ...] = (),
        source_of: Ints | None = None,
        order_of: Ints | None = None,
        boat_of: Ints | None = None,
        joins_h: Array | float = 0.0,
    ) -> None:
        self.plant, self.switches = plant, switches or Switches()
        self.members = np.size(state.total_Ah)
        boat = _Boat(plant, self.switches)
        self._boats = np.zeros(count_of(boat), MEMBER)
        fill(self._boats, boat)
        if len(self._boats) == 1:
            boat_of = np.zeros(self.members, int)
        self._boat_of = _places(np.arange(self.members) if boat_of is None else boat_of)
        self._states = np.zeros(self.members, STATE)
        fill(self._states, state)
        self.told = np.zeros(self.members, TOLD)
        for name in ("lowest_h", "joins_h"):
            self.told[name] = joins_h
        for name in ("lowest_V", "flat_h", "leaves_h"):
            self.told[name] = np.inf
        self._begin_Ah = np.zeros(self.members)
        self._begin(slice(None), floor_soc)
        self._keep = Keep(
            step_h=float(step_h),
            first=0,
            floor_soc=float(floor_soc),
            counted_from_h=float(counted_from_h),
            until_dark=bool(until_dark),
            every=1,
        )
        self._room = Room()
        self._summed = tuple(map(place_of, sums))
        self._sums = np.zeros((self.members, len(sums)))
        self.sums = {name: self._sums[:, place] for place, name in enumerate(sums)}
        self._source_of = _places(np.arange(self.members) if source_of is None else source_of)
        self._order_of = _places(np.zeros(self.members) if order_of is None else order_of)

    @property
    def state(self) -> State[Array, Bools]:
        """As it is now, of arrays shaped (members,)."""
        return state_of(self._states)

    def states_now(self) -> np.ndarray:
        """As it is now, which stays so.

        Returns
        -------
        ndarray of records.STATE, shape (members,)
            For `begin`, and for `state_of`.
        """
        return self._states.copy()

    def begin(self, places: Ints, states: np.ndarray) -> None:
        """Have some members that have not joined yet begin with other states.

        Parameters
        ----------
        places : ndarray of int, shape (n,)
            Which of the members.
        states : ndarray of records.STATE, shape (n,)
            Theirs, such as `states_now` gives them.
        """
        self._states[places] = states
        self._begin(places, self._keep.floor_soc)

    def _begin(self, places: Ints | slice, floor_soc: float) -> None:
        """Note down what is known of members as they begin."""
        told, total_Ah = self.told, self._states["total_Ah"][places]
        bank: Any = self._boats["plant"]["bank"].take(self._boat_of[places]).view(np.recarray)
        soc = soc_of(bank, total_Ah)
        self._begin_Ah[places] = total_Ah
        told["lowest_soc"][places] = told["before_soc"][places] = soc
        told["floor_h"][places] = np.where(soc < floor_soc, told["joins_h"][places], np.inf)

    @property
    def step(self) -> int:
        """Steps done since the run's begin."""
        return self._keep.first

    def through(
        self, signals: Signals | Laid, *, series: Sequence[str] = (), every: int = 1
    ) -> dict[str, Array]:
        """Carry all members through a stretch of steps.

        Parameters
        ----------
        signals : Signals or Laid
            Of these steps; with one member that all meet, or with those that `source_of` names.
        series : sequence of str
            Flows to keep by the step.
        every : int
            Of every so many steps the last is kept.

        Returns
        -------
        dict of str to ndarray, shape (steps kept, members)
            The flows that were asked for.
        """
        laid = signals if isinstance(signals, Laid) else Laid(signals, room=self._room)
        steps = laid.n_steps
        # Each member's in one piece, as it is written; whoever reads it has time first.
        kept = np.zeros((len(series), self.members, steps // every))
        keep = self._keep._replace(every=every)
        places = tuple(map(place_of, series))
        self._refuse_strangers(laid)
        work = compiled.kernel(members=self.members)
        if work is None:
            self._plainly(laid, keep=keep, kept=places, series=kept)
        else:
            self._compiled(work, laid, keep=keep, kept=places, series=kept)
        self._keep = self._keep._replace(first=self._keep.first + steps)
        return dict(zip(series, kept.transpose(0, 2, 1), strict=True))

    def _refuse_strangers(self, laid: Laid) -> None:
        """Compiled code would read beside what is laid out. What is laid for one, all meet."""
        if laid.begins[-1] > 1:
            _refuse(self._source_of, "members of the signals", laid.begins[-1])
        if laid.orders:
            count = min(array.shape[1] for array in laid.orders.values())
            _refuse(self._order_of, "orders to the engine", count)

    def _plainly(self, laid: Laid, *, keep: Keep, kept: tuple[int, ...], series: Array) -> None:
        """Member after member as plain Python."""
        chargers = laid.chargers
        bus, flow = bus_of(len(chargers) + 1), [0.0] * len(Flows._fields)
        for member in range(self.members):
            rows, offers = laid.member(self._source_of[member], self._order_of[member])
            told = _Told(*self.told[member].item())
            sums: list[float] = self._sums[member].tolist()
            one: list[list[float]] = [[0.0] * series.shape[2] for _ in kept]
            state = carry_member(
                State(*self._states[member].item()),
                told,
                rows,
                offers,
                of_member(self.plant, self._boat_of[member]),
                of_member(self.switches, self._boat_of[member]),
                chargers,
                bus,
                flow,
                keep,
                self._summed,
                sums,
                kept,
                one,
            )
            self._states[member], self.told[member] = tuple(state), told.values()
            self._sums[member] = sums
            series[:, member] = np.reshape(one, series[:, member].shape)  # of none too

    def _compiled(
        self,
        work: MachineCode,
        laid: Laid,
        *,
        keep: Keep,
        kept: tuple[int, ...],
        series: Array,
    ) -> None:
        """Members on all cores, compiled."""
        flat = laid.flat
        kept_at, summed = (np.array(at, dtype=np.int64) for at in (kept, self._summed))
        places = len(flat.chargers) + 1
        first_last, signals, to_work_in = 2 * (None,), 4 * (None,), 3 * (None,)
        run = work.again(
            *first_last,
            self._states,
            self.told,
            *signals,
            flat.own_places,
            flat.own,
            self._source_of,
            flat.orders_places,
            flat.orders,
            self._order_of,
            self._boats,
            self._boat_of,
            flat.chargers,
            *to_work_in,
            *map(_number, keep),
            summed,
            self._sums,
            kept_at,
            series,
            own=_OWN,
        )

        def some(first: int, last: int) -> None:
            # Each with memory of its own to work in.
            rows, offers = flat.rows.copy(), flat.offers.copy()
            run(
                *(first, last),
                *(rows, rows.view(np.float64)),
                *(offers, offers.reshape(-1).view(np.float64)),
                *(np.zeros(places, np.int64), np.zeros((4, places))),
                np.zeros(len(Flows._fields)),
            )

        side_by_side(some, self.members, steps=laid.n_steps)

    def taken(
        self, places: Ints, *, source_of: Ints | None = None, order_of: Ints | None = None
    ) -> Batch:
        """Some of the members as they are now, in any order and as often as they are named.

        Parameters
        ----------
        places : ndarray of int, shape (taken,)
            Which of the members.
        source_of : ndarray of int, shape (taken,), optional
            Which of the signals' members each meets from now on; its own if left out.
        order_of : ndarray of int, shape (taken,), optional
            Which of the orders each follows from now on; its own if left out.

        Returns
        -------
        Batch
            This one is left as it is.
        """
        few = copy(self)
        few.members, few._room = len(places), Room()
        few._states, few.told = self._states.take(places), self.told.take(places)
        few._begin_Ah, few._sums = self._begin_Ah[places], self._sums[places]
        few.sums = {name: few._sums[:, at] for at, name in enumerate(self.sums)}
        few._boat_of = self._boat_of[places]
        few._source_of = self._source_of[places] if source_of is None else _places(source_of)
        few._order_of = self._order_of[places] if order_of is None else _places(order_of)
        return few

    def check(self) -> None:
        """Raise BalanceError unless every member's sums close.

        Raises
        ------
        BalanceError
            Naming the first member whose books do not close.
        """
        gained_Ah = self._states["total_Ah"] - self._begin_Ah
        check_ledgers(self.sums, step_h=self._keep.step_h, gained_Ah=gained_Ah)

    @property
    def surplus_A(self) -> Array:
        """What sun, wind and water offered and nothing took, summed. (members,) [A]"""
        return surplus_of(self.sums)


def state_of(states: np.ndarray) -> State[Array, Bools]:
    """States of many members as one.

    Parameters
    ----------
    states : ndarray of records.STATE, shape (members,)
        Of each.

    Returns
    -------
    State
        Of views of it, shaped (members,).
    """
    return State._make(states[name] for name in State._fields)


class _Told(Told):
    """records.TOLD of one member, for plain Python."""

    __slots__ = TOLD.names or ()

    def __init__(self, *values: float) -> None:
        for name, value in zip(self.__slots__, values, strict=True):
            setattr(self, name, value)

    def values(self) -> tuple[float, ...]:
        return tuple(getattr(self, name) for name in self.__slots__)


class _Boat(NamedTuple):
    """What fills records.MEMBER."""

    plant: Plant
    switches: Switches


def _places(numbers: Array | Ints) -> Ints:
    """As compiled code counts, whatever the system's own integers."""
    return np.ascontiguousarray(numbers, dtype=np.int64)


def _refuse(places: Ints, what: str, count: int) -> None:
    if not 0 <= places.min() <= places.max() < count:
        raise ValueError(f"there are {count} {what}, from 0 on; asked for: {places.max()}")


def _number(value: bool | float) -> float:
    """A flag as 0 or 1, and a number as it is."""
    return int(value) if isinstance(value, bool) else value
