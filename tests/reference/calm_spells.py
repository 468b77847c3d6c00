"""How calm hours hang together: measured at sea, and in simulated wind seen at the same hours.

Calm is here below 5 knots, or, to compare two platforms, the calmest so many per cent of a record.
A simulated record is cut at the same share as the measured one, so that neither is held to have
been a calm or a windy spell of its climate.
"""

from dataclasses import dataclass

import numpy as np
from published import column, read_published, unix_s

from powersim.sky.climatology import _grid as table_of
from powersim.sky.climatology import monthly_mean
from powersim.sky.wind import rayleigh_m_s, wind_quantiles

#: The mooring and the ship of ocean_wind_hourly.csv.
MOORING, SHIP = "RAMA 12N 90E", "NOAA Ship Ronald H. Brown"
CALM_BELOW_M_S = 5.0 * 1852.0 / 3600.0
#: Hours apart at which calm hours are compared, and hours over which their share is taken. [h]
LAGS_h, OVER_h = (1, 3, 6, 12, 24, 36, 48), (24, 72, 168)


def measured_wind(platform):
    """Hours since 1970 that were measured, and the wind in them. [h], [m/s]"""
    rows = [row for row in read_published("ocean_wind_hourly.csv") if row["platform"] == platform]
    hour = np.array([round(unix_s(row["time_utc"]) / 3600.0) for row in rows])
    return hour, np.array(column(rows, "wind_m_s"))


def calmest(wind, share):
    """Which hours of each column are the calmest so many of all."""
    rank = wind.argsort(axis=0, kind="stable").argsort(axis=0, kind="stable")
    return rank < round(share * len(wind))


@dataclass(frozen=True, kw_only=True)
class CalmFigures:
    """How calm hours hang together in some records, each figure the mean over the records.

    Spells are runs of calm hours; over a gap in the record they go on.
    """

    share: float
    spells: float
    mean_h: float
    median_h: float
    deviation: tuple[float, ...]
    correlation: tuple[float, ...]

    def apart(self, other):
        """Root mean square of the differences that the constants are fitted to."""
        mine, theirs = (
            np.array([*one.deviation, *one.correlation, 0.2 * np.log(one.mean_h)])
            for one in (self, other)
        )
        return float(np.sqrt(np.mean((mine - theirs) ** 2)))


def figures_of(hour, calm):
    """CalmFigures of calm hours, shape (hours, records), measured at the same hours."""
    calm = calm.reshape(len(hour), -1)
    lengths = [_lengths(one) for one in calm.T]
    return CalmFigures(
        share=calm.mean(),
        spells=np.mean([len(one) for one in lengths]),
        mean_h=calm.sum() / sum(len(one) for one in lengths),
        median_h=np.mean([np.median(one) for one in lengths if len(one)]),
        deviation=tuple(_deviation(calm, hours) for hours in OVER_h),
        correlation=tuple(_correlation(hour, calm, lag) for lag in LAGS_h),
    )


def _lengths(calm):
    edges = np.flatnonzero(np.diff(np.concatenate([[0], calm.astype(int), [0]])))
    return edges[1::2] - edges[::2]


def _deviation(calm, hours):
    """Of the share of calms in so many measured hours, within a record."""
    whole = len(calm) // hours
    shares = calm[: whole * hours].reshape(whole, hours, -1).mean(axis=1)
    return float(shares.std(axis=0, ddof=1).mean())


def _correlation(hour, calm, lag):
    """With the calm hours so much later, over gaps."""
    later = np.searchsorted(hour, hour + lag).clip(max=len(hour) - 1)
    both = hour[later] == hour + lag
    now, then = (calm[at] - calm[at].mean(axis=0) for at in (both, later[both]))
    spread = np.sqrt((now**2).sum(axis=0) * (then**2).sum(axis=0))
    return float(np.mean((now * then).sum(axis=0)[spread > 0] / spread[spread > 0]))


def share_at_the_mooring():
    """Share of the mooring's hours below 5 knots."""
    return float((measured_wind(MOORING)[1] < CALM_BELOW_M_S).mean())


def table(platform, records=200):
    """Lines of the table in docs/model/wind_and_calms.md: measured, and in the model's members."""
    share = share_at_the_mooring()
    hour, wind_m_s = measured_wind(platform)
    members = wind_quantiles(
        first_hour=int(hour[0]), hours=int(hour[-1] - hour[0]) + 1, seed=1, members=records
    )
    measured = figures_of(hour, calmest(wind_m_s, share))
    model = figures_of(hour, calmest(members[hour - hour[0]], share))
    lines = ["| | measured | model |", "| --- | --- | --- |"]

    def line(what, digits, figure, *at):
        values = (getattr(one, figure) for one in (measured, model))
        cells = (f"{value[at[0]] if at else value:.{digits}f}" for value in values)
        lines.append(f"| {what} | {' | '.join(cells)} |")

    line("spells of calm", 0, "spells")
    line("their mean length, h", 1, "mean_h")
    line("their median length, h", 1, "median_h")
    for place, span in enumerate(("a day", "three days", "a week")):
        line(f"deviation of the share of {span}", 2, "deviation", place)
    for lag in (1, 6, 24, 48):
        line(f"correlation {lag} h apart", 2, "correlation", LAGS_h.index(lag))
    return lines


#: Where the platforms were, and how high their anemometers. [deg], [deg], [m]
_PLACES = {MOORING: (12.0, 90.0, 4.0), SHIP: (14.5, -55.0, 18.0)}
#: Roughness of the sea by which wind at one height is turned into that at another; common
#: practice, no source. [m]
_ROUGHNESS_m = 1e-4


def over_the_table(platform, over_h=None):
    """Measured means of the wind at 10 m, each so many hours long, over the climatology's."""
    lat_deg, lon_deg, height_m = _PLACES[platform]
    hour, wind_m_s = measured_wind(platform)
    at_10_m = wind_m_s * np.log(10.0 / _ROUGHNESS_m) / np.log(height_m / _ROUGHNESS_m)
    place = {"lat_deg": np.full(len(hour), lat_deg), "lon_deg": np.full(len(hour), lon_deg)}
    (usual_m_s,) = monthly_mean("wind_m_s", **place, utc_s=3600.0 * hour)
    over_h = over_h or len(hour)
    return [
        at_10_m[first : first + over_h].mean() / usual_m_s[first : first + over_h].mean()
        for first in range(0, len(hour) - over_h + 1, over_h)
    ]


def means_band(days, members=1000):
    """Where 8 in 10 of the model's means over so many days lie, as a share of the month's mean."""
    wind = wind_quantiles(first_hour=496_000, hours=24 * days, seed=1, members=members)
    return np.quantile(rayleigh_m_s(1.0, wind).mean(axis=0), [0.1, 0.9])


def roughness_of_the_table():
    """How far the climatology's months of wind are from a smooth year, at sea of 60 S to 60 N.

    Standard deviation about a mean and two harmonics, as a share of the wind: twelve months less
    the five constants. The table was made of one composed year, so that it keeps part of it.
    """
    month = 2.0 * np.pi * np.arange(12) / 12.0
    waves = [np.ones(12), *(of(k * month) for k in (1, 2) for of in (np.cos, np.sin))]
    smooth = np.stack(waves, axis=1)
    log_wind = np.log(table_of("wind_m_s")[:, 12:60].reshape(12, -1))
    rest = log_wind - smooth @ np.linalg.pinv(smooth) @ log_wind
    return float(np.sqrt((rest**2).sum(axis=0) / 7.0).mean())


def calm_hours_band(days, share=0.1, members=2000):
    """Calm hours in so many days at sea of which that share is calm: 1 in 10 below, mean, above."""
    wind = wind_quantiles(first_hour=496_000, hours=24 * days, seed=1, members=members)
    calm_h = (wind < share).sum(axis=0)
    low, high = np.quantile(calm_h, [0.1, 0.9])
    return float(low), float(calm_h.mean()), float(high)
