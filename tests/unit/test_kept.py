"""What a passage takes over from another, and that it is the same with and without it."""

from array import array
from dataclasses import fields, is_dataclass, replace
from datetime import timedelta

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of

from powersim.physics import panel_light
from powersim.records import (
    BankPlace,
    Controller,
    Device,
    HeavyWeather,
    Irradiance,
    Load,
    Shedding,
    Supply,
    WaterGenerator,
    WindGenerator,
    battery_of,
    panel_of,
)
from powersim.records.units_aboard import US_GALLONS, UnitsAboard
from powersim.simulation import ensemble_forcing
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.kept import Kept, kept_of
from powersim.simulation.prepare import prepare
from powersim.simulation.prepared_passage import prepared_passage
from powersim.simulation.result import SimulationResult

STEP_h, MEMBERS, SEED = 1.0, 3, 4
INVERTER = Supply(name="inverter", efficiency_frac=0.9, output_V=230.0, idle_W=4.0)
SPREAD = (
    *(replace(load, spread_frac=0.2) for load in LOADS),
    Load(name="drill", draw_W=50.0, on_frac=0.1, supply="inverter"),
)
BOAT = boat_of(supplies=(INVERTER,), panel_W=(100.0,))
PASSAGE = passage_of(boat=BOAT, loads=SPREAD, days=2.0, leg={"motoring_calm_frac": 0.5})
WIND = WindGenerator(speeds_m_s=(3.0, 6.0, 12.0), powers_W=(0.0, 30.0, 240.0))
WATER = WaterGenerator(speeds_kn=(2.0, 5.0, 8.0), powers_W=(0.0, 60.0, 240.0))


def with_boat(**changes):
    return replace(PASSAGE, boat=replace(BOAT, **changes))


def with_battery(**changes):
    return with_boat(battery=replace(BOAT.battery, **changes))


def line(place, **changes):
    return replace(
        PASSAGE,
        loads=(*SPREAD[:place], replace(SPREAD[place], **changes), *SPREAD[place + 1 :]),
    )


def later(*, hours):
    return replace(PASSAGE, depart_utc=PASSAGE.depart_utc + timedelta(hours=hours))


def leaving(**changes):
    first, last = PASSAGE.waypoints
    return replace(PASSAGE, waypoints=(replace(first, **changes), last))


ALL = Kept(True, True, True, True, True)
#: Every kind of change, and what of the passage before it stays.
CHANGES = {
    "a draw": (line(0, draw_A=3.0), ALL),
    "a load's hours": (line(1, on_h_per_day=2.0), ALL),
    "a load left ashore": (line(5, count=0), ALL),
    "a load's spread": (line(3, spread_frac=0.5), ALL),
    "a load less": (replace(PASSAGE, loads=SPREAD[1:]), ALL),
    "a larger bank": (with_battery(capacity_Ah=330.0), ALL),
    "a bank read by monitor": (with_battery(reading="monitor"), ALL),
    "a rule that waits": (
        with_boat(charging=replace(BOAT.charging, read_at_h=(6.0, 18.0), wait_below_soc=0.7)),
        ALL,
    ),
    "a rule": (with_boat(charging=replace(BOAT.charging, start_soc=0.7)), ALL),
    "a plan for the engine": (replace(PASSAGE, engine_plan=()), ALL),
    "a panel": (
        with_boat(panels=(replace(BOAT.panels[0], power_W=200.0),)),
        ALL._replace(panels=False),
    ),
    "a panel that leans": (
        with_boat(panels=(replace(BOAT.panels[0], tilt_deg=30.0, bearing_deg=90.0),)),
        ALL._replace(panels=False),
    ),
    "a panel more": (
        with_boat(panels=(*BOAT.panels, panel_of("rail", power_W=50.0, mount="rail"))),
        ALL._replace(panels=False),
    ),
    "no panel": (with_boat(panels=(), controllers=()), ALL._replace(panels=False)),
    "a controller of another kind": (
        with_boat(controllers=(Controller(kind="pwm"),)),
        ALL._replace(panels=False),
    ),
    "a wind generator": (with_boat(chargers=(WIND,)), ALL._replace(others=False)),
    "a wind and a water generator": (
        with_boat(chargers=(WATER, WIND)),
        ALL._replace(others=False),
    ),
    "a smaller alternator": (
        with_boat(alternator=replace(BOAT.alternator, charging_A=20.0)),
        ALL,
    ),
    "no engine": (with_boat(engine=None, alternator=None, fuel=None), ALL),
    "less fuel": (with_boat(fuel=replace(BOAT.fuel, aboard_L=30.0)), ALL),
    "devices": (
        with_boat(
            devices=(Device(name="phone", battery_Wh=15.0, use_Wh_per_day=8.0, when_soc=0.7),)
        ),
        ALL,
    ),
    "loads that are shed": (with_boat(shedding=Shedding(comfort_below_soc=0.6)), ALL),
    "a bank read twice a day": (
        with_boat(charging=replace(BOAT.charging, read_at_h=(6.0, 18.0))),
        ALL,
    ),
    "a bank half full": (with_battery(soc_at_departure=0.5), ALL),
    "another chemistry": (
        with_boat(battery=battery_of("lifepo4", capacity_Ah=200.0)),
        ALL,
    ),
    "a supply": (
        with_boat(supplies=(replace(INVERTER, idle_W=9.0),)),
        ALL._replace(demand=False),
    ),
    "no supply": (
        replace(PASSAGE, boat=replace(BOAT, supplies=()), loads=SPREAD[:-1]),
        ALL._replace(demand=False),
    ),
    "the lines in another order": (replace(PASSAGE, loads=SPREAD[::-1]), ALL),
    "a colder bank": (
        with_battery(place=BankPlace(fixed_C=3.0)),
        Kept(track=True),
    ),
    "other units aboard": (replace(PASSAGE, units=UnitsAboard(volume=US_GALLONS)), ALL),
    "another sky": (replace(PASSAGE, cloud_model="reed"), Kept(track=True)),
    "another route": (
        replace(
            PASSAGE, waypoints=(replace(PASSAGE.waypoints[0], speed_kn=6.0), PASSAGE.waypoints[1])
        ),
        Kept(),
    ),
    "no calms motored": (leaving(motoring_calm_frac=0.0), Kept()),
    "a day later": (later(hours=24), Kept()),
    "half an hour earlier": (later(hours=-0.5), Kept()),
    "a month later": (later(hours=24 * 30), Kept()),
    "an hour later, with a load left ashore, more panel and a larger bank": (
        replace(
            later(hours=1),
            loads=line(5, count=0).loads,
            boat=replace(
                BOAT,
                panels=(replace(BOAT.panels[0], power_W=150.0),),
                battery=replace(BOAT.battery, capacity_Ah=300.0),
            ),
        ),
        Kept(),
    ),
    "a draw, a rule, more panel, a wind generator and a colder bank": (
        replace(
            line(0, draw_A=3.0),
            boat=replace(
                BOAT,
                panels=(replace(BOAT.panels[0], power_W=150.0),),
                battery=replace(BOAT.battery, place=BankPlace(fixed_C=3.0)),
                charging=replace(BOAT.charging, start_soc=0.6),
                chargers=(WIND,),
            ),
        ),
        Kept(track=True),
    ),
}


#: What bad weather hangs on, and what each key leaves as it was.
GALES = HeavyWeather(lie_to_above_kn=24.0, sea_lasts_h=3.0)
IN_WEATHER = {
    "lying-to": (GALES, ALL._replace(demand=False, panels=False, others=False)),
    "spray": (HeavyWeather(spray_above_kn=18.0), ALL._replace(panels=False)),
    "no engine in it": (HeavyWeather(no_engine_above_kn=16.0), ALL),
    "a pilot that works": (HeavyWeather(rough_above_kn=15.0), ALL._replace(demand=False)),
    "all of it, adrift": (
        HeavyWeather(
            lie_to_above_kn=24.0,
            lie_to="drifting",
            no_engine_above_kn=20.0,
            spray_above_kn=18.0,
            rough_above_kn=15.0,
            very_rough_above_kn=22.0,
        ),
        ALL._replace(demand=False, panels=False, others=False),
    ),
}


@pytest.fixture(scope="module")
def before():
    prepared = prepare(PASSAGE, step_h=STEP_h)
    return draw_ensemble(PASSAGE, prepared, members=MEMBERS, seed=SEED)


def differing(one, other, where=""):
    """Where two records are not the same to the last digit."""
    if is_dataclass(other):
        return [
            place
            for field in fields(other)
            if field.name not in ("root", "_known", "panel_light")
            for place in differing(
                getattr(one, field.name), getattr(other, field.name), f"{where}.{field.name}"
            )
        ]
    if isinstance(other, (tuple, list)) and len(one) == len(other):
        return [
            place
            for i, pair in enumerate(zip(one, other, strict=True))
            for place in differing(*pair, f"{where}[{i}]")
        ]
    if isinstance(other, dict) and list(one) == list(other):
        return [place for key in one for place in differing(one[key], other[key], f"{where}.{key}")]
    if isinstance(other, np.ndarray):
        same = np.array_equal(one, other, equal_nan=other.dtype.kind == "f")
        return [] if same else [where]
    return [] if one == other else [where]


@pytest.mark.parametrize(("passage", "kept"), CHANGES.values(), ids=CHANGES)
def test_what_stays_is_taken_over_and_the_rest_is_as_if_worked_out_alone(before, passage, kept):
    assert kept_of(before.prepared, passage, step_h=STEP_h, hold_h=0.0) == kept
    prepared = prepare(passage, step_h=STEP_h, like=before.prepared)
    assert (prepared.track is before.prepared.track) == kept.track
    assert (prepared.sky is before.prepared.sky) == kept.sky
    assert (prepared.yields is before.prepared.yields) == kept.panels
    forcing = draw_ensemble(passage, prepared, members=MEMBERS, seed=SEED, like=before)
    assert (forcing.clear_frac is before.clear_frac) == kept.sky
    assert (forcing.panels is before.panels) == kept.panels
    alone = prepare(passage, step_h=STEP_h)
    assert differing(prepared, alone) == []
    afresh = draw_ensemble(passage, alone, members=MEMBERS, seed=SEED)
    assert differing(forcing, afresh) == []
    steps = slice(20, 44)
    assert differing(forcing.signals(steps), afresh.signals(steps)) == []


@pytest.mark.parametrize(("heavy", "kept"), IN_WEATHER.values(), ids=IN_WEATHER)
def test_bad_weather_makes_anew_what_hangs_on_it_and_nothing_else(before, heavy, kept):
    """From a boat that minds none, and back again."""
    passage, chargers = with_boat(heavy_weather=heavy, chargers=(WATER,)), (WATER,)
    calm = with_boat(chargers=chargers)
    known = prepare(calm, step_h=STEP_h, like=before.prepared)
    first = draw_ensemble(calm, known, members=MEMBERS, seed=SEED, like=before)
    assert kept_of(known, passage, step_h=STEP_h, hold_h=0.0) == kept
    alone = prepare(passage, step_h=STEP_h)
    prepared = prepare(passage, step_h=STEP_h, like=known)
    assert differing(prepared, alone) == []
    found = draw_ensemble(passage, prepared, members=MEMBERS, seed=SEED, like=first)
    afresh = draw_ensemble(passage, alone, members=MEMBERS, seed=SEED)
    assert differing(found, afresh) == []
    assert (found.panels is first.panels) == (heavy.lying != "drifting")
    assert found.seas.place.any()
    back = prepare(calm, step_h=STEP_h, like=prepared)
    assert differing(back, known) == []
    again = draw_ensemble(calm, back, members=MEMBERS, seed=SEED, like=found)
    assert differing(again, first) == []
    lasts = with_boat(heavy_weather=replace(heavy, sea_lasts_h=9.0), chargers=chargers)
    longer, alone = prepare(lasts, step_h=STEP_h, like=prepared), prepare(lasts, step_h=STEP_h)
    assert differing(longer, alone) == []
    drawn = draw_ensemble(lasts, longer, members=MEMBERS, seed=SEED, like=found)
    assert differing(drawn, draw_ensemble(lasts, alone, members=MEMBERS, seed=SEED)) == []


@pytest.fixture(scope="module")
def ready():
    """The passage, and its result."""
    ready = prepared(PASSAGE)
    return ready, ready.simulate()


def prepared(passage):
    return prepared_passage(
        passage, kind=SimulationResult, step_h=STEP_h, members=MEMBERS, seed=SEED
    )


@pytest.mark.parametrize("passage", [one for one, _ in CHANGES.values()], ids=CHANGES)
def test_every_answer_is_that_of_the_passage_made_fresh_to_the_last_bit(ready, passage):
    """And so is that of the first one, changed back: nothing of the other is left behind."""
    ready, as_it_was = ready
    there = ready.changed(passage)
    pairs = (there, prepared(passage).simulate()), (there.changed(PASSAGE), as_it_was)
    for kept, alone in pairs:
        found = kept.simulate()
        assert differing(found.ensemble, alone.ensemble) == []
        assert found.hourly.equals(alone.hourly)
        assert found.loads.equals(alone.loads)
        assert found.verdict == alone.verdict


def test_hours_that_both_passages_meet_are_drawn_once(before, monkeypatch):
    """Leaving a day later: a day more of hours is drawn, and nothing for those before."""
    passage = later(hours=24)
    drawn = []

    def counting(draw):
        def draw_hours(**how):
            drawn.append(how["hours"])
            return draw(**how)

        return draw_hours

    for name in ("wind_quantiles", "calm_turns", "errors_anew"):
        monkeypatch.setattr(ensemble_forcing, name, counting(getattr(ensemble_forcing, name)))
    prepared = prepare(passage, step_h=STEP_h, like=before.prepared)
    found = draw_ensemble(passage, prepared, members=MEMBERS, seed=SEED, like=before)
    assert len(drawn) == 3
    assert set(drawn) == {24}
    assert np.array_equal(found.read_anew[found.hour[:24]], before.read_anew[before.hour[24:48]])


def test_light_on_a_panel_is_kept_for_another_module_in_its_place(before, monkeypatch):
    def refused(*args, **how):
        raise AssertionError("it is known how much light falls there")

    monkeypatch.setattr(panel_light, "light_on_plane", refused)
    stronger = CHANGES["a panel"][0]
    with pytest.raises(AssertionError):
        draw_ensemble(stronger, before.prepared, members=MEMBERS, seed=SEED)
    again = replace(before.prepared, passage=stronger)
    found = draw_ensemble(stronger, again, members=MEMBERS, seed=SEED, like=before)
    assert found.panels.values.sum() > 1.5 * before.panels.values.sum()


def test_another_step_another_time_at_anchor_and_no_passage_before_keep_nothing(before):
    for how in ({"step_h": 0.5, "hold_h": 0.0}, {"step_h": STEP_h, "hold_h": 24.0}):
        assert kept_of(before.prepared, PASSAGE, **how) == Kept()
    assert kept_of(None, PASSAGE, step_h=STEP_h, hold_h=0.0) == Kept()


def test_other_members_keep_no_sky(before):
    for how in ({"members": 2, "seed": SEED}, {"members": MEMBERS, "seed": 5}):
        found = draw_ensemble(PASSAGE, before.prepared, like=before, **how)
        assert found.clear_frac is not before.clear_frac
        assert differing(found, draw_ensemble(PASSAGE, before.prepared, **how)) == []


def test_a_bank_of_twice_the_volts_draws_other_currents_from_the_same_panels(before):
    passage = with_boat(battery=battery_of("flooded", capacity_Ah=110.0, nominal_V=24.0))
    kept = kept_of(before.prepared, passage, step_h=STEP_h, hold_h=0.0)
    assert kept == ALL._replace(panels=False)


def test_a_file_of_the_sky_is_kept_with_its_passage_and_another_is_another_sky(before):
    hours = [PASSAGE.depart_utc.timestamp() + 3600.0 * hour for hour in range(24)]
    light = {"start_utc_s": array("d", hours), "step_s": 3600.0}
    dim, bright = (
        Irradiance(file="light.csv", ghi_W_m2=array("d", [ghi] * 24), **light)
        for ghi in (50.0, 400.0)
    )
    passage = replace(PASSAGE, irradiance=dim)
    assert kept_of(before.prepared, passage, step_h=STEP_h, hold_h=0.0) == Kept(track=True)
    prepared = prepare(passage, step_h=STEP_h, like=before.prepared)
    fewer = replace(passage, loads=SPREAD[:2])
    assert prepare(fewer, step_h=STEP_h, like=prepared).sky is prepared.sky
    brighter = prepare(replace(passage, irradiance=bright), step_h=STEP_h, like=prepared)
    assert brighter.sky.ghi_W_m2[:24].sum() > 2.0 * prepared.sky.ghi_W_m2[:24].sum()
    assert differing(brighter, prepare(brighter.passage, step_h=STEP_h), "") == []
