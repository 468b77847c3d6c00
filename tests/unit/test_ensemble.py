"""Many members through one kernel: held against single runs and against the mean sky."""

from dataclasses import fields, replace

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of
from kernels import plain

from powersim.errors import BalanceError
from powersim.kernel import carry as kernel
from powersim.kernel.flows import place_of
from powersim.physics.wind_generator import mean_wind_generator_W
from powersim.records import Load, ShorePower, WaterGenerator, Waypoint, WindGenerator
from powersim.simulation.differing import of_member
from powersim.simulation.ensemble import EnsembleResult, members_state, run_ensemble
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.prepare import prepare
from powersim.simulation.result import simulate
from powersim.simulation.run import run
from powersim.simulation.state import start_state

ARRAYS = [
    field.name
    for field in fields(EnsembleResult)
    if field.name
    not in ("members", "seed", "start_utc_s", "step_h", "counted_from_h", "others_Ah", "weeks")
    and not field.name.endswith("ing_frac")  # of all members together
    and field.name not in ("lain_to_h", "waited_h", "runs_waited", "devices")  # of some boats
]
SPREAD = tuple(replace(load, spread_frac=0.2) for load in LOADS)
CALMS = {"motoring_calm_frac": 0.5, "heel_deg": 15.0}


WIND = WindGenerator(speeds_m_s=(3.0, 6.0, 12.0), powers_W=(0.0, 30.0, 240.0))
WATER = WaterGenerator(speeds_kn=(2.0, 5.0, 8.0), powers_W=(0.0, 60.0, 150.0))
SHORE = ShorePower(rated_A=8.0)


def tried(passage=None, *, members=12, seed=1, step_h=0.5, **given):
    passage = passage or passage_of(loads=SPREAD, leg=CALMS, **given)
    return run_ensemble(passage, prepare(passage, step_h=step_h), members=members, seed=seed)


def test_a_member_is_the_same_however_many_are_tried():
    few, many = tried(members=3), tried(members=40)
    for name in ARRAYS:
        assert np.array_equal(getattr(few, name), getattr(many, name)[..., :3]), name


def test_another_seed_is_another_set_of_members():
    one, other = tried(seed=1), tried(seed=2)
    assert not np.any(one.solar_Ah == other.solar_Ah)


def test_members_differ_in_light_loads_and_calms():
    ensemble = tried(members=40)
    for name in ("solar_Ah", "loads_Ah", "motoring_h"):
        assert np.ptp(getattr(ensemble, name)) > 0.05 * getattr(ensemble, name).mean()


@pytest.mark.parametrize("chargers", [(), (WIND, WATER)], ids=["sun", "wind and water"])
@pytest.mark.parametrize("kind", ["mppt", "pwm"])
def test_each_member_is_what_a_run_of_its_own_gives(kind, chargers):
    """The single run is on plain floats, so this holds blocks and tables against them."""
    from powersim.records import Controller

    boat = boat_of(controllers=(Controller(kind=kind),), chargers=chargers)
    passage = passage_of(loads=SPREAD, leg=CALMS, boat=boat)
    prepared = prepare(passage, step_h=0.5)
    forcing = draw_ensemble(passage, prepared, members=5, seed=3)
    whole = forcing.signals(slice(0, prepared.track.n_steps))
    ensemble = run_ensemble(passage, prepared, members=5, seed=3)
    soc = passage.boat.battery.soc_at_departure
    together, _ = run(whole, plant=forcing.plant, state=members_state(forcing, soc=soc))
    assert np.array_equal(ensemble.hour_soc, together.soc[1::2])
    for member in range(5):
        alone = forcing.first(member + 1).signals(slice(0, prepared.track.n_steps))
        alone = _only_last(alone)
        plant = of_member(forcing.plant, member)
        with plain():
            flow, _ = run(alone, plant=plant, state=start_state(plant, soc=soc))
        assert flow.soc[1::2, 0] == pytest.approx(ensemble.hour_soc[:, member], abs=1e-9)
        assert flow.charging_L.sum() == pytest.approx(ensemble.charging_L[member], abs=1e-9)
        assert flow.motoring.sum() * 0.5 == pytest.approx(ensemble.motoring_h[member])
        assert flow.load_A.sum() * 0.5 == pytest.approx(ensemble.loads_Ah[member])


def _only_last(signals):
    """Signals of the last member alone."""
    from powersim.simulation.signals import mapped

    def last(array):
        return array[..., -1:]

    chargers = {
        name: tuple(mapped(charger, last) for charger in getattr(signals, name))
        for name in ("controllers", "others")
    }
    return mapped(signals, last, **chargers)


def test_a_members_wind_and_calms_drive_its_other_chargers():
    """Towed line in the calms, blades in the wind, and a plug in any weather."""
    boat = boat_of(chargers=(SHORE, WATER, WIND), battery={"soc_at_departure": 0.7})
    start = {"name": "A", "lat_deg": 40.0, "lon_deg": -30.0, "speed_kn": 5.0}
    waypoints = (
        Waypoint(**start, motoring_calm_frac=0.5, stop_h=24.0, stop_state="berthed"),
        Waypoint(name="B", lat_deg=20.0, lon_deg=-30.0),
    )
    passage = passage_of(boat=boat, waypoints=waypoints)
    prepared = prepare(passage, step_h=1.0)
    forcing = draw_ensemble(passage, prepared, members=2000, seed=1)
    steps = slice(0, prepared.track.n_steps)
    wind, water, shore = (
        one.power_W if one.source != "shore" else one.first_A
        for one in forcing.signals(steps).others
    )
    expected_W = mean_wind_generator_W(
        WIND, wind_m_s=prepared.sky.wind_m_s, speed_kn=prepared.track.speed_kn
    )
    # 2,000 members over a mean of 160 h hold some 13,000 winds that know nothing of each other.
    assert wind.mean() == pytest.approx(expected_W.mean(), rel=0.02)
    under_way = prepared.track.speed_kn > 0
    sailing = under_way[:, None] - forcing.motoring(steps)
    assert water == pytest.approx(0.97 * 60.0 * sailing)
    assert 0.0 < sailing[under_way].mean() < 1.0
    # Landfall within the last hour ends the plug and the way alike.
    assert np.array_equal(shore[:-1, 0] > 0, ~under_way[:-1])
    ensemble = run_ensemble(passage, prepared, members=3, seed=1)
    assert list(ensemble.others_Ah) == ["wind_Ah", "water_Ah", "shore_Ah"]
    for taken_Ah in ensemble.others_Ah.values():
        assert taken_Ah.min() > 0


def test_nobody_motors_through_a_calm_after_landfall():
    """4.6 h under way in steps of an hour, each looked at some times: in the last she is under way
    for 0.6 h, to a third of an hour, and what turns in the water gives no less than nothing.
    """
    passage = passage_of(boat=boat_of(chargers=(WATER,)), days=4.6 / 24.0, leg=CALMS)
    forcing = draw_ensemble(passage, prepare(passage, step_h=1.0), members=200, seed=1)
    last = forcing.signals(slice(4, 5))
    never, for_a_while_h = np.unique(np.round(last.motoring[0], 6))
    assert (never, for_a_while_h) == (0.0, pytest.approx(0.6, abs=1.0 / 6.0))
    assert last.others[0].power_W.min() >= 0.0


@pytest.mark.usefixtures("middle_banks")
def test_with_nothing_left_open_every_member_is_the_passage_in_the_mean_sky():
    passage = passage_of()  # no spread, no calms
    prepared = prepare(passage, step_h=0.25)
    prepared = replace(
        prepared,
        **{
            name: replace(sky, open_frac=np.zeros_like(sky.open_frac))
            for name, sky in (("sky", prepared.sky), ("sun_sky", prepared.sun_sky))
        },
    )
    ensemble = run_ensemble(passage, prepared, members=4, seed=1)
    alone = simulate(passage)
    unlike = np.abs(ensemble.hour_soc - alone.flow.soc[3::4])
    # Only the reading of the bank is left to differ, and it moves the engine's start.
    assert alone.summary["average"]["engine"]["charging_runs"] == 0
    quiet = ensemble.charging_runs == 0
    assert quiet.any()
    assert unlike[:, quiet].max() < 1e-12
    assert ensemble.surplus_Ah[quiet] == pytest.approx(alone.books.surplus_Ah.sum())
    assert ensemble.unserved_Ah[quiet] == pytest.approx(alone.books.unserved_Ah.sum())
    assert ensemble.lowest_V[quiet] == pytest.approx(alone.hourly["lowest_V"].min())


@pytest.mark.usefixtures("middle_banks")
def test_what_loads_go_without_is_counted_as_the_books_count_it():
    boat = boat_of(engine=None, panel_W=(), capacity_Ah=60.0)
    passage = passage_of(boat=boat, days=3.0)
    ensemble, alone = tried(passage, step_h=0.25), simulate(passage)
    assert alone.books.unserved_Ah.sum() > 10.0
    assert ensemble.unserved_Ah == pytest.approx(np.full(12, alone.books.unserved_Ah.sum()))
    charge = alone.summary["average"]["charge"]
    assert ensemble.dark_h == pytest.approx(np.full(12, charge["dark_h"]))
    assert ensemble.flat_h == pytest.approx(np.full(12, 24.0 * charge["days_to_flat"]))


def test_a_boat_that_never_charges_by_engine_reads_nothing():
    passage = passage_of(boat=boat_of(charging={"by_engine": False}))
    prepared = prepare(passage)
    forcing = draw_ensemble(passage, prepared, members=3, seed=1)
    assert forcing.plant.rule == prepared.plant.rule


@pytest.mark.usefixtures("plainly")
@pytest.mark.parametrize("leaky_from", [0, 60])
def test_the_first_members_books_are_kept_in_full(monkeypatch, leaky_from):
    """A kernel that loses a little charge is found out, by the books of the first members."""
    done, total_Ah = [], place_of("total_Ah")

    def leaky(*args, flow, **given):
        after = step_of(*args, flow=flow, **given)
        done.append(after)
        if len(done) > leaky_from:
            flow[total_Ah] -= 1e-3
        return after

    step_of = kernel.step_of
    monkeypatch.setattr(kernel, "step_of", leaky)
    with pytest.raises(BalanceError, match="charge in the bank"):
        tried()


@pytest.mark.usefixtures("plainly")
def test_a_member_that_comes_elsewhere_by_itself_than_among_others_is_found_out(monkeypatch):
    """The first members are carried twice: a kernel that minds its company is no kernel."""
    done = []

    def moody(*args, **given):
        after = step_of(*args, **given)
        done.append(after)
        return after._replace(tail_h=after.tail_h + 0.01 * (len(done) > 200))

    step_of = kernel.step_of
    monkeypatch.setattr(kernel, "step_of", moody)
    with pytest.raises(BalanceError, match=r"^tail_h of the first members after step 144 is"):
        tried()


def test_progress_is_told_to_the_end(monkeypatch):
    monkeypatch.setattr("powersim.simulation.ensemble.MOST_BLOCK_h", 24.0)
    told = []
    passage = passage_of(loads=(Load(name="light", draw_A=1.0),))
    run_ensemble(passage, prepare(passage), members=2, seed=1, progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert len(told) == 3
