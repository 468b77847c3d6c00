"""Yields read off between shares of the clear sky's light, against the whole chain."""

from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.records import Controller
from powersim.simulation.coarser import mean_of
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.offers import yields_of
from powersim.simulation.prepare import prepare
from powersim.simulation.yield_table import KNOT_FRAC, shares_up_to
from powersim.sky.sky import under
from powersim.voyage.track import in_calms

STEPS = slice(0, 96)


def drawn(*, kind="mppt", step_h=0.25, leg=(), **given):
    passage = passage_of(boat=boat_of(controllers=(Controller(kind=kind),)), leg=leg, **given)
    prepared = prepare(passage, step_h=step_h)
    return passage, prepared, draw_ensemble(passage, prepared, members=1, seed=1)


def chain(passage, prepared, clear_frac, *, track=None):
    """The whole chain under one share of the clear sky's light, at the sun's steps."""
    track = track or prepared.sun_track
    sky = under(prepared.sun_sky, clear_frac, track=track)
    return yields_of(passage.boat, track=track, sky=sky)[0]


def over_steps(values, prepared, *, steps=STEPS):
    """Means of the sun's steps over some of the kernel's."""
    return mean_of(values, prepared.sun_steps)[steps]


def at(forcing, clear_frac, *, steps=STEPS, motoring=0.0):
    shape = (steps.stop - steps.start, 1)
    return forcing.panels.at(steps, np.full(shape, clear_frac), np.full(shape, motoring))


def test_at_the_shares_themselves_it_is_the_chain():
    passage, prepared, forcing = drawn()
    for clear_frac in (0.0, 0.3, 1.0):
        exact = over_steps(chain(passage, prepared, clear_frac).power_W, prepared)
        assert at(forcing, clear_frac)[0, :, 0] == pytest.approx(exact, abs=1e-9)


@pytest.mark.parametrize("clear_frac", [0.05, 0.27, 0.45, 0.66, 0.95, 1.05])
def test_between_them_a_day_is_right_to_one_per_cent_and_a_step_to_half_a_watt(clear_frac):
    passage, prepared, forcing = drawn()
    exact = over_steps(chain(passage, prepared, clear_frac).power_W, prepared)
    found = at(forcing, clear_frac)[0, :, 0]
    assert found.sum() == pytest.approx(exact.sum(), rel=0.01)
    assert np.abs(found - exact).max() < 0.5


def test_the_last_row_is_the_power_of_the_modules():
    passage, prepared, forcing = drawn()
    exact = over_steps(chain(passage, prepared, 0.5).module_W, prepared)
    assert at(forcing, 0.5)[-1, :, 0] == pytest.approx(exact, abs=1e-9)


def test_a_pwm_controller_has_a_current_for_every_knot():
    passage, prepared, forcing = drawn(kind="pwm")
    found = at(forcing, 0.7)[:-1, :, 0]
    for at_knot, current_A in zip(found, chain(passage, prepared, 0.7).current_A.T, strict=True):
        assert at_knot == pytest.approx(over_steps(current_A, prepared), abs=1e-9)


def test_a_longer_step_takes_the_mean_of_the_suns_steps():
    passage, prepared, forcing = drawn(step_h=1.0)
    assert prepared.sun_steps == 12
    exact = chain(passage, prepared, 0.5).power_W.reshape(-1, 12).mean(axis=1)
    assert at(forcing, 0.5, steps=slice(0, 24))[0, :, 0] == pytest.approx(exact[:24], abs=1e-9)


def test_under_engine_the_boat_stands_upright():
    leg = {"motoring_calm_frac": 0.5, "heel_deg": 20.0, "tack": "port"}
    passage, prepared, forcing = drawn(leg=leg)
    for motored in (False, True):
        track = in_calms(prepared.sun_track, motored=motored)
        exact = over_steps(chain(passage, prepared, 0.8, track=track).power_W, prepared)
        found = at(forcing, 0.8, motoring=float(motored))[0, :, 0]
        assert found == pytest.approx(exact, abs=1e-9)
    upright, heeled = (at(forcing, 0.8, motoring=m)[0, :, 0] for m in (1.0, 0.0))
    assert np.abs(upright - heeled).max() > 1.0


def test_where_a_file_has_all_of_the_light_every_share_gives_what_the_file_has():
    passage = passage_of()
    prepared = prepare(passage)
    day = 96 * prepared.sun_steps
    shut = np.where(np.arange(prepared.sun_track.n_steps) < day, 0.0, 1.0)
    beam = {"dni_W_m2": 0.5 * prepared.sun_sky.dni_W_m2, "open_frac": shut}
    prepared = replace(prepared, sun_sky=replace(prepared.sun_sky, **beam))
    forcing = draw_ensemble(passage, prepared, members=1, seed=1)
    as_it_is = yields_of(passage.boat, track=prepared.sun_track, sky=prepared.sun_sky)[0].power_W
    first, second = (over_steps(as_it_is, prepared, steps=days) for days in (STEPS, slice(96, 192)))
    for clear_frac in (0.1, 0.9):
        assert at(forcing, clear_frac)[0, :, 0] == pytest.approx(first, abs=1e-9)
    assert at(forcing, 0.1, steps=slice(96, 192))[0].sum() < 0.5 * second.sum()


@pytest.mark.parametrize(("largest", "knots"), [(1.0, 11), (1.15, 13), (1.2, 13)])
def test_the_shares_reach_as_far_as_they_must(largest, knots):
    shares = shares_up_to(largest)
    assert len(shares) == knots
    assert shares[0] == 0.0
    assert np.diff(shares) == pytest.approx(np.full(knots - 1, KNOT_FRAC))
    assert largest <= shares[-1] + 1e-9
