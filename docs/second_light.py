"""Makes powersim/sky/data/second_light.npz: python docs/second_light.py NASA_TABLE.npz.

The argument is NASA's 22-year monthly mean insolation by single degrees (Surface meteorology and
Solar Energy, release 6.0), as powersim/sky/data/PROVENANCE.md describes it.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from powersim.sky.climatology import GRID_DEG, SOLAR_CONSTANT_W_m2
from powersim.sky.months import between_months
from powersim.sky.sun import SOLAR_CONSTANT_W_m2 as PVLIB_CONSTANT_W_m2
from powersim.sky.sun import extra_dni_W_m2, sun_at

OUT = Path(__file__).resolve().parents[1] / "powersim" / "sky" / "data" / "second_light.npz"
YEAR_S, DAYS, SAMPLES_A_DAY = 1767225600.0, 365, 72  # 2026, every 20 minutes
LEAST_KT, MOST_KT = 0.02, 0.95
DARK_BELOW_W_m2 = 2.0


def cells(light):
    """Single degrees to cells of 2.5 by area: shape (12, 180, 360) to (12, 72, 144)."""
    halves = light.repeat(2, axis=1).repeat(2, axis=2)
    across = round(2 * GRID_DEG)
    months, rows, columns = halves.shape
    return halves.reshape(months, rows // across, across, columns // across, across).mean((2, 4))


def above_W_m2(lat_deg):
    """Light above the atmosphere, day by day of 2026. [W/m^2]"""
    utc_s = YEAR_S + 86400.0 / SAMPLES_A_DAY * (np.arange(DAYS * SAMPLES_A_DAY) + 0.5)
    sun = sun_at(np.full(utc_s.size, lat_deg), np.zeros(utc_s.size), utc_s)
    sine = np.maximum(np.sin(np.radians(sun.true_elevation_deg)), 0.0)
    light = extra_dni_W_m2(utc_s) * sine * SOLAR_CONSTANT_W_m2 / PVLIB_CONSTANT_W_m2
    return light.reshape(DAYS, SAMPLES_A_DAY).mean(axis=1)


def middles(light, above):
    """Clearness at the middles of months whose months have a given mean light.

    Parameters
    ----------
    light : ndarray, shape (12, n)
        Monthly means along one latitude. [W/m^2]
    above : ndarray, shape (365,)
        Above the atmosphere. [W/m^2]
    """
    day_s = YEAR_S + 86400.0 * np.arange(DAYS)
    before, after, weight = between_months(day_s)
    month = day_s.astype("datetime64[s]").astype("datetime64[M]").astype(int) % 12
    # What each middle adds to each month's mean light, when it is a clearness of 1.
    part = np.zeros((12, 12))
    np.add.at(part, (month, before), above * (1.0 - weight))
    np.add.at(part, (month, after), above * weight)
    part /= np.bincount(month)[:, None]
    lit = part.sum(axis=1) >= DARK_BELOW_W_m2
    kt = np.clip(light / np.where(lit, part.sum(axis=1), 1.0)[:, None], LEAST_KT, MOST_KT)
    for _ in range(6):
        made = np.where(lit[:, None], part @ kt, 1.0)
        kt = np.clip(kt * np.where(lit[:, None], light / made, 1.0), LEAST_KT, MOST_KT)
    lit_months = np.flatnonzero(lit)
    for m in np.flatnonzero(~lit):
        apart = np.abs((lit_months - m + 6) % 12 - 6)
        kt[m] = kt[lit_months[apart.argmin()]]
    return kt


def main() -> None:
    """Reduce the table."""
    with np.load(sys.argv[1]) as table:
        light = cells(table["insolation_kwh_m2_day_x100"] * (0.01 * 1000.0 / 24.0))
    centres = -90.0 + GRID_DEG * (np.arange(light.shape[1]) + 0.5)
    kt = np.stack(
        [middles(light[:, row], above_W_m2(lat)) for row, lat in enumerate(centres)], axis=1
    )
    np.savez_compressed(OUT, kt_x1000=np.round(1000.0 * kt).astype(np.int16))
    print(f"wrote {OUT}, {OUT.stat().st_size} bytes")


if __name__ == "__main__":
    main()
