"""What a generator in the water offers: by speed, and only where it is in the water."""

from types import SimpleNamespace

import numpy as np
import pytest

from powersim.physics.water_generator import water_generator_W, water_offer_W
from powersim.records import BOAT_STATES, WaterGenerator


def towed(**given):
    curve = {"speeds_kn": (2.0, 4.0, 8.0), "powers_W": (0.0, 30.0, 150.0), "wiring_frac": 0.0}
    return WaterGenerator(**curve | given)


@pytest.mark.parametrize(
    ("speed_kn", "power_W"),
    [(0.0, 0.0), (2.0, 0.0), (3.0, 15.0), (6.0, 90.0), (8.0, 150.0), (10.0, 150.0), (10.1, 0.0)],
)
def test_straight_lines_between_points_and_taken_in_when_too_fast(speed_kn, power_W):
    """By hand; it is taken in above 10 knots."""
    offered = water_generator_W(towed(), speed_kn=speed_kn, sailing=1.0, motoring=0.0)
    assert offered == pytest.approx(power_W)


def test_it_is_streamed_between_two_speeds_only_and_the_cable_takes_its_share():
    between = towed(from_kn=3.5, to_kn=6.0, wiring_frac=0.1)
    speeds_kn = np.array([3.0, 4.0, 6.0, 7.0])
    offered = water_generator_W(between, speed_kn=speeds_kn, sailing=1.0, motoring=0.0)
    assert offered == pytest.approx([0.0, 27.0, 81.0, 0.0])


@pytest.mark.parametrize(
    ("motoring", "working"), [(False, {"sailing"}), (True, {"sailing", "motoring"})]
)
def test_it_works_under_sail_under_engine_if_so_told_and_at_no_stop(motoring, working):
    """Hove-to and drifting among the stops: a boat that makes no way turns no line."""
    n_states = len(BOAT_STATES)
    track = SimpleNamespace(speed_kn=np.full(n_states, 4.0), state=np.arange(n_states))
    expected = [30.0 if state in working else 0.0 for state in BOAT_STATES]
    assert water_offer_W(towed(motoring=motoring), track=track, sky=None) == pytest.approx(expected)


def test_a_step_that_is_partly_motored_gives_its_part():
    """As in the calms of many members."""
    offered = water_generator_W(towed(), speed_kn=4.0, sailing=0.75, motoring=0.25)
    assert offered == pytest.approx(22.5)
