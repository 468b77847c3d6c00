"""A rule's levels as someone keeps them who misreads the bank, by hand."""

from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.records import battery_of
from powersim.simulation import ensemble_forcing
from powersim.simulation.plant import rule_of
from powersim.simulation.prepare import prepare
from powersim.simulation.reading import as_read, reading_errors
from powersim.sky import streams

RULE = rule_of(boat_of(charging={"start_soc": 0.55, "stop_soc": 0.80}))
#: Three who read 10 % too much, nothing wrong, and 10 % too little.
THREE = np.array([0.10, 0.0, -0.10])


def read_by(reading):
    return replace(battery_of("flooded", capacity_Ah=100.0), reading=reading)


def test_who_reads_too_much_starts_the_engine_too_late():
    """Reading 10 % more than there is, 55 % shows where 45 % are left; the other way about, where
    65 % are. A run is stopped by the minute hand, so that 80 % stay as they are.
    """
    found = as_read(RULE, read_by("volts"), error_frac=THREE)
    assert found.start_soc == pytest.approx([0.45, 0.55, 0.65])
    assert found.stop_soc == 0.80


def test_a_monitor_that_reads_too_much_also_stops_too_early():
    """80 % show where 70 % are there, and where 90 % are."""
    found = as_read(RULE, read_by("monitor"), error_frac=THREE)
    assert found.start_soc == pytest.approx([0.45, 0.55, 0.65])
    assert found.stop_soc == pytest.approx([0.70, 0.80, 0.90])


def test_nobody_lets_a_bank_run_flat_for_a_needle_nor_charges_a_full_one():
    """Flat is 20 %. 50 % too much would start at 5 % and stop at 30 %; 50 % too little at 105 %,
    above the stop, and stop at 130 %.
    """
    far = np.array([0.50, -0.50])
    by_volts = as_read(RULE, read_by("volts"), error_frac=far)
    assert by_volts.start_soc == pytest.approx([0.20, 0.80])
    by_monitor = as_read(RULE, read_by("monitor"), error_frac=far)
    assert by_monitor.start_soc == pytest.approx([0.20, 0.80])
    assert by_monitor.stop_soc == pytest.approx([0.30, 1.00])


def test_a_rule_that_never_starts_the_engine_is_not_misread():
    never = rule_of(boat_of(charging={"by_engine": False}))
    assert as_read(never, read_by("volts"), error_frac=THREE) is never


@pytest.fixture
def draws(monkeypatch):
    """Two members, of whom the first draws two standard deviations up, the second one down."""
    monkeypatch.setattr(streams, "normal", lambda *_, **given: np.array([[2.0, -1.0]]))


@pytest.mark.usefixtures("draws")
@pytest.mark.parametrize(
    ("reading", "errors"), [("volts", [0.20, -0.10]), ("monitor", [0.10, -0.05])]
)
def test_who_draws_high_reads_too_much(reading, errors):
    """One standard deviation is 10 % by voltmeter, 5 % by monitor (common practice, no source)."""
    assert reading_errors(read_by(reading), seed=3, members=2) == pytest.approx(errors)


def test_each_member_starts_the_engine_by_what_it_reads(monkeypatch):
    """The first reads 20 % too much, the second 10 % too little: 55 % are 35 % and 65 %."""
    monkeypatch.setattr(
        ensemble_forcing, "reading_errors", lambda *_, **given: np.array([0.20, -0.10])
    )
    passage = passage_of(boat=boat_of(charging={"start_soc": 0.55, "stop_soc": 0.80}), days=0.5)
    scenario = ensemble_forcing.draw_ensemble(
        passage, prepare(passage, step_h=1.0), members=2, seed=1
    )
    assert scenario.plant.rule.start_soc == pytest.approx([0.35, 0.65])
    assert scenario.plant.rule.stop_soc == 0.80
    assert scenario.reading_error_frac == pytest.approx([0.20, -0.10])
