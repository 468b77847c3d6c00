"""The table of weeks: its columns by what the boat has, and that it always fits the screen."""

from datetime import UTC, datetime
from itertools import product

import numpy as np
import pytest

from powersim.records import OTHER_SOURCES
from powersim.report.screen_text import screen_text
from powersim.report.simulated import _weeks_table
from powersim.report.weeks import Week, few
from powersim.report.weeks_view import flows, others_of, weeks_table, worst_week

MEANS = {
    "solar_Ah_per_day": 25.0,
    "alternator_Ah_per_day": 18.0,
    "loads_Ah_per_day": 53.0,
    "surplus_Ah_per_day": 1.0,
    "unserved_Ah_per_day": 0.0,
    "charging_min_per_day": 77.0,
    "dawn_soc": 0.66,
    "dawn_V": 12.344,
}


def week_of(
    place=0,
    *,
    day=5,
    days=7.0,
    lats_deg=(64.2, 53.4),
    lowest_soc=0.57,
    low_soc=None,
    runs=(4.0,),
    charging_h=(8.0,),
    **given,
):
    start = datetime(2026, 9, day, 9, tzinfo=UTC), -1.0
    means = MEANS | {f"{name}_Ah_per_day": amount_Ah for name, amount_Ah in given.items()}
    return Week(
        place=place,
        start=start,
        lats_deg=lats_deg,
        days=days,
        lowest_soc=lowest_soc,
        low_soc=low_soc,
        runs=np.array(runs),
        charging_h=np.array(charging_h),
        means=means,
        of="parts" if low_soc is None else "ensemble.weeks",
    )


WEEK = week_of()
NEXT = week_of(1, day=12, lats_deg=(3.0, -17.0), solar=31.0)


def on_screen(*weeks, engine=True):
    return screen_text([_weeks_table(weeks, engine=engine)])


def test_a_boat_with_panels_and_engine_alone():
    assert on_screen(WEEK, NEXT) == (
        "                                   Ah a day\n"
        "                                                           engine\n"
        "from    latitude      solar  alternator  loads  surplus      runs  lowest\n"
        "------  ------------  -----  ----------  -----  -------  --------  ------\n"
        "5 Sep   64°N to 53°N     25          18     53      1.0  4 of 2 h    57 %\n"
        "12 Sep  3°N to 17°S      31          18     53      1.0  4 of 2 h    57 %"
    )


def test_another_source_has_a_column_of_its_own():
    one = on_screen(week_of(wind=12.0))
    assert "at    solar  wind  alternator" in one
    assert one.split("\n")[4].split()[3:7] == ["25", "12", "18", "53"]
    assert str(worst_week(week_of(wind=12.0))).endswith("sun gives 25 Ah, wind 12 Ah.")


def test_more_are_one_column_on_the_screen_and_are_told_apart_below():
    """By hand: 12 + 7 + 5 = 24 Ah."""
    week = week_of(wind=12.0, water=7.0, shore=5.0)
    assert "solar  other  alternator" in on_screen(week)
    assert on_screen(week).split("\n")[4].split()[3:7] == ["25", "24", "18", "53"]
    assert str(worst_week(week)).endswith("wind 12 Ah, water 7.0 Ah, shore 5.0 Ah.")
    # The page has room for all of them.
    assert flows([week], engine=True)[:5] == ["solar", "wind", "water", "shore", "alternator"]


def test_the_worst_week_wants_what_it_got_and_what_it_went_without():
    hungry = week_of(unserved=4.0)
    # What loads went without takes the place of the surplus.
    assert "loads  without      runs" in on_screen(NEXT, hungry)
    # In many passages a little of it, in one of them, takes no column.
    little = week_of(unserved=0.4, low_soc=0.5)
    assert "without" not in on_screen(little)
    assert "without" in on_screen(week_of(unserved=0.6, low_soc=0.5))
    assert str(worst_week(hungry)) == (
        "Worst week: from 5 Sep, 64°N to 53°N; loads want 57 Ah a day, sun gives 25 Ah."
    )


SOURCES = [
    tuple(source for source, has in zip(OTHER_SOURCES, choice, strict=True) if has)
    for choice in product((False, True), repeat=len(OTHER_SOURCES))
]


@pytest.mark.parametrize("unserved_Ah", [0.0, 888.0])
@pytest.mark.parametrize("low_soc", [None, 1.0])
@pytest.mark.parametrize("sources", SOURCES, ids="+".join)
def test_the_screen_is_wide_enough_for_any_boat(sources, unserved_Ah, low_soc):
    amounts = dict.fromkeys(("solar", "alternator", "loads", "surplus", *sources), 8888.0)
    large = week_of(
        lats_deg=(-64.0, 53.0),
        lowest_soc=1.0,
        low_soc=low_soc,
        runs=(14.0,),
        charging_h=(14.0 * 2.75,),
        **amounts,
        unserved=unserved_Ah,
    )
    assert others_of(large.means) == sources
    assert max(map(len, on_screen(large).split("\n"))) <= 80


def test_a_number_is_that_of_the_summary_unless_several_weeks_are_told_together():
    rows = weeks_table([WEEK, NEXT], ["solar", "charging_min_per_day", "lowest"], caption="").rows
    names = ("solar_Ah_per_day", "charging_min_per_day", "lowest_soc")
    keys = [[cell.key for cell in row[2:]] for row in rows]
    assert keys == [[f"parts.{place}.{name}" for name in names] for place in (0, 1)]
    (row,) = weeks_table(few([WEEK, NEXT], most=1), ["solar", "lowest"], caption="").rows
    assert [cell.key for cell in row[2:]] == ["", ""]
    in_many = week_of(1, low_soc=0.5)
    (row,) = weeks_table([in_many], ["solar", "lowest", "low"], caption="").rows
    names = ("solar_Ah_per_day", "lowest_soc.p50", "lowest_soc.p10")
    assert [cell.key for cell in row[2:]] == [f"ensemble.weeks.1.{name}" for name in names]


def test_weeks_are_told_together_by_their_length():
    """By hand: 7 days at 10 and 3 days at 20 make (70 + 60) / 10 = 13 a day."""
    first = week_of(lats_deg=(50.0, 40.0), lowest_soc=0.6, low_soc=0.5, solar=10.0)
    rest = week_of(1, days=3.0, lats_deg=(40.0, 37.0), lowest_soc=0.5, low_soc=0.45, solar=20.0)
    (both,) = few([first, rest], most=1)
    assert both.means["solar_Ah_per_day"] == pytest.approx(13.0)
    assert (both.days, both.lats_deg, both.lowest_soc, both.low_soc) == (
        10.0,
        (50.0, 37.0),
        0.5,
        0.45,
    )
    assert (both.runs.tolist(), both.charging_h.tolist()) == ([8.0], [16.0])
    assert few([first, rest], most=2) == [first, rest]
