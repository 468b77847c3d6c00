"""What the ensemble promises, against the frequency found in decades of measured light.

Met Eireann's and KNMI's coast stations and NOAA/PMEL's mooring, as the headers of their files in
data/ tell. All of it is counted by docs/promise_figures.py; here the way of counting is held
against sums by hand.
"""

import numpy as np
import pytest
from builders import boat_of
from light_sites import long_sites
from promises import (
    MOST_LACKING_D,
    moored,
    share_and_interval,
    under_measured_light,
    windows_of,
)

from powersim.simulation.bands import chance_of
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.prepare import prepare
from powersim.sky.solar_days import solar_days

SITES = {site.name: site for site in long_sites()}


def test_members_get_the_light_that_was_measured_each_day():
    """Met Eireann, Mace Head: sums of days through the hours, by the sky that the panels see."""
    site, days = SITES["Mace Head"], 6
    windows = windows_of(site, month=3, days=days)
    passage = moored(site, boat=boat_of(engine=None), month=3, days=days)
    forcing = draw_ensemble(passage, prepare(passage, step_h=1.0), members=50, seed=1)
    measured = under_measured_light(forcing, windows)
    hours = solar_days(forcing.prepared.track, usual_frac=forcing.prepared.sky.usual_frac)
    first = forcing.hour[0]
    light_W_m2 = hours.clear_W_m2[first : first + 24 * days, None] * measured.light(
        slice(0, 24 * days)
    )
    assert (
        pytest.approx(windows.light_W_m2[np.arange(50) % len(windows.year)], rel=1e-9)
        == light_W_m2.reshape(days, 24, 50).mean(axis=1).T
    )


def test_windows_are_the_records_own_days():
    """KNMI, Terschelling; a December belongs to the winter that ends in the year after it."""
    site = SITES["Terschelling"]
    windows = windows_of(site, month=12, days=25)
    first = int(np.datetime64("2003-12-01").astype(int))
    there = (site.day >= first) & (site.day < first + 25)
    assert there.sum() == 25
    (row,) = np.flatnonzero(windows.year == 2004)
    assert windows.light_W_m2[row].tolist() == site.ghi_W_m2[there].tolist()


def test_a_window_that_lacks_too_much_is_left_out():
    """Met Eireann, Mace Head: of December 2003 five of the first 25 days are missing."""
    site = SITES["Mace Head"]
    first = int(np.datetime64("2003-12-01").astype(int))
    assert ((site.day >= first) & (site.day < first + 25)).sum() == 20 < 25 - MOST_LACKING_D
    assert 2004 not in windows_of(site, month=12, days=25).year


def test_windows_that_know_nothing_of_each_other_count_in_full():
    """Wilson 1927, as chance_of has it."""
    happened = np.arange(60) % 7 == 0
    share, least, most, number = share_and_interval(happened, np.arange(60))
    assert number == 60
    assert (share, least, most) == pytest.approx(tuple(chance_of(happened)))


def test_windows_that_all_do_as_their_year_count_as_one():
    """Ten years of six windows, two of them bad throughout: 2 of 10, and not 12 of 60."""
    years = np.repeat(np.arange(10), 6)
    share, least, most, number = share_and_interval(years < 2, years)
    assert number == 10
    assert (share, least, most) == pytest.approx(tuple(chance_of(np.arange(10) < 2)))
