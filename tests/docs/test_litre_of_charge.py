"""docs/model/loads-and-fuel.md says what a litre charges, and when; both are held here."""

import json
import re

import pytest
from pages import ROOT

from powersim.physics.engine import charging_fuel_L, shaft_W

PAGE = (ROOT / "docs" / "model" / "loads-and-fuel.md").read_text(encoding="utf-8")
ROW = re.compile(r"\| (\d+) A \| ([\d.]+) V \| ([\d.]+) L/h \| (\d+) Ah \|")
BURN_L_per_h, SLOPE_L_per_kWh = 0.08145 * 14.0 * 0.45, 0.246  # of 14 kW, as the page has it


def test_there_are_rows():
    assert len(ROW.findall(PAGE)) == 4


@pytest.mark.parametrize("row", ROW.findall(PAGE), ids=lambda row: f"{row[0]} A")
def test_what_a_litre_charges_is_arithmetic(row):
    """45 A at 13.2 + 0.2 V are 603 W, of a machine of 50 % 1206 W: 0.297 L more than 0.513."""
    amps, volts, litres, charge_Ah = map(float, row)
    by_hand_L = BURN_L_per_h + SLOPE_L_per_kWh * amps * (volts + 0.2) / 0.50 / 1000.0
    shaft = shaft_W(current_A=amps, bank_V=volts, drop_V=0.2, efficiency_frac=0.50)
    of_model_L = charging_fuel_L(
        run_h=1.0,
        burn_L_per_h=BURN_L_per_h,
        shaft_Wh=shaft,
        slope_L_per_kWh=SLOPE_L_per_kWh,
    )
    assert of_model_L == pytest.approx(by_hand_L, abs=1e-9)
    assert litres == pytest.approx(by_hand_L, abs=0.005)
    assert charge_Ah == pytest.approx(amps / by_hand_L, abs=0.5)


def test_the_demo_is_as_the_page_has_it():
    """From the golden run, which is renewed with the model: the words must follow."""
    demo = json.loads((ROOT / "tests" / "golden" / "demo.json").read_text(encoding="utf-8"))[
        "figures"
    ]
    charge_Ah = demo["average.engine.alternator_Ah_while_charging"]
    (told_Ah,) = re.findall(r"On the demo a litre charges (\d+) Ah", PAGE)
    assert float(told_Ah) == pytest.approx(charge_Ah / demo["average.fuel.charging_L"], abs=1.0)
    (told_A,) = re.findall(r"no more than some (\d+) A of the 45", PAGE)
    assert float(told_A) == pytest.approx(charge_Ah / demo["average.engine.charging_h"], abs=1.5)
