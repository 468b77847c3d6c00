"""Days at coast stations, measured and drawn alike: what docs/fit_days.py prints and tests hold."""

from dataclasses import dataclass, field
from functools import cache

import numpy as np
from light_sites import YEAR, YEAR_DAYS, day_of_year, extra_days, long_sites, moored, utc_days
from published import unix_s

from powersim.sky.daily_clearness import daily_kt

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
#: Their first day, in days since 1970.
NEW_YEAR = round(unix_s(YEAR) / 86400.0)
_MONTH = (NEW_YEAR + np.arange(YEAR_DAYS)).astype("datetime64[D]").astype("datetime64[M]")
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
        NEW_YEAR + np.arange(YEAR_DAYS),
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
