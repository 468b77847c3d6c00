"""docs/model/chargers.md suffices: its curves are those that are shipped, its slices our mean."""

import csv
import re

import numpy as np
import pytest
from pages import ROOT

from powersim.inputs.power_curve import generic_curve
from powersim.physics.wind_generator import mean_wind_generator_W
from powersim.records import WindGenerator

PAGE = (ROOT / "docs" / "model" / "chargers.md").read_text(encoding="utf-8")
CURVES = ROOT / "powersim" / "inputs" / "curves"


def printed(name):
    """Points of a curve as the page has them: speeds head the table that its line is in."""
    table = next(part for part in PAGE.split("\n\n") if f"\n| {name} |" in part)
    speeds, _, *lines = [
        [cell.strip() for cell in re.split(r" *\| *", line.strip("| "))]
        for line in table.splitlines()
    ]
    (powers,) = (line for line in lines if line[0] == name)
    return [
        (float(speed), float(power))
        for speed, power in zip(speeds[1:], powers[1:], strict=True)
        if power
    ]


def shipped(name):
    lines = (CURVES / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    _, *points = csv.reader(line for line in lines if not line.startswith("#"))
    return [(float(speed), float(power)) for speed, power in points]


@pytest.mark.parametrize("name", sorted(path.stem for path in CURVES.glob("*.csv")))
def test_a_curve_on_the_page_is_the_one_that_is_shipped(name):
    assert printed(name) == shipped(name)


@pytest.mark.parametrize("wind_m_s", [3.0, 7.5, 12.0])
def test_the_slices_of_the_page_give_our_mean(wind_m_s):
    """Formulas of the page on its own table, 3 m up, 5 knots of speed, wind from 110 degrees."""
    share = 0.05 + 0.1 * np.arange(50)
    weight = share * np.exp(-np.pi / 4.0 * share**2)
    wind, boat = share * wind_m_s * (3.0 / 10.0) ** 0.11, 5.0 * 1852.0 / 3600.0
    apparent = np.sqrt(wind**2 + boat**2 + 2.0 * wind * boat * np.cos(np.radians(110.0)))
    speeds_kn, powers_W = zip(*printed("wind"), strict=True)
    offer_W = np.interp(apparent * 3600.0 / 1852.0, speeds_kn, powers_W) * (1.0 - 0.03)
    offer_W[apparent >= 20.0] = 0.0

    curve = generic_curve("wind", diameter_m=1.15)
    generator = WindGenerator(
        speeds_m_s=curve.speeds,
        powers_W=curve.powers_W,
        height_m=3.0,
        wind_angle_deg=110.0,
        cut_out_m_s=20.0,
        wiring_frac=0.03,
    )
    (ours_W,) = mean_wind_generator_W(
        generator, wind_m_s=np.array([wind_m_s]), speed_kn=np.array([5.0])
    )
    assert ours_W == pytest.approx(np.sum(weight * offer_W) / np.sum(weight), rel=1e-9)
