"""Demand by hand-worked cases."""

from time import process_time
from types import SimpleNamespace

import numpy as np
import pytest

from powersim.physics.demand import GROUPS, demand_of, group_of
from powersim.physics.group_demand import group_peaks_A, group_sums
from powersim.physics.wanted_share import fridge_factor
from powersim.records import BOAT_STATES, PROTECTED_ROLES, Load, Supply, Window

MIDNIGHT_UTC_S = 1_788_566_400.0  # 2026-09-05 00:00 UTC


def track_of(*states, n=1, step_h=0.25, ship_offset_h=0.0):
    """n steps in each of the states named, from midnight UTC."""
    state = np.repeat([BOAT_STATES.index(name) for name in states], n).astype(np.int8)
    mid_h = (np.arange(len(state)) + 0.5) * step_h
    return SimpleNamespace(
        step_h=step_h,
        n_steps=len(state),
        mid_utc_s=MIDNIGHT_UTC_S + mid_h * 3600.0,
        ship_offset_h=np.full(len(state), ship_offset_h),
        state=state,
    )


def sky_of(track, *, night_frac=0.0, night_h=10.0, cabin_C=20.0):
    whole = np.ones(track.n_steps)
    return SimpleNamespace(
        night_frac=night_frac * whole, night_h=night_h * whole, cabin_C=cabin_C * whole
    )


def demand(*loads, supplies=(), track=None, **sky):
    track = track or track_of("sailing")
    return demand_of(loads, supplies, track=track, sky=sky_of(track, **sky))


def test_a_short_heavy_load_averages_to_little_and_peaks_in_full():
    """25 A for 12 min a day: 5 Ah a day, 5/24 A on the mean, 25 - 5/24 A above it while on."""
    asked = demand(Load(name="watermaker", draw_A=25.0, on_frac=None, on_h_per_day=0.2))
    assert asked.current_A == pytest.approx(np.array([[5 / 24]]))
    assert group_peaks_A(asked, at_V=11.5).max() == pytest.approx(25.0 - 5 / 24)
    assert asked.on_frac == pytest.approx(np.array([[0.2 / 24]]))


def test_time_a_day_is_spread_over_the_hours_of_a_clock_window():
    """30 min a day in 06:00-07:00 and 18:00-19:00: a quarter of each, 60 W * 0.5 h = 30 Wh."""
    track = track_of("sailing", n=24, step_h=1.0)
    window = Window(kind="clock", spans_h=((6.0, 7.0), (18.0, 19.0)))
    laptop = Load(name="laptop", draw_W=60.0, window=window, on_frac=None, on_h_per_day=0.5)
    asked = demand(laptop, track=track)
    assert np.flatnonzero(asked.power_W[0]).tolist() == [6, 18]
    assert asked.power_W[0, 6] == pytest.approx(15.0)
    assert asked.power_W.sum() * 1.0 == pytest.approx(30.0)
    # Where it cannot be on, there is nothing to peak either.
    peaks_A = group_peaks_A(asked, at_V=12.0).max(axis=0)
    assert peaks_A[6] == pytest.approx(45.0 / 12.0)
    assert peaks_A[7] == 0.0


def test_time_a_night_is_spread_over_that_nights_length():
    """2 h a day in a night of 10 h: a fifth of the dark; dark for half the step: a tenth of it."""
    radio = Load(
        name="radio", draw_A=1.0, window=Window(kind="night"), on_frac=None, on_h_per_day=2.0
    )
    assert demand(radio, night_frac=0.5).on_frac == pytest.approx(np.array([[0.1]]))


@pytest.mark.parametrize(("night_h", "on"), [(1.0, 1.0), (0.0, 1.0)])
def test_a_window_shorter_than_the_on_time_is_filled(night_h, on):
    """A night of one hour, or the last minutes of one whose day has none, cannot hold two."""
    radio = Load(
        name="radio", draw_A=1.0, window=Window(kind="night"), on_frac=None, on_h_per_day=2.0
    )
    assert demand(radio, night_frac=1.0, night_h=night_h).on_frac == pytest.approx(on)
    assert demand(radio, night_frac=0.0, night_h=night_h).on_frac == pytest.approx(0.0)


def test_the_days_own_window_is_what_the_night_leaves():
    """7 h a day of daylight that lasts 14 h: half."""
    chart = Load(
        name="chart plotter", draw_A=1.0, window=Window(kind="day"), on_frac=None, on_h_per_day=7.0
    )
    assert demand(chart, night_frac=0.0, night_h=10.0).on_frac == pytest.approx(0.5)


def test_a_load_is_on_only_in_its_own_boat_states():
    pilot = Load(
        name="pilot", draw_A=2.0, states=frozenset({"sailing"}), standby_A=0.5, on_frac=0.2
    )
    asked = demand(pilot, track=track_of(*BOAT_STATES))
    # 0.2 * 2 A + 0.8 * 0.5 A = 0.8 A under sail; not even standby elsewhere.
    elsewhere = [0.0] * (len(BOAT_STATES) - 1)
    assert BOAT_STATES[0] == "sailing"
    assert asked.current_A == pytest.approx(np.array([[0.8, *elsewhere]]))


def test_standby_fills_the_open_window_and_no_more():
    """Dark for half the step, on a tenth of the dark: on 0.05 at 4 A, standby 0.45 at 1 W, two."""
    ais = Load(
        name="ais", draw_A=4.0, standby_W=1.0, count=2, window=Window(kind="night"), on_frac=0.1
    )
    asked = demand(ais, night_frac=0.5)
    assert asked.current_A[0] == pytest.approx([0.4])
    assert asked.power_W[0] == pytest.approx([0.9])


@pytest.mark.parametrize(("cabin_C", "share"), [(25.0, 0.5), (15.0, 0.25), (5.0, 0.0), (-3.0, 0.0)])
def test_a_fridge_runs_by_the_cabins_warmth(cabin_C, share):
    """On-time times (cabin - 5) / (25 - 5): common practice, no source."""
    fridge = Load(name="fridge", draw_A=4.0, on_frac=0.5, temperature_rule="fridge")
    assert demand(fridge, cabin_C=cabin_C).current_A == pytest.approx(4.0 * share)


@pytest.mark.parametrize("cabin_C", [28.0, 32.0, 35.0, 43.0])
def test_above_25_degrees_a_fridge_works_harder_for_more_heat(cabin_C):
    """By hand from Carnot's coefficient of performance (any textbook of thermodynamics), between
    an evaporator at -10 degC, 263.15 K, and a condenser 15 degrees above the cabin: at 25 degC it
    is 263.15 / 50 = 5.26, at 35 degC 263.15 / 60 = 4.39. The heat leaks in through 20 degrees at
    25 and through 30 at 35: 30 / 20 x 5.26 / 4.39 = 1.80 times as much work.
    """
    evaporator_K = 263.15
    work = [
        (celsius - 5.0) / (evaporator_K / (celsius + 15.0 + 273.15 - evaporator_K))
        for celsius in (cabin_C, 25.0)
    ]
    fridge = Load(name="fridge", draw_A=4.0, on_frac=0.3, temperature_rule="fridge")
    asked = demand(fridge, cabin_C=cabin_C).current_A
    assert asked == pytest.approx(4.0 * 0.3 * work[0] / work[1], rel=1e-9)


def test_a_degree_more_costs_a_fridge_what_it_does_in_practice():
    """4 to 7 % for each degree about 25 degrees: common practice, no source."""
    below, above = fridge_factor(24.5), fridge_factor(25.5)
    assert 1.04 <= above / below <= 1.07


def test_a_fridge_that_is_on_all_the_time_draws_no_more():
    """70 % at 25 degC wants 126 % at 35 degC."""
    fridge = Load(name="fridge", draw_A=4.0, on_frac=0.7, temperature_rule="fridge")
    asked = demand(fridge, cabin_C=35.0)
    assert (asked.current_A, asked.on_frac) == (pytest.approx(4.0), pytest.approx(1.0))


@pytest.mark.parametrize(("cabin_C", "on"), [(14.9, 1.0), (15.0, 0.0), (25.0, 0.0)])
def test_a_heater_is_lit_below_15_degrees_and_burns_only_then(cabin_C, on):
    """8 h a day is a third of the time: 1/3 * 0.15 L/h * 2."""
    heater = Load(
        name="heater",
        draw_A=1.5,
        count=2,
        on_frac=None,
        on_h_per_day=8.0,
        temperature_rule="heater",
        fuel_L_per_h=0.15,
    )
    asked = demand(heater, cabin_C=cabin_C)
    assert asked.fuel_L_per_h == pytest.approx(0.1 * on)
    assert asked.current_A == pytest.approx(1.0 * on)


INVERTER = Supply(name="inverter", efficiency_frac=0.8, idle_W=6.0, output_V=230.0)
STEP_UP = Supply(name="19 V", efficiency_frac=0.9, output_V=19.0)


def test_a_load_on_a_supply_becomes_power_with_the_loss_named():
    """2 A at 19 V is 38 W out and 42.22 W in; on half the time, 21.11 W, 2.11 W of it lost."""
    laptop = Load(name="laptop", draw_A=2.0, on_frac=0.5, supply="19 V")
    asked = demand(laptop, supplies=(STEP_UP,))
    assert asked.names == ("laptop",)
    assert asked.current_A == pytest.approx(0.0)
    assert asked.power_W == pytest.approx(19.0 / 0.9)
    assert asked.supply_loss_W == pytest.approx(19.0 / 0.9 - 19.0)
    assert group_peaks_A(asked, at_V=12.0).max() == pytest.approx(19.0 / 0.9 / 12.0)


def test_a_supply_idles_through_its_loads_windows_on_or_not():
    """A tenth of a night of half the step: the load is on 0.05, the inverter 0.5 at 6 W."""
    kettle = Load(
        name="kettle", draw_W=800.0, window=Window(kind="night"), on_frac=0.1, supply="inverter"
    )
    mixer = Load(
        name="mixer",
        draw_W=80.0,
        states=frozenset({"anchored"}),
        supply="inverter",
        priority="essential",
    )
    asked = demand(
        kettle, mixer, supplies=(INVERTER,), track=track_of("sailing", "anchored"), night_frac=0.5
    )
    assert asked.names == ("kettle", "mixer", "inverter idle")
    assert asked.groups == ("useful", "essential", "essential")
    assert asked.power_W[2] == pytest.approx([3.0, 6.0])
    assert asked.supply_loss_W[2] == pytest.approx([3.0, 6.0])
    assert asked.on_frac[2] == pytest.approx([0.5, 1.0])
    assert asked.power_W[0] == pytest.approx([50.0, 50.0])
    assert asked.supply_loss_W[0] == pytest.approx([10.0, 10.0])


def test_a_supply_left_on_idles_all_day_also_with_nothing_on_it():
    left_on = Supply(name="inverter", idle_W=6.0, left_on=True)
    asked = demand(supplies=(left_on, STEP_UP))
    assert asked.names == ("inverter idle",)
    assert asked.groups == ("comfort",)
    assert asked.power_W == pytest.approx(6.0)


def test_a_supply_that_nothing_aboard_uses_does_not_idle():
    ashore = Load(name="drill", draw_W=300.0, count=0, supply="inverter")
    asked = demand(ashore, supplies=(INVERTER,))
    assert asked.names == ("drill",)
    assert asked.power_W == pytest.approx(0.0)


def test_the_peak_is_the_one_largest_excess_at_the_voltage_asked_for():
    """A bread maker of 300 W on 10 % is 270 W above its mean, 22.5 A at 12 V; a winch of 22 A on
    1 % is 21.78 A. At 24 V the first is only 11.25 A."""
    bread = Load(name="bread maker", draw_W=300.0, on_frac=0.1)
    winch = Load(name="winch", draw_A=22.0, on_frac=0.01)
    asked = demand(bread, winch)
    assert group_peaks_A(asked, at_V=12.0).max() == pytest.approx(22.5)
    assert group_peaks_A(asked, at_V=24.0).max() == pytest.approx(21.78)


def test_a_load_that_is_on_all_the_while_has_no_peak():
    asked = demand(Load(name="lamp", draw_A=2.0))
    assert group_peaks_A(asked, at_V=12.0).max() == 0.0


@pytest.mark.parametrize("role", PROTECTED_ROLES)
def test_what_others_see_you_by_and_you_see_them_by_is_protected(role):
    """Lights and VHF (COLREGs 1972, Rules 20 to 30), bilge pump, and a lone sleeper's lookout."""
    assert "lookout" in PROTECTED_ROLES
    assert group_of(Load(name="ais", draw_W=3.0, role=role, priority="comfort")) == "protected"


def test_groups_put_protected_loads_first_whatever_their_priority():
    loads = (
        Load(name="vhf", draw_A=1.0, role="vhf", priority="comfort"),
        Load(name="pilot", draw_A=2.0, priority="essential"),
        Load(name="plotter", draw_W=12.0, priority="useful", fuel_L_per_h=0.2),
        Load(name="music", draw_A=8.0, priority="comfort", on_frac=0.5),
        Load(name="laptop", draw_W=9.0, priority="comfort", supply="19 V"),
    )
    sums = group_sums(demand(*loads, supplies=(STEP_UP,)))
    assert GROUPS == ("protected", "essential", "useful", "comfort")
    assert sums.current_A[:, 0] == pytest.approx([1.0, 2.0, 0.0, 4.0])
    assert sums.power_W[:, 0] == pytest.approx([0.0, 0.0, 12.0, 10.0])
    assert sums.supply_loss_W[:, 0] == pytest.approx([0.0, 0.0, 0.0, 1.0])
    assert sums.fuel_L_per_h[:, 0] == pytest.approx([0.0, 0.0, 0.2, 0.0])


def test_each_group_has_a_peak_of_its_own():
    """At 11.5 V: 23 A on 10 % is 20.7 A above its mean; 230 W on half the time 115 W, 10 A; the
    lamp is on all the while. A kettle for a state that does not come has no peak."""
    loads = (
        Load(name="pump", draw_A=23.0, on_frac=0.1, role="bilge pump"),
        Load(name="winch", draw_A=5.0, on_frac=0.5, role="bilge pump"),
        Load(name="lamp", draw_A=2.0, priority="essential"),
        Load(name="mixer", draw_W=230.0, on_frac=0.5, priority="useful"),
        Load(name="kettle", draw_W=900.0, on_frac=0.1, states=frozenset({"berthed"})),
    )
    asked = demand(*loads)
    assert asked.full_A == (23.0, 5.0, 2.0, 0.0, 0.0)
    assert asked.full_W == (0.0, 0.0, 0.0, 230.0, 900.0)
    peaks_A = group_peaks_A(asked, at_V=11.5)
    assert peaks_A[:, 0] == pytest.approx([20.7, 0.0, 10.0, 0.0])


def test_a_boat_without_loads_asks_for_nothing():
    asked = demand(track=track_of("sailing", n=3))
    assert asked.current_A.shape == asked.power_W.shape == asked.on_frac.shape == (0, 3)
    assert group_sums(asked).current_A == pytest.approx(np.zeros((4, 3)))
    assert group_peaks_A(asked, at_V=11.5) == pytest.approx(np.zeros((4, 3)))


def test_fifteen_loads_over_six_thousand_steps_are_quick():
    """Aimed at 20 ms; five times that here, since the machine may be busy."""
    track = track_of("sailing", n=6000)
    windows = (Window(), Window(kind="night"), Window(kind="clock", spans_h=((22.0, 2.0),)))
    loads = [
        Load(name=f"load {i}", draw_A=1.0, window=windows[i % 3], on_frac=0.1) for i in range(15)
    ]
    best_s = min(_seconds(lambda: demand(*loads, track=track)) for _ in range(5))
    assert best_s < 0.1


def _seconds(run):
    start_s = process_time()
    run()
    return process_time() - start_s
