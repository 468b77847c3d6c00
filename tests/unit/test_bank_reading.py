"""A rule's levels as someone keeps them who misreads the bank, by hand."""

from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of, passage_of
from scipy.stats import kstest

from powersim.records import battery_of
from powersim.simulation import ensemble_forcing
from powersim.simulation.plant import rule_of
from powersim.simulation.prepare import prepare
from powersim.simulation.reading import anew_sd, as_read, errors_anew, reading_errors
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


def test_at_set_times_a_part_of_the_error_stays_and_a_part_is_new():
    """10 % too much, of which 8 stay: 55 % show where 47 % are left. 6 % are new each time, and
    both together as large as before: the root of 0.64 + 0.36 is 1.
    """
    at_times = {"read_at_h": (6.0,), "start_soc": 0.55, "stop_soc": None, "run_h": 2.0}
    rule = rule_of(boat_of(charging=at_times))
    found = as_read(rule, read_by("volts"), error_frac=THREE)
    assert found.start_soc == pytest.approx([0.47, 0.55, 0.63])
    assert found.stop_soc == np.inf
    assert (anew_sd(read_by("volts")), anew_sd(read_by("monitor"))) == (0.06, 0.03)


def test_new_errors_belong_to_hours_of_the_calendar():
    """Those of later hours are the same, whenever the first was; a standard normal's moments."""
    day = errors_anew(first_hour=500_000, hours=24, seed=3, members=500)
    later = errors_anew(first_hour=500_010, hours=2, seed=3, members=7)
    assert np.array_equal(day[10:12, :7], later)
    n = day.size
    assert abs(day.mean()) < 4.0 / np.sqrt(n)
    assert abs(day.std() - 1.0) < 4.0 / np.sqrt(2 * n)
    assert kstest(day.ravel(), "norm").pvalue > 0.001
    # From one hour to the next nothing stays.
    assert abs(np.corrcoef(day[:-1].ravel(), day[1:].ravel())[0, 1]) < 4.0 / np.sqrt(n)


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
