"""From light to watts and amperes."""

import numpy as np
import pvlib
import pytest

from powersim.physics import module
from powersim.physics.irradiance import PlaneLight
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
    return module.current_at_voltage_A(
        model, module_V=module_V, light_W_m2=light_W_m2, cell_C=cell_C, **rest
    )


@pytest.mark.parametrize("sticker", PLAUSIBLE)
def test_the_curve_goes_through_the_sticker_and_peaks_there(sticker):
    Vmp, Imp, Voc, Isc = sticker
    model = module.diode_model_of(panel(*sticker))
    volts = np.linspace(0.0, Voc, 4001)
    amps = current(model, volts)
    assert current(model, Vmp) == pytest.approx(Imp, rel=1e-6)
    assert current(model, 0.0) == pytest.approx(Isc, rel=1e-6)
    assert current(model, Voc) == pytest.approx(0.0, abs=1e-6 * Isc)
    assert volts[np.argmax(volts * amps)] == pytest.approx(Vmp, abs=Voc / 2000)
    # Ten degrees warmer, the open-circuit voltage has fallen by the share it was fitted with.
    fallen_V = Voc * (1 + 10 * module.VOC_TEMP_COEFF_PER_C)
    assert current(model, fallen_V * 0.998, cell_C=35.0) > 0
    assert current(model, fallen_V * 1.002, cell_C=35.0) == 0


@pytest.mark.parametrize("sticker", ODD)
def test_an_odd_sticker_still_gets_a_falling_curve_between_its_ends(sticker):
    _, _, Voc, Isc = sticker
    model = module.diode_model_of(panel(*sticker))
    amps = current(model, np.linspace(0.0, Voc, 200))
    assert np.all(np.isfinite(amps))
    assert np.all(np.diff(amps) <= 1e-9)
    assert 0.8 * Isc < amps[0] <= Isc * (1 + 1e-9)
    assert amps[-1] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("sticker", [(18.0, 5.6, 22.0, 5.7), (10.0, 3.0, 22.0, 6.0)])
def test_the_closed_form_goes_through_three_points_of_the_sticker(sticker):
    Vmp, Imp, Voc, Isc = sticker
    model = module._four_parameters(panel(*sticker))
    assert module._five_parameters(panel(*sticker), model) is None
    assert current(model, Vmp) == pytest.approx(Imp, rel=1e-6)
    assert current(model, Voc) == pytest.approx(0.0, abs=1e-6)
    assert Isc == model.photo_A


def test_wire_adds_to_the_voltage_that_the_module_works_at():
    model = module.diode_model_of(panel_of("stern", power_W=100.0))
    for bank_V in (10.0, 14.0, 17.0, 20.0):
        amps = current(model, bank_V, wire_ohm=0.15)
        assert current(model, bank_V + 0.15 * amps) == pytest.approx(amps, rel=1e-9)


def test_no_current_flows_back_into_a_module():
    model = module.diode_model_of(panel_of("stern", power_W=100.0))
    assert current(model, 30.0) == 0.0
    assert current(model, 13.0, light_W_m2=1e-6) == 0.0


def test_current_over_steps_and_voltages_is_one_array():
    model = module.diode_model_of(panel_of("stern", power_W=100.0))
    light, cell = np.array([50.0, 700.0, 1000.0]), np.array([20.0, 40.0, 55.0])
    volts = np.array([12.0, 15.0])
    amps = current(model, volts, light_W_m2=light[:, None], cell_C=cell[:, None])
    assert amps.shape == (3, 2)
    for i in range(3):
        for k in range(2):
            alone = current(model, volts[k], light_W_m2=light[i], cell_C=cell[i])
            assert amps[i, k] == pytest.approx(alone, rel=1e-12)


def _light(incidence_deg, beam=0.0, ring=0.0, sky=0.0, sea=0.0):
    return PlaneLight(
        incidence_deg=np.asarray(incidence_deg, dtype=float),
        beam_W_m2=beam,
        ring_W_m2=ring,
        sky_W_m2=sky,
        sea_W_m2=sea,
    )


def test_glass_takes_nothing_from_square_light_and_all_of_grazing_light():
    share = module.effective_light_W_m2(
        _light([0.0, 60.0, 85.0, 90.0, 120.0], beam=1.0), tilt_deg=0
    )
    assert share[0] == pytest.approx(1.0)
    assert np.all(np.diff(share[:4]) < 0)
    assert share[3:] == pytest.approx([0.0, 0.0], abs=1e-12)


@pytest.mark.parametrize("tilt_deg", [0.0, 30.0, 75.0, 90.0, 130.0])
def test_the_glass_share_of_sky_and_sea_is_that_of_the_beam_summed_over_them(tilt_deg):
    """pvlib.iam.marion_diffuse sums the beam's share over sky and ground patch by patch; the
    closed form is its authors' fit, at most 1.1 % off the sky and 1.4 % off the sea."""
    summed = pvlib.iam.marion_diffuse("martin_ruiz", tilt_deg)
    sky = module.effective_light_W_m2(_light(0.0, sky=1.0), tilt_deg=tilt_deg)
    assert sky == pytest.approx(summed["sky"], rel=0.012)
    if tilt_deg > 0:
        sea = module.effective_light_W_m2(_light(0.0, sea=1.0), tilt_deg=tilt_deg)
        assert sea == pytest.approx(summed["ground"], rel=0.015)


def test_a_tilt_of_a_rounding_error_is_level():
    """The closed form divides 0 by 0 there."""
    tilt_deg = np.array([0.0, 1e-15, 1e-9, 1e-6])
    share = module.effective_light_W_m2(_light(np.zeros(4), sky=1.0, sea=1.0), tilt_deg=tilt_deg)
    assert np.ptp(share) < 1e-6


def test_power_is_never_negative_however_hot():
    stern = panel_of("stern", power_W=100.0)
    assert module.full_power_W(stern, light_W_m2=1000.0, cell_C=400.0) == 0.0
