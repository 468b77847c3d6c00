"""What is left of a passage for a boat that drifts through a stop at sea."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from builders import passage_of

from powersim.logbook import forecast
from powersim.records import Waypoint
from powersim.simulation.prepare import prepare

#: Twelve hours hove-to on the way south at 5 knots, after a degree of latitude in 12 hours.
STOP_H = 12.0


def left_of(state, *, south_nm, now_h, monkeypatch):
    """The waypoint that the rest begins at, for a fix so far beyond the stop."""
    stop = {"stop_h": STOP_H, "stop_state": state}
    waypoints = (
        Waypoint(name="start", lat_deg=46.0, lon_deg=-20.0, speed_kn=5.0),
        Waypoint(name="stop", lat_deg=45.0, lon_deg=-20.0, speed_kn=5.0, **stop),
        Waypoint(name="end", lat_deg=43.0, lon_deg=-20.0),
    )
    passage = replace(passage_of(), waypoints=waypoints)
    fix = 45.0 - south_nm / 60.0, -20.0
    monkeypatch.setattr(forecast, "where", lambda posterior: fix)
    now = SimpleNamespace(soc=np.array([0.8]), left_L=np.array([50.0]))
    posterior = SimpleNamespace(
        passage=passage, prepared=prepare(passage, step_h=1.0), until_h=now_h, now=now
    )
    begin = forecast.rest_of(posterior).waypoints[0]
    assert begin.lat_deg == fix[0]
    return begin


@pytest.mark.parametrize(
    ("state", "south_nm", "left_h"),
    [
        ("anchored", 0.0, 8.0),
        ("hove-to", 0.0, 8.0),
        ("hove-to", 6.0, 8.0),  # 1.5 knots for four hours
        ("drifting", 6.0, 8.0),
        ("anchored", 6.0, 0.0),  # she has left
        ("hove-to", 20.0, 0.0),  # nobody drifts at 5 knots
    ],
)
def test_a_boat_that_drifts_is_still_waiting(state, south_nm, left_h, monkeypatch):
    """By hand: 60 nm at 5 kn are 12 h, and of 12 h 4 are spent at hour 16."""
    begin = left_of(state, south_nm=south_nm, now_h=16.0, monkeypatch=monkeypatch)
    assert begin.stop_h == pytest.approx(left_h, abs=1.01)  # whole steps of an hour
    assert (begin.stop_h == 0.0) is (left_h == 0.0)


def test_a_stop_that_is_over_by_the_plan_leaves_no_drift(monkeypatch):
    begin = left_of("hove-to", south_nm=6.0, now_h=25.0, monkeypatch=monkeypatch)
    assert begin.stop_h == 0.0
