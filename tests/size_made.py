"""Points of a search for sizes made by hand, for tests of what is made of them."""

from powersim.planning.size_choices import Choice
from powersim.planning.size_point import Point


def point_of_size(*, chemistry="flooded", battery_Ah=220.0, solar_W=200.0, **given):
    """A choice that never fails and never runs the engine, other fields as given."""
    alternator_A = given.pop("alternator_A", 45.0)
    frac = given.get("fails_frac", 0.0)
    plain = {
        "weight_kg": 78.0,
        "clips": False,
        "fails_frac": 0.0,
        "fails_least_frac": max(0.0, frac - 0.02),
        "fails_most_frac": min(1.0, frac + 0.02),
        "floor_frac": frac,
        "flat_frac": 0.0,
        "reserve_frac": 0.0,
        "lowest_soc_p10": 0.6,
        "lowest_soc_p50": 0.7,
        "charging_h": 0.0,
        "charging_h_p90": 0.0,
        "charging_runs": 0.0,
        "motoring_h": 14.0,
        "charging_L": 0.0,
        "fuel_L": 30.0,
        "fuel_left_L_p10": 60.0,
        "unserved_Ah": 0.0,
        "floor_days_p10": None,
        "floor_days_p50": None,
        "flat_days_p10": None,
        "flat_days_p50": None,
    }
    choice = Choice(
        chemistry=chemistry, battery_Ah=battery_Ah, solar_W=solar_W, alternator_A=alternator_A
    )
    return Point(choice=choice, **(plain | given))
