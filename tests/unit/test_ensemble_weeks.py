"""The weeks of an ensemble: books close to its totals, and each member is its own run's."""

from dataclasses import fields, replace

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of
from hand_worked import LOADS as CONSTANT
from hand_worked import bank_of, waypoints_of, without_engine
from hand_worked import passage_of as hand_worked

from powersim.records import WindGenerator
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import members_state, run_ensemble
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.ensemble_weeks import EnsembleWeeks, WEEK_h, WeekSums, stretches
from powersim.simulation.ledgers import LEDGERS
from powersim.simulation.prepare import prepare
from powersim.simulation.run import run

WIND = WindGenerator(speeds_m_s=(3.0, 6.0, 12.0), powers_W=(0.0, 30.0, 240.0))
SUMMED = [
    field.name
    for field in fields(EnsembleWeeks)
    if field.name not in ("start_h", "end_h", "others_Ah", "lowest_soc")
]


def tried(*, members=8, days=16.0, step_h=1.0, **given):
    boat = boat_of(
        chargers=(WIND,), charging={"start_soc": 0.7, "stop_soc": 0.85}, capacity_Ah=120.0
    )
    passage = passage_of(
        boat=boat, loads=LOADS, days=days, leg={"motoring_calm_frac": 0.3}, **given
    )
    prepared = prepare(passage, step_h=step_h)
    return passage, prepared, run_ensemble(passage, prepared, members=members, seed=1)


@pytest.fixture(scope="module")
def run_of_16_days():
    return tried()


def test_the_weeks_add_up_to_what_the_ensemble_tells(run_of_16_days):
    _, _, ensemble = run_of_16_days
    weeks = ensemble.weeks
    assert weeks.start_h.tolist() == [0.0, 168.0, 336.0]
    assert weeks.end_h[:2].tolist() == [168.0, 336.0]
    assert weeks.end_h[2] == len(ensemble.hour_soc)
    assert ensemble.charging_runs.max() > 0
    assert ensemble.motoring_h.max() > 0
    for name in SUMMED:
        whole = getattr(ensemble, "charging_runs" if name == "runs" else name)
        assert getattr(weeks, name).sum(axis=0) == pytest.approx(whole, abs=1e-9), name
    for name, whole in ensemble.others_Ah.items():
        assert whole.min() > 0
        assert weeks.others_Ah[name].sum(axis=0) == pytest.approx(whole, abs=1e-9)
    assert np.array_equal(weeks.lowest_soc.min(axis=0), ensemble.lowest_soc)


def test_each_week_is_that_of_the_members_own_flows(run_of_16_days):
    """Every flow of every step, summed over the hours of each week."""
    passage, prepared, ensemble = run_of_16_days
    forcing = draw_ensemble(passage, prepared, members=8, seed=1)
    soc = passage.boat.battery.soc_at_departure
    flow, _ = run(
        forcing.signals(slice(0, prepared.track.n_steps)),
        plant=forcing.plant,
        state=members_state(forcing, soc=soc),
    )
    weeks, hours = ensemble.weeks, np.arange(len(flow.soc))
    ran = flow.charging > 0
    begun = ran & ~np.vstack([np.zeros((1, 8), bool), ran[:-1]])
    for week, first_h in enumerate(weeks.start_h):
        of_week = (hours >= first_h) & (hours < first_h + WEEK_h)
        assert weeks.runs[week] == pytest.approx(begun[of_week].sum(axis=0))
        for name, summed in {
            "charging_h": flow.charging,
            "charging_L": flow.charging_L,
            "solar_Ah": flow.solar_A,
            "loads_Ah": flow.load_A,
            "alternator_Ah": flow.alternator_A,
        }.items():
            own = summed[of_week].sum(axis=0)
            assert getattr(weeks, name)[week] == pytest.approx(own, abs=1e-9), name
        lowest = flow.soc[of_week].min(axis=0)
        if not week:
            lowest = np.minimum(lowest, soc)
        assert weeks.lowest_soc[week] == pytest.approx(lowest, abs=1e-12)


def test_constant_loads_without_charge_by_hand():
    """54 Ah a day (hand_worked): 378 Ah in the first week of 7 days, the rest in what is left."""
    boat = without_engine(battery=bank_of(capacity_Ah=5000.0))
    steady = tuple(replace(load, spread_frac=0.0) for load in CONSTANT)
    passage = hand_worked(boat=boat, loads=steady, waypoints=waypoints_of(days=9))
    weeks = run_ensemble(passage, prepare(passage, step_h=1.0), members=3, seed=1).weeks
    assert weeks.days[0] == 7.0
    assert weeks.loads_Ah[0] == pytest.approx(np.full(3, 378.0))
    # Day and night take 48 and 60 Ah in 24 h: a part of a day lies between.
    assert 1.9 < weeks.days[1] < 2.1
    assert weeks.loads_Ah[1] == pytest.approx(np.full(3, 54.0 * weeks.days[1]), abs=0.25)
    assert not weeks.runs.any()
    assert not weeks.charging_L.any()


@pytest.mark.parametrize("counted_from_h", [0.0, 24.0, 24.4, 24.6])
def test_the_lowest_counts_from_the_same_step_as_the_kernel_does(counted_from_h):
    passage, prepared, _ = tried(members=1, days=3.0)
    forcing = draw_ensemble(passage, prepared, members=5, seed=1)
    n_steps = prepared.track.n_steps
    batch = Batch(
        plant=forcing.plant,
        state=members_state(forcing, soc=0.40),  # leaves low, so that the first hours are lowest
        step_h=1.0,
        counted_from_h=counted_from_h,
        sums=LEDGERS,
    )
    sums = WeekSums(batch, n_steps=n_steps, step_h=1.0, counted_from_h=counted_from_h)
    for steps in stretches(n_steps, step_h=1.0, most_h=13.0):
        sums.take(steps, batch.through(forcing.signals(steps), series=("soc",))["soc"])
    assert np.array_equal(sums.weeks().lowest_soc[0], batch.told["lowest_soc"])


@pytest.mark.parametrize("most_h", [6.0, 24.0, 80.0, 96.0])
@pytest.mark.parametrize(("hours", "step_h"), [(40 * 24 + 5, 0.25), (3, 1.0), (336, 0.5)])
def test_stretches_are_whole_hours_and_end_with_the_week(hours, step_h, most_h):
    per_hour = round(1 / step_h)
    cut = list(stretches(hours * per_hour, step_h=step_h, most_h=most_h))
    assert [each.start for each in cut[1:]] == [each.stop for each in cut[:-1]]
    assert (cut[0].start, cut[-1].stop) == (0, hours * per_hour)
    ends_h = {each.stop * step_h for each in cut}
    assert ends_h >= {168.0 * week for week in range(1, hours // 168 + 1)}
    assert all((each.stop - each.start) % per_hour == 0 for each in cut)
    assert max(each.stop - each.start for each in cut) * step_h <= most_h
