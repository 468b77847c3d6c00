"""A rule's levels as someone keeps them who misreads the bank, by hand."""

import math
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of
from scipy.stats import kstest

from powersim.kernel.readings import seeming_soc
from powersim.physics.rest import surface_V
from powersim.physics.voltage import emf_V
from powersim.records import Load, battery_of
from powersim.simulation import reading_parts
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.member_banks import draw_banks
from powersim.simulation.plant import rule_of
from powersim.simulation.prepare import prepare
from powersim.simulation.reading import (
    SOCS,
    Misreading,
    anew_soc,
    as_read,
    by_counter,
    by_volts,
    errors_anew,
    read_exactly,
    surface_by_step_V,
    told_V,
)
from powersim.simulation.state import start_state
from powersim.simulation.usual_load import load_A, mean_load_A, usual_load_A

RULE = rule_of(boat_of(charging={"start_soc": 0.55, "stop_soc": 0.80}))


def read_by(reading, chemistry="flooded", **given):
    return replace(battery_of(chemistry, capacity_Ah=100.0, **given), reading=reading)


def wrong_by(*errors, per_day=0.0):
    """Some who read so much too much, whatever the bank holds, and more for each day."""
    errors = np.array(errors)
    return Misreading(
        seems_soc=SOCS[:, None] + errors, drift_per_h=np.zeros(len(errors)) + per_day / 24.0
    )


#: Three who read 10 % too much, nothing wrong, and 10 % too little.
THREE = wrong_by(0.10, 0.0, -0.10)


def prepared_of(reading="volts", *, days=1.0, sea=(), **given):
    """A day at sea, with the bank read before dawn and before the night."""
    charging = {"read_at_h": (6.0, 18.0), "start_soc": 0.6, "stop_soc": None, "run_h": 2.0}
    boat = boat_of(charging=charging, **given)
    boat = replace(boat, battery=replace(boat.battery, reading=reading))
    return prepare(passage_of(boat=boat, days=days, ship_offset_h=-2.0, **dict(sea)), step_h=1.0)


def banks_of(prepared, members, **given):
    """Banks like the middle one but for what is given."""
    ones = np.ones(members)
    drawn = draw_banks(prepared.passage.boat.battery, seed=1, members=members)
    alike = {"offset_V": 0.0 * ones, "slope": ones, "resistance": ones, "capacity": ones}
    return replace(drawn, **(alike | {name: np.array(of) for name, of in given.items()}))


def test_who_reads_too_much_starts_the_engine_too_late():
    """Reading 10 % more than there is, 55 % shows where 45 % are left; the other way about, where
    65 % are. A run is stopped by the minute hand, so that 80 % stay as they are.
    """
    found = as_read(RULE, read_by("volts"), misread=THREE)
    assert found.start_soc == pytest.approx([0.45, 0.55, 0.65])
    assert found.stop_soc == 0.80


def test_a_monitor_that_reads_too_much_also_stops_too_early():
    """80 % show where 70 % are there, and where 90 % are."""
    found = as_read(RULE, read_by("monitor"), misread=THREE)
    assert found.start_soc == pytest.approx([0.45, 0.55, 0.65])
    assert found.stop_soc == pytest.approx([0.70, 0.80, 0.90])


def test_nobody_lets_a_bank_run_flat_for_a_needle_nor_charges_a_full_one():
    """Flat is 20 %. 50 % too much would start at 5 % and stop at 30 %; 50 % too little at 105 %,
    above the stop, and stop at 130 %.
    """
    far = wrong_by(0.50, -0.50)
    by_needle = as_read(RULE, read_by("volts"), misread=far)
    assert by_needle.start_soc == pytest.approx([0.20, 0.80])
    by_monitor = as_read(RULE, read_by("monitor"), misread=far)
    assert by_monitor.start_soc == pytest.approx([0.20, 0.80])
    assert by_monitor.stop_soc == pytest.approx([0.30, 1.00])


def test_a_rule_that_never_starts_the_engine_is_not_misread():
    never = rule_of(boat_of(charging={"by_engine": False}))
    assert as_read(never, read_by("volts"), misread=THREE) is never


def test_who_reads_exactly_keeps_the_rule():
    found = as_read(RULE, read_by("monitor"), misread=read_exactly(2))
    assert (found.start_soc, found.stop_soc) == (
        pytest.approx([0.55, 0.55]),
        pytest.approx([0.80, 0.80]),
    )


def test_a_counter_errs_the_more_the_longer_it_is_since_the_bank_was_full():
    """1 % a day too much: three days after a full charge 58 % show where 55 % are left. It goes on
    until somebody goes by the volts instead, on the tenth day, or until nothing is left above flat.
    """
    found = as_read(RULE, read_by("monitor"), misread=wrong_by(0.0, per_day=0.01))
    one = replace(RULE, drift_per_h=found.drift_per_h[0], drifts_h=found.drifts_h[0])
    state = start_state(prepared_of().plant, soc=0.55)
    for days, seems in ((0.0, 0.55), (3.0, 0.58), (9.0, 0.64), (10.0, 0.65), (40.0, 0.65)):
        then = state._replace(since_full_h=24.0 * days)
        assert seeming_soc(then, soc=0.55, rule=one) == pytest.approx(seems)
    fast = as_read(RULE, read_by("monitor"), misread=wrong_by(0.0, 0.0, per_day=0.05))
    # 55 less 20 % in seven days; the other way, up to the stop at 80 %, in five.
    assert fast.drifts_h / 24.0 == pytest.approx([7.0, 7.0])
    lithium = as_read(RULE, read_by("monitor", "lifepo4"), misread=wrong_by(0.0, per_day=0.01))
    assert lithium.drifts_h == pytest.approx([24.0 * 30.0])
    slow = as_read(RULE, read_by("monitor"), misread=wrong_by(0.0, per_day=-0.05))
    assert slow.drifts_h / 24.0 == pytest.approx([5.0])


def test_a_voltmeter_does_not_drift():
    found = as_read(RULE, read_by("volts"), misread=THREE)
    assert (found.drift_per_h, found.drifts_h) == (0.0, 0.0)


def test_a_bank_that_rests_a_tenth_of_a_volt_high_is_read_as_fuller():
    """Without loads: what it seems to hold is where the middle bank has a tenth more."""
    prepared = prepare(passage_of(loads=(), days=1.0), step_h=1.0)
    found = by_volts(prepared, banks_of(prepared, 3, offset_V=[0.1, 0.0, -0.1]), more_V=0.0)
    bank = prepared.plant.bank
    for place, more_V in ((24, 0.1), (24, -0.1), (30, -0.1)):
        column = {0.1: 0, -0.1: 2}[more_V]
        seems = float(found.seems_soc[place, column])
        assert emf_V(bank, seems) == pytest.approx(emf_V(bank, float(SOCS[place])) + more_V)
    assert found.seems_soc[:, 1] == pytest.approx(SOCS)


def test_a_bank_of_twice_the_resistance_is_read_as_emptier_under_the_usual_load():
    """By once more the sag of the usual load: told are the volts less one sag."""
    prepared = prepare(passage_of(loads=(Load(name="all", draw_A=4.0),), days=1.0), step_h=1.0)
    found = by_volts(prepared, banks_of(prepared, 1, resistance=[2.0]), more_V=0.0)
    bank, place = prepared.plant.bank, 24
    sag_V = emf_V(bank, float(SOCS[place])) - told_V(prepared, float(SOCS[place]))
    seems = float(np.interp(0.6, SOCS, found.seems_soc[:, 0]))
    assert 0.02 < sag_V < 0.1
    assert told_V(prepared, seems) == pytest.approx(told_V(prepared, 0.6) - sag_V, abs=2e-4)


def test_a_counter_set_to_more_than_the_bank_has():
    """The bank has 80 % of what the counter is set to: of 80 Ah 40 are out, and the counter says 60
    of 100. Set to full with 2 % lacking it says 62.
    """
    prepared = prepared_of("monitor")
    exactly = {"efficiency": np.zeros(1), "zero_A": np.zeros(1)}
    banks = banks_of(prepared, 1, capacity=[0.8])
    for set_full, seems in ((0.0, 0.60), (0.02, 0.62)):
        found = by_counter(prepared, banks, set_full=np.array([set_full]), **exactly)
        assert found.seems_soc[SOCS == 0.5][0] == pytest.approx([seems])


def test_a_counters_drift_by_hand():
    """3 % of what the loads take, which comes back in, and 0.03 A all day; and what the bank loses
    by itself, 5 % a month.
    """
    prepared = prepared_of("monitor")
    found = by_counter(
        prepared,
        banks_of(prepared, 1),
        set_full=np.zeros(1),
        efficiency=np.array([0.03]),
        zero_A=np.array([0.03]),
    )
    a_day = 24.0 * (0.03 * mean_load_A(prepared) + 0.03) / 187.0 + 0.05 / 30.0
    assert 24.0 * found.drift_per_h == pytest.approx([a_day])


@pytest.mark.parametrize("chemistry", ["flooded", "agm"])
@pytest.mark.parametrize("reading", ["volts", "monitor"])
def test_members_err_as_the_parts_say(chemistry, reading):
    """The root of the sum of squares against 4,000 members, a week after the last full charge.

    The parts are straight lines; the members' banks are not quite. A standard error is 1 %.
    """
    prepared = prepared_of(reading, chemistry=chemistry)
    passage, bank = prepared.passage, prepared.plant.bank
    forcing = draw_ensemble(passage, prepared, members=4000, seed=5)
    battery, soc, days = passage.boat.battery, 0.6, 7.0
    errors = soc - forcing.misread.holds_soc(soc) + 24.0 * days * forcing.misread.drift_per_h
    if reading == "volts":
        bank_C = float(prepared.sky.bank_C.mean())
        load = {"load_A": usual_load_A(prepared), "bank_C": bank_C}
        parts = reading_parts.volts_parts(battery, bank, soc=soc, **load)
    else:
        used = 24.0 * mean_load_A(prepared) / bank.capacity_Ah
        parts = reading_parts.counter_parts(battery, soc=soc, days=days, used_frac_per_day=used)
    lasting = reading_parts.total_soc(parts, lasts=True)
    assert errors.std() == pytest.approx(lasting, rel=0.08)
    anew = reading_parts.total_soc(parts, lasts=False)
    assert anew_soc(prepared)[1].min() == pytest.approx(anew, rel=0.05)
    assert reading_parts.total_soc(parts) == pytest.approx(math.hypot(lasting, anew))


def test_what_the_sun_has_left_on_a_bank_goes_with_the_hours_and_the_load():
    """By hand for the step that begins two hours after the panels last gave more than was drawn."""
    prepared = prepared_of(days=2.0)
    bank, drawn_A = prepared.plant.bank, load_A(prepared)
    offered_A = prepared.signals.controllers[0].power_W[:, 0] / 12.0
    charges = offered_A > drawn_A
    last = int(np.flatnonzero(charges[:-1] & ~charges[1:])[0])
    found = surface_by_step_V(prepared)
    two = (drawn_A[last + 1] + drawn_A[last + 2]) / bank.capacity_Ah
    assert found[last + 3] == pytest.approx(surface_V(2.0, drawn_frac=two))
    # With the panels charging still, switched off for twelve minutes.
    noon = last - 2
    assert found[noon] == pytest.approx(
        surface_V(0.2, drawn_frac=0.2 * drawn_A[noon] / bank.capacity_Ah)
    )
    assert found[noon] > 10.0 * found[last + 3]


def test_a_reading_in_the_evening_errs_upwards_and_one_before_dawn_hardly():
    june = {"depart_utc": datetime(2026, 6, 5, 9, tzinfo=UTC), "loads": LOADS[:1]}
    prepared = prepared_of(days=3.0, sea=june)
    mean, sd = anew_soc(prepared)
    reads = prepared.signals.reads[:, 0]
    assert mean[reads == 1.0].max() < 0.001
    assert mean[reads == 2.0].min() > 0.01
    assert sd[reads == 2.0].min() > sd[reads == 1.0].max()


def test_a_counter_is_read_as_well_in_the_evening():
    mean, sd = anew_soc(prepared_of("monitor", days=2.0))
    assert (np.ptp(mean), np.ptp(sd), mean[0]) == (0.0, 0.0, 0.0)


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


def test_each_member_starts_the_engine_by_what_it_reads():
    """At the level at which its own bank shows the volts of the rule; the first members are the
    same for any number.
    """
    prepared = prepared_of()
    many = draw_ensemble(prepared.passage, prepared, members=40, seed=1)
    few = draw_ensemble(prepared.passage, prepared, members=7, seed=1)
    expected = np.clip(many.misread.holds_soc(0.6), 0.2, 1.0)
    assert many.plant.rule.start_soc == pytest.approx(expected)
    assert np.array_equal(few.plant.rule.start_soc, many.plant.rule.start_soc[:7])
    some = many.chosen(np.array([3, 3, 0]))
    assert np.array_equal(some.misread.holds_soc(0.6), many.misread.holds_soc(0.6)[[3, 3, 0]])
