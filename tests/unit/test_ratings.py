import pytest

from powersim.physics.ratings import exponent_of, fit_wells, peukert_frac, wells_of
from powersim.physics.wells import Wells, delivered_frac
from powersim.records import battery_of


def share(wells, hours):
    """Capacity in this time over capacity in 20 hours."""
    return delivered_frac(wells, duration_h=hours) / delivered_frac(wells, duration_h=20.0)


@pytest.mark.parametrize("exponent", [1.0001, 1.01, 1.05, 1.1, 1.2, 1.3, 1.5, 1.9])
def test_an_exponent_is_met_at_10_hours_and_at_1_hour(exponent):
    wells = wells_of(battery_of("flooded", capacity_Ah=220.0, peukert_exponent=exponent))
    for hours in (10.0, 1.0):
        expected = peukert_frac(exponent, duration_h=hours)
        assert share(wells, hours) == pytest.approx(expected, abs=1e-8)


def test_a_bank_that_does_not_mind_the_rate_is_a_single_well():
    wells = wells_of(battery_of("flooded", capacity_Ah=220.0, peukert_exponent=1.0))
    assert wells.available_frac == 1.0
    assert share(wells, 0.1) == 1.0


def test_two_further_ratings_are_both_met():
    battery = battery_of("flooded", capacity_Ah=220.0, capacity_10h_Ah=198.0, capacity_5h_Ah=176.0)
    wells = wells_of(battery)
    assert share(wells, 10.0) == pytest.approx(0.90, abs=1e-8)
    assert share(wells, 5.0) == pytest.approx(0.80, abs=1e-8)


def test_health_does_not_change_what_the_label_says_of_the_rate():
    new, old = (
        battery_of("flooded", capacity_Ah=220.0, capacity_5h_Ah=176.0, health_frac=health)
        for health in (1.0, 0.7)
    )
    assert wells_of(new) == wells_of(old)


@pytest.mark.parametrize(("rating", "hours"), [("capacity_10h_Ah", 10.0), ("capacity_5h_Ah", 5.0)])
def test_one_further_rating_stands_for_its_exponent(rating, hours):
    battery = battery_of("flooded", capacity_Ah=200.0, **{rating: 170.0})
    exponent = exponent_of(0.85, duration_h=hours)
    implied = battery_of("flooded", capacity_Ah=200.0, peukert_exponent=exponent)
    assert share(wells_of(battery), hours) == pytest.approx(0.85, abs=1e-8)
    for each in (battery, implied):
        assert share(wells_of(each), 1.0) == pytest.approx(
            peukert_frac(exponent, duration_h=1.0), abs=1e-8
        )


def test_ratings_that_no_two_wells_give_fall_back_on_the_5_hour_one():
    """All but nothing lost at 10 hours and a half at 5 is steeper than wells can be."""
    odd = battery_of("flooded", capacity_Ah=200.0, capacity_10h_Ah=199.0, capacity_5h_Ah=100.0)
    plain = battery_of("flooded", capacity_Ah=200.0, capacity_5h_Ah=100.0)
    assert wells_of(odd) == wells_of(plain)


def test_the_fit_finds_the_wells_that_made_the_capacities():
    made = Wells(available_frac=0.37, rate_per_h=0.21)
    found = fit_wells(
        long_frac=share(made, 12.0), long_h=12.0, short_frac=share(made, 2.0), short_h=2.0
    )
    assert found.available_frac == pytest.approx(0.37, rel=1e-8)
    assert found.rate_per_h == pytest.approx(0.21, rel=1e-8)


def test_a_fit_without_loss_at_10_hours_but_with_some_at_1_does_not_exist():
    assert fit_wells(long_frac=1.0, long_h=10.0, short_frac=0.8, short_h=1.0) is None


@pytest.mark.parametrize("rated_frac", [1.05, 0.25, -0.05])
def test_a_capacity_that_no_bank_has_is_refused(rated_frac):
    """More than in 20 hours; or a quarter of it or less, at a current that is no larger."""
    with pytest.raises(ValueError) as caught:
        exponent_of(rated_frac, duration_h=5.0)
    assert str(caught.value) == (
        f"a 5-hour capacity must lie between 0.25 and 1 of the 20-hour capacity, got {rated_frac:g}"
    )


@pytest.mark.parametrize("rated_Ah", [220.0, 219.999, 150.0, 100.0, 60.0, 55.1])
def test_every_capacity_between_has_its_wells(rated_Ah):
    battery = battery_of("flooded", capacity_Ah=220.0, capacity_5h_Ah=rated_Ah)
    exponent = exponent_of(rated_Ah / 220.0, duration_h=5.0)
    wells = wells_of(battery)
    for hours in (5.0, 1.0):
        expected = peukert_frac(exponent, duration_h=hours)
        assert share(wells, hours) == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize(
    ("rated", "why"),
    [
        ({"capacity_5h_Ah": 231.0}, "capacity_5h_Ah does not fit capacity_Ah, got 231.0 and 220.0"),
        ({"capacity_5h_Ah": 55.0}, "capacity_5h_Ah does not fit capacity_Ah"),
        ({"capacity_10h_Ah": 110.0}, "capacity_10h_Ah does not fit capacity_Ah"),
        (
            {"capacity_10h_Ah": 180.0, "capacity_5h_Ah": 190.0},
            "capacity_5h_Ah does not fit capacity_10h_Ah",
        ),
    ],
)
def test_ratings_that_do_not_fall_with_the_time_are_no_banks(rated, why):
    with pytest.raises(ValueError, match=why):
        battery_of("flooded", capacity_Ah=220.0, **rated)


def test_a_5_hour_capacity_above_the_10_hour_one_has_no_wells():
    with pytest.raises(ValueError, match="must fall in the order 20 hours, longer, shorter"):
        fit_wells(long_frac=180 / 220, long_h=10.0, short_frac=190 / 220, short_h=5.0)
