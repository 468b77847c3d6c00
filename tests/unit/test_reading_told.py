"""What `check` says of how sure a reading of the bank is."""

import math
import re
from dataclasses import replace

from builders import boat_of

from powersim.report.reading_told import reading_told
from powersim.simulation.calibration import rested_volts
from powersim.simulation.reading_parts import rested_parts, total_soc


def points(boat):
    known = rested_volts(boat.battery)
    return tuple((soc, known.middle_V(soc) - 0.05) for soc in (0.5, 0.98))


def figures(text):
    return [int(one) for one in re.findall(r"\d+", text)]


def test_what_own_points_would_bring_and_what_they_brought_are_the_same():
    boat = boat_of()
    own = replace(boat, battery=replace(boat.battery, rested=points(boat)))
    now, could = figures(reading_told(boat))
    assert figures(reading_told(own)) == [could, now]
    assert now == round(100.0 * total_soc(rested_parts(boat.battery, soc=boat.charging.start_soc)))
    assert could <= 0.6 * now


def test_a_counter_is_right_after_a_full_charge():
    """Flooded at 60 %, by hand: 40 % of a capacity known to a tenth, and how full it was when set,
    2 %, and its whole per cent; then 3 % of a quarter of the bank a day, and 0.03 A all day.
    """
    boat = boat_of(battery={"reading": "monitor"}, charging={"start_soc": 0.6})
    spread = boat.battery.traits.spread
    start = math.hypot(40.0 * spread.capacity_log, 2.0, 1.0)
    week = math.hypot(start, 7 * 3.0 * 0.25, 7 * 24 * 0.03 / 187.0 * 100.0)
    assert figures(reading_told(boat)) == [round(start), round(week)]


def test_nothing_is_said_where_volts_say_nothing_or_nobody_goes_by_a_reading():
    assert reading_told(boat_of(chemistry="lifepo4")) == ""
    assert reading_told(boat_of(charging={"by_engine": False})) == ""
    assert reading_told(boat_of(engine=None)) == ""
