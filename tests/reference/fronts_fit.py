"""The constants of days where fronts pass, fitted: what docs/fit_days.py prints and tests hold."""

import numpy as np
from coast_records import MONTH_OF, WHOLE_MONTH_D, clean_days, coast_sites, kt_of
from light_sites import YEAR_DAYS, day_of_year, extra_days, moored, utc_days
from mooring_records import AS_TABLED, PAPA, PAPA_FIGURES

from powersim.sky.daily_clearness import BROKEN_CLOUD, DARKEST_OF_BRIGHTEST, SHEET_CLOUD


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


def cloud_of(lat_deg, lon_deg):
    """Usual cloud amount by month. [-]"""
    _, hours = moored(lat_deg, lon_deg)
    cloud_frac = utc_days(hours, hours.cloud_frac)[:YEAR_DAYS, 0]
    return np.bincount(MONTH_OF, cloud_frac) / np.bincount(MONTH_OF)


def shares_and_cloud():
    """Region, spread_share and cloud amount, by month, of the sites where fronts pass."""
    found = [
        (site.region, spread_share(site), cloud_of(site.lat_deg, site.lon_deg))
        for site in coast_sites()
    ]
    place = float(PAPA[0]["lat"]), float(PAPA[0]["lon"])
    return [*found, ("50 N 145 W", papa_spread_share(), cloud_of(*place))]


def fronts_model(constants, cloud_frac):
    """Share by month for BROKEN_SPREAD, SHEET_SPREAD, WINTER_MORE and DEEPEST_DAY."""
    broken, sheet, winter_more, deepest_day = constants
    middle = np.array([np.flatnonzero(m == MONTH_OF).mean() for m in range(12)])
    part = np.interp(cloud_frac, (BROKEN_CLOUD, SHEET_CLOUD), (0.0, 1.0))
    season = 1.0 + winter_more * np.cos(2.0 * np.pi * (middle - deepest_day) / 365.25)
    return ((1.0 - part) * np.sqrt(broken) + part * np.sqrt(sheet)) ** 2 * season


def fronts_constants(of_sites):
    """Those that fit the logarithm of monthly shares best, every region counting alike."""
    from scipy.optimize import least_squares

    regions = [region for region, _, _ in of_sites]

    def off(constants):
        return np.concatenate(
            [
                np.log(fronts_model(constants, cloud) / share) / np.sqrt(regions.count(region))
                for region, share, cloud in of_sites
            ]
        )

    return least_squares(off, [0.3, 0.2, 0.15, 30.0]).x
