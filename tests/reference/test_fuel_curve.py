"""Fuel against the published linear curve, and against what diesel holds."""

import csv
from pathlib import Path

import pytest

from powersim.physics.engine import belt_fuel_L, charging_fuel_L, shaft_W
from powersim.records import FUEL_KINDS, Engine
from powersim.records.belt import motoring_W

_FILE = Path(__file__).parent / "data" / "diesel_and_alternator.csv"


def _rows():
    with _FILE.open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return {(row["topic"], row["quantity"]): row for row in rows}


ROWS = _rows()
SLOPE = float(ROWS["generator fuel curve", "slope"]["value"])
INTERCEPT = float(ROWS["generator fuel curve", "intercept"]["value"])
RATED_KW = 14.0


@pytest.mark.parametrize(
    ("quantity", "load"),
    [("full-load specific consumption", 1.0), ("quarter-load specific consumption", 0.25)],
)
def test_consumption_at_rated_revs_is_that_of_the_published_curve(quantity, load):
    """Skarstein and Uhlen, Wind Engineering 13 (1989) 72-87, linear curve; exact."""
    burnt_L = charging_fuel_L(
        run_h=1.0,
        burn_L_per_h=INTERCEPT * RATED_KW,
        shaft_Wh=RATED_KW * load * 1000.0,
        slope_L_per_kWh=SLOPE,
    )
    expected = float(ROWS["generator fuel curve", quantity]["value"])
    assert burnt_L / (RATED_KW * load) == pytest.approx(expected, abs=1e-9)


def test_the_engines_default_slope_is_the_published_one():
    """The same curve."""
    engine = Engine(rated_kW=RATED_KW, charging_L_per_h=0.5, motoring_L_per_h=2.0)
    assert engine.slope_L_per_kWh == SLOPE


@pytest.mark.parametrize("bank_V", [12.8, 14.0])
def test_a_14_kW_diesel_with_45_A_on_the_belt_burns_0_6_to_1_1_L_an_hour(bank_V):
    """Common practice, no source. Intercept of the same curve times charging over rated revs, 0.45;
    belt efficiency 50 percent: Neacsu 2020 (chapter abstract)."""
    efficiency_frac = float(ROWS["belt alternator", "efficiency 14 V claw pole"]["value"]) / 100.0
    watts = shaft_W(current_A=45.0, bank_V=bank_V, drop_V=0.2, efficiency_frac=efficiency_frac)
    burnt_L = charging_fuel_L(
        run_h=1.0,
        burn_L_per_h=INTERCEPT * RATED_KW * 0.45,
        shaft_Wh=watts,
        slope_L_per_kWh=SLOPE,
    )
    assert 0.6 <= burnt_L <= 1.1


def test_full_load_lies_within_the_consumption_of_small_diesels():
    """210 to 280 g/kWh (textbook range, from memory) at the densities of EN 590, 820 to 845 kg/m3:
    0.249 to 0.341 L/kWh."""
    grams = ROWS["diesel engine", "specific fuel consumption"]
    density = ROWS["diesel fuel", "density at 15 C"]
    lowest = float(grams["low"]) / float(density["high"])
    highest = float(grams["high"]) / float(density["low"])
    burnt_L = charging_fuel_L(
        run_h=1.0,
        burn_L_per_h=INTERCEPT * RATED_KW,
        shaft_Wh=RATED_KW * 1000.0,
        slope_L_per_kWh=SLOPE,
    )
    assert lowest <= burnt_L / RATED_KW <= highest


def test_a_litre_never_gives_more_than_it_holds():
    """35.9 MJ/L (JRC well-to-wheels, from memory) is 9.97 kWh/L. The belt alone, with the engine's
    own friction paid for, turns 41 percent of it into shaft energy; half is beyond any diesel of
    this size (common practice, no source)."""
    held_kWh_per_L = float(ROWS["diesel fuel", "volumetric heating value"]["value"]) / 3.6
    shaft_kWh_per_L = 1.0 / belt_fuel_L(shaft_Wh=1000.0, slope_L_per_kWh=SLOPE)
    assert 0.25 < shaft_kWh_per_L / held_kWh_per_L < 0.5


@pytest.mark.parametrize("revs", [0.1, 0.4, 0.72, 0.95])
def test_in_gear_the_published_curve_tells_the_revs_and_what_the_propeller_leaves(revs):
    """A propeller takes the cube of its revs (common practice, no source), and friction goes with
    the revs (the same). The burn of such an engine must lead back to the revs that it was made of.
    """
    assert FUEL_KINDS["diesel"].no_load_L_per_h_per_kW == INTERCEPT
    burn_L_per_h = RATED_KW * (SLOPE * revs**3 + INTERCEPT * revs)
    engine = Engine(
        rated_kW=RATED_KW,
        charging_L_per_h=0.5,
        motoring_L_per_h=burn_L_per_h,
        slope_L_per_kWh=SLOPE,
    )
    # Torque is constant, so all of the power at those revs is their share of the rated one.
    assert motoring_W(engine) == pytest.approx(1000.0 * RATED_KW * (revs - revs**3))


def test_neither_fuel_gives_more_than_it_holds():
    """Diesel 42.6 MJ/kg at 0.84 kg/L, petrol 43.4 MJ/kg at 0.745 kg/L (lower heating values, from
    memory): 9.94 and 8.98 kWh a litre. A small diesel turns 35 to 45 % of what is added into work,
    a small petrol engine 25 to 36 % (common practice, no source).
    """
    holds_kWh_per_L = {"diesel": 42.6 * 0.84 / 3.6, "petrol": 43.4 * 0.745 / 3.6}
    usual_frac = {"diesel": (0.35, 0.45), "petrol": (0.25, 0.36)}
    assert FUEL_KINDS.keys() == holds_kWh_per_L.keys()
    for name, kind in FUEL_KINDS.items():
        share_frac = 1.0 / kind.slope_L_per_kWh / holds_kWh_per_L[name]
        assert usual_frac[name][0] < share_frac < usual_frac[name][1]


def test_a_petrol_engine_burns_more_than_a_diesel_of_its_power():
    """And at full power what makers' sheets of small outboards give: 0.35 to 0.6 L/h for each kW
    (common practice, no source).
    """
    diesel, petrol = FUEL_KINDS["diesel"], FUEL_KINDS["petrol"]
    full = petrol.no_load_L_per_h_per_kW + petrol.slope_L_per_kWh
    assert 0.35 < full < 0.6
    assert full > diesel.no_load_L_per_h_per_kW + diesel.slope_L_per_kWh
    assert petrol.motoring_L_per_h_per_kW > diesel.motoring_L_per_h_per_kW
