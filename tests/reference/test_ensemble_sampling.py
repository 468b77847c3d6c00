"""Whether chance is drawn as it should be: Monte Carlo error, and the share of calms motored.

No publication: two sets of members against each other, and drawn hours against the chance that the
climatology gives. The bounds are those that were asked for.
"""

from pathlib import Path

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.inputs.folder import load_folder
from powersim.simulation.ensemble import run_ensemble
from powersim.simulation.prepare import prepare

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"


@pytest.fixture(scope="module")
def demo():
    passage = load_folder(DEMO)
    prepared = prepare(passage)
    return prepared, [run_ensemble(passage, prepared, members=1000, seed=seed) for seed in (1, 2)]


def test_two_sets_of_a_thousand_members_agree_on_how_low_the_charge_falls(demo):
    _, (one, other) = demo
    tenths = [np.quantile(ensemble.lowest_soc, 0.1) for ensemble in (one, other)]
    assert tenths[0] == pytest.approx(tenths[1], abs=0.02)


def test_the_demo_motors_through_its_calms_as_long_as_the_climatology_says(demo):
    prepared, ensembles = demo
    track, step_h = prepared.track, prepared.track.step_h
    by_chance_h = float(track.calm_motoring_frac.sum()) * step_h
    ends_h = float(ensembles[0].motoring_h.min())  # some member has no calm that is motored
    drawn_h = np.mean([ensemble.motoring_h.mean() for ensemble in ensembles]) - ends_h
    # A passage is calm or windy as a whole, which makes the mean of 2,000 members uncertain by
    # some 5 % (one standard error).
    assert drawn_h == pytest.approx(by_chance_h, rel=0.1)


def test_over_many_calms_the_share_is_right():
    boat = boat_of(fuel={"tank_L": 2000.0, "aboard_L": 2000.0})  # so that nobody runs dry
    leg = {"motoring_calm_frac": 0.8}
    passage = passage_of(boat=boat, lat_deg=5.0, lon_deg=-25.0, days=40.0, leg=leg)
    prepared = prepare(passage, step_h=1.0)
    ensemble = run_ensemble(passage, prepared, members=4000, seed=1)
    by_chance_h = float(prepared.track.calm_motoring_frac.sum())
    # Two standard errors of 4,000 members.
    assert ensemble.motoring_h.mean() == pytest.approx(by_chance_h, rel=0.035)
