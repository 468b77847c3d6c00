"""A module held at a voltage."""

import numpy as np
import pytest

from powersim.physics import diode
from powersim.records import panel_of

# Vmp, Imp, Voc, Isc as they stand on modules of every common size; invented round figures.
PLAUSIBLE = [
    (18.0, 5.6, 22.0, 6.0),
    (17.6, 5.7, 21.6, 6.1),
    (18.9, 5.3, 22.4, 5.6),
    (20.4, 4.91, 24.3, 5.21),
    (17.5, 2.86, 21.5, 3.1),
    (37.5, 8.0, 45.0, 8.5),
    (32.0, 9.4, 39.0, 10.0),
    (19.8, 5.05, 23.6, 5.4),
    (18.0, 1.11, 21.6, 1.2),
    (33.0, 3.03, 40.0, 3.25),
    (17.2, 5.8, 21.2, 6.5),
    (18.0, 0.56, 22.0, 0.6),
    (18.0, 28.0, 22.0, 30.0),
]
# Legal records that no silicon cell can be: nearly square, nearly a triangle, no room at all.
ODD = [
    (18.0, 5.6, 22.0, 5.7),
    (10.0, 3.0, 22.0, 6.0),
    (5.0, 1.0, 100.0, 1.01),
    (21.999, 5.999, 22.0, 6.0),
    (0.5, 8.0, 0.6, 9.0),
]


def panel(Vmp, Imp, Voc, Isc):
    return panel_of(
        "stern",
        power_W=Vmp * Imp,
        module_Vmp=Vmp,
        module_Imp=Imp,
        module_Voc=Voc,
        module_Isc=Isc,
    )


def current(model, module_V, light_W_m2=1000.0, cell_C=25.0, **rest):
    return diode.current_at_voltage_A(
        model, module_V=module_V, light_W_m2=light_W_m2, cell_C=cell_C, **rest
    )


@pytest.mark.parametrize("sticker", PLAUSIBLE)
def test_the_curve_goes_through_the_sticker_and_peaks_there(sticker):
    Vmp, Imp, Voc, Isc = sticker
    model = diode.diode_model_of(panel(*sticker))
    volts = np.linspace(0.0, Voc, 4001)
    amps = current(model, volts)
    assert current(model, Vmp) == pytest.approx(Imp, rel=1e-6)
    assert current(model, 0.0) == pytest.approx(Isc, rel=1e-6)
    assert current(model, Voc) == pytest.approx(0.0, abs=1e-6 * Isc)
    assert volts[np.argmax(volts * amps)] == pytest.approx(Vmp, abs=Voc / 2000)
    # Ten degrees warmer, the open-circuit voltage has fallen by the share it was fitted with.
    fallen_V = Voc * (1 + 10 * diode.VOC_TEMP_COEFF_PER_C)
    assert current(model, fallen_V * 0.998, cell_C=35.0) > 0
    assert current(model, fallen_V * 1.002, cell_C=35.0) == 0


@pytest.mark.parametrize("sticker", ODD)
def test_an_odd_sticker_still_gets_a_falling_curve_between_its_ends(sticker):
    _, _, Voc, Isc = sticker
    model = diode.diode_model_of(panel(*sticker))
    amps = current(model, np.linspace(0.0, Voc, 200))
    assert np.all(np.isfinite(amps))
    assert np.all(np.diff(amps) <= 1e-9)
    assert 0.8 * Isc < amps[0] <= Isc * (1 + 1e-9)
    assert amps[-1] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("sticker", [(18.0, 5.6, 22.0, 5.7), (10.0, 3.0, 22.0, 6.0)])
def test_the_closed_form_goes_through_three_points_of_the_sticker(sticker):
    Vmp, Imp, Voc, Isc = sticker
    model = diode._four_parameters(panel(*sticker))
    assert diode._five_parameters(panel(*sticker), model) is None
    assert current(model, Vmp) == pytest.approx(Imp, rel=1e-6)
    assert current(model, Voc) == pytest.approx(0.0, abs=1e-6)
    assert Isc == model.photo_A


def test_wire_adds_to_the_voltage_that_the_module_works_at():
    model = diode.diode_model_of(panel_of("stern", power_W=100.0))
    for bank_V in (10.0, 14.0, 17.0, 20.0):
        amps = current(model, bank_V, wire_ohm=0.15)
        assert current(model, bank_V + 0.15 * amps) == pytest.approx(amps, rel=1e-9)


def test_no_current_flows_back_into_a_module():
    model = diode.diode_model_of(panel_of("stern", power_W=100.0))
    assert current(model, 30.0) == 0.0
    assert current(model, 13.0, light_W_m2=1e-6) == 0.0


def test_current_over_steps_and_voltages_is_one_array():
    model = diode.diode_model_of(panel_of("stern", power_W=100.0))
    light, cell = np.array([50.0, 700.0, 1000.0]), np.array([20.0, 40.0, 55.0])
    volts = np.array([12.0, 15.0])
    amps = current(model, volts, light_W_m2=light[:, None], cell_C=cell[:, None])
    assert amps.shape == (3, 2)
    for i in range(3):
        for k in range(2):
            alone = current(model, volts[k], light_W_m2=light[i], cell_C=cell[i])
            assert amps[i, k] == pytest.approx(alone, rel=1e-12)
