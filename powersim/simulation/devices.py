"""Devices with batteries of their own, step by step: what they take, hold and go without.

Most take only what sun, wind and water offer and the bank has no room for. That flow is known when
the bank's course is, so they are carried behind it, and change nothing in it. What is charged
before the bank is full is a pack that the kernel carries (kernel/pack.py).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.errors import BalanceError
from powersim.records import Device
from powersim.records.brief import brief
from powersim.records.chargers import SURPLUS_SOURCES
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.records.arrays import Array

#: Flows of the kernel that tell what is left for them, and what the pack does.
SERIES = (
    *("solar_A", "solar_offered_A", "others_offered_A", "bank_V", "pack_W", "pack_Wh"),
    *(f"{source}_A" for source in SURPLUS_SOURCES),
)
#: Rounding of a step's sums. [Wh]
TOLERANCE_Wh = 1e-6
#: Of the members, those that fare worse than what is told. [-]
_CAUTIOUS = 0.1
#: Less than this of what it should give is rounding. [Wh]
_SHORT_Wh = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DeviceCourse:
    """What became of one device, or of all that are charged before the bank is full.

    Attributes
    ----------
    devices : tuple of Device
        One, or the pack.
    empty_h : ndarray, shape (members,)
        When it first could not give what it should; infinite for never. [h]
    lowest_Wh : ndarray, shape (members,)
        The least that it held. [Wh]
    taken_Wh, short_Wh : ndarray, shape (members,)
        What it took from the wiring, and what it could not give. [Wh], [Wh]
    """

    devices: tuple[Device, ...]
    empty_h: Array
    lowest_Wh: Array
    taken_Wh: Array
    short_Wh: Array

    __repr__ = brief

    @property
    def name(self) -> str:
        """What it is called; those of a pack together."""
        return " and ".join(one.name for one in self.devices)

    @property
    def battery_Wh(self) -> float:
        """What it holds when full. [Wh]"""
        return sum(one.battery_Wh for one in self.devices)

    @property
    def use_Wh_per_day(self) -> float:
        """What it gives. [Wh/day]"""
        return sum(one.use_Wh_per_day for one in self.devices)

    @property
    def from_surplus(self) -> bool:
        """Whether it takes only what the bank has no room for."""
        return self.devices[0].when_soc is None


class DevicesCarried:
    """All devices of a boat through the steps of a run, full at its begin.

    Parameters
    ----------
    devices : sequence of Device
        Those that live on surplus take in this order.
    members : int
        How many.
    step_h : float
        Length of a step. [h]
    """

    def __init__(self, devices: Sequence[Device], *, members: int, step_h: float) -> None:
        self.step_h = step_h
        self._done_h = 0.0
        alone = [(one,) for one in devices if one.when_soc is None]
        pack = tuple(one for one in devices if one.when_soc is not None)
        self._carried = [_Carried(some, members) for some in (*alone, *([pack] if pack else ()))]

    def through(self, flows: Mapping[str, Array]) -> None:
        """Take some more steps.

        Parameters
        ----------
        flows : mapping of str to ndarray, shape (steps, members)
            SERIES of the kernel's flows.

        Raises
        ------
        BalanceError
            If the books of a device do not close in some step.
        """
        left_W = surplus_W(flows)
        for carried in self._carried:
            if carried.from_surplus:
                self._live_on(carried, left_W)
            else:
                self._follow(carried, flows)
        self._done_h += len(left_W) * self.step_h

    def courses(self) -> tuple[DeviceCourse, ...]:
        """What became of each so far."""
        return tuple(
            DeviceCourse(
                devices=one.devices,
                empty_h=one.empty_h.copy(),
                lowest_Wh=one.lowest_Wh.copy(),
                taken_Wh=one.taken_Wh.copy(),
                short_Wh=one.short_Wh.copy(),
            )
            for one in self._carried
        )

    def _live_on(self, carried: _Carried, left_W: Array) -> None:
        """One device on what is left, which is taken off."""
        (device,), step_h = carried.devices, self.step_h
        use_Wh = device.use_Wh_per_day * step_h / 24.0
        for step in range(len(left_W)):
            before_Wh = carried.held_Wh
            room_Wh = device.battery_Wh - before_Wh + use_Wh
            fills_W = room_Wh / (device.efficiency_frac * step_h)
            taken_W = np.minimum(np.minimum(left_W[step], device.charge_W), fills_W)
            has_Wh = before_Wh + device.efficiency_frac * taken_W * step_h
            gives_Wh = np.minimum(has_Wh, use_Wh)
            self._note(carried, has_Wh - gives_Wh, taken_W, use_Wh - gives_Wh, step)
            left_W[step] -= taken_W
            if (left_W[step] < -TOLERANCE_Wh).any():
                raise BalanceError(f"{carried.devices[0].name} takes more than there is to spare")
        self._check(carried)

    def _follow(self, carried: _Carried, flows: Mapping[str, Array]) -> None:
        """The pack, as the kernel had it."""
        step_h = self.step_h
        use_Wh = sum(one.use_Wh_per_day for one in carried.devices) * step_h / 24.0
        takes_Wh = sum(one.takes_Wh_per_day for one in carried.devices) * step_h / 24.0
        efficiency_frac = use_Wh / takes_Wh if takes_Wh else carried.devices[0].efficiency_frac
        carried.stays_frac = efficiency_frac
        for step, (taken_W, held_Wh) in enumerate(
            zip(flows["pack_W"], flows["pack_Wh"], strict=True)
        ):
            gives_Wh = carried.held_Wh + efficiency_frac * taken_W * step_h - held_Wh
            self._note(carried, held_Wh, taken_W, use_Wh - gives_Wh, step)
        self._check(carried)

    def _note(
        self, carried: _Carried, held_Wh: Array, taken_W: Array, short_Wh: Array, step: int
    ) -> None:
        carried.held_Wh = held_Wh
        carried.taken_Wh += taken_W * self.step_h
        carried.lowest_Wh = np.minimum(carried.lowest_Wh, held_Wh)
        carried.given_Wh += carried.use_Wh(self.step_h) - short_Wh
        short = short_Wh > _SHORT_Wh
        carried.short_Wh += np.where(short, short_Wh, 0.0)
        first = short & np.isinf(carried.empty_h)
        carried.empty_h[first] = self._done_h + step * self.step_h

    def _check(self, carried: _Carried) -> None:
        """Raise BalanceError unless what it took is what it gave, holds and lost."""
        stayed_Wh = carried.stays_frac * carried.taken_Wh
        gained_Wh = carried.held_Wh - carried.full_Wh
        off_Wh = stayed_Wh - carried.given_Wh - gained_Wh
        within = (carried.held_Wh >= -TOLERANCE_Wh) & (
            carried.held_Wh <= carried.full_Wh + TOLERANCE_Wh
        )
        ok = (np.abs(off_Wh) <= TOLERANCE_Wh * np.maximum(carried.taken_Wh, 1.0)) & within
        if not ok.all():
            member = int((~ok).argmax())
            raise BalanceError(
                f"the books of {carried.name} do not close for member {member}: "
                f"{off_Wh[member]:.3g} Wh too much in, {carried.held_Wh[member]:.6g} Wh held"
            )


class _Carried:
    """A device in all members, with what has been added up."""

    def __init__(self, devices: tuple[Device, ...], members: int) -> None:
        self.devices = devices
        self.name = " and ".join(one.name for one in devices)
        self.from_surplus = devices[0].when_soc is None
        self.stays_frac = devices[0].efficiency_frac
        self.full_Wh = sum(one.battery_Wh for one in devices)
        self.held_Wh = np.full(members, self.full_Wh)
        self.lowest_Wh = self.held_Wh.copy()
        self.empty_h = np.full(members, np.inf)
        self.taken_Wh, self.short_Wh, self.given_Wh = (np.zeros(members) for _ in range(3))

    def use_Wh(self, step_h: float) -> float:
        return sum(one.use_Wh_per_day for one in self.devices) * step_h / 24.0


def surplus_W(flows: Mapping[str, Array]) -> Array:
    """What sun, wind and water offer and the bank and its loads do not take, step by step.

    Parameters
    ----------
    flows : mapping of str to ndarray, shape (steps, members)
        SERIES of the kernel's flows.

    Returns
    -------
    ndarray, shape (steps, members)
        At the voltage of the bus. [W]
    """
    others_A = sum(flows[f"{source}_A"] for source in SURPLUS_SOURCES)
    left_A = np.maximum(flows["solar_offered_A"] - flows["solar_A"], 0.0) + np.maximum(
        flows["others_offered_A"] - others_A, 0.0
    )
    return left_A * flows["bank_V"]


def devices_summary(courses: Sequence[DeviceCourse]) -> dict[str, Any]:
    """What became of all devices, in plain numbers.

    Parameters
    ----------
    courses : sequence of DeviceCourse
        Of the members, or of average weather.

    Returns
    -------
    dict
        `reserve_Wh`, and of each: what it is, in which share of the members it runs empty, when
        that is so in the first of ten that do (null for none), and what it took.
    """
    return {
        "reserve_Wh": float(sum(one.battery_Wh for one in courses)),
        "each": [
            {
                "name": one.name,
                "battery_Wh": one.battery_Wh,
                "use_Wh_per_day": one.use_Wh_per_day,
                "lasts_days": one.battery_Wh / one.use_Wh_per_day if one.use_Wh_per_day else None,
                "from_surplus": one.from_surplus,
                "when_soc": one.devices[0].when_soc,
                "empty_frac": float(np.isfinite(one.empty_h).mean()),
                "empty_days": _cautious_days(one.empty_h),
                "lowest_Wh": float(quantiles(one.lowest_Wh, (_CAUTIOUS,))[0]),
                "taken_Wh": float(one.taken_Wh.mean()),
                "short_Wh": float(one.short_Wh.mean()),
            }
            for one in courses
        ],
    }


def _cautious_days(empty_h: Array) -> float | None:
    """The day after which the first tenth of those that run empty have done so."""
    empties_h = empty_h[np.isfinite(empty_h)]
    return float(quantiles(empties_h, (_CAUTIOUS,))[0]) / 24.0 if len(empties_h) else None
