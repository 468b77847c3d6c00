"""Measured light, day by day, and what a boat moored there would be promised by its members.

Fits (docs/fit_light.py), records of a reader's own (docs/held_light.py) and tests count alike here.
"""

from __future__ import annotations

import math
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache

import numpy as np
from published import read_published, unix_s

from powersim.records import Waypoint
from powersim.sky import climatology, month_error
from powersim.sky.sky import sky_of
from powersim.sky.solar_days import solar_days
from powersim.sky.sun import SOLAR_CONSTANT_W_m2
from powersim.sky.synthetic import synthetic_light
from powersim.voyage.track import track_of

#: Lengths of the sums that are counted. [d]
WINDOWS_D = (1, 10, 30)
#: So much of a window must have been measured; members are summed over the same days. [-]
LEAST_WHOLE = 0.8
BAND = (0.1, 0.9)
#: With fewer years an interval by drawing years anew would be a show of certainty.
LEAST_YEARS = 5
#: The tables' clearness is a share of 1361 W/m2, ours of pvlib's constant. [-]
AS_TABLED = climatology.SOLAR_CONSTANT_W_m2 / SOLAR_CONSTANT_W_m2
#: The members' year: begins here, and runs on so that windows over New Year are whole.
YEAR = "2027-01-01"
YEAR_DAYS, MOST_WINDOW_D = 365, 30
#: Share inside the band and CRPS [W/m^2] for each window, by the model that had the first table
#: alone, no error of it, and its days fitted to the equator: kept for comparison.
BEFORE = {
    "Mace Head": ((0.650, 27.22), (0.606, 11.15), (0.520, 7.85)),
    "Belmullet": ((0.697, 24.79), (0.635, 10.10), (0.548, 6.76)),
    "Terschelling": ((0.690, 25.92), (0.618, 12.23), (0.581, 8.48)),
    "Lauwersoog": ((0.687, 26.28), (0.612, 12.56), (0.639, 7.99)),
    "TAO 0N 140W": ((0.871, 15.83), (0.855, 11.37), (0.831, 10.43)),
}
_MONTH_STARTS = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])


@dataclass(frozen=True, kw_only=True, eq=False)
class Site:
    """A place where light was measured.

    Attributes
    ----------
    name, region : str
        Sites of one region share their weather.
    lat_deg, lon_deg : float
        Place. [deg]
    day : ndarray of int
        Days of UTC since 1970 that were measured, rising.
    ghi_W_m2 : ndarray
        Mean light on the horizontal over each. [W/m^2]
    """

    name: str
    region: str
    lat_deg: float
    lon_deg: float
    day: np.ndarray = field(repr=False)
    ghi_W_m2: np.ndarray = field(repr=False)


def site_of(rows, *, name, region, lat_deg, lon_deg, column, date="date"):
    """A site from the rows of a file; days without a figure are left out."""
    pairs = [(round(unix_s(row[date]) / 86400.0), row[column]) for row in rows]
    pairs = sorted((day, float(text)) for day, text in pairs if text.strip())
    day, ghi = (np.array(part) for part in zip(*pairs, strict=True))
    return Site(name=name, region=region, lat_deg=lat_deg, lon_deg=lon_deg, day=day, ghi_W_m2=ghi)


@cache
def measured_sites():
    """Every site of ours that was measured day by day; the files' headers tell whose they are."""
    ireland = read_published("light_ireland_coast_daily_2000_2024.csv")
    wadden = read_published("light_dutch_wadden_2stations_daily_2000_2025.csv")
    tao = read_published("buoy_tao_0n140w_daily.csv")
    return (
        _of(ireland, "mace_head", "Mace Head", "Ireland", 53.326, -9.901),
        _of(ireland, "belmullet", "Belmullet", "Ireland", 54.228, -10.007),
        _of(wadden, "terschelling", "Terschelling", "Wadden Sea", 53.39, 5.35),
        _of(wadden, "lauwersoog", "Lauwersoog", "Wadden Sea", 53.41, 6.20),
        _of(tao, "ghi_mean_wm2", "TAO 0N 140W", "equator", 0.0, -140.0),
        _rama(),
    )


def long_sites():
    """Those with ten years and more."""
    return tuple(site for site in measured_sites() if site.day.size > 3650)


def _of(rows, column, name, region, lat_deg, lon_deg):
    place = {"lat_deg": lat_deg, "lon_deg": lon_deg}
    return site_of(rows, name=name, region=region, column=column, **place)


def _rama():
    """Seven weeks by the hour, made days."""
    hours = {}
    for row in read_published("light_rama_12n90e_hourly.csv"):
        if row["ghi_W_m2"].strip():
            hours.setdefault(row["time_mid"][:10], []).append(float(row["ghi_W_m2"]))
    rows = [
        {"date": date, "ghi": str(sum(light) / 24.0)}
        for date, light in hours.items()
        if len(light) == 24
    ]
    return _of(rows, "ghi", "RAMA 12N 90E", "Bay of Bengal", 12.0, 90.0)


@cache
def moored(lat_deg, lon_deg, *, step_h=1.0):
    """A boat at anchor for the members' year and as long as a window more."""
    here = {"lat_deg": lat_deg, "lon_deg": lon_deg}
    waypoints = (
        Waypoint(name="buoy", speed_kn=5.0, stop_h=24.0 * (YEAR_DAYS + MOST_WINDOW_D), **here),
        Waypoint(name="next", **here),
    )
    track = track_of(waypoints, depart_utc_s=unix_s(YEAR), step_h=step_h)
    return track, solar_days(track, usual_frac=np.ones(track.n_steps))


def utc_days(hours, values):
    """Means over days of UTC, by the members' year, of hours' values of shape (hours, ...)."""
    first = round(unix_s(YEAR) / 3600.0) - hours.first_hour
    days = YEAR_DAYS + MOST_WINDOW_D
    return values[first : first + 24 * days].reshape(days, 24, -1).mean(axis=1)


def members_days(site, *, members=300, seed=1):
    """What members get there: mean light of each day of UTC of their year and a window more.

    Returns
    -------
    ndarray, shape (days, members)
        [W/m^2]
    """
    track, hours = moored(site.lat_deg, site.lon_deg)
    sky = sky_of(track)
    light = synthetic_light(
        track,
        usual_frac=sky.usual_frac,
        apart_frac=sky.apart_frac,
        seed=seed,
        members=members,
    )
    return utc_days(hours, light.clear_frac * hours.clear_W_m2[:, None])


@contextmanager
def constants(*, weight, error_kt):
    """Other constants than those of the code, as fitted without a region."""
    kept = climatology.SECOND_WEIGHT, month_error.TABLE_SD_KT
    climatology.SECOND_WEIGHT, month_error.TABLE_SD_KT = weight, error_kt
    climatology._grid.cache_clear()
    try:
        yield
    finally:
        climatology.SECOND_WEIGHT, month_error.TABLE_SD_KT = kept
        climatology._grid.cache_clear()


def extra_days(site):
    """Mean light above the atmosphere of each day of UTC of the members' year and a window more."""
    _, hours = moored(site.lat_deg, site.lon_deg)
    return utc_days(hours, hours.extra_W_m2)[:, 0]


def day_of_year(day):
    """Where a day since 1970 lies in the members' year; 29 February counts as the 28th."""
    date = np.asarray(day).astype("datetime64[D]")
    month = date.astype("datetime64[M]")
    in_month = (date - month.astype("datetime64[D]")).astype(int)
    month = month.astype(int) % 12
    return _MONTH_STARTS[month] + np.minimum(in_month, np.where(month == 1, 27, 30))


@dataclass(frozen=True, kw_only=True, eq=False)
class Sums:
    """Windows of a record, and members' light over the same days.

    Attributes
    ----------
    measured : ndarray, shape (windows,)
        Mean over the days measured. [W/m^2]
    members : ndarray, shape (windows, members)
        The same of each member. [W/m^2]
    year, month : ndarray of int, shape (windows,)
        Of the window's middle; January is 0.
    """

    measured: np.ndarray
    members: np.ndarray
    year: np.ndarray
    month: np.ndarray


def sums(site, drawn, *, window_d):
    """Windows in a row, none overlapping, of which enough was measured.

    Parameters
    ----------
    site : Site
    drawn : ndarray, shape (days, members)
        As members_days has it. [W/m^2]
    window_d : int
        Length. [d]
    """
    number = site.day // window_d
    starts = np.flatnonzero(np.diff(number, prepend=number[0] - 1))
    count = np.diff([*starts, number.size])
    kept = count >= max(1, math.ceil(LEAST_WHOLE * window_d))
    measured = (np.add.reduceat(site.ghi_W_m2, starts) / count)[kept]
    middle = (number[starts] * window_d + window_d // 2)[kept]
    # Members' days are put in the record's order, so that a window is a run of rows here too.
    begin = day_of_year(number * window_d)
    row = begin + (site.day - number * window_d)
    of_members = (np.add.reduceat(drawn[row], starts, axis=0) / count[:, None])[kept]
    month = middle.astype("datetime64[D]").astype("datetime64[M]").astype(int)
    return Sums(measured=measured, members=of_members, year=month // 12, month=month % 12)


def inside(of, band=BAND):
    """Which windows lie within the members' band."""
    low, high = np.quantile(of.members, band, axis=1)
    return (low <= of.measured) & (of.measured <= high)


def crps(of):
    """Continuous ranked probability score of each window, fair to few members. [W/m^2]

    References
    ----------
    .. [1] C. A. T. Ferro, Fair scores for ensemble forecasts, Q. J. R. Meteorol. Soc. 140 (2014)
       1917-1923 (from memory): mean distance to the measured, less half the mean distance of two
       members that are not the same one.
    """
    count = of.members.shape[1]
    ranked = np.sort(of.members, axis=1)
    weight = 2.0 * np.arange(count) - count + 1.0
    between = 2.0 * (ranked * weight).sum(axis=1) / (count * (count - 1))
    return np.abs(of.members - of.measured[:, None]).mean(axis=1) - 0.5 * between


def interval(values, blocks, *, level=0.9, draws=400):
    """Interval of a mean whose values hang together within blocks: blocks drawn anew.

    Parameters
    ----------
    values, blocks : ndarray, shape (n,)
        Values; the number of the block of each, a year for light.
    level : float
        Of the interval.
    draws : int
        How often.

    Returns
    -------
    tuple of float
        Least and most.
    """
    names, which = np.unique(blocks, return_inverse=True)
    total = np.bincount(which, weights=values.astype(float))
    count = np.bincount(which)
    # A seed of no meaning, so that a figure printed once is printed again.
    drawn = np.random.default_rng(17).integers(names.size, size=(draws, names.size))
    means = total[drawn].sum(axis=1) / count[drawn].sum(axis=1)
    tail = 0.5 * (1.0 - level)
    return tuple(np.quantile(means, [tail, 1.0 - tail]).tolist())


def by_month(site, drawn):
    """Each calendar month over all years: measured mean, members' mean, and their band.

    Returns
    -------
    ndarray, shape (12, 4)
        Measured; members' mean; 10 and 90 % of members' own means of the month. nan where
        nothing was measured. [W/m^2]
    """
    month = site.day.astype("datetime64[D]").astype("datetime64[M]").astype(int) % 12
    row = day_of_year(site.day)
    found = np.full((12, 4), np.nan)
    for m in range(12):
        here = month == m
        if here.any():
            # Days of the month in the proportion in which they were measured.
            of_members = drawn[row[here]].mean(axis=0)
            low, high = np.quantile(of_members, BAND)
            found[m] = site.ghi_W_m2[here].mean(), of_members.mean(), low, high
    return found


def calendar_months(site, drawn):
    """Months of each year, of which enough was measured, as windows of their own."""
    month = site.day.astype("datetime64[D]").astype("datetime64[M]").astype(int)
    starts = np.flatnonzero(np.diff(month, prepend=month[0] - 1))
    count = np.diff([*starts, month.size])
    kept = count >= LEAST_WHOLE * MOST_WINDOW_D
    of_members = np.add.reduceat(drawn[day_of_year(site.day)], starts, axis=0) / count[:, None]
    return Sums(
        measured=(np.add.reduceat(site.ghi_W_m2, starts) / count)[kept],
        members=of_members[kept],
        year=(month[starts] // 12)[kept],
        month=(month[starts] % 12)[kept],
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class Months:
    """Clearness by calendar month at a place: measured over years, and by the two tables.

    Attributes
    ----------
    name, region : str
        As of a Site.
    measured, first, second : ndarray, shape (12,)
        [-]
    """

    name: str
    region: str
    measured: np.ndarray
    first: np.ndarray
    second: np.ndarray

    def error(self, weight=0.5):
        """Measured clearness less what so much of the second table makes of both. [-]"""
        return self.measured - self.first - weight * (self.second - self.first)


@cache
def measured_months():
    """Long records: the coast stations, from their days, and NOAA/PMEL's moorings."""
    found = []
    for site in long_sites()[:4]:
        extra = extra_days(site)[day_of_year(site.day)]
        month = site.day.astype("datetime64[D]").astype("datetime64[M]").astype(int) % 12
        light = np.bincount(month, site.ghi_W_m2) / np.bincount(month, extra)
        found.append(_months(site.name, site.region, site.lat_deg, site.lon_deg, kt=light))
    buoys = read_published("ocean_buoy_monthly_light.csv")
    for name in dict.fromkeys(row["site"] for row in buoys):
        rows = sorted((r for r in buoys if r["site"] == name), key=lambda r: int(r["month"]))
        place = float(rows[0]["lat"]), float(rows[0]["lon"])
        light = np.array([float(row["ghi_mean"]) for row in rows])
        region = "equator" if place[0] == 0.0 else name
        found.append(_months(name, region, *place, light_W_m2=light))
    return tuple(found)


def _months(name, region, lat_deg, lon_deg, *, kt=None, light_W_m2=None):
    # Months have the same light above the atmosphere at every longitude.
    _, hours = moored(lat_deg, 0.0)
    extra = utc_days(hours, hours.extra_W_m2)[:YEAR_DAYS, 0]
    day = round(unix_s(YEAR) / 86400.0) + np.arange(YEAR_DAYS)
    month = day.astype("datetime64[D]").astype("datetime64[M]").astype(int) % 12
    above = np.bincount(month, extra)
    tables = climatology.monthly_mean(
        "kt_first",
        "kt_second",
        lat_deg=np.full(day.size, lat_deg),
        lon_deg=np.full(day.size, lon_deg),
        utc_s=86400.0 * day,
    )
    first, second = (np.bincount(month, of * extra) / above * AS_TABLED for of in tables)
    measured = light_W_m2 * np.bincount(month) / above if kt is None else kt
    return Months(name=name, region=region, measured=measured, first=first, second=second)


def table(site, drawn):
    """Lines that tell how the members do at a site."""
    north, east = ("NS"[site.lat_deg < 0.0], "EW"[site.lon_deg < 0.0])
    place = f"{abs(site.lat_deg):g} {north} {abs(site.lon_deg):g} {east}"
    yield f"{site.name}: {site.day.size} days, {place}"
    for window_d in WINDOWS_D:
        of = sums(site, drawn, window_d=window_d)
        within = inside(of)
        begun = f"  {window_d:2d} d: {within.size:5d} windows"
        if not within.size:
            yield f"{begun}: too few days in a row"
            continue
        between = "years too few for an interval"
        if np.unique(of.year).size >= LEAST_YEARS:
            low, high = interval(within, of.year)
            between = f"{low:.1%} to {high:.1%}"
        below = (of.measured < np.quantile(of.members, BAND[0], axis=1)).mean()
        yield (
            f"{begun}, inside {within.mean():5.1%} ({between}), below {below:5.1%}, "
            f"CRPS {crps(of).mean():6.2f} W/m2, {crps(of).mean() / of.measured.mean():.3f}"
        )
    months = by_month(site, drawn)
    measured, mean, low, high = months.T
    bias = " ".join("   -" if np.isnan(b) else f"{b:+4.0%}" for b in mean / measured - 1.0)
    yield f"  members over measured by month: {bias}"
    known = ~np.isnan(measured)
    within = ((low <= measured) & (measured <= high))[known]
    yield f"  months within their band: {within.sum()} of {within.size}"


def leaving_one_out(sites, *, fit, score, apart="region"):
    """Score each site by what was fitted without it.

    Parameters
    ----------
    sites : sequence of Site
    fit : callable
        Of a list of sites; gives constants.
    score : callable
        Of a site and constants.
    apart : str
        What is left out with a site: all of its "region", or its "name" alone.

    Returns
    -------
    dict
        Of the site's name: score.
    """
    return {
        site.name: score(
            site, fit([other for other in sites if getattr(other, apart) != getattr(site, apart)])
        )
        for site in sites
    }
