"""What the hour meter tells of the engine, and how much of it was in gear where nobody says."""

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.logbook.engine_so_far import engine_from_log
from powersim.logbook.readings import Reading
from powersim.records import DailyRun, LogEntry
from powersim.simulation.prepare import prepare

DAYS, STEP_h = 4.0, 0.5
N = round(24 * DAYS / STEP_h)
IDLE = np.zeros((N, 1), dtype=bool)


def engine(*metered, motoring=None, passage=None):
    passage = passage or passage_of(days=DAYS)
    given = {"file": "log.csv", "line": 2, "row": "", "clock_s": 0.0}
    readings = [
        Reading(
            at_h=at_h,
            entry=LogEntry(**given, engine_h=hours, gear_h=in_gear_h[0] if in_gear_h else None),
        )
        for at_h, hours, *in_gear_h in metered
    ]
    prepared = prepare(passage, step_h=STEP_h)
    if motoring is None:
        motoring = prepared.signals.motoring[:N].copy()
    found = engine_from_log(readings, passage, prepared, planned=IDLE, motoring=motoring)
    return found, prepared


def ship_hours(prepared, steps):
    track = prepared.track
    return (track.mid_utc_s[steps] / 3600.0 + track.ship_offset_h[steps]) % 24


def test_hours_of_the_meter_are_laid_where_charging_is_allowed():
    found, prepared = engine((0.0, 100.0), (48.0, 103.0), (96.0, 103.0))
    assert found.told
    assert found.charging.sum() * STEP_h == 3.0
    steps = np.flatnonzero(found.charging[:, 0])
    assert steps.max() < 96
    assert prepared.signals.may_run[steps].all()


def test_days_have_about_as_much_each():
    found, _ = engine((0.0, 100.0), (96.0, 108.0))
    by_day = found.charging.reshape(4, -1).sum(axis=1) * STEP_h
    assert by_day.sum() == 8.0
    assert by_day.max() - by_day.min() <= 2.0


def test_parts_of_a_step_are_carried_to_the_next_reading():
    found, _ = engine(*((24.0 * day, 100.0 + 0.7 * day) for day in range(5)))
    assert found.charging.sum() * STEP_h == pytest.approx(2.8, abs=0.5 * STEP_h)


def test_tenths_of_the_meter_are_not_lost_over_many_readings():
    found, _ = engine(*((2.0 * k, 100.0 + 0.1 * k) for k in range(49)))
    assert found.charging.sum() * STEP_h == pytest.approx(4.8, abs=0.5 * STEP_h)


def test_readings_closer_together_than_a_step_lose_nothing():
    """The meter read every ten minutes through a run of two hours: common practice, no source."""
    metered = [(5.0 + k / 6.0, round(100.0 + k / 6.0, 1)) for k in range(13)]
    found, _ = engine(*metered, (24.0, 102.0))
    assert found.charging.sum() * STEP_h == pytest.approx(2.0, abs=0.5 * STEP_h)


def test_short_runs_do_not_grow_into_whole_steps():
    """Three tenths of an hour each morning, and nothing until the next."""
    metered = [(24.0 * day + part, 100.0 + round(0.3 * (day + (part > 0)), 1))
               for day in range(4) for part in (0.0, 12.0)]  # fmt: skip
    found, _ = engine(*metered)
    assert found.charging.sum() * STEP_h == pytest.approx(1.2, abs=0.5 * STEP_h + 1e-9)


def test_without_a_meter_the_engine_runs_as_planned():
    found, _ = engine((0.0, 100.0))
    assert not found.told


def test_planned_motoring_comes_first_and_is_cut_where_the_meter_gained_less():
    found, _ = engine(
        (0.0, 10.0), (24.0, 13.0), passage=passage_of(days=DAYS, leg={"motoring_start_h": 6.0})
    )
    assert found.motoring.sum() * STEP_h == pytest.approx(3.0)
    assert not found.charging[:48].any()


def calms(*hours):
    """Members with so many hours in gear from noon of the first day on."""
    motoring = np.zeros((N, len(hours)))
    for member, in_gear_h in enumerate(hours):
        motoring[6 : 6 + round(in_gear_h / STEP_h), member] = 1.0
    return motoring


def test_a_weather_takes_over_calms_that_go_with_the_meter():
    """Eleven hours of the meter in a day are no charging: all motored as in the one such calm."""
    found, _ = engine((0.0, 100.0), (24.0, 111.0), motoring=calms(*([0.0] * 30 + [11.0] * 10)))
    in_gear_h = found.motoring[:48].sum(axis=0) * STEP_h
    assert np.mean(in_gear_h > 10.5) > 0.95


def test_a_short_gain_is_charging_most_likely_but_not_surely():
    """Two hours: as a usual run has them, in nine members of ten without calm."""
    many = calms(*([0.0] * 90 + [2.0] * 5 + [9.0] * 5))
    found, _ = engine((0.0, 100.0), (24.0, 102.0), motoring=many)
    charged_h = found.charging[:48].sum(axis=0) * STEP_h
    in_gear_h = found.motoring[:48].sum(axis=0) * STEP_h
    assert charged_h + in_gear_h == pytest.approx(np.full(100, 2.0))
    assert 0.3 < np.mean(charged_h > 1.0) < 0.95


def test_the_first_few_members_stand_for_all():
    many = calms(*([0.0] * 50 + [11.0] * 50))
    found, _ = engine((0.0, 100.0), (24.0, 102.0), motoring=many)
    charged_h = found.charging[:48].sum(axis=0) * STEP_h
    assert charged_h[:8].mean() == pytest.approx(charged_h.mean(), abs=0.5)


def test_nothing_is_charged_in_gear_though_a_timetable_has_a_run_there():
    """In gear from 8 to 20 h and two hours more on the meter: they were run in the night."""
    run = DailyRun(at_h=10.0, run_h=2.0)
    passage = passage_of(days=DAYS, boat=boat_of(charging={"daily": (run,)}))
    in_gear = np.zeros((N, 1))
    hours = ship_hours(prepare(passage, step_h=STEP_h), slice(48))
    in_gear[:48, 0] = (hours >= 8.0) & (hours < 20.0)
    found, _ = engine((0.0, 100.0), (24.0, 114.0), passage=passage, motoring=in_gear)
    assert found.motoring[:48].sum() * STEP_h == 12.0
    assert (found.charging * (found.motoring >= 1.0)).sum() == 0.0
    assert found.charging[:48].sum() * STEP_h == 2.0


def test_hours_in_gear_that_are_logged_are_those_of_every_member():
    """Five hours of the meter, three of them in gear: two of charging, whatever the weathers say.

    On the second day she only charged; the third has no entry of hours in gear, and is as before.
    """
    many = calms(*([0.0] * 20 + [3.0] * 10 + [9.0] * 10))
    found, _ = engine(
        (0.0, 100.0, 40.0), (24.0, 105.0, 43.0), (48.0, 107.0, 43.0), (72.0, 109.0), motoring=many
    )
    assert (found.told, found.gear_told) == (True, True)
    in_gear_h = found.motoring.reshape(4, 48, -1).sum(axis=1) * STEP_h
    charged_h = found.charging.reshape(4, 48, -1).sum(axis=1) * STEP_h
    assert in_gear_h[0] == pytest.approx(np.full(40, 3.0))
    assert charged_h[0] == pytest.approx(np.full(40, 2.0))
    assert in_gear_h[1] == pytest.approx(np.zeros(40))
    assert charged_h[1] == pytest.approx(np.full(40, 2.0))
    assert in_gear_h[2] + charged_h[2] == pytest.approx(np.full(40, 2.0))
    assert found.motoring.max() <= 1.0


def test_when_she_was_in_gear_differs_between_members_where_no_calm_says():
    found, _ = engine((0.0, 100.0, 0.0), (24.0, 104.0, 4.0), motoring=calms(*[0.0] * 40))
    begins = (found.motoring[:48] > 0.0).argmax(axis=0)
    assert len(set(begins.tolist())) > 10
    assert found.charging[:48].sum() == 0.0


def test_hours_in_gear_count_without_an_hour_meter_too():
    found, _ = engine((0.0, None, 7.0), (48.0, None, 9.5), motoring=calms(0.0, 9.0))
    assert (found.told, found.gear_told) == (False, True)
    assert found.motoring[:96].sum(axis=0) * STEP_h == pytest.approx(np.full(2, 2.5))


def test_tenths_by_which_the_two_meters_differ_make_no_run():
    """In gear for as long as the engine ran, each meter a tenth early or late: no charging."""
    gear = (0.0, 1.5, 2.9, 4.5, 5.9)
    meter = (100.0, 101.4, 103.0, 104.4, 106.0)
    metered = [(12.0 * k, *one) for k, one in enumerate(zip(meter, gear, strict=True))]
    found, _ = engine(*metered, motoring=calms(0.0, 9.0))
    assert (found.charging.sum(axis=0) * STEP_h).max() <= 0.2


def test_hours_of_charging_find_room_in_steps_that_are_motored_in_part():
    """Three quarters of a step in gear leave a quarter for charging: 4 h of the meter are 4 h."""
    motoring = np.zeros((N, 1))
    motoring[::2] = 0.75
    found, _ = engine((0.0, 100.0), (6.0, 104.0), (96.0, 104.0), motoring=motoring)
    first = slice(0, round(6.0 / STEP_h))
    assert found.motoring[first].sum() * STEP_h == pytest.approx(2.25)
    assert found.charging[first].sum() * STEP_h == pytest.approx(1.75)
    assert (found.motoring + found.charging).max() <= 1.0 + 1e-12


def test_runs_follow_the_readings_of_a_rule_that_has_set_times():
    """Read at 9 and at 17 h of ship's time: two hours of the meter lie right behind either."""
    passage = passage_of(days=DAYS, boat=boat_of(charging={"read_at_h": (9.0, 17.0)}))
    found, prepared = engine((0.0, 100.0), (24.0, 102.0), passage=passage)
    steps = np.flatnonzero(found.charging[:48, 0])
    assert found.charging[:48].sum() * STEP_h == pytest.approx(2.0)
    since_h = [(ship_hours(prepared, steps) - read_h) % 24 for read_h in (9.0, 17.0)]
    assert np.minimum(*since_h).max() < 1.5
