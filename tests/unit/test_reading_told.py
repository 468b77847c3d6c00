"""What `check` says of how sure a reading of the bank is."""

import re
from dataclasses import replace

import pytest
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


@pytest.mark.parametrize("battery", [{"reading": "monitor"}, {}])
def test_nothing_is_said_of_volts_that_nobody_reads_or_that_say_nothing(battery):
    chemistry = "flooded" if battery else "lifepo4"
    assert reading_told(boat_of(chemistry=chemistry, battery=battery)) == ""
