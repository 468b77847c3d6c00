"""Cell temperature, power and the single-diode curve against published values."""

import re

import numpy as np
import pytest
from pvlib import pvsystem
from solar_cases import read_rows

from powersim.physics import diode, module
from powersim.records import panel_of

CHECKS = read_rows("pv_temperature_and_power_checks.csv")
DIODES = read_rows("single_diode_precise_cases.csv")


def numbers(text):
    return [float(word) for word in re.findall(r"-?\d+\.?\d*(?:e-?\d+)?", text)]


def check(model, inputs=""):
    """The one row of that model and inputs: value and tolerance."""
    (row,) = [r for r in CHECKS if r["model"].startswith(model) and r["inputs"].startswith(inputs)]
    return row, float(row["value"]), float(row["tolerance_abs"])


@pytest.mark.parametrize(
    "row", [r for r in CHECKS if "u0=25.0 u1=6.84" in r["model"]], ids=lambda row: row["inputs"]
)
def test_cell_temperature_by_faiman(row):
    """D. Faiman 2008, coefficients of IEC 61853."""
    light_W_m2, air_C, wind_m_s = numbers(row["inputs"].replace("W/m2", ""))
    cell_C = module.cell_C(light_W_m2=light_W_m2, air_C=air_C, wind_m_s=wind_m_s)
    assert cell_C == pytest.approx(float(row["value"]), abs=float(row["tolerance_abs"]))


def test_power_falls_with_temperature():
    """Linear coefficient: rated 100 W, -0.3 %/degC, 900 W/m2, cell 30 degC."""
    _, value, tolerance = check("linear DC power")
    made = panel_of("stern", power_W=100.0, power_temp_coeff_per_C=-0.003)
    power_W = module.full_power_W(made, light_W_m2=900.0, cell_C=30.0)
    assert power_W == pytest.approx(value, abs=tolerance)


def made_of(photo_A, saturation_A, series_ohm, shunt_ohm, slope_V, isc_slope_A_per_C=0.0):
    return diode.DiodeModel(
        photo_A=photo_A,
        saturation_A=saturation_A,
        series_ohm=series_ohm,
        shunt_ohm=shunt_ohm,
        slope_V=slope_V,
        isc_slope_A_per_C=isc_slope_A_per_C,
    )


def current(model, module_V, light_W_m2=1000.0):
    return float(
        diode.current_at_voltage_A(
            model, module_V=module_V, light_W_m2=light_W_m2, cell_C=diode.TEST_CELL_C
        )
    )


def test_single_diode_points():
    """IL = 7 A, I0 = 6e-7 A, Rs = 0.1, Rsh = 20, nNsVth = 0.5 V."""
    model = made_of(7.0, 6e-7, 0.1, 20.0, 0.5)
    value = {
        row["inputs"]: float(row["value"]) for row in CHECKS if row["model"].startswith("single")
    }
    assert current(model, 0.0) == pytest.approx(value["short-circuit current"], abs=1e-6)
    best_V = value["voltage at maximum power"]
    assert current(model, best_V) == pytest.approx(value["current at maximum power"], abs=1e-6)
    assert best_V * current(model, best_V) == pytest.approx(value["maximum power"], abs=1e-6)
    open_V = value["open-circuit voltage"]
    assert current(model, open_V - 1e-6) > 0.0
    assert current(model, open_V + 1e-6) == 0.0


@pytest.mark.parametrize("row", DIODES, ids=lambda row: f"{row['set']}-{row['index']}")
def test_single_diode_precise_cases(row):
    """40-digit solutions of the ivcurves project, relative 1e-6."""
    value = {name: float(text) for name, text in row.items() if name != "seen"}
    assert value["cell_temperature_K"] == 298.15
    thermal_V = 1.380649e-23 * value["cell_temperature_K"] / 1.602176634e-19
    model = made_of(
        value["photocurrent_A"],
        value["saturation_current_A"],
        value["series_resistance_ohm"],
        value["shunt_resistance_ohm"],
        value["ideality"] * value["cells_in_series"] * thermal_V,
    )
    assert current(model, 0.0) == pytest.approx(value["i_sc_A"], rel=1e-6)
    assert current(model, value["v_mp_V"]) == pytest.approx(value["i_mp_A"], rel=1e-6)
    assert current(model, value["v_oc_V"] * (1 - 1e-6)) > 0.0
    assert current(model, value["v_oc_V"] * (1 + 1e-6)) == 0.0


def test_de_soto_translation_to_less_light():
    """IL_ref = 7.545 A ... at 800 W/m2 has the published photocurrent, shunt and slope."""
    reference = "De Soto translation to 800 W/m2 25 C"
    published = {
        row["inputs"]: float(row["value"]) for row in CHECKS if row["model"].startswith(reference)
    }
    ours = made_of(7.545, 1.94e-9, 0.094, 15.72, 0.473, isc_slope_A_per_C=0.003)
    for volts in np.linspace(0.0, 9.5, 20):
        translated = pvsystem.i_from_v(
            volts,
            published["photocurrent"],
            1.94e-9,
            0.094,
            published["shunt resistance"],
            published["nNsVth"],
        )
        assert current(ours, volts, light_W_m2=800.0) == pytest.approx(translated, abs=2e-4)
