"""What each member meets: its light, its wind, its sea, and what she does in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.demand import Demand
from powersim.records.brief import brief
from powersim.simulation.heavy_sea import MemberSeas
from powersim.simulation.prepared import Prepared
from powersim.sky.high_wind import hard_wind_m_s, shape_at
from powersim.sky.wind import rayleigh_m_s
from powersim.voyage.motoring import motored_calms

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools, Ints


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MemberWeather:
    """The members of a passage by the weather that they meet.

    Attributes
    ----------
    prepared : Prepared
        In average weather.
    members : int
        How many there are.
    hour : ndarray of int, shape (n,)
        Row of `clear_frac`, `wind_quantile` and `calm_turn` that each step takes.
    clear_frac : ndarray, shape (hours, members)
        Share of the clear sky's light that each member's weather lets through. [-]
    wind_quantile : ndarray, shape (hours, members), or None
        Where in its distribution the wind is; None where nothing asks for it. [-]
    calm_turn : ndarray, shape (hours, members), or None
        What time of the day is the engine's in a calm; None where none is motored. [-]
    lying : Demand or None
        Of the loads, lying to wherever she is under sail; None where she never lies to.
    sailed_motoring, under_way : ndarray, shape (n,)
        Share of each step with the engine in gear when calms are sailed, and under sail or engine.
        [-]
    seas : MemberSeas or None
        The sea that each member meets; None where the boat minds none.
    """

    prepared: Prepared
    members: int
    hour: Ints
    clear_frac: Array
    wind_quantile: Array | None
    calm_turn: Array | None
    lying: Demand | None
    sailed_motoring: Array
    under_way: Array
    seas: MemberSeas | None = None

    __repr__ = brief

    def motoring(self, steps: slice) -> Array:
        """Share of some steps with the engine in gear.

        Parameters
        ----------
        steps : slice
            Of the passage.

        Returns
        -------
        ndarray, shape (steps, members or 1)
            0 to 1. [-]
        """
        in_gear = self._in_gear(steps)
        if self.seas is None:
            return in_gear
        lets = self.seas.at(steps, lambda sea: sea.engine)
        return in_gear * lets if not lets.all() else in_gear

    def _in_gear(self, steps: slice) -> Array:
        """The same, whatever the sea."""
        alike, track = self.sailed_motoring[steps, None], self.prepared.track
        calm_frac, share = track.calm_frac[steps, None], track.calm_share[steps, None]
        if self.wind_quantile is None or self.calm_turn is None or not (calm_frac * share).any():
            return alike
        hour = self.hour[steps]
        motored = motored_calms(
            self.wind_quantile[hour], self.calm_turn[hour], calm_frac=calm_frac, share=share
        )
        lies = self.lies_to(steps)
        if lies is not None:
            motored &= ~lies
        # For as much of the step as she is under way.
        return np.maximum(alike, motored * self.under_way[steps, None])

    def lies_to(self, steps: slice) -> Bools | None:
        """Where the sea has her lie to in some steps, if she would be under sail.

        Parameters
        ----------
        steps : slice
            Of the passage.

        Returns
        -------
        ndarray of bool, shape (steps, members), or None
            None where she never does.
        """
        if self.seas is None or self.lying is None:
            return None
        return self.seas.at(steps, lambda sea: sea.lies_to) > 0.0

    def light(self, steps: slice) -> Array:
        """Share of the clear sky's light in some steps, with what files know laid over it.

        Parameters
        ----------
        steps : slice
            Of the passage.

        Returns
        -------
        ndarray, shape (steps, members)
            Never negative. [-]
        """
        sky = self.prepared.sky
        apart = self.clear_frac[self.hour[steps]] - sky.usual_frac[steps, None]
        frac = sky.clear_frac[steps, None] + sky.open_frac[steps, None] * apart
        return np.maximum(frac, 0.0, out=frac)  # rounding may leave it a whisker below

    def lain_to_h(self) -> Array:
        """How long each member lies to.

        Returns
        -------
        ndarray, shape (members,)
            Of the time that she would be under sail. [h]
        """
        lies = self.lies_to(slice(0, len(self.hour)))
        if lies is None:
            return np.zeros(self.members)
        sails = self.under_way - self.sailed_motoring
        return sails @ lies * self.prepared.track.step_h

    def wind_m_s(self, steps: slice) -> Array:
        """True wind at 10 m in some steps, about the month's mean or as a file knows it.

        Parameters
        ----------
        steps : slice
            Of the passage.

        Returns
        -------
        ndarray, shape (steps, members or 1)
            Of each member where the wind was drawn. [m/s]
        """
        return self._blowing(steps, rayleigh_m_s)

    def sea_wind_m_s(self, steps: slice) -> Array:
        """The same as a sea comes of it: where it is steady, strong wind is rarer.

        Parameters
        ----------
        steps : slice
            Of the passage.

        Returns
        -------
        ndarray, shape (steps, members or 1)
            In the same place of its distribution. [m/s]
        """
        shape = shape_at(self.prepared.track.lat_deg[steps, None])
        return self._blowing(steps, partial(hard_wind_m_s, shape=shape))

    def _blowing(self, steps: slice, blows: Callable[[Array, Array], Array]) -> Array:
        sky = self.prepared.sky
        mean_m_s, open_frac = sky.wind_m_s[steps, None], sky.wind_open_frac[steps, None]
        if self.wind_quantile is None or not open_frac.any():
            return mean_m_s
        blows_m_s = blows(mean_m_s, self.wind_quantile[self.hour[steps]])
        return mean_m_s + open_frac * (blows_m_s - mean_m_s)

    def _making_way(self, steps: slice) -> tuple[Array, Array]:
        """Speed, and share of each step under sail or engine: none of either as she lies to."""
        speed_kn = self.prepared.track.speed_kn[steps, None]
        under_way = self.under_way[steps, None]
        lies = self.lies_to(steps)
        if lies is None or not lies.any():
            return speed_kn, under_way
        # The hours under power at the ends of a leg she does not lie to.
        sails = lies * (1.0 - self.sailed_motoring[steps, None])
        return speed_kn * (1.0 - sails), under_way * (1.0 - sails)

    def _sea_lets(self, steps: slice, alike: Array) -> Array:
        """Where the sea lets somebody run the engine."""
        if self.seas is None:
            return alike
        lets = self.seas.at(steps, lambda sea: sea.engine)
        return alike if lets.all() else lets
