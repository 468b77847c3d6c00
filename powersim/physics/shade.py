"""What rig, sails and hull take of a panel's sky."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Panel, ShadeSector

if TYPE_CHECKING:
    from powersim.records.arrays import Floats, Ints

#: The sectors that each mount stands for, given for the starboard tack (sails to port).
#: Trade judgement, no source: chosen so that a flat panel loses about 10 % of a day's energy on
#: the arch, 15 % on the pushpit, 40 % on the coachroof and 25 % on the rail, on a trade-wind day
#: (17 N 25 W in October, course south, mean of both tacks), as
#: tests/reference/test_panels_in_the_trades.py holds.
MOUNT_SHADES: dict[str, tuple[ShadeSector, ...]] = {
    # The sail, seen from astern, between mast and boom end.
    "arch": (ShadeSector(from_deg=300.0, to_deg=360.0, below_deg=52.0, side="lee"),),
    # Lower, and nearer to boom, sprayhood and crew.
    "pushpit": (ShadeSector(from_deg=295.0, to_deg=360.0, below_deg=55.0, side="lee"),),
    # Under the boom: the sail stands over it to leeward, mast and boom in the middle.
    "coachroof": (ShadeSector(from_deg=200.0, to_deg=360.0, below_deg=62.0, side="lee"),),
    # Outboard on one side: the sail to leeward on one tack, hull and sprayhood low down.
    "rail": (ShadeSector(from_deg=240.0, to_deg=360.0, below_deg=54.0, side="lee"),),
    # Put where it stands clear; now and then the sail's edge comes round.
    "hand": (ShadeSector(from_deg=330.0, to_deg=360.0, below_deg=45.0, side="lee"),),
    "clear": (),
}


def sectors_of(panel: Panel) -> tuple[ShadeSector, ...]:
    """The sectors that shade a panel: the sailor's own, else its mount's.

    Parameters
    ----------
    panel : Panel
        Where it is mounted.

    Returns
    -------
    tuple of ShadeSector
        Empty where nothing stands in the way.
    """
    return MOUNT_SHADES[panel.mount] if panel.shades is None else panel.shades


def _width_deg(sector: ShadeSector) -> float:
    """Width of a sector: 0 where both edges are one bearing, 360 for a whole round."""
    width_deg = (sector.to_deg - sector.from_deg) % 360.0
    return 360.0 if width_deg == 0.0 and sector.to_deg != sector.from_deg else width_deg


def direct_kept_frac(
    sectors: Sequence[ShadeSector], *, bearing_deg: Floats, elevation_deg: Floats, tack: int | Ints
) -> Floats:
    """Share of the beam that comes past the sectors.

    Parameters
    ----------
    sectors : sequence of ShadeSector
        What stands around the panel.
    bearing_deg : float or ndarray, shape (n,)
        The sun's bearing, clockwise from the bow. [deg]
    elevation_deg : float or ndarray, shape (n,)
        The sun's apparent height above the level horizon. [deg]
    tack : int or ndarray, shape (n,)
        +1 wind from starboard, -1 wind from port; lee sectors are mirrored on the latter.

    Returns
    -------
    float or ndarray, shape (n,)
        1 where nothing is in the way. [-]

    Notes
    -----
    A sun behind several sectors comes past each in turn: the product of (1 - loss). The sun is
    either behind a sector or not: a shadow's soft edge, and a shadow that reaches only some
    strings of cells, are not modelled. Sectors are bearings and heights as seen from the panel
    with the boat as she sails; they do not heel a second time. Lee sectors stay up at anchor, half
    of the time on either side: furled sails, boom and awning take their place there.

    Examples
    --------
    >>> mast = ShadeSector(from_deg=-5.0, to_deg=5.0, below_deg=60.0, loss_frac=0.5)
    >>> float(direct_kept_frac([mast], bearing_deg=358.0, elevation_deg=30.0, tack=1))
    0.5
    """
    kept_frac = np.ones(np.broadcast(bearing_deg, elevation_deg, tack).shape)
    for sector in sectors:
        seen_deg = bearing_deg * tack if sector.side == "lee" else bearing_deg
        # "not past" rather than "inside", so that both edges of a sector belong to it
        abreast = (seen_deg - sector.from_deg) % 360.0 <= _width_deg(sector)
        behind = abreast & (elevation_deg < sector.below_deg)
        kept_frac = kept_frac * np.where(behind, 1.0 - sector.loss_frac, 1.0)
    return kept_frac


def isotropic_kept_frac(sectors: Sequence[ShadeSector], *, tack: int) -> float:
    """Share of an even sky's light that comes past the sectors onto a level plane.

    Parameters
    ----------
    sectors : sequence of ShadeSector
        What stands around the panel.
    tack : int
        +1 wind from starboard, -1 wind from port.

    Returns
    -------
    float
        1 under an open sky. [-]

    Notes
    -----
    A sector of width w up to height h takes (w/360) sin^2(h) of what a level plane receives from
    an even sky: the integral of sin(height) cos(height) over the sector, divided by that over the
    half-sphere. Overlapping sectors are cut along their edges, so that nothing is lost twice.
    A tilted panel is given the level plane's share: for tilts under 20 degrees the two differ by
    less than the sectors themselves are known; a steep panel's is over- or understated as the
    sectors stand behind or before it.

    Examples
    --------
    >>> sail = ShadeSector(from_deg=270.0, to_deg=360.0, below_deg=45.0)
    >>> round(isotropic_kept_frac([sail], tack=1), 4)
    0.875
    """
    return _isotropic_kept_frac(tuple(sectors), tack)


@lru_cache(maxsize=256)
def _isotropic_kept_frac(sectors: Sequence[ShadeSector], tack: int) -> float:
    edges_deg = {0.0, 360.0}
    for sector in sectors:
        sign = tack if sector.side == "lee" else 1
        edges_deg |= {sign * sector.from_deg % 360.0, sign * sector.to_deg % 360.0}
    bearings_deg = np.array(sorted(edges_deg))
    heights_deg = np.array(sorted({0.0, 90.0} | {sector.below_deg for sector in sectors}))
    kept_frac = direct_kept_frac(
        sectors,
        bearing_deg=((bearings_deg[:-1] + bearings_deg[1:]) / 2)[:, None],
        elevation_deg=((heights_deg[:-1] + heights_deg[1:]) / 2)[None, :],
        tack=tack,
    )
    weights = np.outer(np.diff(bearings_deg) / 360.0, np.diff(np.sin(np.radians(heights_deg)) ** 2))
    return float((weights * kept_frac).sum())
