"""Strong wind as it was measured at sea, against the distribution and the law that members have."""

import csv
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from powersim.sky.high_wind import shape_at, share_above, share_within
from powersim.sky.wind import KN_M_S

FILE = Path(__file__).parent / "data" / "ocean_wind_hourly.csv"
PAGE = Path(__file__).resolve().parents[2] / "docs" / "model" / "heavy_weather.md"
#: At which height each measured, turned to 10 m by the profile of docs/model/chargers.md. [m]
HEIGHTS_m = {"RAMA 12N 90E": 4.0, "NOAA Ship Ronald H. Brown": 18.0}


def measured_kn(platform):
    """Wind at 10 m hour by hour, nan where there is none. [kn]"""
    with FILE.open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    found = {
        datetime.fromisoformat(row["time_utc"]): float(row["wind_m_s"])
        for row in rows
        if row["platform"] == platform
    }
    first, last = min(found), max(found)
    wind_kn = np.full(round((last - first).total_seconds() / 3600.0) + 1, np.nan)
    for at, wind_m_s in found.items():
        wind_kn[round((at - first).total_seconds() / 3600.0)] = wind_m_s / KN_M_S
    return wind_kn * (10.0 / HEIGHTS_m[platform]) ** 0.11


def in_spells(wind_kn, above_kn, hours):
    """Share of the stretches of so many measured hours in any of which it blew harder."""
    stretches = np.lib.stride_tricks.sliding_window_view(wind_kn, hours)
    whole = stretches[np.isfinite(stretches).all(axis=1)]
    return (whole > above_kn).any(axis=1).mean()


def rows_of_the_page():
    table = PAGE.read_text(encoding="utf-8").split("| wind above | ")[1].split("\n\n")[0]
    rows = [line.strip("|").split("|") for line in table.split("\n")[2:]]
    return [[cell.strip() for cell in row] for row in rows]


@pytest.mark.parametrize("row", rows_of_the_page(), ids=lambda row: " ".join(row[:2]))
def test_the_table_of_strong_wind_is_what_was_measured(row):
    """NOAA/PMEL RAMA and NOAA PSL; each about its own mean, as the page says."""
    where, above, *cells = row
    platform = next(one for one in HEIGHTS_m if one.startswith(where.split()[0]))
    wind_kn, above_kn = measured_kn(platform), float(above.removesuffix(" kn"))
    known = wind_kn[np.isfinite(wind_kn)]
    share = (known > above_kn).mean()
    closed = float(share_above(known.mean() * KN_M_S, above_kn=above_kn))
    spell = in_spells(wind_kn, above_kn, 7)
    law = float(share_within(np.array([share]), hours=7)[0])
    for cell, value in zip(cells, (share, closed, spell, law), strict=True):
        assert cell == f"{100.0 * value:.1f} %"


def test_strong_wind_hangs_together_more_than_the_law_has_it():
    """So a sea that lasts for six hours more is counted rather too often than too seldom.

    At the mooring 5.9 % of the hours are above 24 kn and 11 % of the stretches of seven hours have
    such an hour; the law makes 14 % of it. On the ship it is alike.
    """
    for platform, strengths_kn in (
        ("RAMA 12N 90E", (15.0, 20.0, 24.0, 26.0)),
        ("NOAA Ship Ronald H. Brown", (15.0, 18.0, 20.0)),
    ):
        wind_kn = measured_kn(platform)
        known = wind_kn[np.isfinite(wind_kn)]
        for above_kn in strengths_kn:
            share = np.array([(known > above_kn).mean()])
            law = float(share_within(share, hours=7)[0])
            spell = in_spells(wind_kn, above_kn, 7)
            assert share[0] < spell < law < 1.5 * spell


def test_a_trade_wind_has_fewer_gales_than_the_distribution():
    """The ship: 15.2 kn on average, 22.7 at most; the distribution has 14 % above 24 kn."""
    wind_kn = measured_kn("NOAA Ship Ronald H. Brown")
    wind_kn = wind_kn[np.isfinite(wind_kn)]
    assert wind_kn.max() < 24.0
    assert share_above(wind_kn.mean() * KN_M_S, above_kn=24.0) == pytest.approx(0.14, abs=0.005)


def test_a_monsoon_has_more_strong_wind_than_the_distribution_about_its_own_mean():
    """The mooring: 5.9 % above 24 kn against 1.5 %; there it was calm, and then it blew."""
    wind_kn = measured_kn("RAMA 12N 90E")
    wind_kn = wind_kn[np.isfinite(wind_kn)]
    assert (wind_kn > 24.0).mean() == pytest.approx(0.059, abs=0.001)
    assert share_above(wind_kn.mean() * KN_M_S, above_kn=24.0) == pytest.approx(0.015, abs=0.001)


@pytest.mark.parametrize(
    ("platform", "of_climatology"), [("RAMA 12N 90E", 0.74), ("NOAA Ship Ronald H. Brown", 0.96)]
)
@pytest.mark.parametrize("above_kn", [20.0, 24.0, 28.0])
def test_in_the_tropics_a_steadier_wind_is_nearer_than_rayleigh(platform, of_climatology, above_kn):
    """About the climatology's mean, of which each had the share that wind_and_calms.md tells."""
    wind_kn = measured_kn(platform)
    wind_kn = wind_kn[np.isfinite(wind_kn)]
    mean_m_s = wind_kn.mean() * KN_M_S / of_climatology
    measured = (wind_kn > above_kn).mean()
    rayleigh, steadier = (
        float(share_above(mean_m_s, above_kn=above_kn, shape=shape)) for shape in (2.0, 3.0)
    )
    assert abs(steadier - measured) < 0.8 * abs(rayleigh - measured)
    assert float(shape_at(12.0)) == 3.0
