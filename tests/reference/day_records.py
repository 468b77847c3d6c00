"""Days about their month, measured and drawn alike: what docs/fit_days.py prints and tests hold."""

from dataclasses import dataclass, field
from functools import cache

import numpy as np
from light_sites import (
    YEAR,
    YEAR_DAYS,
    day_of_year,
    extra_days,
    long_sites,
    measured_sites,
    moored,
    utc_days,
)
from published import read_published, unix_s

from powersim.records import Waypoint
from powersim.sky.climatology import SOLAR_CONSTANT_W_m2 as TABLE_CONSTANT_W_m2
from powersim.sky.daily_clearness import DARKEST_OF_BRIGHTEST, daily_kt
from powersim.sky.solar_days import solar_days
from powersim.sky.sun import SOLAR_CONSTANT_W_m2
from powersim.sky.synthetic import light_about
from powersim.voyage.track import track_of

SEASONS = {
    "December to February": (11, 0, 1),
    "March to May": (2, 3, 4),
    "June to August": (5, 6, 7),
    "September to November": (8, 9, 10),
}
MEMBERS = 400
#: A month counts if so many of its days were measured. [d]
WHOLE_MONTH_D = 25
#: Lengths of dark runs [d], and how dark they are, as shares of the usual light. [-]
RUNS_D, DARK = (5, 10), (0.6, 0.75)
# The moorings' clearness is a share of 1361 W/m2, ours of pvlib's constant.
AS_TABLED = SOLAR_CONSTANT_W_m2 / TABLE_CONSTANT_W_m2
_NEW_YEAR = round(unix_s(YEAR) / 86400.0)
_MONTH = (_NEW_YEAR + np.arange(YEAR_DAYS)).astype("datetime64[D]").astype("datetime64[M]")
#: Month of each day of the members' year; January is 0.
MONTH_OF = _MONTH.astype(int) % 12


@dataclass(frozen=True, kw_only=True, eq=False)
class Coast:
    """A station whose days of UTC are days of the sun, and days drawn about its own means.

    Attributes
    ----------
    name, region : str
        As of Site.
    clean_kt, mean_kt : ndarray, shape (365,)
        Clearness of the cleanest clear sky, and the record's mean, by the members' year. [-]
    measured, drawn : ndarray, shape (days, 1) and (365, members)
        Clearness; nan where nothing was measured. [-]
    month, usual : ndarray, shape (days,)
        Of the days measured: their month, and the record's mean of the season. [-]
    """

    name: str
    region: str
    clean_kt: np.ndarray = field(repr=False)
    mean_kt: np.ndarray = field(repr=False)
    measured: np.ndarray = field(repr=False)
    drawn: np.ndarray = field(repr=False)
    month: np.ndarray = field(repr=False)
    usual: np.ndarray = field(repr=False)

    def runs(self, days):
        """Means of so many days over the usual ones, and the month of their middle: both ways."""
        return _runs(self.measured, self.usual, self.month, days), _runs(
            self.drawn, self.mean_kt, MONTH_OF, days
        )


def _runs(kt, usual, month, days):
    whole = len(kt) - days + 1
    total = sum(kt[i : i + whole] for i in range(days))
    middle = days // 2
    return total / sum(usual[i : i + whole] for i in range(days))[:, None], month[
        middle : middle + whole
    ]


def coast_sites():
    """The four coast stations."""
    return [site for site in long_sites() if site.lat_deg > 50.0]


def clean_days(site):
    """Light of the cleanest clear sky, each day of the members' year. [W/m^2]"""
    _, hours = moored(site.lat_deg, site.lon_deg)
    return utc_days(hours, hours.clean_W_m2)[:YEAR_DAYS, 0]


def through_months(of_month):
    """Straight lines through twelve monthly means, by the members' year."""
    middle = np.array([np.flatnonzero(m == MONTH_OF).mean() for m in range(12)])
    at = np.concatenate([[middle[-1] - YEAR_DAYS], middle, [middle[0] + YEAR_DAYS]])
    return np.interp(np.arange(YEAR_DAYS), at, [of_month[-1], *of_month, of_month[0]])


def kt_of(site):
    """Clearness of every day that was measured. [-]"""
    return site.ghi_W_m2 / extra_days(site)[day_of_year(site.day)]


@cache
def coast(name, *, members=MEMBERS):
    """A coast station by its name."""
    site = next(site for site in coast_sites() if site.name == name)
    kt, row = kt_of(site), day_of_year(site.day)
    mean_kt = through_months([kt[MONTH_OF[row] == m].mean() for m in range(12)])
    clean_kt = clean_days(site) / extra_days(site)[:YEAR_DAYS]
    _, hours = moored(site.lat_deg, site.lon_deg)
    every = np.arange(site.day[0], site.day[-1] + 1)
    measured = np.full((every.size, 1), np.nan)
    measured[site.day - every[0], 0] = kt
    drawn = daily_kt(
        _NEW_YEAR + np.arange(YEAR_DAYS),
        mean_kt=mean_kt[:, None],
        clean_kt=clean_kt,
        lat_deg=np.full(YEAR_DAYS, site.lat_deg),
        cloud_frac=utc_days(hours, hours.cloud_frac)[:YEAR_DAYS, 0],
        seed=1,
        members=members,
    )
    of_year = day_of_year(every)
    return Coast(
        name=name,
        region=site.region,
        clean_kt=clean_kt,
        mean_kt=mean_kt,
        measured=measured,
        drawn=np.array(list(drawn)),
        month=MONTH_OF[of_year],
        usual=mean_kt[of_year],
    )


def coasts():
    """All four."""
    return [coast(site.name) for site in coast_sites()]


def of_season(runs, season):
    """Those of a season that are whole."""
    ratio, month = runs
    values = ratio[np.isin(month, SEASONS[season])]
    return values[~np.isnan(values)]


def spread_rows():
    """Deviation of days as a share of the season's usual day, measured and ours."""
    yield "| season | " + " | ".join(site.name for site in coast_sites()) + " |"
    yield "| --- | --- | --- | --- | --- |"
    for season in SEASONS:
        cells = []
        for one in coasts():
            measured, ours = (of_season(runs, season).std() for runs in one.runs(1))
            cells.append(f"{measured:.2f} {ours:.2f}")
        yield f"| {season} | {' | '.join(cells)} |"


def dark_shares(season, days, dark):
    """How often a run of days is darker than that: measured and ours at each coast station."""
    return np.array(
        [[(of_season(runs, season) < dark).mean() for runs in one.runs(days)] for one in coasts()]
    )


def dark_rows():
    """How many in a hundred runs of days are dark."""
    heads = [f"{days} days below {dark:.2f}" for days in RUNS_D for dark in DARK]
    yield f"| season | {' | '.join(heads)} |"
    yield "| --- | --- | --- | --- | --- |"
    for season in SEASONS:
        cells = []
        for days in RUNS_D:
            for dark in DARK:
                measured, ours = 100.0 * dark_shares(season, days, dark).mean(axis=0)
                cells.append(f"{measured:.1f} {ours:.1f}")
        yield f"| {season} | {' | '.join(cells)} |"


def alike(runs, lag):
    """Correlation of days so far apart, whatever the season."""
    ratio, month = runs
    off = ratio - np.array([np.nanmean(ratio[month == m]) for m in range(12)])[month][:, None]
    return np.nanmean(off[lag:] * off[:-lag]) / np.nanmean(off**2)


def next_day(runs, *, bright):
    """Rank, from -0.5 to 0.5, of the day after the brightest or the darkest tenth."""
    ratio, month = runs
    rank = np.full(ratio.shape, np.nan)
    for m in range(12):
        of_month = ratio[month == m]
        known = ~np.isnan(of_month)
        place = np.full(of_month.shape, np.nan)
        place[known] = (of_month[known].argsort().argsort() + 0.5) / known.sum() - 0.5
        rank[month == m] = place
    today = rank[:-1] > 0.4 if bright else rank[:-1] < -0.4
    return np.nanmean(rank[1:][today])


def memory_rows():
    """How alike days are, and what follows on a bright or a dark one: measured and ours."""
    yield "| site | 1 day | 2 days | 3 days | 5 days | after a bright day | after a dark day |"
    yield "| --- | --- | --- | --- | --- | --- | --- |"
    for one in coasts():
        pairs = [[alike(runs, lag) for runs in one.runs(1)] for lag in (1, 2, 3, 5)]
        pairs += [[next_day(runs, bright=bright) for runs in one.runs(1)] for bright in (1, 0)]
        yield f"| {one.name} | " + " | ".join(f"{m:.2f} {o:.2f}" for m, o in pairs) + " |"


#: Months for which the brightest days are printed.
BRIGHT_MONTHS = {"January": 0, "April": 3, "July": 6, "October": 9}


def brightest_rows():
    """The brightest day in a hundred, and that of the cleanest sky."""
    yield f"| site | {' | '.join(BRIGHT_MONTHS)} |"
    yield "| --- | --- | --- | --- | --- |"
    for site in long_sites():
        kt, month = kt_of(site), MONTH_OF[day_of_year(site.day)]
        clean_kt = clean_days(site) / extra_days(site)[:YEAR_DAYS]
        cells = [
            f"{np.quantile(kt[month == m], 0.99):.2f} {clean_kt[m == MONTH_OF].mean():.2f}"
            for m in BRIGHT_MONTHS.values()
        ]
        yield f"| {site.name} | {' | '.join(cells)} |"


PAPA = [row for row in read_published("ocean_daily_clearness_stats.csv") if row["site"][0] == "O"]
PAPA_FIGURES = ("kt_mean", "kt_std", "kt_p05", "kt_p50", "kt_p95", "kt_lag1_autocorr")


@cache
def papa():
    """Twelve months of the table at 50 N 145 W and ours about its means, shape (12, 6, 2)."""
    lat_deg = float(PAPA[0]["lat"])
    _, hours = moored(lat_deg, float(PAPA[0]["lon"]))
    clean, extra, cloud_frac = (
        utc_days(hours, of)[:YEAR_DAYS, 0]
        for of in (hours.clean_W_m2, hours.extra_W_m2, hours.cloud_frac)
    )
    found = []
    for m, row in enumerate(PAPA):
        days = np.flatnonzero(m == MONTH_OF)
        kt = daily_kt(
            _NEW_YEAR + days,
            mean_kt=np.full((days.size, 1), float(row["kt_mean"]) / AS_TABLED),
            clean_kt=(clean / extra)[days],
            lat_deg=np.full(days.size, lat_deg),
            cloud_frac=cloud_frac[days],
            seed=1,
            members=MEMBERS,
        )
        kt = AS_TABLED * np.array(list(kt))
        lag = np.corrcoef(kt[1:].ravel(), kt[:-1].ravel())[0, 1]
        ours = [kt.mean(), kt.std(), *np.quantile(kt, [0.05, 0.5, 0.95]), lag]
        found.append(list(zip([float(row[name]) for name in PAPA_FIGURES], ours, strict=True)))
    return np.array(found)


def papa_rows():
    """Every month at 50 N 145 W."""
    yield "| month | mean | deviation | 5 % | 50 % | 95 % | memory |"
    yield "| --- | --- | --- | --- | --- | --- | --- |"
    for m, figures in enumerate(papa()):
        cells = [f"{a:.3f} {b:.3f}" for a, b in figures[:5]]
        if abs(figures[1, 1] / figures[1, 0] - 1.0) > 0.15:
            cells[1] = f"{figures[1, 0]:.3f} **{figures[1, 1]:.3f}**"
        yield f"| {m + 1} | {' | '.join(cells)} | {figures[5, 0]:.2f} {figures[5, 1]:.2f} |"


def month_of_hours(lat_deg, lon_deg, month):
    """A month of 2027 at a mooring, by the hour."""
    here = {"lat_deg": lat_deg, "lon_deg": lon_deg}
    starts_s = unix_s(f"2027-{month:02d}-01")
    ends_s = unix_s(f"{2027 + month // 12}-{month % 12 + 1:02d}-01")
    waypoints = (
        Waypoint(name="buoy", speed_kn=5.0, stop_h=(ends_s - starts_s) / 3600.0, **here),
        Waypoint(name="next", **here),
    )
    track = track_of(waypoints, depart_utc_s=starts_s, step_h=1.0)
    return solar_days(track, usual_frac=np.ones(track.n_steps))


def days_of_utc(hours, mean_kt):
    """Clearness of the days of UTC that hours make about members' own means."""
    mean_kt = np.broadcast_to(mean_kt, (len(hours.by_day), mean_kt.size))
    frac = light_about(hours, mean_kt=mean_kt, seed=1, members=mean_kt.shape[1])
    day = (hours.first_hour + np.arange(hours.day.size)) // 24
    starts = np.flatnonzero(np.diff(day, prepend=day[0] - 1))
    surface = np.add.reduceat(frac * hours.clear_W_m2[:, None], starts, axis=0)
    above = np.add.reduceat(hours.extra_W_m2, starts)[:, None]
    return (surface / above)[np.diff([*starts, day.size]) == 24]


@cache
def at_140_w():
    """Months of thirty years at 0 N 140 W, each year's about its own mean: measured and ours.

    Returns
    -------
    mean_kt : ndarray, shape (months,)
        Of each measured month. [-]
    measured : ndarray, shape (31, months)
        Less that mean; nan where nothing was measured. [-]
    ours : list of ndarray, shape (31, draws)
        One for each month: as many draws about that mean. [-]
    """
    site = next(site for site in measured_sites() if site.name == "TAO 0N 140W")
    kt = kt_of(site)
    date = site.day.astype("datetime64[D]")
    year_month = date.astype("datetime64[M]")
    in_month = (date - year_month.astype("datetime64[D]")).astype(int)
    means, measured, ours = [], [], []
    for m in range(12):
        of_month = [
            year_month == one
            for one in np.unique(year_month)
            if one.astype(int) % 12 == m and (year_month == one).sum() >= WHOLE_MONTH_D
        ]
        own = np.array([kt[here].mean() for here in of_month])
        for here, mean in zip(of_month, own, strict=True):
            rest = np.full(31, np.nan)
            rest[in_month[here]] = kt[here] - mean
            measured.append(rest)
        drawn = days_of_utc(month_of_hours(site.lat_deg, site.lon_deg, m + 1), np.repeat(own, 12))
        drawn = drawn - drawn.mean(axis=0)
        ours += list(drawn.reshape(len(drawn), own.size, 12).transpose(1, 0, 2))
        means.append(own)
    return np.concatenate(means), np.array(measured).T, ours


def weeks(days):
    """Means of so many days in a row, less their own month's: measured and ours."""
    _, measured, ours = at_140_w()

    def runs(off):
        whole = len(off) - days + 1
        return (sum(off[i : i + whole] for i in range(days)) / days).ravel()

    found = runs(measured)
    return found[~np.isnan(found)], np.concatenate([runs(one) for one in ours])


WEEKS_D = (1, 3, 7, 10)


def weeks_rows():
    """Rows of grey days on the equator."""
    yield "| days | deviation | one in twenty is lower by | one in a hundred is lower by |"
    yield "| --- | --- | --- | --- |"
    for days in WEEKS_D:
        pair = weeks(days)
        cells = ["{:.3f} {:.3f}".format(*(of.std() for of in pair))]
        cells += [
            "{:.3f} {:.3f}".format(*(-np.quantile(of, q) for of in pair)) for q in (0.05, 0.01)
        ]
        yield f"| {days} | {' | '.join(cells)} |"


BINS = [
    row
    for row in read_published("ocean_daily_clearness_by_monthly_mean.csv")
    if float(row["mean"]) > 0.45
]
TAO_LON_DEG = (-110.0, -125.0, -140.0, -170.0, 165.0)


@cache
def by_mean():
    """Deviation of days of UTC by the mean of their month, measured and ours; (bins, 2)."""
    rng = np.random.default_rng(17)  # a seed of no meaning
    hours = [month_of_hours(0.0, lon_deg, 4) for lon_deg in TAO_LON_DEG]
    found = []
    for row in BINS:
        low, high = (float(edge) for edge in row["bin"].strip("(]").split(","))
        width = min(high - low, 0.05)
        means = (float(row["mean"]) + rng.uniform(-0.4, 0.4, 60) * width) / AS_TABLED
        spreads = [AS_TABLED * days_of_utc(one, means).std() for one in hours]
        found.append((float(row["std"]), np.mean(spreads)))
    return np.array(found)


def mean_rows():
    """Deviation of days by the mean of their month, on the equator."""
    yield "| mean of the month | days | deviation |"
    yield "| --- | --- | --- |"
    for row, (measured, ours) in zip(BINS, by_mean(), strict=True):
        low, high = row["bin"].strip("(]").split(", ")
        yield f"| {low} to {high} | {float(row['count']):.0f} | {measured:.3f} {ours:.3f} |"


def spread_share(site):
    """Variance of days within a month of one year over the largest there could be, by month."""
    kt, row = kt_of(site), day_of_year(site.day)
    clean_kt = (clean_days(site) / extra_days(site)[:YEAR_DAYS])[row]
    share = (kt / clean_kt - DARKEST_OF_BRIGHTEST) / (1.0 - DARKEST_OF_BRIGHTEST)
    year_month = site.day.astype("datetime64[D]").astype("datetime64[M]").astype(int)
    within, largest = np.zeros(12), np.zeros(12)
    for one in np.unique(year_month):
        here = share[year_month == one]
        if here.size >= WHOLE_MONTH_D:
            within[one % 12] += here.var(ddof=1)
            largest[one % 12] += here.mean() * (1.0 - here.mean())
    return within / largest


def papa_spread_share():
    """The same at 50 N 145 W, from its table."""
    _, hours = moored(float(PAPA[0]["lat"]), float(PAPA[0]["lon"]))
    clean, extra = (
        np.bincount(MONTH_OF, utc_days(hours, of)[:YEAR_DAYS, 0])
        for of in (hours.clean_W_m2, hours.extra_W_m2)
    )
    mean, deviation = (
        np.array([float(row[name]) for row in PAPA]) / AS_TABLED for name in PAPA_FIGURES[:2]
    )
    brightest, width = clean / extra, 1.0 - DARKEST_OF_BRIGHTEST
    share = (mean / brightest - DARKEST_OF_BRIGHTEST) / width
    return (deviation / brightest / width) ** 2 / (share * (1.0 - share))


def fronts_constants(shares):
    """FRONTS_SPREAD, WINTER_MORE and DEEPEST_DAY that fit the logarithm of monthly shares best.

    Parameters
    ----------
    shares : sequence of ndarray, shape (12,)
        Of sites.
    """
    from scipy.optimize import least_squares

    middle = np.array([np.flatnonzero(m == MONTH_OF).mean() for m in range(12)])

    def model(of):
        return of[0] + of[1] * np.cos(2.0 * np.pi * (middle - of[2]) / 365.25)

    fitted = least_squares(
        lambda of: np.log(model(of) / np.array(shares)).ravel(), [0.25, 0.05, 30.0]
    ).x
    return fitted, model(fitted)
