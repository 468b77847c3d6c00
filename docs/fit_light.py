"""Fits what the climatology does not know of light, and holds it against measured days.

    python docs/fit_light.py

puts into docs/model/monthly_light.md, and prints, the weight of the second table, the error of
both, how alike days are, and every site's sums beside those of members. Half a minute.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "reference"))

import numpy as np
from light_sites import (
    AS_TABLED,
    BAND,
    BEFORE,
    WINDOWS_D,
    YEAR,
    YEAR_DAYS,
    Site,
    by_month,
    calendar_months,
    constants,
    crps,
    day_of_year,
    extra_days,
    inside,
    interval,
    leaving_one_out,
    long_sites,
    measured_months,
    measured_sites,
    members_days,
    moored,
    sums,
    table,
)
from measured import put
from published import read_published, unix_s

PAGE = Path(__file__).resolve().parent / "model" / "monthly_light.md"

WEIGHTS = np.linspace(0.0, 1.0, 101)
#: Days apart for which correlations are averaged: first, and one past the last. [d]
LAGS_D = ((1, 2), (2, 3), (3, 4), (6, 10), (10, 20), (20, 30), (30, 60), (60, 90), (90, 150))


def by_region(values):
    """Mean over regions of means over their sites, so that ten neighbours count as one."""
    of = {}
    for region, value in values:
        of.setdefault(region, []).append(value)
    return np.mean([np.mean(each, axis=0) for each in of.values()], axis=0)


def best_weight(sites):
    """Weight of the second table that leaves the least squares of relative error. [-]"""
    squares = [
        (site.region, [((site.error(w) / site.measured) ** 2).mean() for w in WEIGHTS])
        for site in sites
    ]
    return WEIGHTS[by_region(squares).argmin()]


def rms(values):
    """Root of the mean square."""
    return float(np.sqrt(np.mean(np.square(values))))


def error_sd_kt(sites):
    """Root of the mean square of a month's error, halfway between the tables. [-]"""
    return float(np.sqrt(by_region([(site.region, rms(site.error()) ** 2) for site in sites])))


def apart_likelihood(sites, share):
    """Log-likelihood, for each month, if the error grows with how far the tables are apart."""

    def one(site, sd_kt):
        sd = np.hypot(sd_kt, share * (site.second - site.first))
        return -(np.log(sd) + 0.5 * (site.error() / sd) ** 2).mean()

    # The part that does not grow is fitted too.
    return max(
        by_region([(site.region, one(site, sd_kt)) for site in sites])
        for sd_kt in np.linspace(0.002, 0.05, 97)
    )


def correlations(site):
    """How alike days are that lie so far apart, and the deviation from the season's mean. [-]"""
    kt = site.ghi_W_m2 / extra_days(site)[day_of_year(site.day)]
    phase = 2.0 * np.pi * (day_of_year(site.day) + 0.5) / 365.0
    waves = [f(k * phase) for k in (1, 2, 3) for f in (np.sin, np.cos)]
    season = np.column_stack([np.ones_like(phase), *waves])
    rest = kt - season @ np.linalg.lstsq(season, kt)[0]
    days = np.full(site.day[-1] - site.day[0] + 1, np.nan)
    days[site.day - site.day[0]] = rest
    variance = np.nanmean(days**2)
    lags = [
        np.mean([np.nanmean(days[:-lag] * days[lag:]) for lag in range(*between)]) / variance
        for between in LAGS_D
    ]
    return np.sqrt(variance), lags


def tables_rows():
    """How far the tables are from measured months, and what the other regions would have."""
    months = measured_months()
    left_out = fitted_elsewhere(months)
    yield "| site | first | second | halfway | weight, left out | error halfway | error, left out |"
    yield "| --- | --- | --- | --- | --- | --- | --- |"
    for site in months:
        relative = [f"{100.0 * rms(site.error(w) / site.measured):.1f} %" for w in (0.0, 1.0, 0.5)]
        weight, error_kt = left_out[site.name]
        yield (
            f"| {site.name} | {' | '.join(relative)} | {weight:.2f} "
            f"| {rms(site.error()):.3f} | {error_kt:.3f} |"
        )
    weight, error_kt = fitted(months)
    yield f"| all regions alike | | | | {weight:.2f} | {error_kt:.3f} | |"


def fitted(sites):
    """Weight of the second table, and the error halfway. [-]"""
    return best_weight(sites), error_sd_kt(sites)


def fitted_elsewhere(months):
    """The same for each site from all other regions."""
    return leaving_one_out(months, fit=fitted, score=lambda _, found: found)


def memory_rows():
    """How alike days are, by how far they are apart."""
    names = [f"{a}" if b == a + 1 else f"{a} to {b - 1}" for a, b in LAGS_D]
    yield f"| days apart | {' | '.join(names)} | deviation of a day |"
    yield f"| --- {'| --- ' * len(names)}| --- |"
    for site in long_sites():
        deviation, alike = correlations(site)
        cells = " | ".join(f"{of:.2f}" for of in alike)
        yield f"| {site.name} | {cells} | {deviation:.3f} |"


def drawn_elsewhere():
    """Members' days at each site of years, with weight and error of the other regions."""
    left_out = fitted_elsewhere(measured_months())
    for site in long_sites():
        weight, error_kt = left_out[site.name]
        with constants(weight=weight, error_kt=error_kt):
            yield site, members_days(site)


def sums_rows(drawn):
    """Sums of days inside their band, and their score, beside those of before."""
    yield "| site | days | windows | inside | below | before | CRPS | before |"
    yield "| --- | --- | --- | --- | --- | --- | --- | --- |"
    for site, days in drawn:
        for window_d, before in zip(WINDOWS_D, BEFORE[site.name], strict=True):
            of = sums(site, days, window_d=window_d)
            yield (
                f"| {site.name} | {window_d} | {_inside(of)} | {100.0 * before[0]:.0f} % "
                f"| {crps(of).mean():.2f} | {before[1]:.2f} |"
            )
        of = calendar_months(site, days)
        yield f"| {site.name} | calendar months | {_inside(of)} | | {crps(of).mean():.2f} | |"


def _inside(of):
    """Cells of how many windows there are, how many inside their band, and how many below."""
    within = inside(of)
    low, high = interval(within, of.year)
    below = (of.measured < np.quantile(of.members, BAND[0], axis=1)).mean()
    share = f"{100.0 * within.mean():.0f} % ({100.0 * low:.0f} to {100.0 * high:.0f})"
    return f"{within.size} | {share} | {100.0 * below:.0f} %"


def months_rows(drawn):
    """Members' mean over the measured one, month by month."""
    names = "January February March April May June July August September October November December"
    yield f"| site | {' | '.join(name[:3] for name in names.split())} |"
    yield f"| --- {'| --- ' * 12}|"
    for site, days in drawn:
        measured, mean, *_ = by_month(site, days).T
        cells = " | ".join(f"{100.0 * of:+.0f} %" for of in mean / measured - 1.0)
        yield f"| {site.name} | {cells} |"


def moorings_rows():
    """Days of every mooring, pooled by calendar month: mean, deviation and memory, and ours."""
    yield "| mooring | air, degC | mean | ours | deviation | ours | memory | ours |"
    yield "| --- | --- | --- | --- | --- | --- | --- | --- |"
    rows = read_published("ocean_daily_clearness_stats.csv")
    for name in dict.fromkeys(row["site"] for row in rows if row["day"] == "UTC day"):
        here = [row for row in rows if row["site"] == name]
        place = {"lat_deg": float(here[0]["lat"]), "lon_deg": float(here[0]["lon"])}
        site = Site(name=name, region=name, day=np.zeros(0, int), ghi_W_m2=np.zeros(0), **place)
        ours = _as_pooled(site)
        measured = [
            np.mean([float(row[key]) for row in here])
            for key in ("kt_mean", "kt_std", "kt_lag1_autocorr")
        ]
        air_C = moored(*place.values())[1].air_C.mean()
        cells = [
            f"{m:.{n}f} | {o:.{n}f}" for m, o, n in zip(measured, ours, (3, 3, 2), strict=True)
        ]
        yield f"| {name} | {air_C:.1f} | {' | '.join(cells)} |"


def _as_pooled(site):
    """Mean over months of members' mean, deviation and correlation of a day with the next."""
    kt = members_days(site)[:YEAR_DAYS] / extra_days(site)[:YEAR_DAYS, None] / AS_TABLED
    day = round(unix_s(YEAR) / 86400.0) + np.arange(YEAR_DAYS)
    month = day.astype("datetime64[D]").astype("datetime64[M]").astype(int) % 12
    found = []
    for m in range(12):
        rest = kt[month == m] - kt[month == m].mean()
        alike = (rest[1:] * rest[:-1]).mean() / rest.var()
        found.append((kt[month == m].mean(), rest.std(), alike))
    return np.mean(found, axis=0)


def main() -> None:
    """Put the tables into their page, and print them and what else was tried."""
    drawn = list(drawn_elsewhere())
    for name, rows in (
        ("tables", tables_rows()),
        ("memory", memory_rows()),
        ("sums", sums_rows(drawn)),
        ("months", months_rows(drawn)),
        ("moorings", moorings_rows()),
    ):
        lines = list(rows)
        put(PAGE, name, lines)
        print("\n".join(lines))
    months = measured_months()
    print("gain in log-likelihood of a month if the error grows with the tables' difference:")
    none = apart_likelihood(months, 0.0)
    for share in (0.1, 0.2, 0.29, 0.4):
        print(f"  {share:.2f} of it: {apart_likelihood(months, share) - none:+.3f}")
    for site in measured_sites():
        print("\n".join(table(site, members_days(site))))


if __name__ == "__main__":
    main()
