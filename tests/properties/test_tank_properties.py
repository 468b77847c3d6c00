"""What holds for every tank: litres rise with depth, and lead back to it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from powersim.physics.tank import capacity_L, depth_of, litres_of, reading_sd_L, sounded
from powersim.records.tank import TANK_SHAPES, Tank, TankPart

SIZES_M = st.floats(0.05, 3.0)
SHARES = st.floats(0.0, 1.0)


@st.composite
def tanks(draw):
    """One to three parts in line, each beginning below the top of the first."""
    parts = []
    for _ in range(draw(st.integers(1, 3))):
        shape, height_m, width_m = draw(st.sampled_from(TANK_SHAPES)), draw(SIZES_M), draw(SIZES_M)
        width_m = height_m if shape == "cylinder" else width_m
        bottom_m = draw(SHARES) * width_m if shape == "wedge" else 0.0
        base_m = draw(SHARES) * parts[0].height_m if parts else 0.0
        parts.append(
            TankPart(
                shape=shape,
                length_m=draw(SIZES_M),
                height_m=height_m,
                width_m=width_m,
                bottom_width_m=bottom_m,
                base_m=base_m,
            )
        )
    return Tank(parts=tuple(parts))


@st.composite
def tables(draw):
    """Two to eight rows with steps of at least a millimetre and a tenth of a litre."""
    steps = draw(
        st.lists(st.tuples(st.floats(0.001, 0.5), st.floats(0.1, 50.0)), min_size=1, max_size=7)
    )
    depths_m, volumes_L = [0.0], [0.0]
    for step_m, step_L in steps:
        depths_m.append(depths_m[-1] + step_m)
        volumes_L.append(volumes_L[-1] + step_L)
    return Tank(depths_m=tuple(depths_m), volumes_L=tuple(volumes_L))


ANY = tanks() | tables()


@given(tank=ANY, one=SHARES, other=SHARES)
def test_more_depth_is_never_less_fuel(tank, one, other):
    low_m, high_m = sorted((one * tank.height_m, other * tank.height_m))
    low_L, high_L = litres_of(tank, low_m), litres_of(tank, high_m)
    assert 0 <= low_L <= high_L + 1e-9 <= capacity_L(tank) + 2e-9


@given(tank=ANY, share=SHARES)
def test_litres_lead_to_a_depth_that_holds_them(tank, share):
    volume_L = share * capacity_L(tank)
    assert litres_of(tank, depth_of(tank, volume_L)) == pytest.approx(volume_L, abs=1e-9, rel=1e-9)


@given(tank=ANY, share=SHARES)
def test_a_reading_is_as_sure_as_what_it_might_have_been(tank, share):
    depth_m = share * tank.height_m
    volume_L, sd_L = sounded(tank, depth_m)
    assert sd_L == reading_sd_L(tank, depth_m) > 0
    higher_m = min(depth_m + tank.reading_sd_m, tank.height_m)
    assert litres_of(tank, higher_m) - volume_L <= sd_L * (1 + 1e-9) + 1e-9


@given(tank=ANY, past=st.floats(1e-6, 10.0))
def test_outside_the_tank_there_is_no_answer(tank, past):
    for depth_m in (-past, tank.height_m + past, float("nan")):
        with pytest.raises(ValueError, match="depth_m must be 0 to"):
            litres_of(tank, depth_m)
    for volume_L in (-past, capacity_L(tank) + past, float("nan")):
        with pytest.raises(ValueError, match="volume_L must be 0 to"):
            depth_of(tank, volume_L)
