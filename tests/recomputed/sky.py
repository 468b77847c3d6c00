"""docs/model/track-and-sky.md: where she is, where the sun stands, what light comes down."""

from __future__ import annotations

from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pvlib
from geographiclib.geodesic import Geodesic

STEP_h = 1.0 / 12.0  # sun and loads are worked out every 5 minutes
SUNSET_deg = -50.0 / 60.0


# Track -------------------------------------------------------------------------------------------


class Route:
    """Waypoints by the clock: great circles at each leg's speed, stops between them."""

    def __init__(self, waypoints):
        self.waypoints = waypoints
        self.lines = [
            Geodesic.WGS84.InverseLine(a.lat_deg, a.lon_deg, b.lat_deg, b.lon_deg)
            for a, b in pairwise(waypoints)
        ]
        self.takes_h = [
            line.s13 / 1852.0 / w.speed_kn for line, w in zip(self.lines, waypoints, strict=False)
        ]
        stops_h = np.array([w.stop_h for w in waypoints])
        self.reached_h = np.concatenate([[0.0], np.cumsum(stops_h[:-1] + self.takes_h)])
        self.left_h = self.reached_h + stops_h
        self.steps = round(np.ceil(self.left_h[-1] - 1e-9) / STEP_h)  # of whole hours, the last too

    def of_waypoint(self, name, at):
        """What the route's lines say, at some of them."""
        return np.array([getattr(w, name) for w in self.waypoints])[at]

    def leg_at(self, at_h):
        """The waypoint last reached, and whether she is on the way from it."""
        leg = np.searchsorted(self.reached_h, at_h, side="right") - 1
        return leg, (at_h >= self.left_h[leg]) & (leg < len(self.lines))

    def place_at(self, at_h):
        """Latitude, longitude, course; at rest that of the leg to come, at last as she came."""
        leg = np.minimum(self.leg_at(at_h)[0], len(self.lines) - 1)
        gone_h = np.clip(at_h - self.left_h[leg], 0.0, np.array(self.takes_h)[leg])
        gone_m = gone_h * self.of_waypoint("speed_kn", leg) * 1852.0
        lines = (self.lines[i] for i in leg.tolist())
        here = [line.Position(m) for line, m in zip(lines, gone_m.tolist(), strict=True)]
        return (np.array([place[key] for place in here]) for key in ("lat2", "lon2", "azi2"))


def track_of(route, climatology, *, start_s):
    """Place, course, state, heel and tack at the middle of every 5 minutes."""
    at_h = (np.arange(route.steps) + 0.5) * STEP_h
    lat_deg, lon_deg, course_deg = route.place_at(at_h)
    leg, under_way = route.leg_at(at_h)
    motoring = motored(route, climatology, at_h, start_s=start_s)
    stopped = route.of_waypoint("stop_state", leg)
    heel_deg = route.of_waypoint("heel_deg", leg)
    return SimpleNamespace(
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        course_deg=course_deg,
        motoring=motoring,
        state=np.where(under_way, np.where(motoring, "motoring", "sailing"), stopped),
        heel_deg=np.where(under_way & ~motoring, heel_deg, 0.0),
        tack=np.where(under_way, route.of_waypoint("tack", leg), 0),
        ship_offset_h=np.floor(lon_deg / 15.0 + 0.5),  # zone time; on a border the zone to its east
    )


def motored(route, climatology, at_h, *, start_s):
    """Steps under power: the ends of legs, and a share of the calms in spells."""
    leg, under_way = route.leg_at(at_h)
    since_h = at_h - route.left_h[leg]
    takes_h = np.append(route.takes_h, np.inf)[leg]
    end_h = takes_h - route.of_waypoint("end_h", leg)
    powered = under_way & ((since_h < route.of_waypoint("start_h", leg)) | (since_h >= end_h))
    for index, waypoint in enumerate(route.waypoints):
        free = np.flatnonzero(under_way & (leg == index) & ~powered)
        if waypoint.of_calms and free.size:
            lat_deg, lon_deg, _ = route.place_at(at_h[free])
            wind_m_s = climatology.at("wind_m_s", lat_deg, lon_deg, start_s + 3600.0 * at_h[free])
            calm = 1.0 - np.exp(-np.pi / 4.0 * (5.0 * 1852.0 / 3600.0 / wind_m_s) ** 2)
            powered[free] = spells(waypoint.of_calms * calm)
    return powered


def spells(share):
    """Spells of about three hours, each in the middle of the stretch that makes it due."""
    due = np.cumsum(share)
    count = max(1, round(due[-1] * STEP_h / 3.0))
    marks = np.round(due[-1] * np.arange(count + 1) / count).astype(int)
    cuts = [0, *np.searchsorted(due, marks[1:-1] + 1e-9, side="right"), share.size]
    powered = np.zeros(share.size, dtype=bool)
    for (begin, end), length in zip(pairwise(cuts), np.diff(marks), strict=True):
        first = (begin + end - length) // 2
        powered[first : first + length] = True
    return powered


# Sun and night -----------------------------------------------------------------------------------


#: Standard air, terrestrial less universal time, refraction at the horizon.
SPA = {"pressure": 1013.25, "temp": 12.0, "delta_t": 69.0, "atmos_refract": 0.5667}


def sun_at(lat_deg, lon_deg, utc_s):
    """SPA: heights with and without refraction, and azimuth. [deg]"""
    _, _, apparent, true, azimuth, _ = pvlib.spa.solar_position_numpy(
        utc_s, lat_deg, lon_deg, 0.0, **SPA, numthreads=1
    )
    return SimpleNamespace(apparent_deg=apparent, true_deg=true, azimuth_deg=azimuth)


def declination_deg(utc_s):
    """The sun's, seen from the middle of the earth."""
    return pvlib.spa.solar_position_numpy(utc_s, 0.0, 0.0, 0.0, **SPA, numthreads=1, sst=True)[2]


def night_frac(edge_deg, middle_deg):
    """Share of each step that is night, on straight lines from edge to middle to edge."""

    def below(start_deg, end_deg):
        lower = np.minimum(start_deg, end_deg)
        return np.clip((SUNSET_deg - lower) / np.abs(end_deg - start_deg), 0.0, 1.0)

    return 0.5 * (below(edge_deg[:-1], middle_deg) + below(middle_deg, edge_deg[1:]))


def night_h(lat_deg, declination_deg):
    """Length of the night."""
    lat, dec = np.radians(lat_deg), np.radians(declination_deg)
    cosine = (np.sin(np.radians(SUNSET_deg)) - np.sin(lat) * np.sin(dec)) / (
        np.cos(lat) * np.cos(dec)
    )
    return 24.0 - 2.0 * np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))) / 15.0


# Climatology -------------------------------------------------------------------------------------


class Climatology:
    """The bundled tables: counts by month, latitude from the south, longitude from 180 W."""

    def __init__(self, path):
        with np.load(path.with_name("second_light.npz")) as table:
            second = table["kt_x1000"] * 0.001
        with np.load(path) as table:
            self.kt = 0.5 * (table["kt_x1000"] * 0.001 + second)
            self.air_C = table["air_C_x10"] * 0.1
            self.wind_m_s = table["wind_m_s_x100"] * 0.01

    def at(self, name, lat_deg, lon_deg, utc_s):
        """Straight lines between four cells, and between the middles of months."""
        table = getattr(self, name)
        early, late, weight = between_months(utc_s)
        row, column = (lat_deg + 88.75) / 2.5, (lon_deg + 178.75) / 2.5  # from the first centres
        south, west = np.floor(row).astype(int), np.floor(column).astype(int)
        north_share, east_share = row - south, column - west

        def cell(row, column):
            months = table[:, row, column % 144]
            step = np.arange(len(utc_s))
            return (1.0 - weight) * months[early, step] + weight * months[late, step]

        return (1.0 - north_share) * (
            (1.0 - east_share) * cell(south, west) + east_share * cell(south, west + 1)
        ) + north_share * (
            (1.0 - east_share) * cell(south + 1, west) + east_share * cell(south + 1, west + 1)
        )


def between_months(utc_s):
    """The months before and after, 0 for January, and how far it is from one to the other."""
    days = pd.to_datetime(utc_s, unit="s")
    length = days.days_in_month.to_numpy()
    past = days.day.to_numpy() - 0.5 * length  # from the middle of its own month
    this = days.month.to_numpy() - 1
    before = np.where(past < 0, this - 1, this) % 12
    lengths = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])  # 2026 has no leap day
    apart = 0.5 * (lengths[before] + lengths[(before + 1) % 12])
    weight = np.where(past < 0, apart + past, past) / apart
    return before, (before + 1) % 12, weight


# Clear sky and cloud -----------------------------------------------------------------------------


def day_of_year(utc_s):
    """1.5 at the first noon of the year, UTC."""
    at = pd.to_datetime(utc_s, unit="s")
    return at.day_of_year.to_numpy() + (utc_s % 86400.0) / 86400.0


def above_W_m2(utc_s):
    """Light above the atmosphere, facing the sun: Spencer on 1366.1."""
    return pvlib.irradiance.get_extra_radiation(
        day_of_year(utc_s), solar_constant=1366.1, method="spencer"
    )


def turbidity_at(lat_deg, lon_deg, utc_s):
    """Linke turbidity of the cell of a twelfth of a degree, in which pvlib's table holds months."""
    early, late, weight = between_months(utc_s)
    months = pd.date_range("2026-01-15", periods=12, freq=pd.DateOffset(months=1), tz="UTC")
    cells, cell = np.unique(
        np.floor(np.stack([lat_deg, lon_deg]) * 12.0), axis=1, return_inverse=True
    )
    by_month = np.array(
        [
            pvlib.clearsky.lookup_linke_turbidity(months, lat, lon, interp_turbidity=False)
            for lat, lon in (cells.T + 0.5) / 12.0
        ]
    )
    cell = np.ravel(cell)
    return (1.0 - weight) * by_month[cell, early] + weight * by_month[cell, late]


def clear_W_m2(apparent_deg, turbidity, extra_W_m2):
    """On the horizontal and direct, Ineichen and Perez at sea level; height with refraction."""
    up = apparent_deg > 0.0
    zenith_deg = 90.0 - apparent_deg[up]
    airmass = pvlib.atmosphere.get_relative_airmass(zenith_deg, model="kastenyoung1989")
    clear, beam = np.zeros(len(apparent_deg)), np.zeros(len(apparent_deg))
    clear[up] = pvlib.clearsky.ineichen(
        zenith_deg, airmass, turbidity[up], altitude=0.0, dni_extra=extra_W_m2[up]
    )["ghi"]
    clear[up] *= np.exp(0.01 * np.minimum(airmass, 8.0) ** 1.8)  # Perez's factor, held at low sun
    # Direct light by Ineichen and Perez at altitude 0, and what it leaves to the sky in clean air.
    direct = extra_W_m2[up] * 0.827 * np.exp(-0.09 * airmass * (turbidity[up] - 1.0))
    most = 1.0 - (0.1 - 0.2 * np.exp(-turbidity[up])) / 0.982
    beam[up] = np.minimum(direct, most * clear[up] / np.cos(np.radians(zenith_deg)))
    return clear, beam


def split(ghi, clear, beam, apparent_deg, utc_s):
    """Erbs's direct light scaled so that a clear sky has its own."""
    erbs, erbs_of_clear = (
        pvlib.irradiance.erbs(light, 90.0 - apparent_deg, day_of_year(utc_s))["dni"]
        for light in (ghi, clear)
    )
    dni = np.zeros(len(ghi))
    lit = erbs_of_clear > 0.0
    dni[lit] = beam[lit] * np.minimum(erbs[lit] / erbs_of_clear[lit], 1.0)
    return dni, ghi - dni * np.sin(np.radians(apparent_deg))


def sky_of(waypoints, climatology, *, start_s):
    """Track and sky at the middle of every 5 minutes."""
    route = Route(waypoints)
    half_day, steps = round(12.0 / STEP_h), route.steps
    middle_h = (np.arange(-half_day, steps + half_day) + 0.5) * STEP_h
    # Before the first step and after the last she is held where these have her.
    lat_deg, lon_deg, _ = route.place_at(np.clip(middle_h, 0.5 * STEP_h, (steps - 0.5) * STEP_h))
    utc_s = start_s + 3600.0 * middle_h
    sun = sun_at(lat_deg, lon_deg, utc_s)
    extra_W_m2 = above_W_m2(utc_s)
    turbidity = turbidity_at(lat_deg, lon_deg, utc_s)
    clear, beam = clear_W_m2(sun.apparent_deg, turbidity, extra_W_m2)
    level_W_m2 = extra_W_m2 * np.maximum(np.sin(np.radians(sun.true_deg)), 0.0)

    def day_mean(values):
        """Over 24 hours about each step, the two at the ends counting half."""
        weights = np.ones(2 * half_day + 1)
        weights[[0, -1]] = 0.5
        return np.convolve(values, weights, mode="valid") / (2 * half_day)

    within = slice(half_day, half_day + steps)
    track = track_of(route, climatology, start_s=start_s)
    place = (track.lat_deg, track.lon_deg, utc_s[within])
    kt = climatology.at("kt", *place)
    share = kt * 1361.0 / 1366.1 * day_mean(level_W_m2) / day_mean(clear)
    ghi = clear[within] * share
    dni, dhi = split(ghi, clear[within], beam[within], sun.apparent_deg[within], utc_s[within])
    edge_h = np.arange(steps + 1) * STEP_h
    edge_lat_deg, edge_lon_deg, _ = route.place_at(edge_h)
    edge_sun = sun_at(edge_lat_deg, edge_lon_deg, start_s + 3600.0 * edge_h)
    air_C = climatology.at("air_C", *place)
    return track, SimpleNamespace(
        utc_s=utc_s[within],
        apparent_deg=sun.apparent_deg[within],
        azimuth_deg=sun.azimuth_deg[within],
        extra_W_m2=extra_W_m2[within],
        ghi_W_m2=ghi,
        dni_W_m2=dni,
        dhi_W_m2=dhi,
        night_frac=night_frac(edge_sun.true_deg, sun.true_deg[within]),
        night_h=night_h(track.lat_deg, declination_deg(utc_s[within])),
        air_C=air_C,
        wind_m_s=climatology.at("wind_m_s", *place),
        cabin_C=air_C + 3.0,
        bank_C=air_C + 3.0,  # in the bilge, and no cabin_temp is given
    )
