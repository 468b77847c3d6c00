"""Alternatives to what the files say: every combination, the files' own first."""

import pytest

from powersim.errors import InputError
from powersim.inputs.alternatives import alternatives_of


def test_every_place_stands_beside_what_the_files_say():
    """Two banks or the files' own, times a laptop or none: six."""
    found = alternatives_of(
        ["battery.capacity=300 Ah", "Battery.Capacity = 400 Ah"], ["loads.navigation laptop"]
    )
    assert len(found) == 6
    assert found[0] == {}
    assert found[-1] == {"Battery.Capacity": "400 Ah", "loads.navigation laptop": None}
    assert all(len(one) <= 2 for one in found)


@pytest.mark.parametrize(
    ("typed", "values"),
    [
        ("battery.capacity=150:400:100Ah", ["150 Ah", "250 Ah", "350 Ah"]),
        ("battery.capacity=150 Ah:350 Ah:100 Ah", ["150 Ah", "250 Ah", "350 Ah"]),
        ("charging.start=60:70:5 %", ["60 %", "65 %", "70 %"]),
        ("panel.arch.count=1:3:1", ["1", "2", "3"]),
        # A tenth ten times is one, to the last step.
        ("loads.radio.draw=0.1:0.4:0.1 A", ["0.1 A", "0.2 A", "0.3 A", "0.4 A"]),
        # No ranges: two colons in what is no number.
        ("passage.name=a:b:c", ["a:b:c"]),
        ("charging.hours=08:00-20:00", ["08:00-20:00"]),
        ("battery.temperature=-4:4:4 degC", ["-4 degC", "0 degC", "4 degC"]),
    ],
)
def test_a_range_is_so_many_values(typed, values):
    place = typed.partition("=")[0]
    assert [one[place] for one in alternatives_of([typed])[1:]] == values


def test_a_value_that_is_a_table_or_a_truth():
    typed = ['panel.stern={power="50 W"}', "battery.monitor=true"]
    assert alternatives_of(typed)[-1] == {"panel.stern": {"power": "50 W"}, "battery.monitor": True}


def test_nothing_is_set_of_what_is_left_off():
    """As she is; the draw; left off. With a draw and left off it is the third again."""
    found = alternatives_of(["loads.music.draw=2 A"], ["loads.Music"])
    assert found == ({}, {"loads.Music": None}, {"loads.music.draw": "2 A"})


def test_a_value_that_is_named_twice_counts_once():
    assert len(alternatives_of(["a.b=1", "a.b=1"], ["loads.music", "loads.music"])) == 4


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("battery.capacity", "has no = between its place and its value"),
        ("passage.depart=2026-09-01", "is a departure; give it by --depart"),
        ("battery.capacity=150 Ah:400:50 A", "has more than one unit in its range"),
        ("battery.capacity=400:150:50Ah", "runs backwards"),
        ("battery.capacity=150:400:0Ah", "has a step that is not above 0"),
        ("battery.capacity=1:5000:1Ah", "has more than 1,000 values"),
    ],
)
def test_what_cannot_be_read_is_refused(typed, reason):
    with pytest.raises(InputError) as caught:
        alternatives_of([typed], [""])
    first, second = caught.value.problems
    assert (first.file, second.file) == ("set", "without")
    assert first.text.startswith(f"{typed!r} {reason}")


def test_more_combinations_than_anybody_means():
    """Eleven of each of three places are 1,331."""
    ranges = [f"battery.{key}=10:19:1" for key in "abc"]
    with pytest.raises(InputError, match="these make 1,331 combinations"):
        alternatives_of(ranges)
