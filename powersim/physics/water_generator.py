"""What a generator in the water offers: speed through the water through its power curve."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.offering import Offering
from powersim.records import BOAT_STATES, WaterGenerator

if TYPE_CHECKING:
    from powersim.records.arrays import Array, FloatsT
    from powersim.sky.sky import Sky
    from powersim.voyage.track import Track

_SAILING, _MOTORING = BOAT_STATES.index("sailing"), BOAT_STATES.index("motoring")


def water_generator_W(
    generator: WaterGenerator, *, speed_kn: FloatsT, sailing: FloatsT, motoring: FloatsT
) -> FloatsT:
    """What a towed, shaft or transom generator offers the bank.

    Parameters
    ----------
    generator : WaterGenerator
        Its power curve, its cable, and when it is in the water.
    speed_kn : float or ndarray
        Through the water. [kn]
    sailing, motoring : float or ndarray
        Share of the time under sail and under engine, in any shapes that broadcast. [-]

    Returns
    -------
    float or ndarray
        After the loss in the cable. [W]

    Notes
    -----
    Straight lines between the points of the curve; before the first there is nothing, beyond the
    last its power is held up to the speed at which it is taken in.
    """
    power_W = np.interp(speed_kn, generator.speeds_kn, generator.powers_W)
    fits = (speed_kn >= generator.from_kn) & (speed_kn <= generator.to_kn)
    in_water = sailing + motoring if generator.motoring else sailing
    return power_W * (1.0 - generator.wiring_frac) * fits * in_water


def water_offer_W(generator: WaterGenerator, *, track: Track, sky: Sky) -> Array:
    """What it offers along a track, where speed made good is taken as speed through the water.

    Parameters
    ----------
    generator : WaterGenerator
        As for `water_generator_W`.
    track : Track
        For the boat's speed and state.
    sky : Sky
        Without effect.

    Returns
    -------
    ndarray, shape (n,)
        As `water_generator_W` gives it. [W]
    """
    return water_generator_W(
        generator,
        speed_kn=track.speed_kn,
        sailing=(track.state == _SAILING).astype(float),
        motoring=(track.state == _MOTORING).astype(float),
    )


def _in_members_W(
    generator: WaterGenerator,
    *,
    wind_m_s: Array | None,
    speed_kn: Array,
    under_way: Array,
    motoring: Array,
) -> Array:
    """By the calms of each member, which motors through them."""
    sailing = under_way - motoring
    return water_generator_W(generator, speed_kn=speed_kn, sailing=sailing, motoring=motoring)


OFFERING = Offering(along=water_offer_W, in_members=_in_members_W)
