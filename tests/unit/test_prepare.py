"""From a passage to its signals: what is averaged, what is shifted, what stays."""

import dataclasses
from datetime import UTC, datetime

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of

from powersim.records import Controller, Load, Window
from powersim.simulation.prepare import prepare
from powersim.voyage.ship_time import in_hours

STEPS = (1 / 12, 0.25, 0.5, 1.0)


@pytest.fixture(scope="module")
def by_step():
    return {step_h: prepare(passage_of(days=2.0), step_h=step_h) for step_h in STEPS}


@pytest.mark.parametrize("step_h", STEPS)
def test_every_step_length_covers_the_same_whole_hours(by_step, step_h):
    prepared = by_step[step_h]
    assert prepared.signals.n_steps * step_h == pytest.approx(48.0)
    assert prepared.track.n_steps == prepared.signals.n_steps == len(prepared.module_W)
    assert prepared.demand.current_A.shape == (len(LOADS), prepared.signals.n_steps)


@pytest.mark.parametrize("step_h", [0.4, 0.0, -0.25, 2.0, float("nan")])
def test_a_step_that_does_not_divide_an_hour_is_refused(step_h):
    with pytest.raises(ValueError, match="step_h must divide an hour"):
        prepare(passage_of(), step_h=step_h)


@pytest.mark.parametrize("step_h", STEPS)
def test_long_steps_take_the_sun_often_enough(by_step, step_h):
    """Two days' yield against that of 5-minute steps.

    Seen: 0.1 % apart for quarter hours and half hours, 0.8 % for whole ones, whose sun is taken
    every 20 minutes: it goes behind a shade sector's edge by whole steps.
    """

    rel = 0.002 if step_h < 1.0 else 0.01

    def yield_Wh(prepared):
        return prepared.module_W.sum() * prepared.track.step_h

    assert yield_Wh(by_step[step_h]) == pytest.approx(yield_Wh(by_step[1 / 12]), rel=rel)


@pytest.mark.parametrize("step_h", STEPS)
def test_loads_ask_the_same_of_every_step_length(by_step, step_h):
    def wanted_Ah(prepared):
        return prepared.signals.load_A.sum() * prepared.signals.step_h

    assert wanted_Ah(by_step[step_h]) == pytest.approx(wanted_Ah(by_step[1 / 12]), rel=1e-3)


def test_power_is_by_group_in_order():
    """Lights are protected, instruments essential, the pilot useful, the laptop comfort."""
    signals = prepare(passage_of(days=1.0)).signals
    assert signals.load_A[0, 1, 0] == 1.0
    # The pilot 0.6 A; the winch 25 A for 0.1 h a day.
    assert signals.load_A[0, 2, 0] == pytest.approx(0.6 + 25.0 * 0.1 / 24.0)
    assert signals.load_W[0, 3, 0] == pytest.approx(30.0 * 6.0 / 24.0)
    assert signals.load_A[:, 0, 0].max() == 0.5
    # The winch on, above its own mean.
    assert signals.peak_A[0, 2, 0] == pytest.approx(25.0 - 25.0 * 0.1 / 24.0)


@pytest.mark.parametrize(("hours_h", "allowed"), [((8.0, 20.0), 12.0), ((22.0, 6.0), 8.0)])
def test_hours_are_the_ships(hours_h, allowed):
    """At 30 W the ship's clock is two hours behind UTC."""
    track = prepare(passage_of(days=1.0, leg={"stop_h": 0.0})).track
    within = in_hours(track, hours_h)
    assert within[:96].sum() * 0.25 == allowed
    utc_h = track.mid_utc_s / 3600.0 % 24.0
    start_h = (hours_h[0] + 2.0) % 24.0
    assert within[np.abs(utc_h - (start_h + 0.125)) < 0.01].all()
    assert not within[np.abs(utc_h - (start_h - 0.125)) < 0.01].any()


def test_setpoints_follow_the_banks_temperature_where_there_is_a_sensor():
    """A bank of 15 degrees: 14.4 V + 10 x 0.03 V by the sun, 14.2 - 0.2 V by the alternator."""
    prepared = prepare(passage_of(days=0.5, leg={"cabin_C": 10.0}))
    signals = prepared.signals
    cold_C = 25.0 - prepared.sky.bank_C[0]
    assert 5.0 < cold_C < 15.0
    assert signals.controllers[0].absorption_V[0, 0] == pytest.approx(14.4 + 0.03 * cold_C)
    assert signals.controllers[0].float_V[0, 0] == pytest.approx(13.5 + 0.03 * cold_C)
    assert signals.alternator_absorption_V[0, 0] == pytest.approx(14.0)
    # Cold does not raise what counts as full: 0.25 V below absorption.
    assert signals.full_V[0, 0] == pytest.approx(14.15)


def test_a_controllers_own_setpoints_come_first():
    boat = boat_of(controllers=(Controller(absorption_V=14.8, temp_comp_V_per_C=0.0),))
    signals = prepare(passage_of(boat=boat, days=0.5)).signals
    assert set(signals.controllers[0].absorption_V[:, 0]) == {14.8}


@pytest.mark.parametrize(("chemistry", "takes"), [("flooded", 1.0), ("lifepo4", 0.0)])
def test_only_lithium_refuses_a_charge_below_freezing(chemistry, takes):
    prepared = prepare(
        passage_of(
            boat=boat_of(chemistry=chemistry), lat_deg=62.0, days=0.5, leg={"cabin_C": -15.0}
        )
    )
    assert prepared.sky.bank_C[0] < 0.0
    assert prepared.signals.takes_charge[0, 0] == takes


def test_pwm_current_is_rebuilt_from_first_knot_and_slopes():
    boat = boat_of(controllers=(Controller(kind="pwm"),))
    prepared = prepare(passage_of(boat=boat, days=1.0))
    (controller,) = prepared.signals.controllers
    noon = int(prepared.module_W.argmax())
    rise_V = np.diff(controller.knots_V)
    at_knots = controller.first_A[noon, 0] + np.concatenate(
        [[0.0], np.cumsum(controller.slope_A_per_V[noon, :, 0] * rise_V)]
    )
    assert at_knots[0] > 3.0
    assert (np.diff(at_knots) <= 1e-9).all()
    # No more than its modules could give at best.
    assert (at_knots * (np.array(controller.knots_V)) <= prepared.module_W[noon] * 1.001).all()


def test_a_night_load_over_the_year_end():
    """From the 30th of December to the 2nd of January the nights follow one another."""
    prepared = prepare(
        passage_of(
            loads=(Load(name="lights", draw_A=1.0, window=Window(kind="night")),),
            depart_utc=datetime(2026, 12, 30, 12, tzinfo=UTC),
            days=3.0,
        )
    )
    on = prepared.demand.on_frac[0]
    nights_h = on.reshape(3, -1).sum(axis=1) * 0.25
    assert nights_h == pytest.approx([14.4, 14.3, 14.2], abs=0.3)
    assert np.ptp(nights_h) < 0.5


def test_longitudes_a_turn_apart_are_one_place():
    """A passage along the date line: its signals do not know on which side it is.

    Only the haze of its clear sky does, whose table has a last cell on one side and a first on the
    other.
    """
    there, here = (
        prepare(
            passage_of(
                days=1.0, lat_deg=-20.0, lon_deg=lon_deg, loads=LOADS[:3], ship_offset_h=12.0
            )
        )
        for lon_deg in (180.0, -180.0)
    )
    for field in ("load_A", "load_W", "bank_C"):
        assert getattr(there.signals, field) == pytest.approx(getattr(here.signals, field))
    assert there.sky.elevation_deg == pytest.approx(here.sky.elevation_deg, abs=1e-9)
    assert there.module_W.sum() == pytest.approx(here.module_W.sum(), rel=1e-3)


def test_time_held_after_landfall():
    held = prepare(passage_of(days=1.0), hold_h=24.0)
    assert held.signals.n_steps == prepare(passage_of(days=1.0)).signals.n_steps + 96


def test_a_record_of_signals_is_complete(by_step):
    signals = by_step[0.25].signals
    n = signals.n_steps
    for field in dataclasses.fields(signals):
        if field.name not in ("step_h", "controllers", "others"):
            array = getattr(signals, field.name)
            assert array.shape in ((n, 1), (n, 4, 1)), field.name
            assert np.isfinite(array).all(), field.name
