"""The light on panels in the steps that have any, and the warmth of their cells."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from powersim.physics import module
from powersim.physics.irradiance import PlaneLight, light_on_plane
from powersim.physics.orientation import hand_turned_plane, turned_plane
from powersim.physics.shade import direct_kept_frac, isotropic_kept_frac, sectors_of
from powersim.records import Panel, ShadeSector

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats, Ints
    from powersim.sky.sky import Sky
    from powersim.voyage.track import Track

#: Steps, times the members they are seen in, that are worked out at once.
_AT_ONCE = 12_000


class PanelLight:
    """The light on panels and the warmth of their cells under one sky, kept for other panels.

    Another power, another controller, one panel more: the light on the rest is the same. Most of
    what a yield takes is to work it out.

    Parameters
    ----------
    before : PanelLight, optional
        Of the same skies, in the same order: what is asked for again is taken over from it.
    """

    def __init__(self, before: PanelLight | None = None) -> None:
        self._before = {} if before is None else before._known
        self._known: dict[Any, tuple[Array, Array]] = {}
        self._asked = 0

    def __reduce__(self) -> tuple[type[PanelLight], tuple[()]]:
        return PanelLight, ()  # other processes work it out for themselves

    def next_sky(self) -> int:
        """A number for the next sky."""
        self._asked += 1
        return self._asked

    def of(self, where: Any, make: Callable[[], tuple[Array, Array]]) -> tuple[Array, Array]:
        """What is known of a panel's place under some steps of a sky, or is made now.

        Parameters
        ----------
        where : object
            How the panel lies, under which sky, in which steps.
        make : callable
            Gives effective light [W/m^2] and the cells' temperature [degC].

        Returns
        -------
        tuple of two ndarray
            As `make` gives them.
        """
        if where not in self._known:
            found = self._before.get(where)
            self._known[where] = make() if found is None else found
        return self._known[where]

    def done(self) -> None:
        """Forget what was not asked for again."""
        self._before = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class LitRows:
    """Some steps with light; a step that counts for both tacks has a second row at the end.

    Attributes
    ----------
    lit : ndarray of int, shape (lit,)
        The steps.
    second : ndarray of int
        The places among them of those that have a second row.
    step, tack : ndarray of int, shape (rows,)
        Of each row.
    weight : ndarray, shape (rows,)
        What each row counts in its step. [-]
    """

    lit: Ints
    second: Ints
    step: Ints
    weight: Array
    tack: Ints

    def by_step(self, values: Array) -> Array:
        """Mean of each step's rows.

        Parameters
        ----------
        values : ndarray, shape (..., rows)
            One for each row.

        Returns
        -------
        ndarray, shape (..., lit)
            One for each step.
        """
        weighted = values * self.weight
        total = weighted[..., : self.lit.size]
        total[..., self.second] += weighted[..., self.lit.size :]
        return total


def lit_rows(track: Track, sky: Sky, *, any_lee: bool) -> Iterator[LitRows]:
    """The steps with light, few enough at once to stay in the processor's own memory.

    Parameters
    ----------
    track : Track
        How the boat heels, and on which tack.
    sky : Sky
        Its light may have axes before that of time.
    any_lee : bool
        Whether what shades a panel is on the lee side, so that the tack counts.

    Yields
    ------
    LitRows
        In order.
    """
    skies = max(1, sky.ghi_W_m2.size // max(track.n_steps, 1))
    up = (sky.ghi_W_m2 > 0.0).reshape(skies, -1).any(axis=0)
    lit = np.flatnonzero(up)
    at_once = max(1, _AT_ONCE // skies)
    for first in range(0, lit.size, at_once):
        yield _rows_of(lit[first : first + at_once], track, any_lee=any_lee)


def _rows_of(lit: Ints, track: Track, *, any_lee: bool) -> LitRows:
    both = (track.tack[lit] == 0) & ((track.heel_deg[lit] != 0.0) | any_lee)
    second = np.flatnonzero(both)
    return LitRows(
        lit=lit,
        second=second,
        step=np.concatenate([lit, lit[second]]),
        weight=np.concatenate([np.where(both, 0.5, 1.0), np.full(second.size, 0.5)]),
        tack=np.concatenate([np.where(track.tack[lit] < 0, -1, 1), np.full(second.size, -1)]),
    )


class Place(NamedTuple):
    """All of a panel that settles how much light falls on it."""

    by_hand: bool
    trims_per_day: int
    tilt_deg: float
    bearing_deg: float
    salt_frac: float
    sectors: tuple[ShadeSector, ...]


def place_of(panel: Panel) -> Place:
    """How a panel lies.

    Parameters
    ----------
    panel : Panel
        Its plane, what shades it, its salt.

    Returns
    -------
    Place
        The same for panels that differ in their modules alone.
    """
    return Place(
        by_hand=panel.mount == "hand",
        trims_per_day=panel.trims_per_day,
        tilt_deg=panel.tilt_deg,
        bearing_deg=panel.bearing_deg,
        salt_frac=panel.salt_frac,
        sectors=sectors_of(panel),
    )


def light_and_cell(panel: Place, rows: LitRows, track: Track, sky: Sky) -> tuple[Array, Array]:
    """Effective light after shade and salt, and cell temperature, of a panel.

    Parameters
    ----------
    panel : Place
        How it lies.
    rows : LitRows
        Some steps of the track.
    track : Track
        Where the boat is, how she heads and heels.
    sky : Sky
        Sun, light, air and wind there.

    Returns
    -------
    tuple of two ndarray, shape (..., rows)
        Light [W/m^2] and temperature [degC].
    """
    tilt_deg, azimuth_deg = _plane_of(panel, rows, track)
    elevation_deg, sun_deg = sky.elevation_deg[rows.step], sky.azimuth_deg[rows.step]
    light = light_on_plane(
        tilt_deg=tilt_deg,
        azimuth_deg=azimuth_deg,
        sun_elevation_deg=elevation_deg,
        sun_azimuth_deg=sun_deg,
        dni_W_m2=sky.dni_W_m2[..., rows.step],
        ghi_W_m2=sky.ghi_W_m2[..., rows.step],
        dhi_W_m2=sky.dhi_W_m2[..., rows.step],
        extra_dni_W_m2=sky.extra_dni_W_m2[rows.step],
    )
    sectors = panel.sectors
    light = _shaded(
        light,
        direct_frac=direct_kept_frac(
            sectors,
            bearing_deg=sun_deg - track.course_deg[rows.step],
            elevation_deg=elevation_deg,
            tack=rows.tack,
        ),
        isotropic_frac=np.where(
            rows.tack > 0,
            isotropic_kept_frac(sectors, tack=1),
            isotropic_kept_frac(sectors, tack=-1),
        ),
    )
    cell_C = module.cell_C(
        light_W_m2=light.total_W_m2,
        air_C=sky.air_C[rows.step],
        wind_m_s=sky.wind_m_s[rows.step],
    )
    clean_W_m2 = module.effective_light_W_m2(light, tilt_deg=tilt_deg)
    return clean_W_m2 * (1.0 - panel.salt_frac), cell_C


def _plane_of(panel: Place, rows: LitRows, track: Track) -> tuple[Floats, Floats]:
    if panel.by_hand:
        return hand_turned_plane(
            utc_s=track.mid_utc_s[rows.step],
            lat_deg=track.lat_deg[rows.step],
            lon_deg=track.lon_deg[rows.step],
            trims_per_day=panel.trims_per_day,
        )
    return turned_plane(
        tilt_deg=panel.tilt_deg,
        bearing_deg=panel.bearing_deg,
        heel_to_port_deg=track.heel_deg[rows.step] * rows.tack,
        course_deg=track.course_deg[rows.step],
    )


def _shaded(light: PlaneLight, *, direct_frac: Floats, isotropic_frac: Array) -> PlaneLight:
    """Light after shade: the ring around the sun goes where the beam goes."""
    return replace(
        light,
        direct_W_m2=light.direct_W_m2 * direct_frac,
        circumsolar_W_m2=light.circumsolar_W_m2 * direct_frac,
        isotropic_W_m2=light.isotropic_W_m2 * isotropic_frac,
    )
