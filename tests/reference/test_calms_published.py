"""Calms: how often, in which spells, and how measured wind at sea hangs together."""

import math
from pathlib import Path

import numpy as np
import pytest
from calm_spells import (
    MOORING,
    SHIP,
    calm_hours_band,
    means_band,
    over_the_table,
    roughness_of_the_table,
    share_at_the_mooring,
    table,
)

from powersim.sky.wind import calm_turns, rayleigh_m_s, wind_quantiles
from powersim.voyage.motoring import motored_calms

PAGE = Path(__file__).resolve().parents[2] / "docs" / "model" / "wind_and_calms.md"
HOURS, MEMBERS = 600, 3000


@pytest.fixture(scope="module")
def drawn():
    where = {"first_hour": 496_000, "hours": HOURS, "seed": 1, "members": MEMBERS}
    return wind_quantiles(**where), calm_turns(**where)


@pytest.mark.parametrize("share", [0.1, 0.25, 0.6, 1.0])
def test_in_the_mean_exactly_the_share_of_calms_is_motored(drawn, share):
    """By definition: calms of 10 percent at departure grow to 60 at landfall."""
    chance = np.linspace(0.1, 0.6, HOURS)[:, None]
    motored = motored_calms(*drawn, calm_frac=chance, share=share)
    # Hour by hour within five standard errors of so many independent members; in all of them to
    # 5 %: two standard errors, since a passage is calm or windy for weeks.
    expected = share * chance[:, 0]
    error = np.sqrt(expected * (1.0 - expected) / MEMBERS)
    assert (np.abs(motored.mean(axis=1) - expected) < 5.0 * error).all()
    assert motored.mean() == pytest.approx(expected.mean(), rel=0.05)


def test_ratios_of_a_rayleigh_distribution():
    """Textbooks of wind energy (from memory): deviation 0.5227 and median 0.9394 of the mean."""
    speed_m_s = rayleigh_m_s(8.0, (np.arange(1_000_000) + 0.5) / 1_000_000)
    assert speed_m_s.mean() == pytest.approx(8.0, rel=1e-4)
    assert speed_m_s.std() / 8.0 == pytest.approx(0.5227, abs=2e-4)
    assert float(rayleigh_m_s(8.0, 0.5)) / 8.0 == pytest.approx(0.9394, abs=1e-4)
    # Its 99th percentile, worked out by hand: sqrt(4 ln(100) / pi) = 2.4215.
    assert float(rayleigh_m_s(1.0, 0.99)) == pytest.approx(math.sqrt(18.420681 / math.pi), abs=1e-4)


def figures(platform):
    """What is measured and what the model has, by the rows of the page's table."""
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in table(platform)[2:]]
    return {what: (float(measured), float(model)) for what, measured, model in rows}


def test_calms_hang_together_as_those_at_a_mooring_do():
    """NOAA/PMEL RAMA 12 N 90 E, 53 days: 32 percent of hours below 5 knots."""
    assert share_at_the_mooring() == pytest.approx(0.316, abs=0.001)
    found = figures(MOORING)
    # Counted by others in the same record as well: 4.9 h, and 0.32, 0.30, 0.26.
    for what, published, near in (
        ("their mean length, h", 4.9, 0.5),
        ("their median length, h", 2.0, 0.3),
        ("spells of calm", 81, 10),
        ("deviation of the share of a day", 0.32, 0.02),
        ("deviation of the share of three days", 0.30, 0.02),
        ("deviation of the share of a week", 0.26, 0.02),
        ("correlation 1 h apart", 0.70, 0.04),
        ("correlation 6 h apart", 0.43, 0.06),
        ("correlation 24 h apart", 0.35, 0.06),
        ("correlation 48 h apart", 0.37, 0.1),
    ):
        measured, model = found[what]
        assert measured == pytest.approx(published, abs=0.06 if published < 6 else 0.5), what
        assert model == pytest.approx(measured, abs=near), what


@pytest.mark.parametrize("platform", [MOORING, SHIP])
def test_the_page_has_the_tables_as_they_come_out(platform):
    """docs/fit_calms.py prints them; the ship's lulls last twice as long as ours."""
    assert "\n".join(table(platform)) in PAGE.read_text(encoding="utf-8")


def test_means_of_days_and_weeks_differ_from_the_climatology_as_measured_ones_do():
    """NOAA's mooring and ship, turned to 10 m: their means over the table's at their places."""
    by_length = {240: [], None: []}
    for platform in (MOORING, SHIP):
        for over_h, found in by_length.items():
            found += over_the_table(platform, over_h)
    assert by_length[None] == pytest.approx([0.74, 0.96], abs=0.005)
    assert by_length[240] == pytest.approx([0.50, 0.54, 0.40, 0.84, 1.19, 1.04], abs=0.005)
    ten, all_of_it = means_band(10), means_band(53)
    assert ten == pytest.approx([0.55, 1.45], abs=0.01)
    assert all_of_it == pytest.approx([0.73, 1.27], abs=0.01)
    assert means_band(30) == pytest.approx([0.66, 1.32], abs=0.01)
    # What that makes of calms, where they are 10 % of the hours: as the page has it.
    assert calm_hours_band(5) == pytest.approx((0.0, 12.0, 42.0), abs=1.0)
    assert calm_hours_band(30) == pytest.approx((4.0, 72.0, 180.0), abs=4.0)
    # The months of the table itself are rougher than a smooth year by this much.
    assert roughness_of_the_table() == pytest.approx(0.072, abs=0.001)
