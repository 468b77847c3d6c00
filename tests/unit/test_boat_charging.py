"""The [charging] table of boat.toml: what it means, what is refused, and what is asked about."""

import pytest

from powersim.inputs.boat import collect_boat, read_boat
from powersim.inputs.boat_charging import write_charging
from powersim.records import ChargingRule, DailyRun

BOAT = (
    '[battery]\nchemistry = "flooded"\ncapacity = "220 Ah"\n[engine]\nrated = "14 kW"\n'
    '[fuel]\ntank = "85 L"\n[alternator]\nnameplate = "75 A"\nregulator = "multi-stage"\n'
)
LINE = BOAT.count("\n") + 1


@pytest.fixture
def read(write_file):
    """What is found in a boat whose [charging] has these lines."""
    return lambda lines, more="": collect_boat(
        write_file(
            "boat.toml", BOAT.replace('"220 Ah"\n', f'"220 Ah"\n{more}') + f"[charging]\n{lines}"
        )
    )


@pytest.fixture
def rule_of(write_file):
    return lambda lines: (
        read_boat(write_file("boat.toml", f"{BOAT}[charging]\n{lines}")).boat.charging
    )


def said(problems):
    """Line, words and advice, without the file's name."""
    return [(one.line - LINE, one.text, one.expected) for one in problems]


def test_every_key_of_a_rule_that_is_read_at_set_times_reaches_its_field(rule_of):
    rule = rule_of(
        'read_at = ["18:00", " 6:15"]\nstart = "60 %"\nrun = "90 min"\nlittle_sun = "20 Ah"\n'
        'full_every = "10 days"\nfull_longest = "6 h"\n'
    )
    assert (rule.read_at_h, rule.start_soc, rule.run_h) == ((6.25, 18.0), 0.60, 1.5)
    assert (rule.stop_soc, rule.stop_below_A, rule.little_sun_Ah) == (None, None, 20.0)
    assert (rule.full_every_days, rule.full_longest_h) == (10.0, 6.0)


def test_a_rule_may_wait_for_another_reading(rule_of):
    rule = rule_of('start = "60 %"\nrun = "2 h"\nwait_below = "80 %"\nwait_readings = 3\n')
    assert (rule.start_soc, rule.wait_below_soc, rule.wait_readings) == (0.6, 0.8, 3)
    assert rule_of('start = "60 %"\nrun = "2 h"\nwait_below = "80 %"\n').wait_readings == 2
    assert rule_of('start = "60 %"\nrun = "2 h"\n').wait_below_soc is None


@pytest.mark.parametrize(
    ("lines", "text", "expected"),
    [
        (
            'start = "80 %"\nrun = "2 h"\nwait_below = "70 %"\n',
            "charging.wait_below: at 70 % or less a run would wait, but the engine is started at "
            "once at 80 %",
            "a charge above the start, for example start 60 % and wait_below 80 %",
        ),
        (
            'start = "60 %"\nstop = "80 %"\nwait_below = "80 %"\n',
            "charging.wait_below: a run would stop at 80 % and be waited for again at 80 %",
            "a charge below the stop, for example wait_below 80 % and stop 90 %",
        ),
        (
            'read_at = []\nstart = "60 %"\nrun = "2 h"\nwait_below = "80 %"\n',
            "charging.wait_below: it counts readings of the bank, and read_at has none",
            'times of reading, for example read_at = ["06:00", "18:00"]',
        ),
    ],
)
def test_a_wait_that_cannot_be_kept_is_refused(read, lines, text, expected):
    assert [one[1:] for one in said(read(lines).problems)] == [(text, expected)]


def test_readings_to_wait_for_without_a_level_are_asked_about(read):
    found = read('start = "60 %"\nrun = "2 h"\nwait_readings = 2\n')
    assert not found.problems
    assert [one[1:] for one in said(found.doubts)] == [
        (
            "charging.wait_readings: there is no wait_below, so no run waits for another reading",
            'wait_below too, a charge above the start, for example wait_below = "80 %"',
        )
    ]


def test_an_ammeter_may_end_a_run(rule_of):
    rule = rule_of('start = "60 %"\nstop_below = "18 A"\nshortest = "1 h"\nlongest = "5 h"\n')
    assert (rule.stop_soc, rule.run_h, rule.stop_below_A) == (None, None, 18.0)
    assert (rule.shortest_h, rule.longest_h) == (1.0, 5.0)


def test_what_has_no_effect_is_not_assumed(read):
    def places(lines):
        return {one.place.removeprefix("boat.toml charging.") for one in read(lines).assumptions}

    by_clock, by_level = places('run = "2 h"\nfull_every = "never"\n'), places('stop = "85 %"\n')
    assert {"longest", "stop", "full_longest", "wait_readings"}.isdisjoint(by_clock)
    assert "longest" in by_level
    assert "full_longest" in places('full_every = "10 days"\n')


@pytest.mark.parametrize(
    ("regulator", "every_days", "reason"),
    [
        ("", 10.0, "lead-acid that is not filled loses capacity; common practice, no source"),
        # 14.4 V are wanted, and from 14.15 V on a small current means full; 14.2 V less 0.2 V.
        (
            "constant",
            None,
            "with 14 V at the bank the regulator cannot fill it, whatever the engine runs; the sun "
            "may",
        ),
    ],
)
def test_a_bank_is_filled_every_ten_days_where_the_regulator_can(
    write_file, regulator, every_days, reason
):
    text = BOAT.replace("multi-stage", regulator or "multi-stage")
    found = read_boat(write_file("boat.toml", text))
    assert found.boat.charging.full_every_days == every_days
    said = {one.place: one.reason for one in found.assumptions}
    assert said["boat.toml charging.full_every"] == reason


@pytest.mark.parametrize(
    ("lines", "text", "expected"),
    [
        (
            'stop = "80 %"\nrun = "2 h"\n',
            "charging.run: stop and run both end a run",
            "one of stop, run and stop_below; take out the others",
        ),
        (
            'start = "60 %"\nread_at = "06:00"\n',
            "charging.read_at: '06:00' is not a list of times in quotes",
            """ship's times of reading the bank, for example ["06:00", "18:00"]""",
        ),
        (
            'start = "60 %"\nread_at = ["6 am"]\n',
            "charging.read_at: cannot read the time '6 am'",
            """ship's times of reading the bank, for example ["06:00", "18:00"]""",
        ),
        (
            'start = "60 %"\nread_at = ["24:00"]\n',
            "charging.read_at: '24:00': there is no such time of the day",
            """ship's times of reading the bank, for example ["06:00", "18:00"]""",
        ),
        (
            'start = "60 %"\nread_at = ["06:00", "6:00"]\n',
            "charging.read_at: has the same time twice",
            """ship's times of reading the bank, for example ["06:00", "18:00"]""",
        ),
        (
            'start = "60 %"\nread_at = ["1:00", "2:00", "3:00", "4:00", "5:00"]\n',
            "charging.read_at: has more than 4 times",
            """ship's times of reading the bank, for example ["06:00", "18:00"]""",
        ),
    ],
)
def test_what_is_wrong_is_named_with_its_line(read, lines, text, expected):
    assert said(read(lines).problems) == [(2, text, expected)]


def test_a_run_that_the_hours_have_no_room_for_is_refused(read):
    """It would wait for ever."""
    long = 'start = "80 %"\nhours = "08:00-20:00"\nrun = "{}"\n'
    assert not read(long.format("12 h")).problems
    (problem,) = said(read(long.format("12.5 h")).problems)
    assert problem == (
        3,
        "charging.run: a run of 12.5 h does not fit into the 12 h in which the engine may run "
        "(hours)",
        'a shorter run, for example "2 h", or longer hours',
    )


def test_amperes_that_never_flow_are_asked_about(read):
    amps = 'start = "80 %"\nstop_below = "{}"\n'
    assert not said(read(amps.format("44 A")).doubts)
    (doubt,) = said(read(amps.format("45 A")).doubts)
    assert doubt[1].startswith("charging.stop_below: the alternator gives 45 A at most, so that")
    assert doubt[2] == 'a part of what the alternator gives, for example "18 A"'


def test_all_three_ends_are_refused_too(read):
    problems = read('stop = "80 %"\nrun = "2 h"\nstop_below = "9 A"\n').problems
    assert [text for _, text, _ in said(problems)] == ["charging.run: three things end a run"]


@pytest.mark.parametrize(
    ("lines", "more", "asks"),
    [
        ('start = "75 %"\nstop = "83 %"\n', "", False),
        ('start = "75 %"\nstop = "82 %"\n', "", True),
        ('start = "75 %"\nstop = "80 %"\n', 'reading = "monitor"\n', False),
        ('start = "75 %"\nstop = "79 %"\n', 'reading = "monitor"\n', True),
        ('start = "75 %"\nrun = "2 h"\n', "", False),
    ],
)
def test_levels_too_close_to_be_told_apart_are_asked_about(read, lines, more, asks):
    """At least 8 points by volts, 5 by a counter (common practice, no source)."""
    found = read(lines, more)
    assert not found.problems
    assert bool(said(found.doubts)) == asks


def test_the_question_says_why_and_what_to_do(read):
    (doubt,) = said(read('start = "75 %"\nstop = "78 %"\n').doubts)
    assert doubt == (
        2,
        "charging.stop: start and stop lie 3 points apart; by volts nobody can tell charge to "
        "better than some 8",
        'a stop 8 points above the start or more, or a run by the clock, for example run = "2 h"',
    )


def test_a_reading_within_a_step_or_a_daily_run_is_asked_about(read):
    found = read('read_at = ["06:10", "18:00"]\nrun = "2 h"\ndaily = ["1 h at 17:30"]\n')
    assert [(text, advice) for _, text, advice in said(found.doubts)] == [
        (
            "charging.read_at: 06:10 lies within a step of a quarter of an hour, and is taken for "
            "its beginning, 06:00",
            'times on the quarter of an hour, for example "06:00"',
        ),
        (
            "charging.read_at: at 18:00 the engine runs by the clock ('1 h at 17:30'), and nothing "
            "can be read",
            "a time before it",
        ),
    ]


@pytest.mark.parametrize(
    "rule",
    [
        ChargingRule(start_soc=0.6, stop_soc=0.8),
        ChargingRule(
            start_soc=0.7,
            run_h=1.5,
            read_at_h=(6.0, 18.5),
            full_every_days=10.0,
            full_longest_h=6.0,
        ),
        ChargingRule(
            start_soc=0.88, stop_below_A=18.0, read_at_h=(6.0,), little_sun_Ah=22.0, longest_h=5.0
        ),
        ChargingRule(start_soc=0.57, stop_soc=0.92, wait_below_soc=0.87, wait_readings=3),
        ChargingRule(
            start_soc=0.7,
            stop_soc=0.8,
            daily=(DailyRun(at_h=8.0, run_h=1.0, south_deg=45.0),),
            hours_h=(8.0, 19.0),
        ),
    ],
    ids=["level", "clock", "amperes", "waiting", "daily"],
)
def test_what_is_written_is_read_back(rule, write_file):
    text = BOAT + write_charging(rule)
    assert read_boat(write_file("boat.toml", text)).boat.charging == rule
