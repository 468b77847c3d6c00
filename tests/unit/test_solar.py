"""What the panels behind one controller offer, step by step."""

import numpy as np
import pytest
from solar_cases import boat_in_one_place

from powersim.physics import diode
from powersim.physics.solar import KNOTS_12_V, after_wiring_W, controller_yield, modules_in_series
from powersim.records import Controller, ShadeSector, panel_of

MPPT, PWM = Controller(), Controller(kind="pwm")
SAIL = (ShadeSector(from_deg=270.0, to_deg=360.0, below_deg=60.0, side="lee"),)


def flat(power_W=100.0, **given):
    return panel_of("flat", power_W=power_W, **({"mount": "clear"} | given))


def yield_of(controller, panels, case, nominal_V=12.0):
    track, sky = case
    return controller_yield(controller, panels, track=track, sky=sky, nominal_V=nominal_V)


def day_Wh(case, *panels, controller=MPPT):
    return yield_of(controller, panels, case).power_W.sum() * case[0].step_h


def under_a_sun(*, ghi_W_m2, air_C, course_deg=180.0, **sun):
    """Two steps of a beam of 1000 W/m2 and nothing beside it, wind 5 m/s."""
    track, sky = boat_in_one_place(step_min=720, course_deg=course_deg)
    beam = {"dni_W_m2": 1000.0, "dhi_W_m2": 0.0, "ghi_W_m2": ghi_W_m2}
    for name, value in {**beam, "air_C": air_C, "wind_m_s": 5.0, **sun}.items():
        setattr(sky, name, np.broadcast_to(value, 2).astype(float))
    return track, sky


def test_shapes_and_which_half_is_filled():
    case = boat_in_one_place()
    n = case[0].n_steps
    mppt, pwm = (yield_of(controller, [flat()], case) for controller in (MPPT, PWM))
    assert (mppt.power_W.shape, mppt.knots_V.shape, mppt.current_A.shape) == ((n,), (0,), (n, 0))
    assert (pwm.power_W.shape, pwm.current_A.shape) == ((n,), (n, len(KNOTS_12_V)))
    assert pwm.power_W.max() == 0.0
    assert mppt.power_W.max() > 50.0
    assert pwm.current_A.max() > 3.0
    assert pwm.knots_V.tolist() == list(KNOTS_12_V)
    assert np.array_equal(mppt.module_W, pwm.module_W)
    assert mppt.controller is MPPT


@pytest.mark.parametrize("controller", [MPPT, PWM])
def test_night_is_exactly_nothing_and_day_is_something(controller):
    case = boat_in_one_place()
    dark = case[1].ghi_W_m2 == 0.0
    offered = yield_of(controller, [flat(), flat(mount="arch")], case)
    assert 40 < dark.sum() < 56
    for values in (offered.power_W, offered.module_W, offered.current_A):
        assert np.all(values[dark] == 0.0)
        assert np.all(values >= 0.0)
    assert np.all(offered.module_W[~dark] > 0.0)


@pytest.mark.parametrize("controller", [MPPT, PWM])
@pytest.mark.parametrize("tack", [0, 1])
def test_polar_night_and_no_panels_give_nothing(controller, tack):
    polar = boat_in_one_place(lat_deg=80.0, day="2027-12-21", tack=tack, heel_deg=10.0)
    assert polar[1].ghi_W_m2.max() == 0.0
    for panels, case in (([flat(mount="rail")], polar), ([], boat_in_one_place())):
        offered = yield_of(controller, panels, case)
        assert offered.power_W.max() == offered.module_W.max() == 0.0
        assert offered.current_A.sum() == 0.0


@pytest.mark.parametrize("controller", [MPPT, PWM])
def test_an_unknown_tack_is_the_mean_of_both(controller):
    panels = [flat(tilt_deg=15.0, bearing_deg=80.0, shades=SAIL), flat(mount="hand")]
    port, both, starboard = (
        yield_of(controller, panels, boat_in_one_place(heel_deg=12.0, tack=tack, course_deg=215.0))
        for tack in (-1, 0, 1)
    )
    for name in ("power_W", "module_W", "current_A"):
        mean = (getattr(port, name) + getattr(starboard, name)) / 2
        assert getattr(both, name) == pytest.approx(mean, rel=1e-12, abs=1e-12)
    assert not np.allclose(port.module_W, starboard.module_W)


def test_tacks_may_change_along_the_way():
    track, sky = boat_in_one_place(heel_deg=12.0, course_deg=215.0)
    alone = {}
    for tack in (-1, 0, 1):
        track.tack[:] = tack
        alone[tack] = yield_of(MPPT, [flat(shades=SAIL)], (track, sky)).power_W
    track.tack[:] = np.resize([0, 1, -1, -1, 0], track.n_steps)
    mixed = yield_of(MPPT, [flat(shades=SAIL)], (track, sky)).power_W
    expected = [alone[int(tack)][i] for i, tack in enumerate(track.tack)]
    assert mixed == pytest.approx(expected, rel=1e-12)


def test_heel_to_leeward_on_port_tack_is_the_mirror_of_starboard_tack():
    """Southward on the port tack the mast leans west: the afternoon's sun is better."""
    lean_east, lean_west = (
        yield_of(MPPT, [flat()], boat_in_one_place(heel_deg=20.0, tack=tack)) for tack in (1, -1)
    )
    by_elevation = np.argmax(boat_in_one_place()[1].elevation_deg)
    morning = slice(by_elevation - 16, by_elevation - 4)
    assert np.all(lean_east.power_W[morning] > 1.1 * lean_west.power_W[morning])


def test_heel_to_port_on_course_180_is_a_plane_tilted_to_the_east():
    heeled = yield_of(MPPT, [flat()], boat_in_one_place(heel_deg=20.0, tack=1, course_deg=180.0))
    tilted = yield_of(
        MPPT, [flat(tilt_deg=20.0, bearing_deg=90.0)], boat_in_one_place(course_deg=0.0)
    )
    assert heeled.power_W == pytest.approx(tilted.power_W, rel=1e-9)


def test_power_by_hand_under_a_high_sun():
    """Beam alone, square to a level panel: 1000 W/m2, 20 degC, wind 5 m/s.

    Cells: 20 + 1000 / (25 + 6.84 * 5) = 36.8919 degC. Light after 4 % salt: 960 W/m2.
    Modules: 2 * 100 * 0.96 * (1 - 0.004 * 11.8919) = 182.8670 W.
    Wiring, 3 % at 200 W: 182.8670 * (1 - 0.03 * 182.8670 / 200) = 177.8510 W. Times 0.95: 168.9585.
    """
    case = under_a_sun(elevation_deg=90.0, azimuth_deg=180.0, ghi_W_m2=1000.0, air_C=20.0)
    offered = yield_of(MPPT, [flat(count=2)], case)
    assert offered.module_W == pytest.approx([182.8670, 182.8670], abs=1e-3)
    assert offered.power_W == pytest.approx([168.9585, 168.9585], abs=1e-3)


def test_shade_stands_at_its_bearing_from_the_bow():
    """On course 150 the sun in the east, at 90, is 60 to port of the bow: bearing 300; in the west,
    at 270, it is 120 to starboard. 30 degrees up, what stands there below 45 takes all of it.
    """
    case = under_a_sun(
        ghi_W_m2=500.0, air_C=20.0, course_deg=150.0, elevation_deg=30.0, azimuth_deg=[90.0, 270.0]
    )

    def watts(*shades):
        return yield_of(MPPT, [flat(shades=shades)], case).module_W

    clear_W = watts()
    assert clear_W.min() > 20.0
    port, starboard = (
        ShadeSector(from_deg=bearing - 10.0, to_deg=bearing + 10.0, below_deg=45.0)
        for bearing in (300.0, 120.0)
    )
    assert watts(port) == pytest.approx([0.0, clear_W[1]], abs=1e-9)
    assert watts(starboard) == pytest.approx([clear_W[0], 0.0], abs=1e-9)


def test_under_a_tent_there_is_nothing():
    """A sector all round up to the zenith; a level panel sees no sea either."""
    tent = (ShadeSector(from_deg=0.0, to_deg=360.0, below_deg=90.0),)
    offered = yield_of(MPPT, [flat(shades=tent)], boat_in_one_place())
    assert offered.module_W == pytest.approx(np.zeros(96), abs=1e-12)


def test_shade_takes_the_ring_around_the_sun_with_the_beam():
    """A sector that takes half, all round and almost to the zenith, halves beam, ring and sky of a
    level panel alike; at a cell temperature that does not count, half of the power is left."""
    gauze = (ShadeSector(from_deg=0.0, to_deg=360.0, below_deg=89.0, loss_frac=0.5),)
    case = boat_in_one_place()
    clear, shaded = (
        yield_of(MPPT, [flat(shades=shades, power_temp_coeff_per_C=0.0)], case).module_W
        for shades in ((), gauze)
    )
    lit = clear > 1.0
    assert shaded[lit] / clear[lit] == pytest.approx(np.full(lit.sum(), 0.5), abs=1e-3)


@pytest.mark.parametrize("controller", [MPPT, PWM])
def test_a_yield_multiplies_what_is_left_after_all_losses(controller):
    case = boat_in_one_place()
    plain = yield_of(controller, [flat()], case)
    more = yield_of(controller, [flat(yield_frac=1.2)], case)
    for name in ("power_W", "current_A", "module_W"):
        assert getattr(more, name) == pytest.approx(1.2 * getattr(plain, name), rel=1e-12)


def test_two_panels_offer_the_sum():
    case = boat_in_one_place(tack=0, heel_deg=10.0)
    one, other = flat(60.0, mount="rail"), flat(140.0, mount="arch", tilt_deg=10.0)
    assert day_Wh(case, one, other) == pytest.approx(day_Wh(case, one) + day_Wh(case, other))
    assert day_Wh(case, flat(count=3)) == pytest.approx(3 * day_Wh(case, flat()))
    assert day_Wh(case, flat(count=0)) == 0.0


def test_wiring_loss_never_exceeds_the_power():
    poor = flat(wiring_frac=0.9)
    assert after_wiring_W(poor, power_W=np.array([0.0, 50.0, 100.0, 130.0])) == pytest.approx(
        [0.0, 27.5, 10.0, 0.0]
    )


@pytest.mark.parametrize(
    ("module_Vmp", "module_Voc", "nominal_V", "series"),
    [(18.0, 22.0, 12.0, 1), (18.0, 22.0, 24.0, 2), (36.0, 44.0, 24.0, 1), (36.0, 44.0, 12.0, 1)],
)
def test_modules_in_series(module_Vmp, module_Voc, nominal_V, series):
    amps = {"module_Imp": 100.0 / module_Vmp, "module_Isc": 108.0 / module_Vmp}
    made = flat(module_Vmp=module_Vmp, module_Voc=module_Voc, **amps)
    assert modules_in_series(made, nominal_V=nominal_V) == series


def test_pwm_on_24_V_needs_two_12_V_modules_in_series():
    """Each of two in series works at half of bank plus drop; a third is left over."""
    case = boat_in_one_place()
    one, two, three, four = (
        yield_of(PWM, [flat(count=count)], case, nominal_V=24.0) for count in (1, 2, 3, 4)
    )
    assert one.current_A.max() == 0.0
    assert two.knots_V == pytest.approx(2 * np.array(KNOTS_12_V))
    assert np.array_equal(two.current_A, three.current_A)
    assert four.current_A == pytest.approx(2 * two.current_A)
    # On 12 V with half the drop the same module works at the same voltage.
    half_drop = Controller(kind="pwm", drop_V=0.2)
    assert two.current_A == pytest.approx(yield_of(half_drop, [flat()], case).current_A)


def test_pwm_current_falls_with_the_banks_voltage_and_with_the_drop():
    case = boat_in_one_place()
    offered = yield_of(PWM, [flat()], case).current_A
    assert np.all(np.diff(offered, axis=1) <= 0.0)
    poorer = yield_of(Controller(kind="pwm", drop_V=1.0), [flat()], case).current_A
    assert np.all(poorer <= offered)


def test_the_wire_to_a_pwm_controller_takes_its_volts():
    """A module of 90 W, 18 V and 5 A; 10 % lost in its wire at that is 1.8 V over 0.36 ohm.

    With the bank at 15.5 V and 0.7 V lost in the controller, the wire's end is held at 16.2 V: at
    5 A the module has 16.2 + 5 x 0.36 = 18 V, its best, where 5 A is what it gives. The light is
    that of the sticker, 1000 W/m2 and no salt, and so are the cells: 25 degrees where the air has
    25 - 1000 / (25 + 6.84 x 5) = 8.1081. Without the wire it would be held at 16.2 V, and give
    some of what lies between 5 A and 5.4 A, its current when shorted.
    """
    case = under_a_sun(elevation_deg=90.0, azimuth_deg=180.0, ghi_W_m2=1000.0, air_C=8.1081081)
    sticker = {"module_Vmp": 18.0, "module_Imp": 5.0, "module_Voc": 22.0, "module_Isc": 5.4}
    pwm = Controller(kind="pwm", drop_V=0.7)

    def amps(wiring_frac):
        made = flat(90.0, salt_frac=0.0, wiring_frac=wiring_frac, **sticker)
        return yield_of(pwm, [made], case).current_A[0, -1]

    assert KNOTS_12_V[-1] == 15.5
    assert amps(0.10) == pytest.approx(5.0, abs=1e-5)
    assert 5.1 < amps(0.0) < 5.4


@pytest.mark.parametrize("cell_C", [5.0, 45.0, 70.0])
@pytest.mark.parametrize("light_W_m2", [30.0, 400.0, 1100.0])
@pytest.mark.parametrize(("Vmp", "Voc"), [(18.0, 22.0), (17.0, 21.0), (20.4, 24.3)])
def test_interpolating_between_the_knots_costs_little(cell_C, light_W_m2, Vmp, Voc):
    """Within 0.5 % of the short-circuit current wherever a bank can be; worst (0.49 %) below
    12 V with the module of the lowest voltage at its hottest, elsewhere half of that."""
    made = flat(module_Vmp=Vmp, module_Voc=Voc)
    model = diode.diode_model_of(made)

    def amps(bank_V):
        return diode.current_at_voltage_A(
            model, module_V=bank_V + 0.4, light_W_m2=light_W_m2, cell_C=cell_C, wire_ohm=0.1
        )

    knots_V, bank_V = np.array(KNOTS_12_V), np.linspace(10.5, 15.5, 201)
    off_A = np.interp(bank_V, knots_V, amps(knots_V)) - amps(bank_V)
    assert np.abs(off_A).max() < 0.005 * made.module_Isc
