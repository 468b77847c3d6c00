"""Fits what the climatology does not know of light, and holds it against measured days.

    python docs/fit_light.py

prints, for docs/model/monthly_light.md, the weight of the second table, the error of both, what
months of one year have in common, and every site's sums beside those of members. Half a minute.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "reference"))

import numpy as np
from light_sites import (
    day_of_year,
    extra_days,
    leaving_one_out,
    long_sites,
    measured_months,
    measured_sites,
    members_days,
    table,
)

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


def main() -> None:
    """Print all of it."""
    months = measured_months()
    print("the tables against measured months: share of the second that fits best without a region")
    weights = leaving_one_out(months, fit=best_weight, score=lambda _, weight: weight)
    errors = leaving_one_out(months, fit=error_sd_kt, score=lambda _, sd_kt: sd_kt)
    print("| site | first | second | halfway | weight, left out | error | error, left out |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for site in months:
        relative = [100.0 * rms(site.error(w) / site.measured) for w in (0.0, 1.0, 0.5)]
        print(
            f"| {site.name} | {' | '.join(f'{of:.1f} %' for of in relative)} "
            f"| {weights[site.name]:.2f} | {rms(site.error()):.3f} | {errors[site.name]:.3f} |"
        )
    print(f"| all | | | | {best_weight(months):.2f} | {error_sd_kt(months):.3f} | |")
    print("gain in log-likelihood of a month if the error grows with the tables' difference:")
    none = apart_likelihood(months, 0.0)
    for share in (0.1, 0.2, 0.29, 0.4):
        print(f"  {share:.2f} of it: {apart_likelihood(months, share) - none:+.3f}")
    names = [f"{a}" if b == a + 1 else f"{a} to {b - 1}" for a, b in LAGS_D]
    print(f"| correlation, days apart | {' | '.join(names)} | deviation |")
    for site in long_sites():
        deviation, alike = correlations(site)
        cells = " | ".join(f"{of:.2f}" for of in alike)
        print(f"| {site.name} | {cells} | {deviation:.3f} |")
    for site in measured_sites():
        print("\n".join(table(site, members_days(site))))


if __name__ == "__main__":
    main()
