"""From latitude and longitude to the paper: Mercator, and near a pole the stereographic picture.

Both show every shape with its own angles, so that a course looks as it does on a chart. The earth
is taken as a sphere, which on a small map cannot be seen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from powersim.records.arrays import Array

#: Mercator's degree of latitude is then drawn more than five times too long. [deg]
_MERCATOR_TO_DEG = 80.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mercator:
    """Meridians upright, parallels level.

    Attributes
    ----------
    middle_lon_deg : float
        The meridian that x is counted from. [deg]
    """

    middle_lon_deg: float

    def place(self, lat_deg: Array, lon_deg: Array) -> tuple[Array, ...]:
        """Where a position comes to lie.

        Returns
        -------
        tuple of ndarray
            x and y, in radians at the equator.

        References
        ----------
        .. [1] J. P. Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395
           (1987), equations 7-1 and 7-2.
        """
        import numpy as np

        x = np.radians(np.asarray(lon_deg, dtype=float) - self.middle_lon_deg)
        return x, np.arcsinh(np.tan(np.radians(lat_deg)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Polar:
    """A pole in the middle, meridians as its spokes.

    Attributes
    ----------
    middle_lon_deg : float
        The meridian that runs straight down from the north pole, or up from the south pole. [deg]
    north : bool
        Which pole.
    """

    middle_lon_deg: float
    north: bool

    def place(self, lat_deg: Array, lon_deg: Array) -> tuple[Array, ...]:
        """Where a position comes to lie.

        References
        ----------
        .. [1] Snyder 1987, equations 21-5 to 21-10 with a scale of 1 at the pole.
        """
        import numpy as np

        sign = 1.0 if self.north else -1.0
        radius = 2.0 * np.tan(math.pi / 4.0 - sign * np.radians(lat_deg) / 2.0)
        angle = np.radians(np.asarray(lon_deg, dtype=float) - self.middle_lon_deg)
        return radius * np.sin(angle), -sign * radius * np.cos(angle)


def projection_for(lat_deg: Array, lon_deg: Array) -> Mercator | Polar:
    """The projection that suits a track: polar where it comes within 10 degrees of a pole."""
    import numpy as np

    middle_deg = float(np.min(lon_deg) + np.max(lon_deg)) / 2.0
    highest = float(lat_deg[int(np.abs(lat_deg).argmax())])
    if abs(highest) <= _MERCATOR_TO_DEG:
        return Mercator(middle_lon_deg=middle_deg)
    return Polar(middle_lon_deg=middle_deg, north=highest > 0.0)
