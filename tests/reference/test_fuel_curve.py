"""What an engine burns: the curve in the code, and whether such an engine can be.

The curve itself is from memory: the file of reference data has what the code has, so that comparing
the two finds a slip of the pen and nothing else (`test_the_code_has_...`). Every other test here
holds the code's own figures against something that knows nothing of that file: the heat of the
fuel, what an engine loses in friction, what sailors pour into their tanks. Their bounds are such
that half as much again, or half, of the slope, of the burn with nothing on the shaft or of the burn
in gear falls outside.
"""

import csv
from pathlib import Path

import pytest

from powersim.physics.engine import (
    belt_fuel_L,
    charging_fuel_L,
    default_charging_burn_L_per_h,
    default_motoring_burn_L_per_h,
    shaft_W,
)
from powersim.records import FUEL_KINDS, Engine
from powersim.records.belt import motoring_W

_FILE = Path(__file__).parent / "data" / "diesel_and_alternator.csv"


def _rows():
    with _FILE.open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return {(row["topic"], row["quantity"]): row for row in rows}


ROWS = _rows()
DIESEL, PETROL = FUEL_KINDS["diesel"], FUEL_KINDS["petrol"]
RATED_KW = 14.0


def burn_at_rated_revs_L_per_h(kind, load_frac):
    """By the ledger of the code: no load for an hour, and the slope times the work."""
    return charging_fuel_L(
        run_h=1.0,
        burn_L_per_h=kind.no_load_L_per_h_per_kW * RATED_KW,
        shaft_Wh=RATED_KW * load_frac * 1000.0,
        slope_L_per_kWh=kind.slope_L_per_kWh,
    )


def test_the_code_has_the_curve_of_the_file():
    """Skarstein and Uhlen, Wind Engineering 13 (1989) 72-87, linear curve, from memory on both
    sides: a slip of the pen shows, a wrong memory does not."""
    curve = "generator fuel curve"
    assert DIESEL.slope_L_per_kWh == float(ROWS[curve, "slope"]["value"])
    assert DIESEL.no_load_L_per_h_per_kW == float(ROWS[curve, "intercept"]["value"])
    engine = Engine(rated_kW=RATED_KW, charging_L_per_h=0.5, motoring_L_per_h=2.0)
    assert engine.slope_L_per_kWh == DIESEL.slope_L_per_kWh
    for quantity, load_frac in (("full-load", 1.0), ("quarter-load", 0.25)):
        expected = float(ROWS[curve, f"{quantity} specific consumption"]["value"])
        found = burn_at_rated_revs_L_per_h(DIESEL, load_frac) / (RATED_KW * load_frac)
        assert found == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("kind", "least", "most"), [("diesel", 0.70, 0.82), ("petrol", 0.62, 0.75)]
)
def test_what_is_burnt_with_nothing_on_the_shaft_is_what_friction_and_pumps_take(kind, least, most):
    """On a straight line of fuel against work, the fuel at no work drives friction and pumps. So

        slope / (slope + no load)  =  work at the shaft / work of the pistons, at full load,

    which is the mechanical efficiency: 70 to 82 % of a small diesel at rated revs (textbooks of
    engines, from memory: brake pressure of 6 to 7 bar, friction and pumping of 1.5 to 2.5). What a
    throttle costs comes on top in a petrol engine's line: 62 to 75 % (our judgement).
    """
    burns = FUEL_KINDS[kind]
    efficiency = burns.slope_L_per_kWh / (burns.slope_L_per_kWh + burns.no_load_L_per_h_per_kW)
    assert least < efficiency < most


@pytest.mark.parametrize("kind", ["diesel", "petrol"])
def test_in_gear_an_engine_works_at_a_third_to_six_tenths(kind):
    """Cruising revs are 70 to 80 % of rated ones, and there an engine burns a third to six tenths
    of what it burns flat out (common practice, no source)."""
    cruising = default_motoring_burn_L_per_h(rated_kW=RATED_KW, kind=kind)
    assert 0.30 < cruising / burn_at_rated_revs_L_per_h(FUEL_KINDS[kind], 1.0) < 0.62


def test_out_of_gear_with_nothing_on_the_belt_a_14_kW_diesel_burns_about_half_a_litre():
    """0.4 to 0.65 L/h at a fast idle of 1,200 to 1,600 rpm (common practice, no source)."""
    found = default_charging_burn_L_per_h(rated_kW=RATED_KW, rev_share_frac=0.45)
    assert 0.40 < found < 0.65


@pytest.mark.parametrize("bank_V", [12.8, 14.0])
def test_a_14_kW_diesel_with_45_A_on_the_belt_burns_0_6_to_1_1_L_an_hour(bank_V):
    """Common practice, no source. Belt efficiency 50 percent: Neacsu 2020 (chapter abstract)."""
    efficiency_frac = float(ROWS["belt alternator", "efficiency 14 V claw pole"]["value"]) / 100.0
    watts = shaft_W(current_A=45.0, bank_V=bank_V, drop_V=0.2, efficiency_frac=efficiency_frac)
    burnt_L = charging_fuel_L(
        run_h=1.0,
        burn_L_per_h=default_charging_burn_L_per_h(rated_kW=RATED_KW, rev_share_frac=0.45),
        shaft_Wh=watts,
        slope_L_per_kWh=DIESEL.slope_L_per_kWh,
    )
    assert 0.6 <= burnt_L <= 1.1


def test_full_load_lies_within_the_consumption_of_small_diesels():
    """210 to 280 g/kWh (textbook range, from memory, and nothing else behind it) at the densities
    of EN 590, 820 to 845 kg/m3: 0.249 to 0.341 L/kWh."""
    grams = ROWS["diesel engine", "specific fuel consumption"]
    density = ROWS["diesel fuel", "density at 15 C"]
    lowest = float(grams["low"]) / float(density["high"])
    highest = float(grams["high"]) / float(density["low"])
    assert lowest <= burn_at_rated_revs_L_per_h(DIESEL, 1.0) / RATED_KW <= highest


def test_a_litre_never_gives_more_than_it_holds():
    """35.9 MJ/L (JRC well-to-wheels, from memory) is 9.97 kWh/L. The belt alone, with the engine's
    own friction paid for, turns 41 percent of it into shaft energy; half is beyond any diesel of
    this size (common practice, no source)."""
    held_kWh_per_L = float(ROWS["diesel fuel", "volumetric heating value"]["value"]) / 3.6
    shaft_kWh_per_L = 1.0 / belt_fuel_L(shaft_Wh=1000.0, slope_L_per_kWh=DIESEL.slope_L_per_kWh)
    assert 0.25 < shaft_kWh_per_L / held_kWh_per_L < 0.5


@pytest.mark.parametrize("revs", [0.1, 0.4, 0.72, 0.95])
def test_in_gear_the_published_curve_tells_the_revs_and_what_the_propeller_leaves(revs):
    """A propeller takes the cube of its revs (common practice, no source), and friction goes with
    the revs (the same). The burn of such an engine must lead back to the revs that it was made of.
    """
    slope, no_load = 0.246, 0.08145  # of the curve, written out: the code's must be the same
    burn_L_per_h = RATED_KW * (slope * revs**3 + no_load * revs)
    engine = Engine(
        rated_kW=RATED_KW,
        charging_L_per_h=0.5,
        motoring_L_per_h=burn_L_per_h,
        slope_L_per_kWh=slope,
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
    full = PETROL.no_load_L_per_h_per_kW + PETROL.slope_L_per_kWh
    assert 0.35 < full < 0.6
    assert full > DIESEL.no_load_L_per_h_per_kW + DIESEL.slope_L_per_kWh
    assert PETROL.motoring_L_per_h_per_kW > DIESEL.motoring_L_per_h_per_kW
