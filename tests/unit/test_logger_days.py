"""A logger's series day by day: known draws are found back, gaps are named, signs are told."""

import math
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from builders import passage_of

from powersim.logbook.logger_days import logger_days, sun_times
from powersim.logbook.logger_evidence import logger_evidence
from powersim.records import LoggerSeries, Waypoint
from powersim.simulation.prepare import prepare

#: Five days at anchor under the equator of the equinox: the sun is up for 12 h 7 min.
PASSAGE = passage_of(
    waypoints=(
        Waypoint(
            name="A", lat_deg=0.0, lon_deg=0.0, speed_kn=5.0, stop_h=120.0, stop_state="anchored"
        ),
        Waypoint(name="B", lat_deg=0.1, lon_deg=0.0),
    ),
    depart_utc=datetime(2026, 9, 20, 0, tzinfo=UTC),
)
START_s = PASSAGE.depart_utc.timestamp()


@pytest.fixture(scope="module")
def track():
    return prepare(PASSAGE, step_h=1.0).track


def series_of(*, draw_A=2.0, sun_A=10.0, days=4.0, step_s=60.0, outward=-1.0, ahead_h=0.0):
    """A steady draw, and panels that give so much from 08:00 to 16:00, in UTC."""
    times_s = START_s + np.arange(0.0, 86_400.0 * days, step_s)
    hour = (times_s - START_s) / 3600.0 % 24.0
    solar_A = np.where((hour >= 8.0) & (hour < 16.0), sun_A, 0.0)
    net_A = solar_A - draw_A
    return LoggerSeries(
        file="logger.csv",
        times_s=times_s + 3600.0 * ahead_h,
        lines=np.arange(2, len(times_s) + 2),
        volts_V=12.5 + 0.01 * net_A,
        amps_A=-outward * net_A,
        solar_A=solar_A,
    )


def whole(found):
    return [one for one in found.days if one.whole]


def days_of(series, track, **how):
    return logger_days(series, PASSAGE.boat.battery, track, **how)


def test_dawn_and_dusk_are_those_of_the_almanac(track):
    """Under the equator at the equinox: 5 h 49 min to 17 h 56 min of the sun's noon, which is 7 to
    8 min before 12:00 on these days (equation of time, from memory)."""
    dawns_s, dusks_s, noons_s = sun_times(START_s, START_s + 86_400.0, track)
    first = next(one for one in dawns_s if one > START_s)
    assert (first - START_s) / 3600.0 == pytest.approx(5.0 + 49.0 / 60.0, abs=0.04)
    dusk = next(one for one in dusks_s if one > first)
    assert (dusk - first) / 3600.0 == pytest.approx(12.0 + 7.0 / 60.0, abs=0.02)
    noon = next(one for one in noons_s if one > first)
    assert (noon - START_s) / 3600.0 == pytest.approx(12.0 - 7.0 / 60.0, abs=0.1)


def test_a_steady_draw_and_a_sun_of_eight_hours_are_found_back(track):
    """Dawn to dawn 24 h: 8 h at 10 - 2 = 8 A in are 64 Ah; 16 h at 2 A out are 32 Ah, 80 Ah of sun.

    The night lasts from an hour after dusk to dawn: 24 - 12.12 - 1 = 10.88 h, 21.8 Ah.
    """
    found = days_of(series_of(), track)
    assert found.outward_above_0 is False
    assert len(whole(found)) == 3
    for one in whole(found):
        assert one.day.in_Ah + one.night.in_Ah == pytest.approx(64.0, abs=0.2)
        assert one.day.out_Ah + one.night.out_Ah == pytest.approx(32.0, abs=0.2)
        assert one.day.solar_Ah == pytest.approx(80.0, abs=0.2)
        assert one.night.out_Ah == pytest.approx(21.8, abs=0.1)
        assert one.night_A == 2.0
        assert one.dawn_V == pytest.approx(12.48)
        assert one.night_is_quiet


def test_a_meter_that_shows_what_flows_out_as_above_0_says_the_same(track):
    found = days_of(series_of(outward=1.0), track)
    assert found.outward_above_0 is True
    assert found.days[0].night_A == 2.0
    assert whole(found)[0].night.out_Ah == pytest.approx(21.8, abs=0.1)


def test_nights_that_flow_both_ways_tell_no_sign(track):
    series = series_of()
    to_and_fro = np.where(np.arange(len(series.times_s)) % 2 == 0, 1.0, -1.0)
    found = days_of(replace(series, amps_A=to_and_fro), track)
    assert found.outward_above_0 is None
    assert math.isnan(found.days[0].night_A)
    evidence = logger_evidence(series, found, depart_utc_s=START_s)
    assert {one.kind for one in evidence.sums} == {"solar_Ah"}


def test_a_gap_is_made_up_for_if_short_and_named_if_long(track):
    """Half an hour missing of a night of 10.9 h is 5 %; five hours are 46 %."""
    series = series_of()
    hours = (series.times_s - START_s) / 3600.0

    def without(start_h, end_h):
        kept = (hours < start_h) | (hours > end_h)
        names = ("times_s", "lines", "volts_V", "amps_A", "solar_A")
        return replace(series, **{name: getattr(series, name)[kept] for name in names})

    short = days_of(without(22.0, 22.5), track).days[1].night
    assert short.covered_frac == pytest.approx(1.0 - 0.5 / 10.9, abs=0.01)
    assert short.whole
    assert short.out_Ah == pytest.approx(21.8, abs=0.2)
    long = days_of(without(21.0, 26.0), track).days[1].night
    assert long.covered_frac == pytest.approx(1.0 - 5.0 / 10.9, abs=0.01)
    assert not long.whole


def test_a_clock_of_the_ship_is_found_by_the_sun(track):
    """The panels' middle is at 12:00, some minutes after the sun's noon; with the clock 3 h ahead
    it seems to be at 15:00."""
    found = days_of(series_of(ahead_h=3.0), track)
    assert found.off_noon_h == pytest.approx(3.1, abs=0.1)
    assert found.clock_is_off
    assert logger_evidence(series_of(), found, depart_utc_s=START_s).sums == ()
    right = days_of(series_of(ahead_h=3.0), track, ahead_h=3.0)
    assert right.off_noon_h == pytest.approx(0.1, abs=0.1)
    assert not right.clock_is_off


def test_nights_are_what_loads_took_and_days_what_the_bank_gained(track):
    """The day from dawn to an hour after dusk: 64 Ah in, 5.1 h at 2 A out: 53.8 Ah more."""
    series = series_of()
    evidence = logger_evidence(series, days_of(series, track), depart_utc_s=START_s)
    kinds = [one.kind for one in evidence.sums]
    assert kinds == ["net_Ah", "loads_Ah", "solar_Ah"] * 3 + ["net_Ah", "solar_Ah"]
    day, night, sun = (evidence.sums[k] for k in (0, 1, 2))
    assert day.value == pytest.approx(53.8, abs=0.3)
    assert night.value == pytest.approx(21.8, abs=0.1)
    assert sun.value == pytest.approx(80.0, abs=0.2)
    assert (day.at_h, night.since_h) == (pytest.approx(night.since_h), pytest.approx(18.9, abs=0.1))
    # A shunt 1 % too high, or one that shows 0.05 A at no current, moves both ways at once.
    assert day.lasting_sds == pytest.approx((0.538, 0.05 * (day.at_h - day.since_h)), abs=0.01)
    assert night.lasting_sds == pytest.approx((0.218, -0.05 * 10.9), abs=0.01)
    assert night.sd > math.hypot(*night.lasting_sds)
    assert [reading.entry.voltage_V for reading in evidence.readings] == [12.48] * 3
    assert evidence.readings[0].entry.current_A == -2.0


def test_what_was_logged_before_departure_is_no_evidence(track):
    series = series_of()
    evidence = logger_evidence(
        series, days_of(series, track), depart_utc_s=START_s + 2.0 * 86_400.0
    )
    assert [one.kind for one in evidence.sums][:3] == ["net_Ah", "loads_Ah", "solar_Ah"]
    assert min(one.since_h for one in evidence.sums) == pytest.approx(5.8, abs=0.1)
    assert len(evidence.sums) == 5


def test_rest_is_counted_back_from_dawn(track):
    """C20/50 of 220 Ah is 4.4 A: 6 A are no rest, 2 A are."""
    assert whole(days_of(series_of(draw_A=6.0), track))[0].resting_h == 0.0
    quiet = whole(days_of(series_of(), track))[0]
    # From 16:00 to the next dawn at 5:49: 13.8 h, in tens of minutes.
    assert quiet.resting_h == pytest.approx(13.8, abs=0.2)


def test_where_the_sun_does_not_rise_there_is_no_day():
    polar = passage_of(
        waypoints=(
            Waypoint(name="A", lat_deg=80.0, lon_deg=0.0, speed_kn=0.2),
            Waypoint(name="B", lat_deg=80.4, lon_deg=0.0),
        ),
        depart_utc=datetime(2026, 12, 10, 0, tzinfo=UTC),
    )
    track = prepare(polar, step_h=1.0).track
    start_s = polar.depart_utc.timestamp()
    series = series_of()
    series = replace(series, times_s=series.times_s - START_s + start_s)
    assert days_of(series, track).days == ()
