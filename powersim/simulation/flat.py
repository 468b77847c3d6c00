"""Signals laid out for compiled code: what all members share, and what differs between them."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import replace
from itertools import accumulate
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from powersim.kernel.chargers import SOURCES, ChargerConstants, Offer
from powersim.kernel.records import CHARGER, OFFER, ROW, fill

if TYPE_CHECKING:
    from powersim.kernel.step_signals import StepSignals
    from powersim.records.arrays import Array, Bools, Ints
    from powersim.simulation.signals import ControllerSignal, Signals

_CELL = np.dtype(np.float64).itemsize


class Flat(NamedTuple):
    """Signals of some steps as arrays for compiled code.

    Attributes
    ----------
    rows : ndarray of records.ROW, shape (steps,)
        What all members share.
    offers : ndarray of records.OFFER, shape (steps, chargers)
        What each charger has in a step, where it is alike for all members.
    own_places, orders_places : ndarray of int, shape (columns, 3)
        Where in them each column goes that differs: 0 for a row and 1 for an offer; its first
        cell; how many cells it is from one step to the next.
    own, orders : ndarray, shape (columns, steps, sources)
        These columns: between members, and between orders to the engine.
    chargers : ndarray of records.CHARGER, shape (chargers,)
        What does not change of them.
    """

    rows: np.ndarray
    offers: np.ndarray
    own_places: Ints
    own: Array
    orders_places: Ints
    orders: Array
    chargers: np.ndarray


class Room:
    """Memory for columns that one stretch after another is laid out in."""

    def __init__(self) -> None:
        self._cells = np.empty(0)

    def shaped(self, *shape: int) -> Array:
        """An array to be written, in which what was there before is lost.

        Parameters
        ----------
        *shape : int
            Its axes.

        Returns
        -------
        ndarray
            Of that shape, in one piece.
        """
        size = math.prod(shape)
        if size > self._cells.size:
            self._cells = np.empty(size + size // 4)  # the next stretch may have a column more
        return self._cells[:size].reshape(shape)


class Laid:
    """Signals of some steps, laid out for the kernel, plain or compiled.

    Parameters
    ----------
    *signals : Signals
        Of the same steps and kinds of chargers; their members follow each other.
    orders : dict of str to ndarray, shape (steps, orders), optional
        Fields that hang on the orders to the engine, in place of the signals' own.
    room : Room, optional
        Of whoever needs no more what was laid out in it before.

    Attributes
    ----------
    begins : list of int
        Which member is the first of each of the signals, and how many there are in all.
    """

    def __init__(
        self,
        *signals: Signals,
        orders: Mapping[str, Array | Bools] | None = None,
        room: Room | None = None,
    ) -> None:
        self.signals, self.orders = signals, orders or {}
        self._room = room or Room()
        self.begins = [0, *accumulate(one.members for one in signals)]
        self._steps = range(signals[0].n_steps)
        self._flat: Flat | None = None

    @property
    def n_steps(self) -> int:
        """How many steps."""
        return len(self._steps)

    @property
    def chargers(self) -> list[ChargerConstants]:
        """What does not change of the chargers."""
        return [_charger_of(one) for one in self.signals[0].chargers]

    def member(self, source: int, order: int) -> tuple[list[StepSignals], list[tuple[Offer, ...]]]:
        """The rows and offers of one member as plain floats.

        Parameters
        ----------
        source, order : int
            Which of the members it meets, and which of the orders it follows.

        Returns
        -------
        tuple of (list of StepSignals, list of tuple of Offer)
            As `Signals.member`.
        """
        place = bisect_right(self.begins, source, hi=len(self.signals)) - 1
        own: dict[str, Any] = {name: array[:, order, None] for name, array in self.orders.items()}
        of_all = replace(self.signals[place], **own)
        steps = of_all.between(self._steps.start, self._steps.stop)
        return steps.member(source - self.begins[place])

    def ordered(self, orders: Mapping[str, Array | Bools]) -> Laid:
        """The same with orders to the engine in place of its own.

        Parameters
        ----------
        orders : dict of str to ndarray, shape (steps, orders)
            Fields of the signals; where all orders agree in one, with one column.

        Returns
        -------
        Laid
            Which has what differs between members in common with this one.
        """
        alike: dict[str, Any] = {
            name: array for name, array in orders.items() if array.shape[1] == 1
        }
        differ = {name: array for name, array in orders.items() if name not in alike}
        found, flat = copy(self), self.flat
        found.signals = tuple(replace(one, **alike) for one in self.signals)
        found.orders = differ
        rows = flat.rows.copy()
        for name, array in alike.items():
            rows[name] = array[:, 0]
        places, columns = _of_orders(differ, self.n_steps)
        found._flat = flat._replace(rows=rows, orders_places=places, orders=columns)
        return found

    def between(self, first: int, last: int) -> Laid:
        """The same from one step to before another.

        Parameters
        ----------
        first, last : int
            Steps, counted as in a slice.

        Returns
        -------
        Laid
            With views of the arrays.
        """
        part, flat = copy(self), self.flat
        part._steps = range(self._steps.start + first, self._steps.start + last)
        part._flat = flat._replace(
            rows=flat.rows[first:last],
            offers=flat.offers[first:last],
            own=np.ascontiguousarray(flat.own[:, first:last]),
            orders=np.ascontiguousarray(flat.orders[:, first:last]),
        )
        return part

    @property
    def flat(self) -> Flat:
        """As arrays for compiled code."""
        if self._flat is None:
            self._flat = self._laid_flat()
        return self._flat

    def _laid_flat(self) -> Flat:
        steps, chargers = self.n_steps, self.chargers
        rows, offers = np.zeros(steps, ROW), np.zeros((steps, len(chargers)), OFFER)
        columns = _Columns(self.begins)
        for name, at in _ROW_AT.items():
            if name not in self.orders:
                arrays = [getattr(one, name) for one in self.signals]
                columns.lay(arrays, into=rows[name], kind=0, at=at, apart=_ROW_CELLS)
        for place in range(len(chargers)):
            of_each = [one.chargers[place] for one in self.signals]
            for name, at in _OFFER_AT.items():
                columns.lay(
                    [getattr(charger, name) for charger in of_each],
                    into=offers[name][:, place],
                    kind=1,
                    at=place * _OFFER_CELLS + at,
                    apart=len(chargers) * _OFFER_CELLS,
                )
        constants = np.zeros(len(chargers), CHARGER)
        for place, charger in enumerate(chargers):
            fill(constants[place : place + 1], charger)
        orders_places, orders = _of_orders(self.orders, steps)
        return Flat(
            rows=rows,
            offers=offers,
            own_places=_places(columns.places),
            own=columns.stacked(self._room, steps),
            orders_places=orders_places,
            orders=orders,
            chargers=constants,
        )


def _of_orders(orders: Mapping[str, Array | Bools], steps: int) -> tuple[Ints, Array]:
    """Where orders go, and what they are."""
    places = _places((0, _ROW_AT[name], _ROW_CELLS) for name in orders)
    if not orders:
        return places, np.zeros((0, steps, 1))
    return places, np.stack([np.asarray(one, dtype=float) for one in orders.values()])


class _Columns:
    """The columns that differ between members, and where each goes."""

    def __init__(self, begins: Sequence[int]) -> None:
        self.begins = begins
        self.places: list[tuple[int, int, int]] = []
        self.columns: list[list[Array | Bools]] = []

    def lay(
        self, arrays: list[Array | Bools], *, into: Array, kind: int, at: int, apart: int
    ) -> None:
        """Write what is alike for all; note what is not. Each is shaped (steps, ..., members)."""
        if all(_alike(array, arrays[0]) for array in arrays):
            alike = arrays[0][..., 0]
            if alike.ndim > 1:
                into[:, : alike.shape[1]] = alike
            else:
                into[:] = alike
            return
        parts = arrays[0].shape[1] if arrays[0].ndim > 2 else None
        for part in range(parts or 1):
            column = arrays if parts is None else [array[:, part] for array in arrays]
            if parts and all(_alike(array, column[0]) for array in column):
                into[:, part] = column[0][..., 0]
                continue
            self.places.append((kind, at + part, apart))
            self.columns.append(column)

    def stacked(self, room: Room, steps: int) -> Array:
        """All columns, shape (columns, steps, members)."""
        own = room.shaped(len(self.columns), steps, self.begins[-1])
        for into, column in zip(own, self.columns, strict=True):
            for first, last, array in zip(self.begins[:-1], self.begins[1:], column, strict=True):
                into[:, first:last] = array
        return own


def _alike(array: Array | Bools, other: Array | Bools) -> bool:
    """Whether both are the same for all members, and the same."""
    if array.shape[-1] == 1:
        return other.shape[-1] == 1 and (array is other or np.array_equal(array, other))
    return _empty(array) and (array is other or _empty(other))


def _empty(array: Array | Bools) -> bool:
    """Whether it is zero throughout; in most that are not, a few steps tell."""
    return not array[:: max(len(array) // 8, 1)].any() and not array.any()


def _cells(record: np.dtype[Any]) -> int:
    return record.itemsize // _CELL


def _places_in(record: np.dtype[Any]) -> dict[str, int]:
    """The first cell of each field."""
    assert record.fields is not None, "a record has fields"
    return {name: offset // _CELL for name, (_, offset, *_) in record.fields.items()}


_ROW_AT, _OFFER_AT = _places_in(ROW), _places_in(OFFER)
_ROW_CELLS, _OFFER_CELLS = _cells(ROW), _cells(OFFER)


def _places(places: Iterable[tuple[int, int, int]]) -> Ints:
    return np.array(list(places), dtype=np.int64).reshape(-1, 3)


def _charger_of(signal: ControllerSignal) -> ChargerConstants:
    """A charger's constants, from its signal."""
    return ChargerConstants(
        source=SOURCES.index(signal.source),
        rated_A=signal.rated_A,
        knots=len(signal.knots_V),
        knots_V=signal.knots_V,
    )
