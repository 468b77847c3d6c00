"""Promises held against measured light: one boat in the ensemble, and in every year of a record.

A boat without an engine lies moored where the light was measured for years. What the ensemble
promises her for some weeks from the first of a month is held against the same weeks of every year:
the same members, each with the bank that it drew, under the light that was measured.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np
from builders import boat_of
from published import unix_s

from powersim.records import Load, Passage, Waypoint
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import members_state, run_ensemble
from powersim.simulation.ensemble_forcing import draw_ensemble, with_loads
from powersim.simulation.prepare import prepare
from powersim.sky.hourly_clearness import adding_up
from powersim.sky.solar_days import solar_days
from powersim.sky.synthetic import LARGEST_CLEAR_FRAC, LEAST_CLEAR_FRAC

#: Shares of the passages that fail, as they are promised. [-]
PROMISED = (0.05, 0.10, 0.20)
#: How long a passage is. [d]
DAYS = 25
#: What her bank holds above its floor, in days of the usual light: a small one, which the darkest
#: days empty, and a large one, which a dark month does. [d]
SMALL_BANK_D, LARGE_BANK_D = 2.0, 8.0
#: A window may lack so many days, which are taken to lie between their neighbours. [d]
MOST_LACKING_D = 2
MEMBERS, SEED = 400, 1
#: By the month in which a passage begins.
SEASONS = {
    "December to February": (12, 1, 2),
    "March to May": (3, 4, 5),
    "June to August": (6, 7, 8),
    "September to November": (9, 10, 11),
}

_YEAR = 2027
_STEP_h, _HOURS_A_DAY = 1.0, 24
_PANEL_W, _FLOOR_SOC, _NOMINAL_V = 200.0, 0.5, 12.0
#: The hours of a measured day are those of a drawn one that is nearly as bright: of so many, that
#: not all have the same.
_ALIKE = 10
#: Draws that are tried, in shares of what the usual light gives, and how often they are halved. [-]
_LEAST_DRAW, _MOST_DRAW, _HALVINGS = 0.05, 5.0, 11


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Windows:
    """The same weeks of every year of a record.

    Attributes
    ----------
    year : ndarray of int, shape (windows,)
        Of the winter's end, so that a December and the January after it are of one year.
    light_W_m2 : ndarray, shape (windows, days)
        Of each day. [W/m^2]
    """

    year: np.ndarray
    light_W_m2: np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Held:
    """A boat in the ensemble and under measured light, from one month on.

    Attributes
    ----------
    site : str
        Where she lies.
    lat_deg : float
        Its latitude. [deg]
    month : int
        In which the passages begin, from 1.
    bank_d : float
        What the bank holds above its floor, in days of the usual light. [d]
    year : ndarray of int, shape (windows,)
        Of each window.
    draw_A : ndarray, shape (PROMISED,)
        What all loads draw together, for each promise. [A]
    promised : ndarray, shape (PROMISED,)
        Share of the members that fails. [-]
    fails : ndarray, shape (PROMISED, windows)
        Share of the members that fails under the light of each window. [-]
    rank : ndarray, shape (windows, members of each)
        Share of the ensemble that fails by a smaller draw than a member under the light of a
        window; nan where a window has fewer members. [-]
    """

    site: str
    lat_deg: float
    month: int
    bank_d: float
    year: np.ndarray
    draw_A: np.ndarray
    promised: np.ndarray
    fails: np.ndarray
    rank: np.ndarray


def windows_of(site, *, month, days=DAYS):
    """The weeks from the first of a month in every year in which they were measured.

    Parameters
    ----------
    site : Site
        As light_sites has it.
    month : int
        From 1.
    days : int
        How many. [d]

    Returns
    -------
    Windows
    """
    years, rows = [], []
    first, last = (int(str(day.astype("datetime64[D]"))[:4]) for day in site.day[[0, -1]])
    for year in range(first, last + 1):
        begin = round(unix_s(f"{year}-{month:02d}-01") / 86400.0)
        there = slice(*np.searchsorted(site.day, (begin, begin + days)))
        at = site.day[there] - begin
        if at.size >= days - MOST_LACKING_D:
            rows.append(np.interp(np.arange(days), at, site.ghi_W_m2[there]))
            years.append(year + (month == 12))
    return Windows(year=np.array(years), light_W_m2=np.array(rows))


def moored(site, *, boat, month, draw_A=1.0, days=DAYS):
    """A passage that stays where she lies, from the midnight before the first of a month."""
    here = {"lat_deg": site.lat_deg, "lon_deg": site.lon_deg}
    return Passage(
        name=f"moored at {site.name}",
        depart_utc=datetime(_YEAR, month, 1, tzinfo=UTC),
        waypoints=(
            Waypoint(name="mooring", speed_kn=5.0, stop_h=24.0 * days, **here),
            Waypoint(name="next", **here),
        ),
        boat=boat,
        loads=(Load(name="all that draws", draw_A=draw_A, priority="essential"),),
    )


def under_measured_light(forcing, windows, *, seed=SEED):
    """The same members under the light of windows, which they share out in turn.

    A measured day has the hours of one of the members' days that is nearly as bright, brought to
    the sum that was measured.

    Parameters
    ----------
    forcing : EnsembleForcing
        From a midnight of UTC.
    windows : Windows
        Of the days from there.
    seed : int
        Of the choice among days that are alike.

    Returns
    -------
    EnsembleForcing
        With all but the light in common.
    """
    hours = solar_days(forcing.prepared.track, usual_frac=forcing.prepared.sky.usual_frac)
    generator = np.random.default_rng(seed)
    measured = windows.light_W_m2[window_of(forcing.members, windows)]
    light = np.array(forcing.clear_frac)
    for day, mean_W_m2 in enumerate(measured.T):
        first = int(forcing.hour[_HOURS_A_DAY * day])
        lit = first + np.flatnonzero(hours.clear_W_m2[first : first + _HOURS_A_DAY] > 0.0)
        drawn, clear_W_m2 = forcing.clear_frac[lit], hours.clear_W_m2[lit]
        drawn_W_m2 = clear_W_m2 @ drawn
        total_W_m2 = _HOURS_A_DAY * mean_W_m2
        order = np.argsort(drawn_W_m2)
        place = np.searchsorted(drawn_W_m2[order], total_W_m2) - _ALIKE // 2
        place = place + generator.integers(_ALIKE, size=place.size)
        light[lit] = adding_up(
            drawn[:, order[np.clip(place, 0, place.size - 1)]],
            weights=clear_W_m2,
            total=total_W_m2,
            least=LEAST_CLEAR_FRAC,
            # A few winter days are brighter than any hour that is drawn.
            most=np.maximum(LARGEST_CLEAR_FRAC, total_W_m2 / clear_W_m2.sum()),
        )
    return replace(forcing, clear_frac=light)


def window_of(members, windows):
    """Which window each member meets."""
    return np.arange(members) % len(windows.year)


def held(site, *, month, bank_d, members=MEMBERS, seed=SEED, days=DAYS):
    """What is promised to a boat from the first of a month, and what the record has for her.

    Parameters
    ----------
    site : Site
        As light_sites has it.
    month : int
        From 1.
    bank_d : float
        What her bank holds above its floor, in days of the usual light. [d]
    members, seed : int
        Of the ensemble.
    days : int
        How long the passage is. [d]

    Returns
    -------
    Held
    """
    # What her panels would give all day and night in average weather.
    average = prepare(moored(site, boat=_boat(100.0), month=month, days=days), step_h=_STEP_h)
    usual_A = float(average.module_W.mean()) / _NOMINAL_V
    boat = _boat(24.0 * usual_A * bank_d / _FLOOR_SOC)
    passage = moored(site, boat=boat, month=month, days=days)
    prepared = prepare(passage, step_h=_STEP_h, like=average)
    forcing = draw_ensemble(passage, prepared, members=members, seed=seed)
    windows = windows_of(site, month=month, days=days)
    light = under_measured_light(forcing, windows, seed=seed).clear_frac
    # Both side by side: in their own light and in the measured one, and else the same.
    both = replace(
        forcing.chosen(np.tile(np.arange(members), 2)),
        clear_frac=np.hstack([forcing.clear_frac, light]),
    )
    draws_A, measured_A = np.split(_most_A(both, boat, usual_A=usual_A), 2)
    draw_A = np.quantile(draws_A, PROMISED)
    promised, fails = [], []
    for one_A in draw_A:
        loaded = moored(site, boat=boat, month=month, draw_A=float(one_A), days=days)
        of_members, of_windows = np.split(_fails(loaded, with_loads(both, loaded), seed=seed), 2)
        promised.append(of_members.mean())
        fails.append(np.nanmean(_by_window(of_windows, windows), axis=1))
    rank = np.searchsorted(np.sort(draws_A), measured_A) / members
    return Held(
        site=site.name,
        lat_deg=site.lat_deg,
        month=month,
        bank_d=bank_d,
        year=windows.year,
        draw_A=draw_A,
        promised=np.array(promised),
        fails=np.array(fails),
        rank=_by_window(rank, windows),
    )


def share_and_interval(values, blocks):
    """A mean share of windows, with an interval that counts blocks of them and not days.

    Parameters
    ----------
    values : ndarray, shape (windows,)
        Shares of each window. [-]
    blocks : ndarray of int, shape (windows,)
        Year of each: windows of one year hang together, and so do sites.

    Returns
    -------
    tuple of float
        The share, its least and its most (19 times in 20), and how many windows that know nothing
        of each other would tell as much. [-], [-], [-], [-]

    Notes
    -----
    The variance of the mean is that between blocks; the number is what makes a share drawn
    independently vary as much, at least the number of blocks and at most that of windows. The
    interval is Wilson's for that number.
    """
    values, (names, which) = np.asarray(values, float), np.unique(blocks, return_inverse=True)
    share, count = float(values.mean()), len(names)
    apart = np.bincount(which, weights=values - share)
    variance = count / (count - 1.0) * float(apart @ apart) / values.size**2
    alone = share * (1.0 - share)
    number = float(np.clip(alone / variance, count, values.size)) if variance > 0.0 else count
    narrow = _Z_95**2 / number
    middle = (share + narrow / 2.0) / (1.0 + narrow)
    spread = np.sqrt(narrow * (alone + narrow / 4.0)) / (1.0 + narrow)
    return share, max(0.0, middle - spread), min(1.0, middle + spread), float(number)


def of_several(several, place):
    """Shares that fail of all windows of several, for one promise, and the year of each.

    Parameters
    ----------
    several : sequence of Held
        Months, sites.
    place : int
        Of the promise.
    """
    return (
        np.concatenate([one.fails[place] for one in several]),
        np.concatenate([one.year for one in several]),
    )


def curve(several, *, up_to):
    """What is found for every promise up to one, not only for the three.

    Returns
    -------
    tuple of ndarray
        Shares promised and shares found. [-], [-]
    """
    promised = np.linspace(0.01, up_to, 40)
    below = [
        np.nanmean(np.where(np.isnan(one.rank), np.nan, one.rank < share), axis=1).tolist()
        for share in promised
        for one in several
    ]
    windows = sum(len(one.year) for one in several)
    found = np.concatenate(below).reshape(promised.size, windows).mean(axis=1)
    return promised, found


def by_site_row(name, several):
    """A line of the page's table: how many passages, and what is found with its interval."""
    count = sum(len(one.year) for one in several if one.bank_d == SMALL_BANK_D)
    return f"| {name} | {count} | {' | '.join(_cells(several, intervals=True))} |"


def by_season_row(name, several, season):
    """A line of the page's second table: what is found of the passages of one season."""
    several = [one for one in several if one.month in SEASONS[season]]
    return f"| {name} | {season} | {' | '.join(_cells(several, intervals=False))} |"


def _cells(several, *, intervals):
    """Percent for each bank and promise, in bold where the promise lies outside its interval."""
    for bank_d in (SMALL_BANK_D, LARGE_BANK_D):
        of_bank = [one for one in several if one.bank_d == bank_d]
        for place, promised in enumerate(PROMISED):
            if not of_bank:
                yield ""
                continue
            share, least, most, _ = share_and_interval(*of_several(of_bank, place))
            told = f"{100.0 * share:.0f}"
            if intervals:
                told += f" ({100.0 * least:.0f} to {100.0 * most:.0f})"
            yield told if least <= promised <= most else f"**{told}**"


_Z_95 = 1.959963984540054


def _by_window(values, windows):
    """Members' values by the window that each met; nan where a window has fewer."""
    members, count = len(values), len(windows.year)
    table = np.full((count, -(-members // count)), np.nan)
    table[window_of(members, windows), np.arange(members) // count] = values
    return table


def _fails(passage, forcing, *, seed):
    """Whether each member fails; there is no diesel whose reserve could be eaten."""
    result = run_ensemble(
        passage, forcing.prepared, members=forcing.members, seed=seed, forcing=forcing
    )
    return np.isfinite(result.floor_h)  # which darkness is counted in


def _most_A(forcing, boat, *, usual_A):
    """The draw from which on each member fails, by halving. [A]"""
    track = forcing.prepared.track
    signals = forcing.signals(slice(0, track.n_steps))
    low = np.full(forcing.members, np.log(_LEAST_DRAW * usual_A))
    high = np.full(forcing.members, np.log(_MOST_DRAW * usual_A))
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        batch = Batch(
            plant=forcing.plant,
            state=members_state(forcing, soc=boat.battery.soc_at_departure),
            step_h=track.step_h,
            floor_soc=boat.battery.floor_soc,
        )
        batch.through(replace(signals, load_A=signals.load_A * np.exp(middle)))
        fails = np.isfinite(np.minimum(batch.told["floor_h"], batch.told["flat_h"]))
        low, high = np.where(fails, low, middle), np.where(fails, middle, high)
    return np.exp(0.5 * (low + high))


def _boat(capacity_Ah):
    """Panels, a lead-acid bank and nothing else."""
    return boat_of(engine=None, capacity_Ah=capacity_Ah, panel_W=(_PANEL_W,))
