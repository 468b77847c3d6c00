"""What is measured of a passage is what the passage's own summary says of it."""

from dataclasses import replace

import numpy as np
import pytest
from builders import passage_of

import powersim
from powersim.planning.measures import MEASURES, measure_of, measured
from powersim.records import ChargingRule

PASSAGE = passage_of(days=3.0, leg={"motoring_calm_frac": 0.5})


@pytest.fixture(scope="module")
def result():
    ready = powersim.prepare(PASSAGE, step_h=1.0, members=6, seed=2)
    return ready.with_rule(ChargingRule(start_soc=0.9, stop_soc=0.95)).simulate()


def test_shares_are_those_of_the_verdict(result):
    found = measured(result.ensemble, result.passage.boat)
    verdict = result.summary["verdict"]
    for name in ("fails", "floor", "dark", "reserve"):
        assert found[name].dtype == bool
        assert found[name].mean() == verdict[name]["frac"]


def test_amounts_are_those_of_the_summary(result):
    found = measured(result.ensemble, result.passage.boat)
    told, usable_L = result.summary["ensemble"], result.passage.boat.fuel.usable_L

    def mean(name):
        return told[name]["mean"]

    assert mean("charging_runs") > 0.0
    expected = {
        "lowest": mean("lowest_soc"),
        # Three days are 3/7 of a week.
        "runs": mean("charging_runs") * 7.0 / 3.0,
        "engine": mean("charging_h") + mean("motoring_h"),
        "charging": mean("charging_L") + mean("alternator_motoring_L"),
        "burnt": usable_L - mean("fuel_left_L"),
        "left": mean("fuel_left_L"),
    }
    for name, value in expected.items():
        assert found[name].shape == (6,)
        assert found[name].mean() == pytest.approx(value), name
    # Nothing is left out of these two tests.
    assert set(found) == {*expected, "fails", "floor", "dark", "reserve"}


def test_a_boat_without_an_engine_has_nothing_of_it(result):
    boat = replace(PASSAGE.boat, engine=None, alternator=None, fuel=None)
    sails = replace(PASSAGE, boat=boat, waypoints=passage_of(days=3.0).waypoints)
    ensemble = powersim.simulate(sails, step_h=1.0, members=3).ensemble
    assert set(measured(ensemble, boat)) == {"fails", "floor", "dark", "lowest"}


def test_differences_are_pair_by_pair(result):
    found = measured(result.ensemble, result.passage.boat)
    amount = measure_of("left").difference(found["left"], found["left"] - 2.0)
    assert (amount.mean, amount.differing) == (pytest.approx(-2.0), 6)
    share = measure_of("dark").difference(np.arange(6) < 0, np.arange(6) < 3)
    assert share.mean == 0.5


def test_names_are_those_of_the_boats_own_fuel():
    assert measure_of("left").named(PASSAGE.boat) == "diesel left at landfall"
    assert len({one.id for one in MEASURES}) == len(MEASURES)
