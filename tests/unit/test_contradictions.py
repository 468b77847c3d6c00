"""Logs that contradict themselves, line by line; one bad entry leaves the rest as it was."""

import itertools
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from builders import passage_of
from hypothesis import given
from hypothesis import strategies as st

from powersim.logbook.contradictions import checked, distances_nm
from powersim.logbook.counters import longest_rising
from powersim.physics.tank import sounding
from powersim.records import Log, LogEntry, Tank, TankPart
from powersim.simulation.prepare import prepare

DEPART = datetime(2026, 9, 5, 9, tzinfo=UTC)
PASSAGE = passage_of(days=6.0)
TRACK = prepare(PASSAGE, step_h=1.0).track
COLUMNS = ("time", "position", "engine_h", "dip", "solar_Ah", "fuel_added", "gear_h", "monitor_Ah")
PLACES = {name: (number, "ABCDEFGH"[number - 1]) for number, name in enumerate(COLUMNS, start=1)}


def entry(line, hours, **given):
    return LogEntry(
        file="log.csv",
        line=line,
        row="the row",
        places=PLACES,
        clock_s=(DEPART + timedelta(hours=hours)).timestamp(),
        **given,
    )


def check(*entries, now_h=120.0, passage=PASSAGE):
    shape = passage.boat.fuel.shape
    return checked(
        Log(entries=entries),
        passage=passage,
        track=TRACK,
        now_utc=DEPART + timedelta(hours=now_h),
        sounding=None if shape is None else lambda depth_m: sounding(shape, depth_m)[:2],
    )


def test_a_sound_log_is_put_in_order_of_time_and_kept_whole():
    found = check(entry(2, 48, engine_h=12.0), entry(3, 24, engine_h=10.0), entry(4, 0))
    assert [one.at_h for one in found.readings] == [0.0, 24.0, 48.0]
    assert found.set_aside == ()


def test_engine_hours_that_go_back_are_named_and_the_others_stay():
    found = check(
        entry(2, 0, engine_h=100.0),
        entry(3, 24, engine_h=103.0),
        entry(4, 48, engine_h=10.5, soc=0.7),
        entry(5, 72, engine_h=107.0),
    )
    assert [one.entry.engine_h for one in found.readings] == [100.0, 103.0, None, 107.0]
    assert found.readings[2].entry.soc == 0.7
    assert [str(problem) for problem in found.set_aside] == [
        "log.csv:4:3: engine_h (column C): 10.5 contradicts 103 of line 3, 24 h before it\n"
        "  expected  a counter that never goes back, and by no more than an hour in an hour\n"
        "  row       the row"
    ]


def test_engine_hours_cannot_pass_faster_than_time():
    found = check(
        entry(2, 0, engine_h=100.0), entry(3, 5, engine_h=101.0), entry(4, 6, engine_h=110.0)
    )
    assert [one.entry.engine_h for one in found.readings] == [100.0, 101.0, None]
    assert [problem.line for problem in found.set_aside] == [4]


def test_hours_in_gear_that_go_back_or_beyond_the_hour_meter_are_named():
    """By hand: from line 4 to 5 the engine ran 2 h, and 45 - 41.5 = 3.5 h in gear are too many.

    With line 5 and without line 4 the two go together, and so they do the other way round: of
    series that are equally long, the one that ends last is kept.
    """
    found = check(
        entry(2, 0, engine_h=100.0, gear_h=40.0),
        entry(3, 24, engine_h=103.0, gear_h=41.0),
        entry(4, 48, engine_h=105.0, gear_h=44.5),
        entry(5, 72, engine_h=109.0, gear_h=4.3),
        entry(6, 96, engine_h=110.0, gear_h=43.2),
    )
    assert [one.entry.gear_h for one in found.readings] == [40.0, 41.0, None, None, 43.2]
    assert [one.entry.engine_h for one in found.readings] == [100.0, 103.0, 105.0, 109.0, 110.0]
    assert [str(problem) for problem in found.set_aside] == [
        "log.csv:4:7: gear_h (column G): 44.5 contradicts 43.2 of line 6, 48 h after it\n"
        "  expected  a counter that never goes back, and by no more than an hour in an hour\n"
        "  row       the row",
        "log.csv:5:7: gear_h (column G): 4.3 contradicts 41 of line 3, 48 h before it\n"
        "  expected  a counter that never goes back, and by no more than an hour in an hour\n"
        "  row       the row",
    ]
    found = check(
        entry(2, 0, engine_h=100.0, gear_h=40.0),
        entry(3, 24, engine_h=103.0, gear_h=41.0),
        entry(4, 48, engine_h=105.0, gear_h=41.5),
        entry(5, 72, engine_h=107.0, gear_h=45.0),
    )
    assert [str(problem) for problem in found.set_aside] == [
        "log.csv:4:7: gear_h (column G): 41.5 against 45 of line 5 are 3.5 h in gear, and the hour "
        "meter gained 2.0 h\n"
        "  expected  no more hours in gear than engine_h gains; both only go up\n"
        "  row       the row"
    ]


def test_a_count_that_starts_again_at_full_is_right_and_one_beyond_the_bank_is_named():
    """The test boat's bank has 220 Ah on its label: by hand, 1.2 of that are 264 Ah."""
    found = check(
        entry(2, 0, monitor_Ah=-30.0),
        entry(3, 12, monitor_Ah=-55.5),
        entry(4, 24, monitor_Ah=0.0),
        entry(5, 36, monitor_Ah=-264.5),
        entry(6, 48, monitor_Ah=-264.0),
    )
    counts = [one.entry.monitor_Ah for one in found.readings]
    assert counts == [-30.0, -55.5, 0.0, None, -264.0]
    assert [str(problem) for problem in found.set_aside] == [
        "log.csv:5:8: monitor_Ah (column H): -264.5 Ah is more than a bank of 220 Ah gives\n"
        "  expected  -264 Ah to 0 Ah; was the monitor set to 0 at a full bank?\n"
        "  row       the row"
    ]


def test_two_meters_read_a_tenth_early_and_a_tenth_late_agree():
    found = check(entry(2, 0, engine_h=100.0, gear_h=0.0), entry(3, 9, engine_h=103.0, gear_h=3.2))
    assert found.set_aside == ()


@pytest.mark.parametrize("begin", [100.0, 812.3, 9999.9, 12345.6])
def test_a_meter_of_tenths_may_be_read_one_early_and_one_late(begin):
    """Five hours on end: 0.2 h more than passed will do, 0.3 h will not."""

    def kept(gained):
        found = check(entry(2, 0, engine_h=begin), entry(3, 5, engine_h=round(begin + gained, 1)))
        return found.set_aside == ()

    assert [kept(gained) for gained in (0.0, 4.9, 5.1, 5.2, 5.3)] == [True] * 4 + [False]


@given(
    begin=st.floats(0.0, 20_000.0),
    runs=st.lists(st.tuples(st.floats(0.02, 12.0), st.floats(0.0, 1.0)), min_size=1, max_size=12),
)
def test_a_sound_meter_read_in_tenths_is_never_set_aside(begin, runs):
    """It shows the tenths that are past; the clock is read to a minute."""
    at_h, meter_h = [0.0], [begin]
    for lasted_h, share in runs:
        at_h.append(at_h[-1] + lasted_h)
        meter_h.append(meter_h[-1] + share * lasted_h)
    shown = [int(10.0 * hours) / 10.0 for hours in meter_h]
    clock_h = [round(60.0 * hours) / 60.0 for hours in at_h]
    assert list(longest_rising(clock_h, shown, pace=1.0)) == list(range(len(shown)))


def test_the_reading_that_it_contradicts_is_named_and_not_one_that_it_agrees_with():
    found = check(entry(2, 0, solar_Ah=0.0), entry(3, 24, solar_Ah=20.0),
                  entry(4, 48, solar_Ah=10.0))  # fmt: skip
    assert "20 contradicts 10 of line 4, 24 h after it" in found.set_aside[0].text


def test_a_large_count_is_shown_as_it_is_written():
    found = check(entry(2, 0, engine_h=12345.6), entry(3, 1, engine_h=12345.7),
                  entry(4, 2, engine_h=98765.4))  # fmt: skip
    assert "98765.4 contradicts 12345.7 of line 3, 1 h before it" in found.set_aside[0].text


@pytest.mark.parametrize(
    ("volts", "stays"), [(8.9, False), (9.1, True), (16.4, True), (16.6, False), (25.1, False)]
)
def test_a_voltage_that_no_such_bank_has_is_named(volts, stays):
    found = check(entry(2, 5, voltage_V=volts, soc=0.7))
    assert (found.readings[0].entry.voltage_V is not None) == stays
    assert found.readings[0].entry.soc == 0.7
    assert [
        f"{volts:g} V cannot be the voltage of a bank of 12 V" in one.text
        for one in found.set_aside
    ] == ([] if stays else [True])


def test_more_cans_than_she_has_and_bought_are_named():
    """The boat has 20 L in cans."""
    found = check(
        entry(2, 5, cans_L=20.0),
        entry(3, 6, cans_L=200.0, soc=0.7),
        entry(4, 7, cans_L=60.0, fuel_added_L=40.0),
        entry(5, 8, cans_L=61.0),
    )
    assert [one.entry.cans_L for one in found.readings] == [20.0, None, 60.0, None]
    assert [problem.line for problem in found.set_aside] == [3, 5]
    assert found.set_aside[0].expected == "0 L to 20 L; what is bought goes into fuel_added"


BOXED = replace(
    PASSAGE,
    boat=replace(
        PASSAGE.boat,
        fuel=replace(
            PASSAGE.boat.fuel,
            shape=Tank(parts=(TankPart(shape="box", length_m=1.0, width_m=0.4, height_m=0.2),)),
        ),
    ),
)


def test_a_depth_above_the_tank_is_named_and_one_a_little_above_is_a_full_tank():
    found = check(entry(2, 5, dip_m=0.9), entry(3, 6, dip_m=0.21), passage=BOXED)
    assert [one.entry.dip_m for one in found.readings] == [None, 0.21]
    assert [problem.text for problem in found.set_aside] == [
        "dip (column D): 90 cm is over the brim of a tank that is full at 20 cm"
    ]


def test_more_fuel_than_tank_and_cans_hold_is_named():
    """80 L in the tank and 20 L in cans: 100 L at most, and a fiftieth of the tank of slack."""
    fuel = PASSAGE.boat.fuel
    assert (fuel.tank_L, fuel.jerrycans_L) == (80.0, 20.0)
    found = check(entry(2, 5, fuel_added_L=500.0), entry(3, 6, fuel_added_L=101.0))
    assert [one.entry.fuel_added_L for one in found.readings] == [None, 101.0]
    assert [problem.text.partition(": ")[2] for problem in found.set_aside] == [
        "500 L is more than tank and cans of boat.toml hold"
    ]
    assert found.set_aside[0].expected == "0 L to 100 L; more cans go into boat.toml first"


def test_depths_of_a_tank_without_a_shape_are_named_once():
    found = check(entry(2, 5, dip_m=0.2), entry(3, 6, dip_m=0.19), entry(4, 7, dip_L=70.0))
    assert [problem.text for problem in found.set_aside] == [
        "dip (column D): a depth says nothing, nor do 1 after it: boat.toml does not say what "
        "shape the tank has"
    ]


def test_a_needle_whose_marks_are_not_known_is_named_once():
    found = check(entry(2, 5, needle_frac=0.5), entry(3, 6, needle_frac=0.25))
    assert [problem.text.partition(": ")[2] for problem in found.set_aside] == [
        "the needle says nothing, nor do 1 after it: boat.toml does not say what its marks mean"
    ]
    assert found.set_aside[0].expected == (
        'needle in [fuel], for example "4 L at E; 41 L at 1/2; 85 L at F"'
    )


def test_a_dip_above_the_tank_is_named():
    found = check(entry(2, 5, dip_L=85.0), entry(3, 6, dip_L=78.0))
    assert [one.entry.dip_L for one in found.readings] == [None, 78.0]
    assert str(found.set_aside[0]).startswith(
        "log.csv:2:4: dip (column D): 85 L is more than the tank of 80 L holds\n"
    )


def test_a_fix_far_off_the_route_is_named_and_one_beside_it_is_not():
    found = check(entry(2, 5, lat_deg=39.0, lon_deg=30.0), entry(3, 6, lat_deg=39.5, lon_deg=-33.0))
    assert [one.entry.lat_deg for one in found.readings] == [None, 39.5]
    assert "nm off the route" in found.set_aside[0].text


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        (121.0, "2026-09-10 10:00 UTC is in the future"),
        (-1.0, "2026-09-05 08:00 UTC is before departure"),
    ],
)
def test_times_outside_the_passage_so_far_are_named(hours, said):
    found = check(entry(2, 24), entry(3, hours))
    assert [one.at_h for one in found.readings] == [24.0]
    assert found.set_aside[0].text == f"time (column A): {said}"


def test_an_entry_of_another_year_is_named_though_that_is_past():
    found = check(entry(2, 24), entry(3, 24 + 365 * 24), now_h=20_000.0)
    assert [one.at_h for one in found.readings] == [24.0]
    assert "2027-09-06 09:00 UTC is long after landfall" in found.set_aside[0].text
    assert found.set_aside[0].expected.endswith("is the year right?")


def test_the_second_of_two_entries_at_one_time_is_named():
    found = check(entry(2, 24, soc=0.8), entry(3, 24, soc=0.6))
    assert [one.entry.soc for one in found.readings] == [0.8]
    assert found.set_aside[0].text == "time (column A): the entry of line 2 is of the same time"


def test_ship_time_goes_by_the_entry_s_own_longitude_or_the_plan_s():
    by_plan, by_fix = (
        entry(2, 22, in_ship_time=True),
        entry(3, 46, in_ship_time=True, lat_deg=37.0, lon_deg=-40.0),
    )
    # 30 W keeps UTC-2, 40 W UTC-3.
    assert [one.at_h for one in check(by_plan, by_fix).readings] == [24.0, 49.0]


def test_the_solar_counter_never_goes_back():
    found = check(
        entry(2, 0, solar_Ah=50.0), entry(3, 24, solar_Ah=5.0), entry(4, 48, solar_Ah=90.0)
    )
    assert [one.entry.solar_Ah for one in found.readings] == [50.0, None, 90.0]


def test_distances_are_those_of_a_sphere():
    """A degree of latitude is 60 nm; the date line is no border."""
    assert distances_nm(0.0, 179.5, [0.0, 1.0], [-179.5, 179.5]) == pytest.approx([60.0, 60.0])


@given(st.lists(st.integers(0, 30), min_size=1, max_size=9), st.booleans())
def test_the_longest_rising_part_is_as_long_as_by_trying_all(counts, limited):
    """Against every subset, for up to nine readings an hour apart."""
    pace = 3.0 if limited else None
    kept = longest_rising(range(len(counts)), counts, pace=pace)

    def agrees(places):
        pairs = itertools.pairwise(places)
        return all(
            0 <= counts[b] - counts[a] <= (float("inf") if pace is None else pace * (b - a) + 0.2)
            for a, b in pairs
        )

    subsets = (
        [place for place in range(len(counts)) if mask >> place & 1]
        for mask in range(1, 2 ** len(counts))
    )
    assert agrees(kept)
    assert len(kept) == max(len(each) for each in subsets if agrees(each))


def test_a_slow_clock_is_told_in_one_line_with_the_time_to_type():
    found = check(entry(2, 24), entry(3, 121), entry(5, 133), entry(4, 145), now_h=120.0)
    assert [one.at_h for one in found.readings] == [24.0]
    (problem,) = found.set_aside
    assert problem.line == 3
    assert problem.text == (
        "time (column A): 2026-09-10 10:00 UTC is in the future, and so are 2 more"
    )
    assert problem.expected == (
        "no later than this computer's clock, 2026-09-10 09:00 UTC. If the clock is slow, give "
        'the right time, such as --now "2026-09-11 10:01"'
    )


def test_a_time_to_come_of_another_year_says_nothing_of_the_clock():
    """Nobody should type a year that is a slip of the pen."""
    found = check(entry(2, 24), entry(3, 24 + 365 * 24), now_h=120.0)
    assert "is the year right?" in str(found.set_aside[0])
    assert "--now" not in str(found.set_aside[0])
