"""Bad weather along a passage: what the sea is like, as expected shares and member by member."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.physics.demand import Demand
from powersim.records import BOAT_STATES, STATES, HeavyWeather, Load, Sea
from powersim.records.brief import brief
from powersim.sky.high_wind import shape_at, share_above, share_within, strongest_of_late
from powersim.sky.wind import KN_M_S
from powersim.voyage.track import Track

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools, Ints
    from powersim.sky.sky import Sky

#: Place of the state in which she may come to lie to.
SAILING = BOAT_STATES.index("sailing")
#: Whether a boat is at sea in each state; at anchor and alongside she lies sheltered.
_AT_SEA = np.array([state.under_way for state in STATES.values()])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeanSeas:
    """How often each sea is met along a track in average weather.

    Attributes
    ----------
    seas : tuple of Sea
        From the calmest.
    shares : ndarray, shape (seas, n)
        Of the time; they add up to 1. [-]
    """

    seas: tuple[Sea, ...]
    shares: Array

    __repr__ = brief

    def mean(self, of: Callable[[Sea], float]) -> Array:
        """What is expected of something that differs from sea to sea.

        Parameters
        ----------
        of : callable
            Its value in a sea.

        Returns
        -------
        ndarray, shape (n,)
            Its mean at every step.
        """
        return np.array([of(sea) for sea in self.seas], dtype=float) @ self.shares


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MemberSeas:
    """The sea that each member meets.

    Attributes
    ----------
    seas : tuple of Sea
        From the calmest.
    place : ndarray of int, shape (n, members)
        Which of them it is.
    """

    seas: tuple[Sea, ...]
    place: Ints

    __repr__ = brief

    def at(self, steps: slice, of: Callable[[Sea], float]) -> Array:
        """Something that differs from sea to sea, as the members have it.

        Parameters
        ----------
        steps : slice
            Of the passage.
        of : callable
            Its value in a sea.

        Returns
        -------
        ndarray, shape (steps, members)
            1 or 0 for what is so or not so.
        """
        return np.array([of(sea) for sea in self.seas], dtype=float)[self.place[steps]]

    def chosen(self, some: Ints | slice) -> MemberSeas:
        """Those of some members alone.

        Parameters
        ----------
        some : slice or ndarray of int
            Which members.

        Returns
        -------
        MemberSeas
            In the order in which they were named.
        """
        return replace(self, place=self.place[:, some])


def at_sea(track: Track) -> Bools:
    """Where a boat is out at sea, neither at anchor nor alongside.

    Parameters
    ----------
    track : Track
        Its states are looked at.

    Returns
    -------
    ndarray of bool, shape (n,)
        True at sea.
    """
    return _AT_SEA[track.state]


def mean_seas(heavy: HeavyWeather, *, track: Track, sky: Sky) -> MeanSeas | None:
    """How often each sea is expected along a track.

    Parameters
    ----------
    heavy : HeavyWeather
        The strengths at which something changes.
    track : Track
        For the states; at anchor and alongside nothing of it holds.
    sky : Sky
        Along that track: the wind, and whether it is the hour's or a mean.

    Returns
    -------
    MeanSeas or None
        None where the boat has no such strength.

    Notes
    -----
    Where a file has the hour's wind the sea is that of the strongest wind of late; where it is
    a mean, each hour of late may have blown so hard with the chance of the distribution. While a
    forecast fades out, the wind of an hour lies between both.
    """
    strengths_kn = heavy.strengths_kn
    if not strengths_kn:
        return None
    late, open_frac, out = _late_steps(heavy, track), sky.wind_open_frac, at_sea(track)
    hours, shape = 1 + round(heavy.sea_lasts_h), shape_at(track.lat_deg)
    known_m_s = strongest_of_late(np.where(open_frac > 0.0, 0.0, sky.wind_m_s), steps=late)
    reached = []
    for above_kn in strengths_kn:
        # The hour's wind is the mean, or as far from it as what is left open lets it be.
        apart_m_s = above_kn * KN_M_S - sky.wind_m_s
        needed_m_s = sky.wind_m_s + apart_m_s / np.maximum(open_frac, 1e-9)
        needed_kn = np.maximum(needed_m_s, 0.0) / KN_M_S
        share = share_above(sky.wind_m_s, above_kn=needed_kn, shape=shape)
        share = np.where(open_frac > 0.0, share_within(share, hours=hours), 0.0)
        reached.append(np.maximum(share, known_m_s > above_kn * KN_M_S) * out)
    ends = np.array([np.ones(track.n_steps), *reached, np.zeros(track.n_steps)])
    return MeanSeas(seas=heavy.seas, shares=ends[:-1] - ends[1:])


def member_seas(
    heavy: HeavyWeather,
    wind_m_s: Callable[[slice], Array],
    *,
    track: Track,
    members: int,
    blocks: Sequence[slice],
) -> MemberSeas:
    """The sea that each member meets.

    Parameters
    ----------
    heavy : HeavyWeather
        The strengths at which something changes; there is one at least.
    wind_m_s : callable
        wind_m_s(steps) gives the wind of some steps in all members, shape (steps, members or 1).
    track : Track
        At the steps.
    members : int
        How many members.
    blocks : sequence of slice
        All steps in turn, a stretch at a time.

    Returns
    -------
    MemberSeas
        At every step.

    Notes
    -----
    By the strongest wind of late, `sea_lasts_h` hours and the hour itself; what it blew before the
    passage begins is not known, and she is taken to have waited for better.
    """
    late, out = _late_steps(heavy, track), at_sea(track)
    strengths_m_s = np.array(heavy.strengths_kn) * KN_M_S
    place = np.zeros((track.n_steps, members), dtype=np.uint8)
    for steps in blocks:
        before = max(steps.start - late, 0)
        strongest = strongest_of_late(wind_m_s(slice(before, steps.stop)), steps=late)
        # Above a strength, not at it.
        found = np.searchsorted(strengths_m_s, strongest[steps.start - before :], side="left")
        place[steps] = found * out[steps, None]
    return MemberSeas(seas=heavy.seas, place=place)


def lying_track(track: Track, state: str) -> Track:
    """The same track with the boat lying to wherever she is under sail.

    Parameters
    ----------
    track : Track
        Its places and times are kept: speed made good has such delays in it.
    state : str
        How she lies, one of LYING_STATES.

    Returns
    -------
    Track
        With state, heel, tack and speed as she lies.
    """
    lies, how = track.state == SAILING, STATES[state]
    kept: dict[str, Any] = {}
    if not how.heeled:
        kept = {
            "heel_deg": np.where(lies, 0.0, track.heel_deg),
            "tack": np.where(lies, 0, track.tack).astype(np.int8),
        }
    return replace(
        track,
        state=np.where(lies, BOAT_STATES.index(state), track.state).astype(np.int8),
        speed_kn=np.where(lies, 0.0, track.speed_kn),
        **kept,
    )


def demand_in_seas(
    demand: Demand, lying: Demand | None, loads: Sequence[Load], seas: MeanSeas
) -> Demand:
    """What the loads take on average, with the share of the time that she lies to.

    Parameters
    ----------
    demand : Demand
        Of a boat that never lies to.
    lying : Demand or None
        Of one that lies to wherever she would be under sail; None where she never does.
    loads : sequence of Load
        Of both, row by row.
    seas : MeanSeas
        At the same steps.

    Returns
    -------
    Demand
        Between both, and of pilots as they work in each sea.
    """
    pilots = pilot_rows(loads)
    lies = seas.mean(lambda sea: sea.lies_to)
    works_lying = seas.mean(lambda sea: sea.pilot_frac * sea.lies_to)
    works = seas.mean(lambda sea: sea.pilot_frac) - works_lying
    changed: dict[str, Any] = {}
    for name in ("current_A", "power_W", "supply_loss_W", "fuel_L_per_h", "on_frac"):
        sailed = getattr(demand, name)
        other = sailed if lying is None else getattr(lying, name)
        changed[name] = sailed + lies * (other - sailed)
        if name not in ("fuel_L_per_h", "on_frac"):
            changed[name][pilots] = works * sailed[pilots] + works_lying * other[pilots]
    return replace(demand, **changed)


def pilot_rows(loads: Sequence[Load]) -> list[int]:
    """Rows of the loads that work harder in a rough sea.

    Parameters
    ----------
    loads : sequence of Load
        In the order of the rows.

    Returns
    -------
    list of int
        Those with the role of a pilot.
    """
    return [row for row, load in enumerate(loads) if load.role == "pilot"]


def in_seas(records: Sequence[Any], lying: Sequence[Any] | None, seas: MeanSeas) -> list[Any]:
    """What panels give on average, with the heel and the spray of each sea.

    Parameters
    ----------
    records : sequence of ControllerYield
        Of a boat that never lies to.
    lying : sequence of ControllerYield, optional
        Of one that lies to wherever she would be under sail, where her heel is another then.
    seas : MeanSeas
        At the same steps.

    Returns
    -------
    list of ControllerYield
        With every array between both, in the mean over the seas.
    """
    dry = seas.mean(lambda sea: sea.sun_frac * (not sea.lies_to or lying is None))
    wet = seas.mean(lambda sea: sea.sun_frac) - dry

    def mixed(name: str, one: Any, other: Any) -> Array:
        by_step = (slice(None), None) if name == "current_A" else slice(None)
        value = getattr(one, name) * dry[by_step]
        return value if lying is None else value + getattr(other, name) * wet[by_step]

    names = ("power_W", "apart_W", "current_A", "module_W")
    return [
        replace(one, **{name: mixed(name, one, other) for name in names})
        for one, other in zip(records, lying or records, strict=True)
    ]


def _late_steps(heavy: HeavyWeather, track: Track) -> int:
    """How many steps before each count for its sea."""
    return round(heavy.sea_lasts_h / track.step_h)
