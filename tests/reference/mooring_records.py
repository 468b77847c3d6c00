"""Days at moorings, measured and drawn alike: what docs/fit_days.py prints and tests hold."""

from functools import cache

import numpy as np
from coast_records import MEMBERS, MONTH_OF, NEW_YEAR, WHOLE_MONTH_D, kt_of
from light_sites import YEAR_DAYS, measured_sites, moored, utc_days
from published import read_published, unix_s

from powersim.records import Waypoint
from powersim.sky.climatology import SOLAR_CONSTANT_W_m2 as TABLE_CONSTANT_W_m2
from powersim.sky.daily_clearness import daily_kt
from powersim.sky.solar_days import solar_days
from powersim.sky.sun import SOLAR_CONSTANT_W_m2
from powersim.sky.synthetic import light_about
from powersim.voyage.track import track_of

# The moorings' clearness is a share of 1361 W/m2, ours of pvlib's constant.
AS_TABLED = SOLAR_CONSTANT_W_m2 / TABLE_CONSTANT_W_m2
PAPA = [row for row in read_published("ocean_daily_clearness_stats.csv") if row["site"][0] == "O"]
PAPA_FIGURES = ("kt_mean", "kt_std", "kt_p05", "kt_p50", "kt_p95", "kt_lag1_autocorr")


@cache
def papa(*, cloud=None):
    """Twelve months of the table at 50 N 145 W and ours about its means, shape (12, 6, 2).

    With a cloud amount given, ours are what they would be under that. [-]
    """
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
            NEW_YEAR + days,
            mean_kt=np.full((days.size, 1), float(row["kt_mean"]) / AS_TABLED),
            clean_kt=(clean / extra)[days],
            lat_deg=np.full(days.size, lat_deg),
            cloud_frac=cloud_frac[days] if cloud is None else np.full(days.size, cloud),
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
    return _whole_days(hours, mean_kt, (hours.first_hour + np.arange(hours.day.size)) // 24)


def days_of_sun(hours, mean_kt):
    """The same of days by the sun."""
    return _whole_days(hours, mean_kt, hours.day)


def _whole_days(hours, mean_kt, day):
    mean_kt = np.broadcast_to(mean_kt, (len(hours.by_day), mean_kt.size))
    frac = light_about(hours, mean_kt=mean_kt, seed=1, members=mean_kt.shape[1])
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


@cache
def papa_both_ways():
    """Deviation over all months at 50 N 145 W, seasons left in, and memory: by the sun, in UTC."""
    by_sun, in_utc = [], []
    for m, row in enumerate(PAPA):
        hours = month_of_hours(float(row["lat"]), float(row["lon"]), m + 1)
        mean_kt = np.full(100, float(row["kt_mean"]) / AS_TABLED)
        in_utc.append(AS_TABLED * days_of_utc(hours, mean_kt))
        by_sun.append(AS_TABLED * days_of_sun(hours, mean_kt))
    return tuple(_spread_and_memory(months) for months in (by_sun, in_utc))


def _spread_and_memory(months):
    mean = np.concatenate(months).mean()
    spread = np.concatenate(months).std()
    pairs = [np.stack([kt[1:], kt[:-1]]).reshape(2, -1) - mean for kt in months]
    today, before = np.concatenate(pairs, axis=1)
    return spread, (today * before).mean() / spread**2
