"""The table of docs/model/track-and-sky.md that holds ways to divide light against each other.

Run by hand, from the root of the repository: `python docs/split_figures.py`.
"""

import sys
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
from pvlib import irradiance

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "tests" / "reference")]

from published import column, read_published, unix_s  # noqa: E402
from test_split_published import TUCSON, TUCSON_M, local_clear_light  # noqa: E402

from powersim.sky.clear_sky import clear_light  # noqa: E402
from powersim.sky.split import direct_and_diffuse_W_m2  # noqa: E402
from powersim.sky.sun import day_of_year, extra_dni_W_m2, sun_at  # noqa: E402

HEIGHTS_DEG = np.array([5.0, 10.0, 20.0, 45.0])
TURBIDITY = 2.5
JULY_S = 1784116800.0  # noon UTC of 15 July 2026


def by_pvlib(ghi, zenith, utc_s, extra):
    """Diffuse light of each of pvlib's splits that needs no more than light and sun."""
    times = pd.to_datetime(utc_s, unit="s", utc=True)
    day = day_of_year(utc_s)
    series = pd.Series(ghi, index=times), pd.Series(zenith, index=times)
    cosine = np.cos(np.radians(zenith))
    dirint = irradiance.dirint(*series, times, use_delta_kt_prime=False).fillna(0.0).to_numpy()
    return {
        "Erbs": irradiance.erbs(ghi, zenith, day)["dhi"],
        "Erbs-Driesse": irradiance.erbs_driesse(ghi, zenith, dni_extra=extra)["dhi"],
        "Orgill-Hollands": irradiance.orgill_hollands(ghi, zenith, day)["dhi"],
        "Boland": irradiance.boland(ghi, zenith, day)["dhi"],
        "Louche": irradiance.louche(ghi, zenith, day)["dhi"],
        "DISC": ghi - irradiance.disc(ghi, zenith, day)["dni"] * cosine,
        "DIRINT, no neighbours": ghi - dirint * cosine,
        "Campbell-Norman, 0.7": ghi
        - np.minimum(irradiance.campbell_norman(zenith, 0.7)["dni"] * cosine, ghi),
    }


def main():
    """Print the table's rows as they stand on the page."""
    flat = np.ones(HEIGHTS_DEG.size)
    utc_s = JULY_S + 60.0 * np.arange(HEIGHTS_DEG.size)
    extra = extra_dni_W_m2(utc_s)
    clear = clear_light(HEIGHTS_DEG, turbidity=TURBIDITY * flat, extra_W_m2=extra)
    shares = {
        name: np.asarray(dhi) / clear.ghi_W_m2
        for name, dhi in by_pvlib(clear.ghi_W_m2, 90.0 - HEIGHTS_DEG, utc_s, extra).items()
    }
    own = 1.0 - clear.dni_W_m2 * np.sin(np.radians(HEIGHTS_DEG)) / clear.ghi_W_m2

    rows = read_published("station_tucson_20181018_5min.csv")
    utc_s = np.array([unix_s(row["time_mst"]) for row in rows])
    height_deg = sun_at(*(np.full(utc_s.size, part) for part in TUCSON), utc_s).elevation_deg
    up = height_deg > 3.0
    height_deg, utc_s = height_deg[up], utc_s[up]
    ghi, dni = (np.array(column(rows, name))[up] for name in ("ghi_wm2", "dni_wm2"))
    ours, _ = direct_and_diffuse_W_m2(
        ghi,
        clear=local_clear_light(height_deg, utc_s, TUCSON, TUCSON_M),
        elevation_deg=height_deg,
        day_of_year=day_of_year(utc_s),
    )
    sine = np.sin(np.radians(height_deg))
    found = {"**the clear sky's own (what we use)**": (own, ours - dni)}
    for name, dhi in by_pvlib(ghi, 90.0 - height_deg, utc_s, extra_dni_W_m2(utc_s)).items():
        found[name] = (shares[name], (ghi - np.asarray(dhi)) / sine - dni)
    for name, (share, error) in found.items():
        cells = [f"{part:.2f}" for part in share]
        cells += [f"{error.mean():.0f}", f"{np.sqrt((error**2).mean()):.0f}"]
        print(f"| {name} | {' | '.join(cells)} |")
    diffuse = np.array(column(rows, "dhi_wm2"))[up] / ghi
    low, high = [], []
    for about in HEIGHTS_DEG:
        near = np.abs(height_deg - about) < 0.15 * about
        low.append(diffuse[near].min() if near.any() else np.nan)
        high.append(diffuse[near].max() if near.any() else np.nan)
    cells = [f"{least:.2f} to {most:.2f}" for least, most in zip(low, high, strict=True)]
    print(f"| measured at Tucson | {' | '.join(cells)} | | |")


if __name__ == "__main__":
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="DatetimeIndex.dayofyear")
        warnings.filterwarnings("ignore", category=pd.errors.Pandas4Warning)
        main()
