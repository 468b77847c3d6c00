"""The table by parts of the passage: its columns by what the boat has, and that it always fits."""

from itertools import product

import pytest

from powersim.records import OTHER_SOURCES
from powersim.report.parts_text import chargers_lines, parts_block, sources_of

WEEK = {
    "start_utc": "2026-09-05T09:00:00+00:00",
    "ship_offset_h": -1.0,
    "days": 7.0,
    "lat_from_deg": 64.2,
    "lat_to_deg": 53.4,
    "solar_Ah_per_day": 25.0,
    "alternator_Ah_per_day": 18.0,
    "loads_Ah_per_day": 53.0,
    "surplus_Ah_per_day": 1.0,
    "unserved_Ah_per_day": 0.0,
    "charging_min_per_day": 77.0,
    "lowest_soc": 0.57,
}
NEXT = WEEK | {
    "start_utc": "2026-09-12T09:00:00+00:00",
    "lat_from_deg": 3.0,
    "lat_to_deg": -17.0,
    "solar_Ah_per_day": 31.0,
}


def summary_of(*parts, worst=0, **totals):
    days = sum(part["days"] for part in parts)
    return {
        "parts": parts,
        "worst_part": worst,
        "passage": {"days": days},
        "totals": totals,
        "fuel": {"kind": "diesel"},
    }


def having(part, **given_Ah):
    return part | {f"{source}_Ah_per_day": amount for source, amount in given_Ah.items()}


def columns(block):
    return block.split("\n")[0].split("  ")


def test_a_boat_with_panels_and_engine_alone():
    assert parts_block(summary_of(WEEK, NEXT)) == (
        "Ah/day  latitude      solar  altern.  loads  not taken  engine  lowest\n"
        "------  ------------  -----  -------  -----  ---------  ------  ------\n"
        "5 Sep   64°N to 53°N     25       18     53          1  77 min    57 %\n"
        "12 Sep  3°N to 17°S      31       18     53          1  77 min    57 %\n"
        "Worst week: from 5 Sep, 64°N to 53°N; loads want 53 Ah a day, sun gives 25 Ah."
    )


def test_one_or_two_other_sources_have_columns_of_their_own():
    one = parts_block(summary_of(having(WEEK, wind=12.0)))
    assert "latitude  solar  wind  altern." in one
    assert one.split("\n")[2].split()[3:7] == ["25", "12", "18", "53"]
    assert one.endswith("sun gives 25 Ah,\nwind 12 Ah.")
    two = parts_block(summary_of(having(WEEK, wind=12.0, shore=5.0)))
    assert "solar  wind  shore  altern." in two


def test_more_are_one_column_and_are_told_apart_below():
    """By hand: 12 + 7 + 5 = 24 Ah."""
    block = parts_block(summary_of(having(WEEK, wind=12.0, water=7.0, shore=5.0)))
    assert "solar  other  altern." in block
    assert block.split("\n")[2].split()[3:7] == ["25", "24", "18", "53"]
    assert "wind 12 Ah, water 7.0 Ah, shore 5.0 Ah." in block.replace("\n", " ")


def test_the_worst_week_wants_what_it_got_and_what_it_went_without():
    hungry = WEEK | {"unserved_Ah_per_day": 4.0}
    block = parts_block(summary_of(NEXT, hungry, worst=1))
    assert "not taken  without  engine" in block
    assert "from 5 Sep" in block.split("Worst week: ")[1]
    assert "loads want 57 Ah a day" in block


SOURCES = [
    tuple(source for source, has in zip(OTHER_SOURCES, choice, strict=True) if has)
    for choice in product((False, True), repeat=len(OTHER_SOURCES))
]


@pytest.mark.parametrize("unserved_Ah", [0.0, 888.0])
@pytest.mark.parametrize("sources", SOURCES, ids="+".join)
def test_the_page_is_wide_enough_for_any_boat(sources, unserved_Ah):
    large = WEEK | {key: 888.0 for key in WEEK if key.endswith("Ah_per_day")}
    large |= {"unserved_Ah_per_day": unserved_Ah, "lat_from_deg": -64.0, "lowest_soc": 1.0}
    part = having(large, **dict.fromkeys(sources, 888.0))
    assert sources_of(part) == sources
    assert max(map(len, parts_block(summary_of(part)).split("\n"))) <= 80


def test_what_other_chargers_give_over_the_whole_passage():
    """By hand: 140 Ah in 14 days are 10 a day."""
    parts = (having(WEEK, wind=12.0, shore=0.0), having(NEXT, wind=8.0, shore=0.0))
    (line,) = chargers_lines(summary_of(*parts, wind_Ah=140.0, shore_Ah=0.0))
    assert line == ("chargers", "wind 10 Ah, shore 0.0 Ah a day on average")
    assert chargers_lines(summary_of(WEEK)) == []
