"""The needle of the tank's gauge: what it says, how little, and what of it cannot be."""

from dataclasses import replace

import pytest

from powersim.errors import InputError
from powersim.inputs.boat import read_boat
from powersim.inputs.needle_marks import read_mark
from powersim.inputs.text import ReadingError
from powersim.physics.needle import needle_sounding
from powersim.planning.sounding import needle_read
from powersim.records import Fuel
from powersim.records.needle import mark_told

MARKS = ((0.0, 5.0), (0.25, 20.0), (0.5, 45.0), (1.0, 95.0))
FUEL = Fuel(tank_L=100.0, aboard_L=100.0, reserve_L=25.0, needle=MARKS)
BOAT = """\
[battery]
chemistry = "agm"
capacity = "200 Ah"
[engine]
rated = "12 kW"
[fuel]
tank = "100 L"
"""


def test_at_sea_half_a_dial_is_anything_from_a_fifth_of_the_tank_up():
    """6 % of the dial at rest, 12 % at sea, two deviations at worst: 0.5 less 0.24 is 0.26, and
    20 L and a 25th of 25 L are 21 L; 0.74 is 45 L and 48 % of 50 L, 69 L. One deviation up and
    down is 0.62 and 0.38: 57 L and 33 L, half of the 24 L between."""
    found = needle_sounding(FUEL, 0.5)
    assert found.litres == 45.0
    assert (found.least_L, found.most_L) == pytest.approx((21.0, 69.0))
    assert found.sd_L == pytest.approx(12.0)


def test_at_rest_it_is_half_as_far_off():
    """0.38 is 33 L and 0.62 is 57 L."""
    found = needle_sounding(FUEL, 0.5, at_sea=False)
    assert (found.least_L, found.most_L) == pytest.approx((33.0, 57.0))


def test_near_its_ends_the_tank_may_be_empty_or_full():
    assert needle_sounding(FUEL, 0.125).least_L == 0.0
    assert needle_sounding(FUEL, 0.875).most_L == 100.0
    assert needle_sounding(FUEL, 0.0).litres == 5.0
    without_ends = replace(FUEL, needle=((0.25, 20.0), (0.75, 60.0)))
    assert needle_sounding(without_ends, 0.0).litres == 0.0  # from nothing at E
    assert needle_sounding(without_ends, 1.0).litres == 60.0  # no more than at the last mark


@pytest.mark.parametrize(
    ("fuel", "place", "reason"),
    [
        (replace(FUEL, needle=()), 0.5, "no marks"),
        (FUEL, 1.1, "0 to 1"),
        (FUEL, float("nan"), "0 to"),
    ],
)
def test_what_no_needle_says_is_refused(fuel, place, reason):
    with pytest.raises(ValueError, match=reason):
        needle_sounding(fuel, place)


def test_what_it_is_worth_begins_above_the_pick_up_and_the_reserve(write_file):
    """45 L less 5 L below the pick-up, less 25 L of reserve, are 15 L."""
    text = BOAT + 'reserve = "25 L"\nneedle = "5 L at E; 20 L at 1/4; 45 L at 1/2; 95 L at F"\n'
    boat = read_boat(write_file("boat.toml", text)).boat
    assert (boat.fuel.needle, boat.fuel.needle_doubt_frac) == (MARKS, 0.06)
    found = needle_read(boat, 0.5)
    assert (found.depth_m, found.needle_frac) == (None, 0.5)
    assert found.worth.litres == pytest.approx(15.0)
    assert found.worth_least.litres == 0.0


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("E", 0.0),
        ("empty", 0.0),
        ("f", 1.0),
        ("Full", 1.0),
        ("1/4", 0.25),
        (" 7 / 8 ", 0.875),
        ("30 %", 0.3),
    ],
)
def test_a_place_on_the_dial_is_read_as_it_is_marked(text, place):
    assert read_mark(text) == place


@pytest.mark.parametrize("text", ["5/4", "half", "1/0", "120 %", "-1 %", "0.3 L"])
def test_what_is_no_place_on_a_dial_is_refused(text):
    with pytest.raises(ReadingError):
        read_mark(text)


def test_places_are_told_as_they_are_marked():
    places = [place / 16 for place in range(17)]
    assert [read_mark(mark_told(place)) for place in places] == places


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ('needle = "4 L at E"', "'4 L at E' has 1 mark, not 2 to 17"),
        ('needle = "9 L at E; 9 L at 1/2"', "'9 L at E; 9 L at 1/2' has no more at 1/2 than at E"),
        (
            'needle = "4 L at E; 120 L at F"',
            "'4 L at E; 120 L at F' has more at F than the tank holds",
        ),
        (
            'needle = "4 L at 1/2; 9 L at 50 %"',
            "'4 L at 1/2; 9 L at 50 %' has two figures for 1/2",
        ),
        ('needle_doubt = "5 %"', "there is no needle to doubt"),
    ],
)
def test_marks_that_cannot_be_are_told_with_their_line(write_file, line, reason):
    with pytest.raises(InputError) as caught:
        read_boat(write_file("boat.toml", f"{BOAT}{line}\n"))
    (problem,) = caught.value.problems
    assert problem.line == 8
    assert problem.text.partition(": ")[2] == reason


def test_a_record_is_held_to_them_too():
    with pytest.raises(ValueError, match="needle has more at F than the tank holds"):
        replace(FUEL, needle=((0.0, 5.0), (1.0, 150.0)))


def test_without_a_needle_nothing_is_assumed_of_one(write_file):
    told = read_boat(write_file("boat.toml", BOAT)).assumptions
    assert not [one for one in told if "needle" in one.place]
