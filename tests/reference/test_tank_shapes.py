"""Tanks by closed forms and by numerical integrals of their cross-sections.

The integral is scipy's `quad` over the width at each height: independent of the formulas, which are
those of the trapezoid and of the circular segment (Bronshtein et al., Handbook of Mathematics; from
memory).
"""

import math

import pytest
from scipy.integrate import quad

from powersim.physics.tank import litres_at
from powersim.records import Tank, TankPart

BOX = TankPart(shape="box", length_m=0.9, width_m=0.6, height_m=0.35)
WEDGE = TankPart(shape="wedge", length_m=1.1, width_m=0.5, height_m=0.4, bottom_m=0.1)
KEEL = TankPart(shape="wedge", length_m=1.1, width_m=0.5, height_m=0.4)
CYLINDER = TankPart(shape="cylinder", length_m=1.2, width_m=0.44, height_m=0.44)
RAISED = TankPart(shape="box", length_m=0.5, width_m=0.4, height_m=0.2, above_m=0.15)
SHARES = [0.0, 0.03, 0.25, 0.5, 0.77, 0.999, 1.0]


def width_m(part, height_m):
    """How wide a part is at a height above its bottom, from its drawing."""
    if part.shape == "cylinder":
        radius_m = part.height_m / 2.0
        return 2.0 * math.sqrt(max(radius_m**2 - (height_m - radius_m) ** 2, 0.0))
    bottom_m = part.width_m if part.shape == "box" else part.bottom_m
    return bottom_m + (part.width_m - bottom_m) * height_m / part.height_m


def integral_L(part, depth_m):
    upto_m = min(max(depth_m - part.above_m, 0.0), part.height_m)
    area_m2, _ = quad(
        lambda height_m: width_m(part, height_m), 0.0, upto_m, epsabs=1e-13, limit=200
    )
    return 1000.0 * part.length_m * area_m2


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("part", [BOX, WEDGE, KEEL, CYLINDER], ids=lambda part: part.shape)
def test_one_tank_against_the_integral_of_its_width(part, share):
    depth_m = share * part.height_m
    # quad's own error over the steep ends of the circle: some 1e-11 of the whole.
    assert litres_at(Tank(parts=(part,)), depth_m) == pytest.approx(
        integral_L(part, depth_m), abs=1e-9 * part.full_L, rel=1e-9
    )


@pytest.mark.parametrize("depth_m", [0.0, 0.1, 0.16, 0.3, 0.36, 0.44])
def test_several_in_line_are_the_sum_of_each_at_its_height(depth_m):
    tank = Tank(parts=(WEDGE, CYLINDER, RAISED))
    whole_L = sum(integral_L(part, depth_m) for part in tank.parts)
    assert litres_at(tank, depth_m) == pytest.approx(whole_L, abs=1e-9 * tank.full_L, rel=1e-9)


def test_a_cylinder_half_full_is_half_of_pi_r_squared_l():
    assert litres_at(Tank(parts=(CYLINDER,)), 0.22) == pytest.approx(
        500.0 * math.pi * 0.22**2 * 1.2, rel=1e-12
    )


def test_a_quarter_of_the_depth_of_a_cylinder_by_the_segment():
    # Circular segment of height r/2: r^2 (pi/3 - sqrt(3)/4), a textbook value.
    area_m2 = 0.22**2 * (math.pi / 3.0 - math.sqrt(3.0) / 4.0)
    assert litres_at(Tank(parts=(CYLINDER,)), 0.11) == pytest.approx(1200.0 * area_m2, rel=1e-12)


def test_a_v_shaped_keel_tank_half_deep_is_a_quarter_full():
    tank = Tank(parts=(KEEL,))
    assert litres_at(tank, 0.2) == pytest.approx(tank.full_L / 4.0, rel=1e-12)
