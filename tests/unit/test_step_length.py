"""No answer hangs on the length of the steps: the demo and its engine at all of them."""

from dataclasses import replace
from datetime import timedelta

import pytest

from powersim.api import load
from powersim.inputs.starter import demo_files
from powersim.simulation.prepare import prepare
from powersim.simulation.result import simulate

MINUTES = (5, 15, 20, 30)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    for name, text in demo_files().items():
        (folder / name).write_text(text, encoding="utf-8")
    return load(folder)


@pytest.fixture(scope="module")
def summaries(demo):
    return [simulate(demo, step_h=minutes / 60.0).summary for minutes in MINUTES]


def spread(summaries, part, name):
    values = [summary["average"][part][name] for summary in summaries]
    return max(values) - min(values)


def test_the_lowest_charge_and_the_verdict_are_the_same_at_every_step(summaries):
    """Half a point is what a sailor could not tell; it was four between 15 and 20 minutes."""
    assert spread(summaries, "charge", "lowest_soc") < 0.005
    assert spread(summaries, "charge", "soc_at_landfall") < 0.005
    assert {summary["holds"] for summary in summaries} == {True}
    lowest = {
        summary["average"]["charge"]["lowest_soc_at"]["time_utc"][:13] for summary in summaries
    }
    assert len(lowest) == 1


def test_so_are_the_engines_hours_runs_and_litres(summaries):
    assert spread(summaries, "engine", "charging_h") < 0.02 * 18.0
    assert spread(summaries, "fuel", "charging_L") < 0.02 * 11.0
    assert spread(summaries, "engine", "motoring_h") < 1e-9
    assert spread(summaries, "engine", "charging_runs") == 0


@pytest.mark.parametrize("minutes", [15, 20, 60])
def test_what_the_bank_has_no_part_in_is_worked_out_alike(demo, minutes):
    """Every five minutes, and averaged: a step's mean is the mean of those within it."""
    fine = prepare(demo, step_h=1.0 / 12.0).signals
    coarse = prepare(demo, step_h=minutes / 60.0).signals
    per_step = minutes // 5
    for name in ("load_A", "load_W", "motoring", "ordered"):
        values = getattr(fine, name)
        means = values.reshape(-1, per_step, *values.shape[1:]).mean(axis=1)
        assert getattr(coarse, name) == pytest.approx(means)


def test_hours_that_open_and_close_within_a_step_do_so_at_their_time(demo):
    """08:00 to 20:00 by ship's time, left at 09:00 UTC less one hour: on the hour. Half an hour
    later the steps of an hour begin at half past, and the hours open half an hour after.
    """
    later = replace(demo, depart_utc=demo.depart_utc + timedelta(minutes=30))
    for passage, expected_h in ((demo, 0.0), (later, 0.5)):
        signals = prepare(passage, step_h=1.0).signals
        opening = signals.may_run[1:, 0] & ~signals.may_run[:-1, 0]
        assert signals.opens_h[1:, 0][opening] == pytest.approx(expected_h)
        closing = signals.may_run[:-1, 0] & ~signals.may_run[1:, 0]
        assert signals.closes_h[:-1, 0][closing] == pytest.approx(1.0 - expected_h)
