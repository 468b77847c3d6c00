"""A passage that waits at sea: what is drawn, what the panels see, and what `check` assumes."""

from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim import simulate
from powersim.inputs.loads import collect_loads, states_assumed
from powersim.records import Load, Waypoint
from powersim.simulation.prepare import prepare

#: 60 nm at 5 kn, a day's stop, 60 nm more.
STOP_H = 24.0


def waiting(state, write_file, *, heel_deg=15.0):
    """A passage with a stop in that state, its loads read from a file."""
    path = write_file(
        "loads.csv",
        "load,draw,when,role\n"
        "receiver,1 A,sailing,lookout\n"
        "pilot,4 A,sailing,pilot\n"
        "anchor light,0.25 A,anchored,anchor light\n"
        "riding drogue's strobe,0.5 A,drifting,\n",
    )
    loads, _, problems = collect_loads(path)
    assert problems == ()
    leg = {"lon_deg": -30.0, "speed_kn": 5.0, "heel_deg": heel_deg, "tack": "starboard"}
    stop = {"stop_h": STOP_H, "stop_state": state}
    waypoints = (
        Waypoint(name="A", lat_deg=31.0, **leg),
        Waypoint(name="B", lat_deg=30.0, **leg, **stop),
        Waypoint(name="C", lat_deg=29.0, lon_deg=-30.0),
    )
    return passage_of(boat=boat_of(engine=None), loads=loads, waypoints=waypoints)


def light_Wh(passage):
    """What the panels offer at the stop."""
    prepared = prepare(passage, step_h=1.0)
    return float(prepared.module_W[prepared.track.speed_kn == 0.0].sum())


@pytest.mark.parametrize(
    ("state", "drawn_A"), [("hove-to", 1.0), ("drifting", 1.5), ("anchored", 0.25), ("berthed", 0)]
)
def test_a_stop_draws_what_its_state_uses(state, drawn_A, write_file):
    """By hand: the receiver alone hove-to, with the strobe adrift; the pilot rests in both."""
    asked = prepare(waiting(state, write_file), step_h=1.0)
    at = asked.track.speed_kn == 0.0
    # 60.1 nm at 5 kn end within a step of the hour, so that the stop has 24 steps and a landfall.
    drawn = asked.demand.current_A.sum(axis=0)[at][:24]
    assert drawn == pytest.approx(np.full(24, drawn_A))


def test_the_panels_see_the_heel_hove_to_and_none_adrift(write_file):
    """Flat panels under the same sun: a lean of 15 degrees tells, and hours adrift lie level."""
    light = {
        (state, heel_deg): light_Wh(waiting(state, write_file, heel_deg=heel_deg))
        for state in ("hove-to", "drifting")
        for heel_deg in (0.0, 15.0)
    }
    assert abs(light["hove-to", 15.0] / light["hove-to", 0.0] - 1.0) > 0.005
    assert light["drifting", 15.0] == pytest.approx(light["drifting", 0.0])


def test_many_members_draw_the_same_at_the_stop(write_file):
    result = simulate(waiting("hove-to", write_file), step_h=1.0, members=4)
    assert result.ensemble.loads_Ah == pytest.approx(
        np.full(4, result.hourly["loads_Ah"].sum()), rel=0.02
    )


@pytest.mark.parametrize(
    ("state", "told"), [("hove-to", True), ("drifting", True), ("anchored", False)]
)
def test_what_is_taken_for_granted_there_is_told(state, told, write_file):
    waypoints = waiting(state, write_file).waypoints
    assumed = states_assumed("loads.csv", waypoints)
    assert [one.place for one in assumed] == [f"loads.csv when, {state}"] * told
    for one in assumed:
        assert one.value == "as under sail"
        assert "role pilot rests" in one.reason
    passed = tuple(replace(waypoint, stop_h=0.0) for waypoint in waypoints)
    assert states_assumed("loads.csv", passed) == ()


def test_a_load_without_a_line_for_its_states_is_used_in_all_of_them():
    assert {"hove-to", "drifting"} <= Load(name="lamp").states
