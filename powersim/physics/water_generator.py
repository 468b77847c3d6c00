"""What a generator in the water offers: speed through the water through its power curve."""

from __future__ import annotations

import numpy as np

from powersim.physics.offering import Offering
from powersim.records import BOAT_STATES

_SAILING, _MOTORING = BOAT_STATES.index("sailing"), BOAT_STATES.index("motoring")


def water_generator_W(generator, *, speed_kn, sailing, motoring):
    """What a towed, shaft or transom generator offers the bank.

    Parameters
    ----------
    generator : WaterGenerator
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


def water_offer_W(generator, *, track, sky):
    """What it offers along a track, where speed made good is taken as speed through the water.

    Parameters
    ----------
    generator : WaterGenerator
    track : Track
    sky : Sky
        Without effect.

    Returns
    -------
    ndarray, shape (n,)
        [W]
    """
    return water_generator_W(
        generator,
        speed_kn=track.speed_kn,
        sailing=track.state == _SAILING,
        motoring=track.state == _MOTORING,
    )


def _in_members_W(generator, *, wind_m_s, speed_kn, under_way, motoring):
    """By the calms of each member, which motors through them."""
    sailing = under_way - motoring
    return water_generator_W(generator, speed_kn=speed_kn, sailing=sailing, motoring=motoring)


OFFERING = Offering(along=water_offer_W, in_members=_in_members_W)
