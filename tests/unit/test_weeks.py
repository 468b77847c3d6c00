"""The passage week by week."""

from dataclasses import replace

import numpy as np
import pytest
from hand_worked import passage_of, waypoints_of, with_panels
from made_ensemble import ensemble_of

import powersim
from powersim.report.kinds import SHORT_DATE
from powersim.report.weeks import weeks_of


@pytest.fixture(scope="module")
def result():
    return powersim.simulate(
        passage_of(boat=with_panels(), waypoints=waypoints_of(days=9)), step_h=1.0
    )


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
    charge = np.full((hours, 11), 0.9)
    charge[100] = np.linspace(0.5, 0.6, 11)  # an hour of the first week
    tried = replace(result, ensemble=ensemble_of(hours=hours, members=11, hour_soc=charge))
    assert [week.low_soc for week in weeks_of(tried)] == pytest.approx([0.51, 0.9])
