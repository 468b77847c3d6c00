"""Hours about their day, measured and drawn alike: what docs/fit_days.py prints and tests hold."""

from functools import cache

import numpy as np
from mooring_records import AS_TABLED, PAPA, month_of_hours
from published import column, read_published, unix_s

from powersim.sky.clear_sky import clear_ghi_W_m2, linke_turbidity
from powersim.sky.hourly_clearness import adding_up, hourly_frac
from powersim.sky.sun import extra_dni_W_m2, sun_at
from powersim.sky.synthetic import LARGEST_CLEAR_FRAC, LEAST_CLEAR_FRAC, light_about

MEMBERS = 300
EAST_H = 6  # 90 E by the sun
# Below this the sun is left out: there a stamp that is a minute off is worth more than cloud.
HIGH_SINE = np.sin(np.radians(15.0))


def lights(lat_deg, lon_deg, utc_s):
    """Light above the atmosphere and of a clear sky, and the sine of the sun's height."""
    sun, extra_W_m2 = sun_at(lat_deg, lon_deg, utc_s), extra_dni_W_m2(utc_s)
    clear = clear_ghi_W_m2(
        sun.elevation_deg,
        turbidity=linke_turbidity(lat_deg, lon_deg, utc_s),
        extra_W_m2=extra_W_m2,
    )
    sine = np.maximum(np.sin(np.radians(sun.true_elevation_deg)), 0.0)
    return extra_W_m2 * sine, clear, sine


@cache
def mooring():
    """Whole days by the sun at RAMA 12 N 90 E, each hour about its stamp; arrays (days, 24)."""
    rows = [row for row in read_published("light_rama_12n90e_hourly.csv") if row["ghi_W_m2"]]
    hour = [round(unix_s(row["time_mid"]) / 3600.0) for row in rows]
    at = dict(zip(hour, column(rows, "ghi_W_m2"), strict=True))
    first, last = (hour[0] + EAST_H) // 24, (hour[-1] + EAST_H) // 24
    of_day = [[24 * day + h - EAST_H for h in range(24)] for day in range(first, last + 1)]
    whole = np.array([hours for hours in of_day if all(h in at for h in hours)])
    utc_s = 3600.0 * (whole[:, :, None] - 0.5 + (np.arange(12) + 0.5) / 12.0)
    places = np.full(utc_s.size, 12.0), np.full(utc_s.size, 90.0)
    by_hour = [one.reshape(utc_s.shape).mean(axis=2) for one in lights(*places, utc_s.ravel())]
    return (np.array([[at[h] for h in hours] for hours in whole]), *by_hour)


@cache
def ship():
    """Days off Barbados of which most was measured: hours, padded with night; arrays (days, 24)."""
    rows = [row for row in read_published("light_rhbrown_10min.csv") if row["ghi_W_m2"].strip()]
    utc_s = np.array([unix_s(row["time"]) + 300.0 for row in rows])
    lat_deg, lon_deg = np.array(column(rows, "lat")), np.array(column(rows, "lon"))
    every = np.array(column(rows, "ghi_W_m2")), *lights(lat_deg, lon_deg, utc_s)
    hour = np.floor(utc_s / 3600.0).astype(int)
    solar = np.floor(hour + 0.5 + lon_deg / 15.0).astype(int)
    found = {}
    for one in np.unique(hour):
        of_hour = hour == one
        if of_hour.sum() >= 5 and every[2][of_hour].mean() > 20.0:
            day, within = divmod(int(solar[of_hour][0]), 24)
            found.setdefault(day, {})[within] = [value[of_hour].mean() for value in every]
    days = np.zeros((4, len(found), 24))
    for row, hours in enumerate(found.values()):
        for within, values in hours.items():
            days[:, row, within] = values
    return tuple(days[:, (days[2] > 0.0).sum(axis=1) >= 8])


def drawn_frac(days):
    """Hours of many members with each measured day's sum, shape (days, 24, members)."""
    rng = np.random.default_rng(11)
    frac = np.zeros((*days[0].shape, MEMBERS))
    for day, (measured, _, clear, _) in enumerate(zip(*days, strict=True)):
        lit = clear > 0.0
        hours = hourly_frac(
            np.full(MEMBERS, measured.sum() / clear.sum()),
            fronts_share=0.0,
            deviates=rng.standard_normal((lit.sum(), MEMBERS)),
        )
        frac[day, lit] = adding_up(
            hours,
            weights=clear[lit],
            total=np.full(MEMBERS, measured.sum()),
            least=LEAST_CLEAR_FRAC,
            most=LARGEST_CLEAR_FRAC,
        )
    return frac


def likeness(days, *, bright=None):
    """Measured and ours, of clearness: rms change from hour to hour, rms about the day's share of
    the clear sky, and correlation of that with one and two hours later."""
    measured, above, clear, sine = days
    day_frac = measured.sum(axis=1) / clear.sum(axis=1)
    clearness = np.where(above > 0.0, clear / np.where(above > 0.0, above, 1.0), 0.0)
    high = sine > HIGH_SINE
    if bright is not None:
        high &= ((day_frac >= 0.8) == bright)[:, None]
    with np.errstate(invalid="ignore", divide="ignore"):
        of_clear = np.where(clear > 0.0, measured / clear, 0.0)
    found = []
    for frac in (of_clear[:, :, None], drawn_frac(days)):
        kt = frac * clearness[:, :, None]
        off = kt - (day_frac[:, None] * clearness)[:, :, None]
        scatter = np.sqrt((off[high] ** 2).mean())
        one, two = high[:, 1:] & high[:, :-1], high[:, 2:] & high[:, :-2]
        alike = [
            (off[:, lag:][both] * off[:, :-lag][both]).mean() / scatter**2
            for lag, both in ((1, one), (2, two))
        ]
        found.append([np.sqrt((np.diff(kt, axis=1)[one] ** 2).mean()), scatter, *alike])
    return np.array(found)


#: Which days: all, those with eight tenths of the clear sky's light and more, and the darker ones.
KINDS = {"all": None, "bright": True, "darker": False}


def hour_rows():
    """How hours change, scatter and hang together, measured and ours."""
    yield "| where | days | change | scatter | alike after 1 h | after 2 h |"
    yield "| --- | --- | --- | --- | --- | --- |"
    for name, bright in KINDS.items():
        yield f"| 12 N 90 E | {name} | {_cells(likeness(mooring(), bright=bright))} |"
    yield f"| 13 to 16 N, off Barbados | all | {_cells(likeness(ship()))} |"


def _cells(found):
    measured, ours = found
    digits = (3, 3, 2, 2)
    return " | ".join(
        f"{m:.{d}f} {o:.{d}f}" for m, o, d in zip(measured, ours, digits, strict=True)
    )


@cache
def change_at_50_n(month):
    """Ours: rms change of clearness from hour to hour at 50 N 145 W, sun above 15 degrees. [-]"""
    row = PAPA[month - 1]
    hours = month_of_hours(float(row["lat"]), float(row["lon"]), month)
    frac = light_about(
        hours,
        mean_kt=np.full((len(hours.by_day), 1), float(row["kt_mean"]) / AS_TABLED),
        seed=1,
        members=100,
    )
    kt = frac * (hours.clear_W_m2 / np.maximum(hours.extra_W_m2, 1e-9))[:, None]
    high = hours.extra_W_m2 > HIGH_SINE * hours.extra_dni_W_m2
    both = high[1:] & high[:-1]
    return float(np.sqrt((np.diff(kt, axis=0)[both] ** 2).mean()))


def fifty_rows():
    """How hours change at 50 N, where none are measured that we have."""
    months = {"January": 1, "April": 4, "July": 7, "October": 10}
    yield f"| month | {' | '.join(months)} |"
    yield "| --- | --- | --- | --- | --- |"
    yield f"| change, ours | {' | '.join(f'{change_at_50_n(m):.3f}' for m in months.values())} |"
