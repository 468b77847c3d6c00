"""What panels and other chargers offer along a track, before anything is asked of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.chargers import offering_of
from powersim.physics.solar import ControllerYield, controller_yield
from powersim.records import OTHER_SOURCES, Boat, Charger

if TYPE_CHECKING:
    from powersim.physics.panel_light import PanelLight
    from powersim.records.arrays import Array
    from powersim.sky.sky import Sky
    from powersim.voyage.track import Track


def yields_of(
    boat: Boat, *, track: Track, sky: Sky, light: PanelLight | None = None
) -> list[ControllerYield]:
    """What every solar controller of a boat offers.

    Parameters
    ----------
    boat : Boat
        Her panels and their controllers.
    track : Track
        Where the boat is, and when.
    sky : Sky
        Sun, light, wind and air along the track.
    light : PanelLight, optional
        Where the light on panels is kept, for this sky as its next one.

    Returns
    -------
    list of ControllerYield
        In the order of the boat's controllers.
    """
    sky_number = 0 if light is None else light.next_sky()
    return [
        controller_yield(
            controller,
            tuple(panel for panel in boat.panels if panel.controller == controller.name),
            track=track,
            sky=sky,
            nominal_V=boat.battery.nominal_V,
            light=light,
            sky_number=sky_number,
        )
        for controller in boat.controllers
    ]


def module_power_W(yields: list[ControllerYield], n_steps: int) -> Array:
    """Power of all modules at their best.

    Parameters
    ----------
    yields : list of ControllerYield
        Of all controllers.
    n_steps : int
        Of the track.

    Returns
    -------
    ndarray, shape (n_steps,)
        Zero without panels. [W]
    """
    return sum((yielded.module_W for yielded in yields), np.zeros(n_steps))


def in_order_of_use(chargers: Sequence[Charger]) -> list[Charger]:
    """Other chargers in the order of records.OTHER_SOURCES.

    Parameters
    ----------
    chargers : sequence of Charger
        In any order.

    Returns
    -------
    list
        The same ones.
    """
    return sorted(chargers, key=lambda charger: OTHER_SOURCES.index(charger.source))


def other_offers(boat: Boat, *, track: Track, sky: Sky) -> list[tuple[Charger, Array]]:
    """What every other charger of a boat offers, in the order in which they are used.

    Parameters
    ----------
    boat : Boat
        Her chargers are asked.
    track : Track
        Where the boat is, and when.
    sky : Sky
        Sun, light, wind and air along the track.

    Returns
    -------
    list of (charger, ndarray of shape (n,))
        In watts or amperes, as the record has it.
    """
    return [
        (charger, offering_of(charger).along(charger, track=track, sky=sky))
        for charger in in_order_of_use(boat.chargers)
    ]
