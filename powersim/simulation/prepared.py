"""A passage worked out as far as its bank does not matter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.errors import Problem
from powersim.kernel.plant import Plant
from powersim.physics.demand import Demand
from powersim.physics.solar import ControllerYield
from powersim.records import (
    Charger,
    Passage,
)
from powersim.records.brief import brief
from powersim.simulation.heavy_sea import MeanSeas
from powersim.simulation.signals import Signals
from powersim.sky.sky import Sky
from powersim.sky.weather_files import WeatherFile
from powersim.voyage.track import Track

if TYPE_CHECKING:
    from powersim.records.arrays import Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prepared:
    """Everything about a passage that does not depend on the bank.

    Attributes
    ----------
    passage : Passage
        Of which it is all.
    hold_h : float
        Time at the last waypoint after landfall. [h]
    track : Track
        At the kernel's steps.
    sky : Sky
        At the kernel's steps.
    demand : Demand
        At the kernel's steps.
    module_W : ndarray, shape (n, 1)
        Power of all modules at their best, salt taken off. [W]
    supply_loss_W : ndarray, shape (n, 4, 1)
        Part of the group's power that is lost in supplies. [W]
    yields : tuple of ControllerYield
        What each solar controller offers, at the kernel's steps.
    others : tuple of (charger, ndarray of shape (n,))
        The same of every other charger, in the order in which they are used.
    signals : Signals
        For the kernel.
    plant : Plant
        For the kernel.
    sun_track, sun_sky : Track, Sky
        At the sun's steps, which divide the kernel's.
    seas : MeanSeas or None
        How often each sea is met, at the sun's steps; None where the boat minds none.
    files : tuple of WeatherFile
        What the sailor's own files know of the sky, at the sun's steps.
    left_out : tuple of Problem
        Why other files of the sailor's are left out.
    """

    passage: Passage
    hold_h: float
    track: Track
    sky: Sky
    demand: Demand
    module_W: Array
    supply_loss_W: Array
    yields: tuple[ControllerYield, ...]
    others: tuple[tuple[Charger, Array], ...]
    signals: Signals
    plant: Plant
    sun_track: Track
    sun_sky: Sky
    seas: MeanSeas | None = None
    files: tuple[WeatherFile, ...] = ()
    left_out: tuple[Problem, ...] = ()

    __repr__ = brief

    @property
    def sun_steps(self) -> int:
        """How many of the sun's steps make one of the kernel's."""
        return self.sun_track.n_steps // self.track.n_steps
