"""Bad weather on a passage: what each sea does, by hand, and that members and average agree."""

from dataclasses import replace

import numpy as np
import pytest
from builders import LOADS, boat_of, passage_of

from powersim.records import BOAT_STATES, HeavyWeather, Load, Sea, WaterGenerator, Window
from powersim.simulation.ensemble import run_ensemble
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.heavy_sea import MeanSeas, lying_track, mean_seas, member_seas
from powersim.simulation.prepare import prepare
from powersim.sky.wind import KN_M_S

LIES = HeavyWeather(lie_to_above_kn=24.0, sea_lasts_h=3.0)
ALL = HeavyWeather(
    lie_to_above_kn=30.0,
    no_engine_above_kn=26.0,
    spray_above_kn=20.0,
    spray_yield_frac=0.6,
    rough_above_kn=18.0,
    very_rough_above_kn=28.0,
    sea_lasts_h=3.0,
)


def forcing_of(heavy, *, members=400, days=2.0, **given):
    boat = boat_of(heavy_weather=heavy, **given.pop("boat", {}))
    passage = passage_of(boat=boat, days=days, **given)
    prepared = prepare(passage, step_h=1.0)
    return draw_ensemble(passage, prepared, members=members, seed=7)


def in_seas(forcing, places):
    """The same with the seas of two members as a test has them, from hour to hour."""
    place = np.array(places, dtype=np.uint8)[:, None].repeat(forcing.members, axis=1)
    n_steps = len(forcing.hour)
    place = np.concatenate([place, np.zeros((n_steps, forcing.members), np.uint8)])[:n_steps]
    return replace(forcing, seas=replace(forcing.seas, place=place))


def test_members_meet_the_sea_of_the_strongest_wind_of_late():
    """Hour by hour: 10, 25, 12, 12, 12, 31, 12 kn; a sea of 24 and of 30 kn, and two hours of it.

    At hour 1 she lies to, and for two hours after it; at hour 5 it is the harder sea.
    """
    track = prepare(passage_of(days=0.5), step_h=1.0).track
    heavy = HeavyWeather(lie_to_above_kn=24.0, no_engine_above_kn=30.0, sea_lasts_h=2.0)
    wind_m_s = np.full((track.n_steps, 1), 12.0) * KN_M_S
    wind_m_s[[0, 1, 5], 0] = np.array([10.0, 25.0, 31.0]) * KN_M_S
    for size in (1, 3, 100):  # however it is cut
        blocks = [slice(at, min(at + size, track.n_steps)) for at in range(0, track.n_steps, size)]
        found = member_seas(
            heavy, lambda some: wind_m_s[some], track=track, members=1, blocks=blocks
        )
        assert found.place[:8, 0].tolist() == [0, 1, 1, 1, 0, 2, 2, 2]


def test_a_wind_of_just_the_strength_is_not_above_it():
    track = prepare(passage_of(days=0.2), step_h=1.0).track
    wind_m_s = np.full((track.n_steps, 1), 24.0 * KN_M_S)
    found = member_seas(
        LIES, lambda some: wind_m_s[some], track=track, members=1, blocks=[slice(0, track.n_steps)]
    )
    assert not found.place.any()


def test_at_anchor_and_alongside_no_sea_counts():
    leg = {"stop_h": 24.0, "stop_state": "anchored"}
    forcing = forcing_of(ALL, days=1.0, leg=leg)
    sailing = forcing.prepared.track.state == BOAT_STATES.index("sailing")
    assert not forcing.seas.place[:24].any()
    assert forcing.seas.place[sailing].any()
    # Hove-to and adrift she is as much at sea.
    forcing = forcing_of(ALL, days=1.0, leg=leg | {"stop_state": "drifting"})
    assert forcing.seas.place[:24].any()


def test_average_weather_has_the_expected_share_of_what_members_meet():
    """The mean of 2,000 members against the closed form with its spells.

    Two hours in from the beginning the sea of late is known to have begun: from there on.
    """
    forcing = forcing_of(ALL, members=2000)
    seas = forcing.prepared.seas
    late = slice(4, 48)
    assert seas.shares.sum(axis=0) == pytest.approx(1.0, abs=1e-12)
    for of in (
        lambda sea: sea.lies_to,
        lambda sea: not sea.engine,
        lambda sea: sea.sun_frac,
        lambda sea: sea.pilot_frac,
    ):
        expected = seas.mean(of).reshape(48, -1).mean(axis=1)[late].mean()
        met = forcing.seas.at(late, of).mean()
        # Of a share near 10 % in 2,000 members of two days, one standard error is about 0.5 %.
        assert met == pytest.approx(expected, abs=0.015)


def test_a_wind_that_a_file_knows_is_no_matter_of_chance():
    """31 kn in the fifth hour alone, and all hours known: a sea for it and three hours more."""
    prepared = prepare(passage_of(days=0.5), step_h=1.0)
    track, sky = prepared.sun_track, prepared.sun_sky
    wind_m_s = np.full(track.n_steps, 10.0 * KN_M_S)
    wind_m_s[4 * 12 : 5 * 12] = 31.0 * KN_M_S
    known = replace(sky, wind_m_s=wind_m_s, wind_open_frac=np.zeros(track.n_steps))
    found = mean_seas(LIES, track=track, sky=known).mean(lambda sea: sea.lies_to)
    by_hour = found.reshape(-1, 12).mean(axis=1)
    assert by_hour.tolist() == [0.0] * 4 + [1.0] * 4 + [0.0] * (len(by_hour) - 8)


def test_an_hour_lain_to_by_hand():
    """12 V; sailing: pilot 2 A for 30 %, 0.6 A; instruments 1 A. Hove-to the pilot rests.

    In a sea in which the pilot draws double it is 1.2 A, and at rest nothing.
    """
    loads = (LOADS[0], replace(LOADS[3], role="pilot", states=frozenset({"sailing"})))
    heavy = HeavyWeather(lie_to_above_kn=30.0, rough_above_kn=20.0, rough_pilot_frac=2.0)
    forcing = in_seas(forcing_of(heavy, members=2, loads=loads), [0, 1, 2] * 16)
    load_A = forcing.signals(slice(0, 3)).load_A.sum(axis=1)
    assert load_A[:, 0].tolist() == pytest.approx([1.6, 2.2, 1.0])
    # In average weather it is the expected mean of the three.
    shares = np.array([0.7, 0.2, 0.1])[:, None].repeat(forcing.prepared.sun_track.n_steps, axis=1)
    assert shares.sum(axis=0) == pytest.approx(1.0)
    expected = 0.7 * 1.6 + 0.2 * 2.2 + 0.1 * 1.0
    assert MeanSeas(seas=heavy.seas, shares=shares).mean(
        lambda sea: 1.0 + (not sea.lies_to) * 0.6 * sea.pilot_frac
    ) == pytest.approx(expected)


def test_protected_loads_never_rest():
    """Lights at night, VHF and AIS on as sailing, and so does a load that names no state."""
    night = Load(name="tricolour", draw_A=0.5, role="sailing lights", window=Window(kind="night"))
    loads = (
        replace(night, states=frozenset({"sailing", "hove-to", "drifting"})),
        Load(name="vhf", draw_A=0.4, role="vhf"),
        Load(name="ais", draw_A=0.3, role="lookout"),
    )
    for lie_to in ("hove-to", "drifting"):
        heavy = replace(LIES, lie_to=lie_to)
        forcing = forcing_of(heavy, members=2, loads=loads)
        calm, lying = (in_seas(forcing, [sea] * 48).signals(slice(0, 48)) for sea in (0, 1))
        assert np.array_equal(calm.load_A, lying.load_A)
        assert calm.load_A[:, 0].max() == pytest.approx(1.2)


def test_spray_takes_its_share_of_whatever_panels_give():
    heavy = HeavyWeather(spray_above_kn=20.0, spray_yield_frac=0.6)
    forcing = forcing_of(heavy, members=3)
    steps = slice(0, 48)
    dry, wet = (in_seas(forcing, [sea] * 48).signals(steps).controllers[0] for sea in (0, 1))
    assert wet.power_W == pytest.approx(0.6 * dry.power_W)
    assert dry.power_W.max() > 20.0


def test_adrift_she_lies_level_and_hove_to_she_heels():
    """A panel that leans with her gives what it gives at a stop in that state."""
    leg = {"heel_deg": 25.0, "tack": "port"}
    for lie_to in ("hove-to", "drifting"):
        forcing = forcing_of(replace(LIES, lie_to=lie_to), members=2, leg=leg)
        stop = forcing_of(
            HeavyWeather(), members=2, days=2.0, leg=leg | {"stop_h": 48.0, "stop_state": lie_to}
        )
        track = lying_track(forcing.prepared.track, lie_to)
        assert np.array_equal(track.heel_deg[:48], stop.prepared.track.heel_deg[:48])
        assert np.array_equal(track.tack[:48], stop.prepared.track.tack[:48])
        given = [
            (in_seas(forcing, [sea] * 48)).signals(slice(0, 2)).controllers[0].power_W
            for sea in (0, 1)
        ]
        assert np.array_equal(*given) == (lie_to == "hove-to")


def test_what_turns_in_the_water_stops_with_her():
    water = WaterGenerator(speeds_kn=(2.0, 5.0, 8.0), powers_W=(0.0, 60.0, 240.0))
    forcing = forcing_of(LIES, members=2, boat={"chargers": (water,)})
    sails, lies = (in_seas(forcing, [sea] * 48).signals(slice(0, 48)).others[0] for sea in (0, 1))
    assert sails.power_W.min() > 50.0
    assert not lies.power_W.any()
    # On average it stands still for the share of the time that she lies to.
    often = forcing.prepared.seas.mean(lambda sea: sea.lies_to).reshape(48, -1).mean(axis=1)
    mean_W = forcing.prepared.others[0][1]
    assert mean_W == pytest.approx(sails.power_W[:, 0] * (1.0 - often), rel=1e-6)


def test_no_engine_in_gear_either():
    heavy = HeavyWeather(no_engine_above_kn=20.0)
    forcing = forcing_of(heavy, members=2, leg={"motoring_end_h": 12.0})
    calm, rough = (in_seas(forcing, [sea] * 48).signals(slice(0, 48)) for sea in (0, 1))
    assert calm.motoring.sum(axis=0)[0] == 12.0
    assert not rough.motoring.any()
    assert (calm.sea_lets.all(), rough.sea_lets.any()) == (True, False)
    # Average weather makes the runs as the rule has them: later is not less.
    signals = forcing.prepared.signals
    assert signals.sea_lets.all()
    assert 0.0 < signals.motoring.sum() < 12.0


def test_nobody_motors_a_calm_while_she_lies_to():
    forcing = forcing_of(LIES, members=50, leg={"motoring_calm_frac": 1.0, "calm_kn": 20.0})
    steps = slice(0, 48)
    lies = forcing.lies_to(steps)
    assert lies.any()
    motoring = forcing.motoring(steps)
    assert motoring.any()
    assert not (motoring > 0.0)[lies].any()


def test_a_sea_without_any_strength_is_none():
    forcing = forcing_of(HeavyWeather(spray_yield_frac=0.1), members=2)
    assert forcing.seas is forcing.prepared.seas is forcing.lying is None
    assert HeavyWeather().seas == (Sea(),)


def test_a_gale_of_two_days_by_hand():
    """No sun, no engine, 12 V; instruments 1 A day and night, a pilot 2 A for 30 % of the time.

    Day 1 in a rough sea: 24 h * (1 + 0.6 * 1.5) A = 45.6 Ah. Days 2 and 3 hove-to, the pilot at
    rest: 48 h * 1 A = 48 Ah. Day 4 in little wind: 24 h * 1.6 A = 38.4 Ah. Together 132 Ah, and
    without any sea 4 * 38.4 = 153.6 Ah.
    """
    loads = (LOADS[0], replace(LOADS[3], role="pilot", states=frozenset({"sailing"})))
    boat = {"panel_W": (), "engine": None, "capacity_Ah": 400.0}
    heavy = HeavyWeather(lie_to_above_kn=30.0, rough_above_kn=20.0)
    forcing = forcing_of(heavy, members=2, days=4.0, loads=loads, boat=boat)
    rough = in_seas(forcing, [1] * 24 + [2] * 48 + [0] * 24)
    calm = in_seas(forcing, [0] * 96)
    for seas, drawn_Ah, lain_to_h in ((rough, 132.0, 48.0), (calm, 153.6, 0.0)):
        found = run_ensemble(
            forcing.prepared.passage, forcing.prepared, members=2, seed=7, forcing=seas
        )
        # The track is some minutes shorter than four days, and at anchor no pilot steers.
        assert found.loads_Ah == pytest.approx(drawn_Ah, abs=0.2)
        assert found.lain_to_h == pytest.approx(lain_to_h)
        assert not found.waited_h.any()


def test_a_bank_that_is_low_as_a_gale_comes_goes_dark_with_the_engine_sound():
    """200 Ah at 50 %, 5 A out, a run due at once, and two days of sea in the way.

    60 Ah above flat are 12 h of 5 A. From 08:00 ship's time on a run waits, until all is dark;
    after that a flat bank excites no alternator, and the calm comes too late. With the sea down
    from the beginning nothing of it happens.
    """
    loads = (Load(name="instruments", draw_A=5.0),)
    bank = {"soc_at_departure": 0.5, "health_frac": 1.0}
    boat = {"panel_W": (), "capacity_Ah": 200.0, "battery": bank}
    heavy = HeavyWeather(no_engine_above_kn=20.0)
    forcing = forcing_of(heavy, members=2, days=3.0, loads=loads, boat=boat)
    for sea, goes_dark in ((1, True), (0, False)):
        seas = in_seas(forcing, [sea] * 48)
        found = run_ensemble(
            forcing.prepared.passage, forcing.prepared, members=2, seed=7, forcing=seas
        )
        assert np.isfinite(found.flat_h).all() == goes_dark
        assert found.runs_waited.tolist() == ([1.0, 1.0] if goes_dark else [0.0, 0.0])
        if goes_dark:  # each with a bank of its own; departure is at 07:00 ship's time
            assert found.flat_h == pytest.approx(12.0, abs=3.0)
            waits_h = np.minimum(found.flat_h, 13.0) - 1.0
            assert found.waited_h == pytest.approx(waits_h, abs=1.0)
            assert not found.charging_h.any()
