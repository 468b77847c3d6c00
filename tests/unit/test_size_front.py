"""Which choices are marked: held against the definition, choice by choice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from size_made import point_of_size

from powersim.planning.size_front import compare_choices, front_of, is_adequate

SOME = st.lists(
    st.builds(
        point_of_size,
        weight_kg=st.integers(50, 60).map(float),
        charging_h=st.integers(0, 10).map(float),
        fails_frac=st.sampled_from((0.0, 0.05, 0.06, 0.5)),
    ),
    min_size=1,
    max_size=25,
)


def beats(one, other):
    """No worse in both, and better in one."""
    return (
        one.weight_kg <= other.weight_kg
        and one.charging_h <= other.charging_h
        and (one.weight_kg, one.charging_h) != (other.weight_kg, other.charging_h)
    )


@given(points=SOME)
def test_the_front_is_what_nothing_beats(points):
    """Pareto's definition, by brute force over all pairs."""
    front = front_of(points)
    places = {(one.weight_kg, one.charging_h) for one in front}
    unbeaten = {
        (one.weight_kg, one.charging_h)
        for one in points
        if not any(beats(other, one) for other in points)
    }
    assert places == unbeaten
    assert len(front) == len(places)
    assert front == sorted(front, key=lambda point: point.weight_kg)


@given(points=SOME)
def test_only_adequate_choices_are_marked_and_every_choice_is_told_once(points):
    sized = compare_choices(points, risk_frac=0.05)
    assert all(one.point.fails_frac <= 0.05 for one in sized.front)
    assert bool(sized.front) == any(is_adequate(point, 0.05) for point in points)
    told = [id(one.point) for one in sized.front] + [id(point) for point in sized.nearest]
    assert sorted(told) == sorted(map(id, points))


def test_of_choices_that_fail_alike_the_nearest_is_not_the_one_that_goes_dark():
    """All fail in all members: by engine hours the one that never charges would come first."""
    own = point_of_size(fails_frac=1.0, flat_frac=0.9)
    idle = point_of_size(fails_frac=1.0, flat_frac=0.8, charging_h=0.0)
    charged = point_of_size(fails_frac=1.0, flat_frac=0.0, charging_h=40.0)
    assert compare_choices([own, idle, charged], risk_frac=0.05).nearest == (charged, idle, own)


def test_hours_saved_for_each_kilogram_by_hand():
    """Three adequate choices of 70, 80 and 90 kg that charge 20, 10 and 8 h, the boat as she is
    of 75 kg: over the lightest 10 h for 10 kg, and 12 h for 20 kg.
    """
    own = point_of_size(weight_kg=75.0, charging_h=25.0, fails_frac=0.3)
    heavy = point_of_size(weight_kg=90.0, charging_h=8.0)
    light = point_of_size(weight_kg=70.0, charging_h=20.0)
    middle = point_of_size(weight_kg=80.0, charging_h=10.0)
    beaten = point_of_size(weight_kg=85.0, charging_h=10.5)
    sized = compare_choices([own, heavy, light, middle, beaten], risk_frac=0.05)
    assert [one.point for one in sized.front] == [light, middle, heavy]
    assert [one.added_kg for one in sized.front] == [-5.0, 5.0, 15.0]
    assert [one.saved_h for one in sized.front] == [0.0, 10.0, 12.0]
    assert [one.saved_h_per_kg for one in sized.front] == [None, 1.0, pytest.approx(0.6)]
    assert sized.nearest == (beaten, own)
    assert sized.own is own


def test_no_choice_is_adequate():
    worse = point_of_size(fails_frac=0.4)
    better = point_of_size(fails_frac=0.2)
    sized = compare_choices([worse, better], risk_frac=0.05)
    assert (sized.front, sized.adequate) == ((), ())
    assert sized.nearest == (better, worse)


def test_a_choice_that_fails_just_as_often_as_it_may_is_adequate():
    """5 of 100 at a risk of 5 %, as `plan` and `simulate` count it; 6 of 100 are too many."""
    assert is_adequate(point_of_size(fails_frac=0.05), 0.05)
    assert not is_adequate(point_of_size(fails_frac=0.06), 0.05)
