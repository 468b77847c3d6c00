"""Tanks of any shape, for tests that ask what holds for all of them."""

from hypothesis import strategies as st

from powersim.records import Tank, TankPart

SIZES_m = st.floats(0.14, 1.4)
SHARES = st.floats(0.0, 1.0)
NO_OTHER = st.none()


@st.composite
def tanks(draw, capacities=NO_OTHER):
    """One to three parts in line, with a capacity of its own where one is drawn."""
    parts = []
    for _ in range(draw(st.integers(1, 3))):
        shape = draw(st.sampled_from(["box", "wedge", "cylinder"]))
        length_m, width_m, height_m = (draw(SIZES_m) for _ in range(3))
        parts.append(
            TankPart(
                shape=shape,
                length_m=length_m,
                width_m=width_m,
                height_m=width_m if shape == "cylinder" else height_m,
                bottom_m=draw(SHARES) * width_m if shape == "wedge" else 0.0,
                above_m=draw(st.floats(0.0, 0.3)) if parts else 0.0,
            )
        )
    return Tank(parts=tuple(parts), capacity_L=draw(capacities))
