"""The passage week by week."""

from dataclasses import replace

import numpy as np
import pytest
from builders import in_average
from hand_worked import passage_of, waypoints_of, with_panels
from made_ensemble import ensemble_of
from made_ensemble import weeks_of as made_weeks

from powersim.report.kinds import SHORT_DATE
from powersim.report.weeks import weeks_of


@pytest.fixture(scope="module")
def result():
    return in_average(passage_of(boat=with_panels(), waypoints=waypoints_of(days=9)), step_h=1.0)


def test_weeks_are_those_of_the_summary(result):
    weeks = weeks_of(result)
    assert [week.place for week in weeks] == [0, 1]
    assert [str(SHORT_DATE(week.start)) for week in weeks] == ["1 May", "8 May"]
    hourly = result.hourly.iloc[:168]
    lowest = [day["lowest_soc"].min() for _, day in hourly.groupby(np.arange(168) // 24)]
    assert weeks[0].means["dawn_soc"] == pytest.approx(np.mean(lowest))
    assert weeks[0].means["light_kWh_m2"] == pytest.approx(hourly["ghi_W_m2"].sum() / 1000.0 / 7.0)
    assert weeks[0].means["night_h"] == pytest.approx(hourly["night_h"].sum() / 7.0)
    assert 0.3 < weeks[0].means["clear_frac"] < 1.0
    assert weeks[0].low_soc is None


def test_in_members_the_worst_tenth_of_each_week(result):
    hours = len(result.hourly)
    low = np.array([np.linspace(0.5, 0.6, 11), np.full(11, 0.9)])
    made = made_weeks(hours=hours, members=11, lowest_soc=low, solar_Ah=140.0, runs=4.0)
    tried = replace(result, ensemble=ensemble_of(hours=hours, members=11, weeks=made))
    weeks = weeks_of(tried)
    assert [week.low_soc for week in weeks] == pytest.approx([0.51, 0.9])
    assert [week.lowest_soc for week in weeks] == pytest.approx([0.55, 0.9])
    assert weeks[0].means["solar_Ah_per_day"] == pytest.approx(20.0)
    assert weeks[0].means["dawn_soc"] == pytest.approx(0.9)  # of the hours, which are quiet
    assert weeks[0].runs.tolist() == [4.0] * 11
    # The sky is average weather's.
    assert weeks[0].means["light_kWh_m2"] == weeks_of(result)[0].means["light_kWh_m2"]


def test_runs_of_average_weather_by_the_week_they_begin_in(result):
    weeks, runs = weeks_of(result), result.engine
    charging = runs[runs["kind"] == "charging"]
    assert sum(week.runs.item() for week in weeks) == len(charging) > 0
    charging_h = sum(week.charging_h.item() for week in weeks)
    assert charging_h == pytest.approx(charging["run_h"].sum())
