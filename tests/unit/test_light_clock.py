"""The clock of measured light: found out from the middle of its days, or said to be untried."""

from array import array
from datetime import UTC, datetime

import numpy as np
import pytest
from builders import passage_of

from powersim.errors import InputError
from powersim.records import Irradiance, Waypoint
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.prepare import prepare
from powersim.sky.light_clock import hours_off
from powersim.sky.measured import OUT_OF_TIME_h, known_from_irradiance
from powersim.sky.sky import sky_of
from powersim.voyage.track import track_of

HOUR_S = 3600.0


def moored(lat_deg, lon_deg=-40.0, *, first="2026-06-10", days=6.0):
    here = {"lat_deg": lat_deg, "lon_deg": lon_deg}
    waypoints = (
        Waypoint(name="here", speed_kn=5.0, stop_h=24.0 * days, **here),
        Waypoint(name="still here", **here),
    )
    first_s = np.datetime64(first, "s").astype(float)
    return track_of(waypoints, depart_utc_s=first_s, step_h=0.25)


def late(track, hours, *, step_h=1.0):
    """The usual sky's light in steps of an hour, by a clock that is so many hours off."""
    per_step = round(step_h / track.step_h)
    ghi_W_m2 = sky_of(track).ghi_W_m2
    ghi_W_m2 = ghi_W_m2[: ghi_W_m2.size // per_step * per_step].reshape(-1, per_step).mean(axis=1)
    ghi_W_m2 = np.roll(ghi_W_m2, round(hours / step_h))
    return Irradiance(
        file="light.csv",
        start_utc_s=array("d", track.edge_utc_s[0] + HOUR_S * step_h * np.arange(ghi_W_m2.size)),
        step_s=HOUR_S * step_h,
        ghi_W_m2=array("d", ghi_W_m2),
    )


@pytest.mark.parametrize("lat_deg", [0.0, 50.0, -50.0])
@pytest.mark.parametrize("hours", [-3, -2, 2, 4, 12])
def test_two_hours_and_more_are_found_at_any_latitude(lat_deg, hours):
    """In June, when the night at 50 N lasts eight hours."""
    track = moored(lat_deg)
    with pytest.raises(InputError) as caught:
        known_from_irradiance(late(track, hours), track)
    when = "earlier" if hours < 0 else "later"
    if hours == 12:  # as much the one as the other
        when = "earlier" if "earlier" in str(caught.value) else "later"
    first, expected = str(caught.value).split("\n")
    said, told, rest = first.partition(f" h {when} than the sun over the boat, by the middle of ")
    assert told
    assert rest in ("5 days", "6 days")
    assert float(said.removeprefix("light.csv: its light comes ")) == pytest.approx(
        abs(hours), abs=0.15
    )
    assert expected == (
        "  expected  times in UTC, or with their offset, for example 2026-09-05 12:00-03:00, and "
        "light measured near the boat's longitude"
    )


@pytest.mark.parametrize("hours", [-1, 0, 1])
def test_an_hour_is_taken(hours):
    """As of a place 15 degrees of longitude away."""
    track = moored(50.0)
    known = known_from_irradiance(late(track, hours), track)
    assert not known.clock_untried


@pytest.mark.parametrize("hours", [-9, -4, 4, 12])
def test_of_two_days_light_in_the_boats_night_is_refused(hours):
    track = moored(30.0, first="2026-09-12", days=2.0)
    with pytest.raises(InputError) as caught:
        known_from_irradiance(late(track, hours), track)
    assert "of its light in the boat's night\n  expected  times in UTC" in str(caught.value)


def test_where_days_are_too_few_that_is_said():
    """Three hours off in June at 50 N, where that leaves little light in the night."""
    track = moored(50.0, days=2.0)
    assert known_from_irradiance(late(track, 3), track).clock_untried


def test_steps_in_which_a_day_has_no_middle_leave_the_clock_untried():
    track = moored(50.0, days=8.0)
    assert known_from_irradiance(late(track, 0, step_h=6.0), track).clock_untried
    assert not known_from_irradiance(late(track, 0, step_h=3.0), track).clock_untried


@pytest.mark.parametrize("first", [(2026, 1, 5), (2026, 6, 5)])
def test_weather_at_50_north_never_looks_like_two_hours_and_hides_them_hardly_ever(first):
    """Synthetic members, twenty times four days."""
    passage = passage_of(days=5.0, lat_deg=50.0, depart_utc=datetime(*first, tzinfo=UTC))
    prepared = prepare(passage, step_h=1.0)
    track = prepared.track
    hours = slice(0, 24 * 5)
    clear_W_m2 = prepared.sky.clear_ghi_W_m2[hours]
    share = np.asarray(draw_ensemble(passage, prepared, members=20, seed=1).light(hours))
    refused = dict.fromkeys((-3, -2, 0, 2, 3), 0)
    for member in range(20):
        for shift in refused:
            offset_h, _ = hours_off(
                track,
                mid_utc_s=track.mid_utc_s[hours],
                step_s=HOUR_S,
                light_W_m2=np.roll(share[:, member] * clear_W_m2, shift),
                clear_W_m2=clear_W_m2,
            )
            refused[shift] += abs(offset_h) > OUT_OF_TIME_h
    assert (refused[-3], refused[0], refused[3]) == (20, 0, 20)
    # Four days' middle is off by up to half an hour: found 39 or 40 of 40.
    assert refused[-2] + refused[2] >= 38


def test_too_few_whole_days_tell_nothing():
    track = moored(30.0, days=8.0)
    clear_W_m2 = sky_of(track).clear_ghi_W_m2
    given = {"step_s": HOUR_S / 4, "light_W_m2": clear_W_m2, "clear_W_m2": clear_W_m2}
    offset_h, days = hours_off(track, mid_utc_s=track.mid_utc_s, **given)
    assert (offset_h, days) == (pytest.approx(0.0), 8)
    for some, whole in ((slice(0, 3 * 96 + 40), 3), (slice(0, 0), 0)):
        part = {name: one[some] if np.ndim(one) else one for name, one in given.items()}
        assert hours_off(track, mid_utc_s=track.mid_utc_s[some], **part) == (None, whole)
