"""The day's advice as one line: what is said, and what gives way where there is no room."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from powersim.logbook.day_ahead import _runs
from powersim.records.gsm import MOST_LETTERS, strangers
from powersim.report.advice_line import DayAdvice, Run, advice_line

READ = datetime(2026, 9, 12, 6, 30, tzinfo=UTC)
SURE = Run(frac=1.0, run_h=1.5, ship_h=18.0, level="12.42V")
DAY = DayAdvice(
    holds=True,
    none_holds=False,
    fails_frac=0.02,
    dark_frac=0.0,
    soc=(0.55, 0.62, 0.7),
    runs=(SURE,),
    is_new=False,
    drop=None,
    fuel="diesel",
    fuel_L=41.0,
    landfall_L=12.0,
    landfall_days=12.4,
    read_utc=READ,
    age_h=9.0,
    fix=(READ, 52.175, -27.5167),
)


def test_all_of_it_where_there_is_room():
    """The check by hand, number by number: 2+9+9+8+17+3+3+9+13+13+9 = 95."""
    assert advice_line(replace(DAY, fuel_L=None)) == (
        "HOLDS, 2% FAIL. RUN 90 MIN AT 1800 SHIP. KEEP ALL ON. CHARGE 62% (55-70). "
        "LANDFALL IN 12 DAYS. FROM 12SEP 0630Z 52-10.5N 027-31.0W, 9H OLD CK95"
    )


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"holds": False, "fails_frac": 0.31, "dark_frac": 0.04}, "FAILS IN 31%, DARK IN 4%"),
        (
            {"holds": False, "none_holds": True, "fails_frac": 0.31, "dark_frac": 0.04},
            "NO RULE HOLDS, 31% FAIL, DARK IN 4%",
        ),
        ({"runs": (replace(SURE, frac=0.1),)}, "NO RUN TODAY"),
        ({"runs": ()}, "NO RUN TODAY"),
        ({"runs": (replace(SURE, frac=0.5),)}, "AT 1800 SHIP RUN 90 MIN IF 12.42V OR LESS"),
        ({"is_new": True}, "RUN 90 MIN AT 1800 SHIP BY THE NEW RULE"),
        (
            {"runs": (SURE, replace(SURE, ship_h=8.25, frac=0.5))},
            "RUN 90 MIN AT 1800 SHIP, AT 0815 RUN 90 MIN IF 12.42V OR LESS",
        ),
        ({"drop": ()}, "DROP NOTHING YET"),
        ({"drop": ("music", "Kühlbox “vorn”")}, 'DROP MUSIC, KÜHLBOX "VORN"'),
        ({"not_used": ("POSITION", "DIP")}, "NOT USED: POSITION, DIP"),
        ({"fix": None}, "FROM 12SEP 0630Z WITHOUT A FIX, 9H OLD"),
        ({"fix": (READ, -52.175, 27.5167)}, "52-10.5S 027-31.0E"),
        ({"age_h": 72.0}, "3 DAYS OLD, SEND NEW"),
        (
            {"not_used": ("VOLTAGE",), "reads_lower": True},
            "NOT USED: VOLTAGE. CHARGE LOW? READ AGAIN, IF SO CHARGE NOW",
        ),
    ],
)
def test_what_is_said(changed, words):
    line = advice_line(replace(DAY, fuel_L=None, landfall_L=None, **changed))
    assert words in line


def test_what_gives_way_is_never_the_warning():
    """Every part as long as it gets: ten loads to drop, two runs in doubt, an old fix."""
    line = advice_line(
        replace(
            DAY,
            holds=False,
            none_holds=True,
            fails_frac=0.314,
            dark_frac=0.2,
            runs=(replace(SURE, frac=0.5), replace(SURE, frac=0.5, ship_h=8.0)),
            is_new=True,
            drop=tuple(f"load number {place}" for place in range(10)),
            age_h=30.0,
            fix=(datetime(2026, 9, 10, 6, 30, tzinfo=UTC), 52.175, -127.5167),
            not_used=("POSITION", "VOLTAGE", "ENGINE H", "DIP", "A PIECE", "SOLAR AH"),
        )
    )
    assert len(line) <= MOST_LETTERS
    for words in (
        "NO RULE HOLDS, 31% FAIL",
        "6 NOT USED",
        "DROP ",
        "30H OLD",
        "FIX 10SEP",
        "52-10",
    ):
        assert words in line
    assert "IF 12.42V OR LESS" in line


def test_a_low_reading_that_is_not_believed_gets_room_first():
    """HOLDS and KEEP ALL ON beside a bank that is nearly flat would be the worst of advice."""
    runs = (replace(SURE, frac=0.5), replace(SURE, frac=0.5, ship_h=8.0))
    line = advice_line(
        replace(DAY, runs=runs, is_new=True, not_used=("VOLTAGE",), reads_lower=True)
    )
    assert "NOT USED: VOLTAGE. CHARGE LOW? READ AGAIN, IF SO CHARGE NOW. " in line
    assert "ALL ON" not in line
    assert "RUN 90 MIN IF 12.42V OR LESS" in line


names = st.text(min_size=1, max_size=60).map(str.strip).filter(bool)
shares = st.floats(0.0, 1.0)
runs = st.builds(
    Run, frac=shares, run_h=st.floats(0, 24), ship_h=st.floats(0, 23.99), level=st.just("12.42V")
)


@settings(max_examples=60)
@given(
    st.booleans(), st.booleans(), shares, shares, st.lists(runs, max_size=2), st.booleans(),
    st.none() | st.lists(names, max_size=12), st.floats(0, 400), st.floats(-90, 90),
    st.floats(-180, 180), st.lists(st.sampled_from(["POSITION", "VOLTAGE", "A PIECE"]), max_size=6),
    st.booleans(),
)  # fmt: skip
def test_it_always_fits_and_always_warns(
    holds, none_holds, fails, dark, runs, is_new, drop, age_h, lat_deg, lon_deg, not_used, lower
):
    line = advice_line(
        replace(
            DAY, holds=holds, none_holds=none_holds, fails_frac=fails, dark_frac=dark,
            runs=tuple(runs), is_new=is_new, drop=None if drop is None else tuple(drop),
            age_h=age_h, fix=(READ, lat_deg, lon_deg), not_used=tuple(not_used), reads_lower=lower,
        )
    )  # fmt: skip
    assert len(line) <= MOST_LETTERS
    assert strangers(line) == ""
    assert line.startswith("HOLDS" if holds else ("NO RULE HOLDS", "FAILS IN"))
    assert " OLD" in line
    assert ("NOT USED" in line) == (bool(not_used) or lower)
    assert not (lower and "ALL ON" in line)
    assert "N " in line or "S " in line


def test_the_runs_of_a_day_are_told_by_the_time_at_which_most_have_them():
    """Three members at steps of half an hour, by hand. The first runs from 1 h for 1 h 15 min and
    again from 8 h for half an hour; the second from 2 h for 1 h; the third never. Those of 1 h and
    2 h are one, in 2 of 3: median (1.25 + 1) / 2 = 1.125 h from (1 + 2) / 2 = 1.5 h."""
    charging = np.zeros((20, 3))
    charging[2:5, 0] = (1.0, 1.0, 0.5)
    charging[16, 0] = 1.0
    charging[4:6, 1] = 1.0
    first, second = _runs(charging, first=0, step_h=0.5)
    assert (first.frac, first.run_h, first.starts_h) == pytest.approx((2 / 3, 1.125, 1.5))
    assert (second.frac, second.run_h, second.starts_h) == pytest.approx((1 / 3, 0.5, 8.0))
    assert _runs(np.zeros((4, 3)), first=0, step_h=0.5) == []


def test_an_evening_of_few_and_a_morning_of_most_stand_in_order_of_time():
    """One of four runs at 18:00 and all at 08:00, counted from noon at steps of an hour."""
    charging = np.zeros((24, 4))
    charging[6, 0] = 1.0
    charging[20:22] = 1.0
    evening, morning = _runs(charging, first=2, step_h=1.0)
    assert (evening.frac, evening.starts_h) == (0.25, 8.0)
    assert (morning.frac, morning.run_h, morning.starts_h) == (1.0, 2.0, 22.0)
