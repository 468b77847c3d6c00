"""One choice on the members that all choices share."""

from dataclasses import replace

import pytest
from builders import ONE_MPPT, boat_of, calm_seas, passage_of

from powersim.planning.size_choices import choice_of
from powersim.planning.size_point import Study, point_of
from powersim.records import Load
from powersim.simulation.ensemble import run_ensemble
from powersim.simulation.ensemble_summary import ensemble_summary, verdict_on
from powersim.simulation.prepare import prepare

ONE_AMPERE = (Load(name="one ampere", draw_A=1.0, spread_frac=0.0),)


def study_of(passage, *, members=20, **boats):
    own = {passage.boat.battery.chemistry: passage.boat}
    return Study(passage=passage, boats=own | boats, members=members, seed=1, step_h=0.25)


@pytest.fixture(scope="module")
def short():
    """Two days out of the Azores on a bank that needs the engine."""
    boat = boat_of(battery={"soc_at_departure": 0.6}, charging={"shortest_h": 0.5})
    return study_of(passage_of(boat=boat, days=2.0, leg={"motoring_start_h": 2.0}))


def test_the_boat_as_she_is_comes_to_what_simulate_says_of_her(short):
    point = point_of(short, choice_of(short.passage.boat))
    prepared = prepare(short.passage, step_h=0.25)
    ensemble = run_ensemble(short.passage, prepared, members=20, seed=1)
    found = verdict_on(ensemble, fuel=short.passage.boat.fuel)
    assert point.fails_frac == found.fails.frac
    assert point.floor_frac == found.floor.frac
    assert point.reserve_frac == found.reserve.frac
    summary = ensemble_summary(ensemble, fuel=short.passage.boat.fuel)
    assert point.lowest_soc_p10 == summary["lowest_soc"]["p10"]
    assert point.charging_h == pytest.approx(ensemble.charging_h.mean())
    assert point.charging_h_p90 == summary["charging_h"]["p90"]
    assert point.fuel_left_L_p10 == summary["fuel_left_L"]["p10"]
    # All that is burnt is what is no longer there.
    burnt_L = short.passage.boat.fuel.usable_L - ensemble.fuel_left_L
    assert point.fuel_L == pytest.approx(burnt_L.mean())
    assert point.charging_h > 0.0


def test_every_choice_meets_the_same_members(short):
    """Were the skies drawn anew, ever more panel would not lift every charge; and a choice comes
    to the same numbers whatever is tried beside it.
    """
    own = choice_of(short.passage.boat)
    alone = point_of(short, own)
    more = point_of(short, replace(own, solar_W=2.0 * own.solar_W))
    assert point_of(short, own) == alone
    assert more.lowest_soc_p50 >= alone.lowest_soc_p50
    assert more.charging_h <= alone.charging_h


@pytest.mark.usefixtures("middle_banks")
def test_days_without_the_engine_against_arithmetic():
    """1 A from a bank of 100 Ah that loses nothing and has no sun: half of it, down to the floor,
    lasts 50 h; in twice the bank 100 h. A tenth of an ampere-hour is the 20-hour rate's own.
    """
    boat = {"capacity_Ah": 100.0, "battery": {"health_frac": 1.0}}
    study = study_of(calm_seas(boat=boat, loads=ONE_AMPERE, days=5.0))
    own = choice_of(study.passage.boat)
    once, twice = (point_of(study, replace(own, battery_Ah=Ah)) for Ah in (100.0, 200.0))
    assert once.floor_days_p10 == once.floor_days_p50 == pytest.approx(50.0 / 24.0, abs=1e-6)
    assert twice.floor_days_p50 == pytest.approx(100.0 / 24.0, abs=1e-6)
    assert once.fails_frac == 1.0
    assert (once.fuel_L, once.charging_h) == (0.0, 0.0)
    # Landfall comes before four of them are empty.
    assert point_of(study, replace(own, battery_Ah=400.0)).floor_days_p10 is None


@pytest.mark.usefixtures("middle_banks")
def test_another_chemistry_brings_its_own_floor():
    """The same ampere-hours at the same ampere: 50 of 100 from lead, 80 of 100 from lithium."""
    bank = {"health_frac": 1.0}
    passage = calm_seas(boat={"capacity_Ah": 100.0, "battery": bank}, loads=ONE_AMPERE, days=5.0)
    still = {"self_discharge_frac_per_month": 0.0, "standby_A": 0.0}
    lithium = boat_of(
        chemistry="lifepo4", capacity_Ah=100.0, panel_W=(), engine=None, battery=bank | still
    )
    study = study_of(passage, lifepo4=lithium)
    own = choice_of(passage.boat)
    assert point_of(study, own).floor_days_p50 == pytest.approx(50.0 / 24.0, abs=1e-6)
    point = point_of(study, replace(own, chemistry="lifepo4"))
    assert point.floor_days_p50 == pytest.approx(80.0 / 24.0, abs=1e-6)
    assert point.weight_kg == pytest.approx(12.0)


def test_a_choice_whose_controller_clips_says_so(short):
    controller = replace(ONE_MPPT, rated_A=10.0)
    passage = passage_of(boat=boat_of(controllers=(controller,)), days=0.5)
    study = study_of(passage)
    own = choice_of(passage.boat)
    assert [point_of(study, replace(own, solar_W=watts)).clips for watts in (100.0, 200.0)] == [
        False,
        True,
    ]
