"""Files that know of the sky: which goes first, which are left out, and who still differs."""

from array import array
from dataclasses import replace

import numpy as np
import pytest
from builders import passage_of

from powersim.errors import InputError, Problem
from powersim.records import Forecast, ForecastField, Grid, Irradiance
from powersim.report.sky_text import sky_lines
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.prepare import prepare
from powersim.simulation.result import simulate
from powersim.sky.weather_files import span_of

PASSAGE = passage_of()  # 40 N, three days from 5 September 2026, 9 h UTC
DEPART_S = PASSAGE.depart_utc.timestamp()
HOUR_S = 3600.0


def light(*, from_h=0.0, hours=24, ghi_W_m2=200.0):
    """Hours of one steady light, from some time after departure."""
    start_s = DEPART_S + from_h * HOUR_S
    return Irradiance(
        file="light.csv",
        start_utc_s=array("d", [start_s + hour * HOUR_S for hour in range(hours)]),
        step_s=HOUR_S,
        ghi_W_m2=array("d", [ghi_W_m2] * hours),
    )


def forecast(*, lat_deg=(20.0, 50.0), from_h=0.0, to_h=12.0, cloud_frac=1.0):
    """Overcast, or some other cloud, about 30 W for some hours after departure."""
    grid = Grid(lat_deg=np.array(lat_deg), lon_deg=np.array([-50.0, -10.0]))
    field = ForecastField(
        run_utc_s=DEPART_S,
        from_utc_s=DEPART_S + from_h * HOUR_S,
        to_utc_s=DEPART_S + to_h * HOUR_S,
        grid=grid,
        values=np.full((2, 2), cloud_frac),
    )
    return Forecast(file="tuesday.grib2", cloud=(field,))


def test_a_forecast_goes_before_a_measurement():
    prepared = prepare(replace(PASSAGE, forecast=forecast(), irradiance=light()), step_h=1.0)
    alone = prepare(replace(PASSAGE, forecast=forecast()), step_h=1.0)
    measured = prepare(replace(PASSAGE, irradiance=light()), step_h=1.0)
    assert [one.kind for one in prepared.files] == ["forecast", "irradiance"]
    both, first, second = (one.sky.ghi_W_m2 for one in (prepared, alone, measured))
    assert both[:12] == pytest.approx(first[:12])
    assert np.abs(both[:9] - second[:9]).max() > 20.0
    # While the forecast fades, over a day, it gives way to the measurement and not to the mean.
    fading = alone.sky.open_frac[12:24]
    assert prepared.sky.open_frac[12:24] == pytest.approx(np.zeros(12))
    assert fading.min() > 0.0


def test_what_a_file_knows_is_the_same_in_all_members():
    passage = replace(PASSAGE, irradiance=light())
    prepared = prepare(passage, step_h=1.0)
    shares = draw_ensemble(passage, prepared, members=5, seed=1).light(slice(0, 72))
    known = np.ptp(shares[:24], axis=1)
    assert known == pytest.approx(np.zeros(24), abs=1e-12)
    assert np.ptp(shares[25:36], axis=1).max() > 0.05


def test_every_file_that_does_not_cover_the_boat_is_named():
    passage = replace(
        PASSAGE, forecast=forecast(lat_deg=(-50.0, -20.0)), irradiance=light(from_h=999.0)
    )
    with pytest.raises(InputError) as caught:
        prepare(passage)
    assert str(caught.value) == (
        "tuesday.grib2: does not cover the boat's place: it covers 50.0 S 50.0 W to 20.0 S 10.0 W; "
        "on 2026-09-05 09:00 UTC the boat is at 40.0 N 30.0 W\n"
        "  expected  a forecast for the waters and the days of the passage\n"
        "light.csv: has no light for this passage: it runs from 2026-10-17 00:00 UTC to 2026-10-18 "
        "00:00 UTC\n"
        "  expected  some hours of 2026-09-05 09:00 UTC to 2026-09-08 09:00 UTC"
    )


def test_a_file_that_is_no_use_is_left_out_if_the_sailor_says_so():
    passage = replace(
        PASSAGE,
        forecast=forecast(lat_deg=(-50.0, -20.0)),
        irradiance=light(),
        or_climatology=True,
        left_out=(Problem(file="monday.grib2", text="is empty"),),
    )
    prepared = prepare(passage)
    assert [one.file for one in prepared.files] == ["light.csv"]
    assert [problem.file for problem in prepared.left_out] == ["monday.grib2", "tuesday.grib2"]
    assert np.array_equal(
        prepared.sky.ghi_W_m2, prepare(replace(PASSAGE, irradiance=light())).sky.ghi_W_m2
    )


def test_from_when_to_when_a_file_counts():
    prepared = prepare(replace(PASSAGE, irradiance=light(from_h=3.0)), step_h=1.0)
    span = span_of(prepared.files[0].known, prepared.sun_track)
    assert span == (DEPART_S + 3 * HOUR_S, DEPART_S + 27 * HOUR_S)


def test_the_summary_and_the_page_say_what_was_taken_for_the_sky():
    passage = replace(
        PASSAGE,
        forecast=forecast(to_h=12.0),
        left_out=(Problem(file="light.csv", text="is empty"),),
    )
    summary = simulate(passage).summary
    one = summary["sky"]["files"][0]
    assert (one["from_utc"], one["until_utc"]) == (
        "2026-09-05T09:00:00+00:00",
        "2026-09-05T21:00:00+00:00",
    )
    # One afternoon in full and a day that fades, of three days.
    assert 0.2 < one["light_frac"] < 0.5
    assert sky_lines(summary) == [
        (
            "forecast",
            "tuesday.grib2, Sat 5 Sep 09:00 to Sat 5 Sep 21:00 UTC, then fades into the month's "
            "mean over a day",
        ),
        ("left out", "light.csv: is empty"),
    ]
    assert sky_lines(simulate(PASSAGE).summary) == []


@pytest.mark.parametrize("step_h", [0.25, 1.0])
def test_a_single_moment_changes_the_hours_that_the_page_names_and_no_others(step_h):
    """Overcast at 15:20 UTC: said for three hours before and after, then fading for 24 hours."""
    at_h = 6.0 + 1.0 / 3.0
    passage = replace(PASSAGE, forecast=forecast(from_h=at_h, to_h=at_h))
    grey, usual = (prepare(one, step_h=step_h) for one in (passage, PASSAGE))
    hours = (grey.sun_track.mid_utc_s - DEPART_S) / HOUR_S
    share = grey.sun_sky.ghi_W_m2 / np.maximum(usual.sun_sky.ghi_W_m2, 1e-9)
    lit = usual.sun_sky.ghi_W_m2 > 10.0
    full = (hours > at_h - 3.0) & (hours < at_h + 3.0)
    fading = (hours > at_h + 3.0) & (hours < at_h + 27.0)
    clear_W_m2 = grey.sun_sky.clear_ghi_W_m2
    # An overcast sky lets a quarter of the light through, by Kasten and Czeplak.
    assert grey.sun_sky.ghi_W_m2[full & lit] == pytest.approx(0.25 * clear_W_m2[full & lit])
    assert (share[fading & lit] < 0.999).all()
    assert share[~full & ~fading & lit] == pytest.approx(1.0)
    ((_, said),) = sky_lines(simulate(passage, step_h=step_h).summary)
    assert said == (
        "tuesday.grib2, Sat 5 Sep 12:20 to Sat 5 Sep 18:20 UTC, then fades into the month's mean "
        "over a day"
    )


def test_a_grey_forecast_lowers_the_sun_of_its_hours_alone():
    usual, grey = (simulate(one) for one in (PASSAGE, replace(PASSAGE, forecast=forecast())))
    day = slice(0, 12)
    assert grey.hourly["solar_Ah"].iloc[day].sum() < 0.6 * usual.hourly["solar_Ah"].iloc[day].sum()
    last = slice(40, 72)
    assert grey.prepared.sky.ghi_W_m2[4 * 40 :] == pytest.approx(
        usual.prepared.sky.ghi_W_m2[4 * 40 :]
    )
    assert grey.hourly["solar_Ah"].iloc[last].sum() > 0
