"""docs/model/panels.md: from the sky over her to the watts that the controller offers."""

from __future__ import annotations

import numpy as np
import pvlib

from recomputed.files import DEFAULT

#: Lee sectors of the mounts on the starboard tack: from, to, below. [deg]
SECTORS = {"arch": (300.0, 360.0, 52.0), "coachroof": (200.0, 360.0, 62.0)}


def panel_W(mount, power_W, *, track, sky):
    """What a flat panel's cable brings to the controller; the mean of both where none is known."""
    starboard, port = (
        panel_on_tack_W(mount, power_W, track=track, sky=sky, tack=tack) for tack in (1, -1)
    )
    return np.select([track.tack > 0, track.tack < 0], [starboard, port], 0.5 * (starboard + port))


def panel_on_tack_W(mount, power_W, *, track, sky, tack):
    """The same on one tack: 1 has the wind from starboard, and leans her to port."""
    from_deg, to_deg, below_deg = SECTORS[mount]

    # Which way a panel faces: a flat one, its normal along the mast.
    heel = np.radians(track.heel_deg * tack)  # to port
    level, upward = -np.sin(heel), np.cos(heel)
    tilt = np.arctan2(np.abs(level), upward)
    azimuth = np.radians(track.course_deg) + np.arctan2(level, 0.0)

    # Light on the plane, by the height with refraction.
    height, sun = np.radians(sky.apparent_deg), np.radians(sky.azimuth_deg)
    cosine = np.cos(tilt) * np.sin(height) + np.sin(tilt) * np.cos(height) * np.cos(sun - azimuth)
    cosine = np.maximum(cosine, 0.0)  # behind the panel
    ring_share = sky.dni_W_m2 / sky.extra_W_m2
    on_level = np.maximum(np.sin(height), 0.01745)
    beam = sky.dni_W_m2 * cosine
    ring = sky.dhi_W_m2 * ring_share * cosine / on_level
    even = sky.dhi_W_m2 * (1.0 - ring_share) * (1.0 + np.cos(tilt)) / 2.0
    sea = 0.06 * sky.ghi_W_m2 * (1.0 - np.cos(tilt)) / 2.0

    # Shade: lee sectors are mirrored on the port tack.
    bearing_deg = (sky.azimuth_deg - track.course_deg) * tack
    abreast = (bearing_deg - from_deg) % 360.0 <= to_deg - from_deg
    seen = np.where(abreast & (sky.apparent_deg < below_deg), 0.0, 1.0)
    beam, ring = beam * seen, ring * seen
    even = even * (1.0 - (to_deg - from_deg) / 360.0 * np.sin(np.radians(below_deg)) ** 2)

    # Glass and heat: the cells are warmed by the light on the glass, before glass and salt.
    on_glass = beam + ring + even + sea
    cells_C = sky.air_C + on_glass / (25.0 + 6.84 * sky.wind_m_s)
    through = pvlib.iam.martin_ruiz_diffuse(np.degrees(np.maximum(tilt, np.radians(0.01))))
    isotropic_share, sea_share = through.values() if isinstance(through, dict) else through
    direct_share = pvlib.iam.martin_ruiz(np.degrees(np.arccos(cosine)))
    reach = (beam + ring) * direct_share + even * isotropic_share + sea * sea_share
    reach = reach * (1.0 - DEFAULT.salt)

    # MPPT.
    modules = power_W * reach / 1000.0 * (1.0 + DEFAULT.power_per_C * (cells_C - 25.0))
    return modules - DEFAULT.wiring * modules**2 / power_W
