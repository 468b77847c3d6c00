"""Litres of a depth against closed forms and an integral over depth by scipy."""

import math

import pytest
from scipy.integrate import quad

from powersim.physics.tank import capacity_L, litres_of
from powersim.records.tank import Tank, TankPart

BOX = TankPart(shape="box", length_m=0.8, width_m=0.5, height_m=0.3)
KEEL = TankPart(shape="wedge", length_m=1.2, width_m=0.4, bottom_width_m=0.08, height_m=0.6)
LYING = TankPart(shape="cylinder", length_m=0.9, width_m=0.44, height_m=0.44)
RAISED = TankPart(shape="box", length_m=0.5, width_m=0.5, height_m=0.2, base_m=0.25)


def surface_m2(part, level_m):
    """Area of the fuel's surface in a part, drawn from its outline."""
    depth_m = level_m - part.base_m
    if not 0 <= depth_m <= part.height_m:
        return 0.0
    if part.shape == "cylinder":
        chord_m = 2.0 * math.sqrt(max(depth_m * (part.height_m - depth_m), 0.0))
        return part.length_m * chord_m
    slope = (part.width_m - part.bottom_width_m) / part.height_m
    width_m = part.bottom_width_m + slope * depth_m if part.shape == "wedge" else part.width_m
    return part.length_m * width_m


@pytest.mark.parametrize("parts", [(BOX,), (KEEL,), (LYING,), (KEEL, LYING, RAISED)], ids=len)
@pytest.mark.parametrize("share", [0.01, 0.25, 0.5, 0.77, 1.0])
def test_litres_are_the_integral_of_the_surface(parts, share):
    """scipy.integrate.quad of the surface over depth, part by part, broken where a part begins."""
    tank = Tank(parts=parts)
    level_m = share * tank.height_m
    integral_m3 = sum(
        quad(lambda z, part=part: surface_m2(part, z), part.base_m, top_m, epsabs=1e-13)[0]
        for part in parts
        if (top_m := min(level_m, part.base_m + part.height_m)) > part.base_m
    )
    # quad was asked for 1e-13 m3; the root at a cylinder's crown costs it most of the rest.
    assert litres_of(tank, level_m) == pytest.approx(1000.0 * integral_m3, rel=1e-9)


@pytest.mark.parametrize("share", [0.02, 0.1, 0.5, 0.9, 1.0])
def test_a_lying_cylinder_is_the_circular_segment(share):
    """Half angle a with cos a = 1 - h/r: area r^2 (a - sin a cos a); from memory, any handbook."""
    radius_m, depth_m = LYING.height_m / 2, share * LYING.height_m
    half_angle = math.acos(1.0 - depth_m / radius_m)
    area_m2 = radius_m**2 * (half_angle - math.sin(half_angle) * math.cos(half_angle))
    expected_L = 1000.0 * LYING.length_m * area_m2
    assert litres_of(Tank(parts=(LYING,)), depth_m) == pytest.approx(expected_L, rel=1e-9)


def test_full_tanks_by_hand():
    """0.8 x 0.5 x 0.3 m; 1.2 x 0.6 x (0.4 + 0.08) / 2 m; pi 0.22^2 x 0.9 m."""
    assert capacity_L(Tank(parts=(BOX,))) == pytest.approx(120.0)
    assert capacity_L(Tank(parts=(KEEL,))) == pytest.approx(172.8)
    assert capacity_L(Tank(parts=(LYING,))) == pytest.approx(1000 * math.pi * 0.22**2 * 0.9)
