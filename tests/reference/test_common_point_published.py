"""Panels on one tracking controller: curves summed by hand and searched by pvlib and scipy."""

import numpy as np
import pytest
from published import read_published
from pvlib import pvsystem
from scipy.optimize import brentq, minimize_scalar

from powersim.physics.common_point import Modules, modules_of, shared_frac
from powersim.physics.diode import Curve, cells_in_series, curve_of, diode_model_of
from powersim.records import panel_of

SMALL = panel_of("small", power_W=100.0)
OTHER = panel_of(
    "other",
    power_W=60.0,
    count=2,
    module_Vmp=17.5,
    module_Imp=3.43,
    module_Voc=21.6,
    module_Isc=3.7,
)
HIGH = panel_of(
    "high", power_W=200.0, module_Vmp=37.0, module_Imp=5.4, module_Voc=45.0, module_Isc=5.8
)
PAIRS = {
    "alike": (SMALL, SMALL),
    "two stickers": (SMALL, OTHER),
    "two voltages": (SMALL, HIGH),
    "three": (SMALL, OTHER, SMALL),
}


def own_W(curve):
    return float(pvsystem.singlediode(*curve)["p_mp"])


def together_by_hand_W(held, wired):
    """The most of a curve that is summed point by point, by scipy from the best of a fine grid."""
    if wired == "parallel":
        grid = np.linspace(0.05, 50.0, 600)

        def power_W(volts):
            return volts * sum(one.count * pvsystem.i_from_v(volts, *one.curve) for one in held)
    else:
        grid = np.linspace(0.0, max(one.curve.photo_A for one in held), 600)

        def power_W(amps):
            volts = 0.0
            for one in held:
                # Above its light's current a module has no voltage that pvlib could find.
                of_one = one.count * pvsystem.v_from_i(amps, *one.curve)
                volts = volts + np.fmax(of_one, -one.bypass_V)
            return amps * volts

    with np.errstate(all="ignore"):
        at = grid[np.nanargmax(power_W(grid))]
        apart = grid[1] - grid[0]
        found = minimize_scalar(
            lambda x: -float(power_W(x)), bounds=(at - apart, at + apart), method="bounded"
        )
    return -found.fun


@pytest.mark.parametrize("wired", ["parallel", "series"])
@pytest.mark.parametrize("name", PAIRS)
def test_the_common_point_is_that_of_the_summed_curves(name, wired):
    """pvlib's single-diode equation by Lambert's W; ten pairs of lights and temperatures."""
    rng = np.random.default_rng(4)
    panels = PAIRS[name]
    light = [10.0 ** rng.uniform(1.0, 3.05, 10) for _ in panels]
    cell_C = [rng.uniform(0.0, 60.0, 10) for _ in panels]
    held = [
        modules_of(panel, light_W_m2=of, cell_C=warm)
        for panel, of, warm in zip(panels, light, cell_C, strict=True)
    ]
    found = shared_frac(held, wired=wired)
    for place in range(10):
        here = [
            Modules(
                curve=Curve(*(float(np.broadcast_to(part, 10)[place]) for part in one.curve)),
                count=one.count,
                cells=one.cells,
            )
            for one in held
        ]
        apart_W = sum(one.count * own_W(one.curve) for one in here)
        assert found[place] == pytest.approx(together_by_hand_W(here, wired) / apart_W, abs=2e-4)


def test_published_curves_add_up_at_one_point():
    """The ivcurves project's precise solutions: two unlike modules of set 1, 40 digits.

    Their own best powers and voltages are published. Two of a kind keep them; two unlike ones lie
    between the sum of both and what the first's best voltage, or current, makes of the other.
    """
    rows = [row for row in read_published("single_diode_precise_cases.csv") if row["set"] == "1"]

    def module(row):
        value = {name: float(text) for name, text in row.items() if name not in ("seen", "set")}
        thermal_V = 1.380649e-23 * value["cell_temperature_K"] / 1.602176634e-19
        curve = Curve(
            value["photocurrent_A"],
            value["saturation_current_A"],
            value["series_resistance_ohm"],
            value["shunt_resistance_ohm"],
            value["ideality"] * value["cells_in_series"] * thermal_V,
        )
        return Modules(curve=curve, count=1, cells=int(value["cells_in_series"])), value

    (first, one), (second, two) = module(rows[0]), module(rows[1])
    for wired in ("parallel", "series"):
        assert shared_frac([first, first], wired=wired) == pytest.approx(1.0, abs=1e-5)
        frac = float(shared_frac([first, second], wired=wired))
        both_W = one["p_mp_W"] + two["p_mp_W"]
        if wired == "parallel":
            at_one_W = [
                value["v_mp_V"]
                * sum(pvsystem.i_from_v(value["v_mp_V"], *of.curve) for of in (first, second))
                for value in (one, two)
            ]
        else:
            at_one_W = [
                value["i_mp_A"]
                * sum(pvsystem.v_from_i(value["i_mp_A"], *of.curve) for of in (first, second))
                for value in (one, two)
            ]
        assert max(at_one_W) / both_W <= frac <= 1.0


def test_half_the_light_on_one_of_two():
    """By hand from pvlib's best points: in series the bright one alone less a diode, or both at the
    dim one's current; in parallel both at a voltage between theirs.
    """
    bright, dim = (
        curve_of(diode_model_of(SMALL), light_W_m2=light, cell_C=25.0) for light in (1000.0, 300.0)
    )
    best, dim_best = (pvsystem.singlediode(*curve) for curve in (bright, dim))
    held = [Modules(curve=curve, count=1, cells=cells_in_series(SMALL)) for curve in (bright, dim)]
    apart_W = float(best["p_mp"] + dim_best["p_mp"])
    # Two diodes in a module of 36 cells: 1 V at 5.6 A is 5.6 W of the sticker's 18.0 x 5.6 = 100.8.
    assert held[1].bypass_V == 1.0
    alone_W = float(best["p_mp"] - 1.0 * best["i_mp"])
    assert alone_W == pytest.approx(100.8 - 5.6, abs=0.1)
    series = float(shared_frac(held, wired="series"))
    assert series == pytest.approx(alone_W / apart_W, abs=1e-3)
    assert series == pytest.approx(0.73, abs=0.01)
    # In parallel the bright one's best voltage is 18.0 V and the dim one's within half a volt.
    parallel = float(shared_frac(held, wired="parallel"))
    at_V = float(best["v_mp"])
    amps = sum(float(pvsystem.i_from_v(at_V, *curve)) for curve in (bright, dim))
    assert at_V * amps / apart_W <= parallel < 1.0
    assert parallel > 0.998


def test_a_wrong_voltage_feeds_current_back():
    """Two voltages in parallel: at the high one's best the low one would draw, so it rules."""
    low, high = (
        modules_of(panel, light_W_m2=np.array([1000.0]), cell_C=np.array([25.0]))
        for panel in (SMALL, HIGH)
    )
    at_high = float(pvsystem.singlediode(*(float(np.ravel(p)[0]) for p in high.curve))["v_mp"])
    assert float(pvsystem.i_from_v(at_high, *(np.ravel(p)[0] for p in low.curve))) < -10.0
    # Both below the low one's open voltage of 22 V: 20 V at most and 11.2 A of 300 W.
    frac = float(shared_frac([low, high], wired="parallel")[0])
    volts = brentq(
        lambda v: float(pvsystem.i_from_v(v, *(np.ravel(p)[0] for p in low.curve))), 10.0, 30.0
    )
    assert volts == pytest.approx(22.0, abs=0.01)
    assert 18.0 * 11.0 / 300.0 < frac < volts * 11.8 / 300.0
