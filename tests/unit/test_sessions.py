"""Sessions in the load list: how they are read, and what they ask of the bank by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from hand_worked import passage_of

from powersim.errors import InputError
from powersim.inputs.loads import collect_loads, read_loads
from powersim.inputs.odd_figures import odd_figures
from powersim.inputs.sessions import each_of, often_of
from powersim.inputs.text import ReadingError
from powersim.physics.demand import demand_of
from powersim.physics.demand_again import demand_again
from powersim.records import (
    BOAT_STATES,
    Companion,
    Load,
    Session,
    Supply,
    Window,
    drawn_loads,
)

CONVERTER = Supply(name="converter", efficiency_frac=0.8, idle_W=3.0)
#: 2 a day, 100 s for 30 kB at 0.3 kB/s and 140 s to get a link: 4 min a try, 5 of them for 4.
DOWNLOADS = Session(
    word="download",
    words="downloads",
    per_day=2.0,
    each_h=140.0 / 3600.0,
    size_kB=30.0,
    rate_kB_per_s=0.3,
    failed_frac=0.2,
    beside=("laptop",),
)


def phone(session=DOWNLOADS, **more):
    return Load(name="phone", draw_W=6.0, on_frac=None, session=session, **more)


def laptop(**more):
    return Load(name="laptop", draw_W=32.0, supply="converter", **more)


def demand_rows(rows, supplies):
    """A day under sail from midnight, in steps of an hour."""
    n = 24
    track = SimpleNamespace(
        step_h=1.0,
        n_steps=n,
        mid_utc_s=1_788_566_400.0 + 3600.0 * (np.arange(n) + 0.5),
        ship_offset_h=np.zeros(n),
        state=np.full(n, BOAT_STATES.index("sailing"), dtype=np.int8),
    )
    whole = np.ones(n)
    sky = SimpleNamespace(night_frac=0.0 * whole, night_h=10.0 * whole, cabin_C=20.0 * whole)
    return demand_of(rows, supplies, track=track, sky=sky)


def asked(*loads):
    return demand_rows(drawn_loads(loads), (CONVERTER,))


def test_a_day_of_downloads_by_hand():
    """Each try 140 s + 30 / 0.3 = 240 s; 1 / (1 - 0.2) = 1.25 tries get one through: 5 min.

    Two a day are 10 min: the phone takes 6 W * 1/6 h = 1 Wh, the laptop beside it 32 / 0.8 W
    * 1/6 h = 6.667 Wh, and the converter, on for nothing else, 3 W * 1/6 h = 0.5 Wh.
    """
    assert DOWNLOADS.try_h == pytest.approx(4.0 / 60.0)
    assert DOWNLOADS.on_h_per_day == pytest.approx(1.0 / 6.0)
    day = asked(phone(), laptop(on_frac=0.0, window=Window(kind="clock", spans_h=((1.0, 1.5),))))
    assert day.names == ("phone", "laptop", "laptop, for phone", "converter idle")
    energy_Wh = dict(zip(day.names, day.power_W.sum(axis=1), strict=True))
    assert energy_Wh["phone"] == pytest.approx(1.0)
    assert energy_Wh["laptop"] == 0.0
    assert energy_Wh["laptop, for phone"] == pytest.approx(32.0 / 0.8 / 6.0)
    # The half hour in which the laptop may be wanted, and the sessions outside it: each hour has
    # 1/144 h of them.
    assert energy_Wh["converter idle"] == pytest.approx(3.0 * (0.5 + (24.0 - 0.5) / 144.0))


def test_a_companion_is_on_beside_its_own_hours():
    """3 h a day of its own in 6 h, and 10 min of sessions in 24: 3 h 10 min."""
    window = Window(kind="clock", spans_h=((6.0, 12.0),))
    day = asked(phone(), laptop(on_frac=None, on_h_per_day=3.0, window=window))
    assert day.on_frac[1:3].sum() == pytest.approx(3.0 + 1.0 / 6.0)
    assert day.on_frac[1, 6:12] == pytest.approx(0.5)


def test_no_companion_is_on_for_more_than_all_of_the_time():
    """On for 90 % of each hour, with two sessions of 12 h a day: a tenth of each hour is left."""
    long = Session(per_day=6.0, each_h=2.0, beside=("laptop",))
    day = asked(
        phone(long),
        Load(name="fax", draw_W=9.0, on_frac=None, session=long),
        laptop(on_frac=0.9, standby_W=1.0),
    )
    assert day.names[3:5] == ("laptop, for phone", "laptop, for fax")
    # By name: the fax comes first, and the phone finds no time left.
    assert day.on_frac[4] == pytest.approx(0.1)
    assert day.on_frac[3] == pytest.approx(0.0)
    assert day.power_W[2] == pytest.approx(32.0 / 0.8 * 0.9)  # and never on standby


def test_a_companion_stands_by_where_neither_hours_nor_sessions_have_it_on():
    """Open all day, on 50 % of it, and 1/144 of it for sessions: standby for the rest."""
    day = asked(phone(), laptop(on_frac=0.5, standby_W=1.0))
    standby_W = 1.0 / 0.8 * (0.5 - 1.0 / 144.0)
    assert day.power_W[1] == pytest.approx(32.0 / 0.8 * 0.5 + standby_W)


def test_a_supply_that_a_session_names_idles_meanwhile():
    """10 min of 3 W are 0.5 Wh; switched on with the laptop all day, it idles no more for that."""
    named = Session(per_day=2.0, each_h=DOWNLOADS.on_h, beside=("converter",))
    alone = asked(phone(named))
    assert alone.names == ("phone", "converter idle")
    assert alone.power_W[1].sum() == pytest.approx(0.5)
    assert asked(phone(named), laptop(on_frac=0.1)).power_W[2] == pytest.approx(3.0)


def test_a_session_load_keeps_its_own_supply_on_only_while_it_lasts_or_stands_by():
    on_it = Session(per_day=2.0, each_h=DOWNLOADS.on_h)
    assert asked(phone(on_it, supply="converter")).power_W[1].sum() == pytest.approx(0.5)
    stands_by = phone(on_it, supply="converter", standby_W=0.1)
    assert asked(stands_by).power_W[1].sum() == pytest.approx(72.0)


def test_a_companion_is_switched_off_with_the_session_and_not_with_its_own_load():
    rows = drawn_loads((phone(role="comms", priority="essential"), laptop(priority="comfort")))
    assert isinstance(rows[2], Companion)
    assert (rows[2].priority, rows[2].role) == ("essential", "comms")
    assert rows[2].known_as == "laptop"  # one thing, one luck


@pytest.mark.parametrize("left_off", ["phone", "laptop"])
def test_without_one_of_the_two_nothing_is_on_beside_it(left_off):
    loads = [phone(count=int(left_off != "phone")), laptop(on_frac=0.1)]
    if left_off == "laptop":
        loads[1] = laptop(on_frac=0.1, count=0)
    assert asked(*loads).on_frac[2].any()  # its time stays known
    assert not asked(*loads).power_W[2].any()


@pytest.mark.parametrize(
    "other",
    [
        lambda: (phone(count=0), laptop(on_frac=0.1)),
        lambda: (phone(), laptop(on_frac=0.1, count=0)),
        lambda: (phone(), laptop(on_frac=0.995)),
        lambda: (phone(Session(per_day=9.0, each_h=1.0, beside=("laptop",))), laptop(on_frac=0.1)),
        lambda: (phone(Session(per_day=9.0, each_h=1.0)), laptop(on_frac=0.1)),
    ],
)
def test_what_is_worked_out_again_is_what_is_worked_out_at_once(other):
    before = (phone(), laptop(on_frac=0.1))

    known, wanted = drawn_loads(before), drawn_loads(other())
    again = demand_again(
        demand_rows(known, (CONVERTER,)), known, wanted, (CONVERTER,), make=demand_rows
    )
    at_once = demand_rows(wanted, (CONVERTER,))
    assert again.names == at_once.names
    for name in ("current_A", "power_W", "supply_loss_W", "on_frac", "fuel_L_per_h"):
        np.testing.assert_array_equal(getattr(again, name), getattr(at_once, name))


# ---- as they are written


@pytest.mark.parametrize(
    ("text", "per_day", "word", "words", "size_kB"),
    [
        ("3 messages/day", 3.0, "message", "messages", None),
        ("1 weather chart/day", 1.0, "weather chart", "weather charts", None),
        ("2 downloads a day of 30 kB", 2.0, "download", "downloads", 30.0),
        ("7 Position Reports per week", 1.0, "Position Report", "Position Reports", None),
        ("2/day", 2.0, None, None, None),
        ("0.5 calls / day of 1.2 MB", 0.5, "call", "calls", 1200.0),
        ("2/day of 800 bit", 2.0, None, None, 0.1),
    ],
)
def test_how_often_is_read(text, per_day, word, words, size_kB):
    found = often_of(text)
    assert found["per_day"] == pytest.approx(per_day)
    assert (found.get("word"), found.get("words")) == (word, words)
    assert found.get("size_kB") == (None if size_kB is None else pytest.approx(size_kB))


@pytest.mark.parametrize(
    ("text", "each_h", "rate_kB_per_s"),
    [
        ("4 min", 4.0 / 60.0, None),
        ("90 s", 0.025, None),
        ("0.3 kB/s", None, 0.3),
        ("2.4 kbit/s", None, 0.3),  # eight bits a byte
        ("300 B/s+2 min", 2.0 / 60.0, 0.3),
    ],
)
def test_how_long_each_is_read(text, each_h, rate_kB_per_s):
    found = each_of(text)
    for name, value in (("each_h", each_h), ("rate_kB_per_s", rate_kB_per_s)):
        assert found.get(name) == (None if value is None else pytest.approx(value))


@pytest.mark.parametrize(
    ("read", "text", "reason"),
    [
        (often_of, "three messages/day", "cannot read 'three messages/day'"),
        (often_of, "3 messages", "cannot read '3 messages'"),
        (often_of, "0 messages/day", "'0 messages/day' is none at all; a count of 0 leaves"),
        (often_of, "5000/day", "'5000/day' is more than 1000 a day"),
        (often_of, "2/day of 30 kb", "'30 kb' is not in B, kB, MB, bit, kbit or Mbit; a byte is"),
        (often_of, "2/day of 30", "'30' is not in B, kB, MB, bit, kbit or Mbit"),
        (each_of, "2.4 kbps", "'2.4 kbps' is no rate; write kB/s, or kbit/s for bits"),
        (each_of, "30 kB", "'30 kB' is no rate; write kB/s, or kbit/s for bits"),
        (each_of, "4 min + 2 min", "'4 min + 2 min' has two times"),
        (each_of, "1 kB/s + 2 kB/s", "'1 kB/s + 2 kB/s' has two rates"),
        (each_of, "0 min", "'0 min' is no time at all"),
        (each_of, "4", "'4' has no unit"),
        (each_of, "4 min +", "cannot read '4 min +'"),
    ],
)
def test_what_is_wrong_with_a_cell_is_told(read, text, reason):
    with pytest.raises(ReadingError) as caught:
        read(text)
    assert caught.value.reason.startswith(reason)


HEAD = "load,draw,on,window,often,each,failed,with\nlaptop,32 W,3 h/day,,,,,\n"


def test_a_line_of_sessions_is_read(write_file):
    line = "phone,7 W,,,2 downloads/day of 30 kB,2 min + 0.3 kB/s,20 %,Laptop; Converter\n"
    _, read = read_loads(write_file("loads.csv", HEAD + line), supplies=("converter",))
    assert read.session == Session(
        word="download",
        words="downloads",
        per_day=2.0,
        each_h=2.0 / 60.0,
        size_kB=30.0,
        rate_kB_per_s=0.3,
        failed_frac=0.2,
        beside=("laptop", "converter"),
    )
    assert (read.on_frac, read.on_h_per_day) == (None, None)


@pytest.mark.parametrize(
    ("line", "place", "text"),
    [
        ("phone,7 W,1 h/day,,2/day,4 min,,", "3:3: on", "'1 h/day' stands beside often"),
        ("phone,7 W,,,2/day,,,", "3:5: often", "'2/day' does not say how long each takes"),
        ("phone,7 W,,,,4 min,,", "3:6: each", "'4 min' says nothing without often"),
        ("phone,7 W,,,,,20 %,", "3:7: failed", "'20 %' says nothing without often"),
        ("phone,7 W,,,,,,laptop", "3:8: with", "'laptop' says nothing without often"),
        ("phone,7 W,,,2/day,0.3 kB/s,,", "3:6: each", "'0.3 kB/s' is a rate, and often does not"),
        (
            "phone,7 W,,,2/day,4 min,,labtop",
            "3:8: with",
            "no load, supply or device is called 'labtop'; did you mean 'laptop'?",
        ),
        ("phone,7 W,,,2/day,4 min,,phone", "3:8: with", "'phone' is this load itself"),
        ("phone,7 W,,08:00-08:30,12/day,4 min,20 %,", "3:5: often", "'12/day' takes 1 h a day, "),
    ],
)
def test_lines_that_contradict_themselves_are_told(write_file, line, place, text):
    path = write_file("loads.csv", HEAD + line + "\n")
    with pytest.raises(InputError) as caught:
        read_loads(path, supplies=())
    assert f"{path}:{place} " in str(caught.value)
    assert text in str(caught.value)


@pytest.mark.parametrize(
    ("hours", "told"),
    [
        ({}, ["laptop is on all the time, so that phone adds nothing to it"]),
        ({"on_frac": 0.5}, []),
        ({"window": Window(kind="night")}, []),
        ({"states": frozenset({"motoring"})}, []),
        ({"count": 0}, []),
    ],
)
def test_a_companion_that_is_never_off_is_asked_about(hours, told):
    asked = passage_of(loads=(phone(), Load(name="laptop", draw_W=32.0, **hours)))
    assert [one.text for one in odd_figures(asked, ("sailing",))] == told


def test_sessions_that_fill_their_window_are_read(write_file):
    """12 a day of 4 min, a fifth of the tries lost: 12 * 4 / 0.8 = 60 min in an hour."""
    line = "phone,7 W,,08:00-09:00,12/day,4 min,20 %,\n"
    _, read = read_loads(write_file("loads.csv", HEAD + line))
    assert read.time_on_h_per_day == pytest.approx(1.0)


def test_sessions_leave_on_unsaid_and_nothing_is_assumed_of_it(write_file):
    _, told, _ = collect_loads(write_file("a.csv", "load,draw,often,each\nphone,7 W,2/day,4 min\n"))
    assert "a.csv on" not in [one.place for one in told]
    _, told, _ = collect_loads(write_file("b.csv", "load,draw,often,each\nphone,7 W,,\n"))
    assert "b.csv on" in [one.place for one in told]


def test_long_tries_and_very_many_are_asked_about(write_file):
    doubts = []
    line = "load,draw,often,each\nphone,7 W,2/day of 9 MB,0.3 kB/s\nfax,7 W,200/day,4 s\n"
    collect_loads(write_file("loads.csv", line), doubts=doubts)
    assert [one.text for one in doubts] == [
        "each (column D): '0.3 kB/s' makes a try last 500 min",
        "often (column C): '200/day' is more than 100 a day",
    ]
