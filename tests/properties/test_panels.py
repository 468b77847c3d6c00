"""More panel never offers less, and shade never adds."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from solar_cases import boat_in_one_place

from powersim.physics.shade import direct_kept_frac, isotropic_kept_frac
from powersim.physics.solar import controller_yield
from powersim.records import MOUNTS, Controller, ShadeSector, panel_of

SLACK = 1e-9  # rounding

bearings = st.floats(-360, 360)
sectors = st.builds(
    ShadeSector,
    from_deg=bearings,
    to_deg=bearings,
    below_deg=st.floats(0, 90),
    loss_frac=st.floats(0, 1),
    side=st.sampled_from(["fixed", "lee"]),
)
panels = st.builds(
    panel_of,
    st.just("stern"),
    power_W=st.floats(5, 400),
    count=st.integers(1, 4),
    mount=st.sampled_from(MOUNTS),
    tilt_deg=st.floats(0, 90),
    bearing_deg=st.floats(0, 360),
    trims_per_day=st.integers(1, 6),
    wiring_frac=st.floats(0, 0.1),
)
controllers = st.sampled_from([Controller(), Controller(kind="pwm")])
cases = st.builds(
    boat_in_one_place,
    lat_deg=st.floats(-75, 75),
    day=st.sampled_from(["2027-03-21", "2027-06-21", "2027-12-31"]),
    step_min=st.just(60),
    course_deg=st.floats(0, 360),
    heel_deg=st.floats(0, 40),
    tack=st.sampled_from([-1, 0, 1]),
    air_C=st.floats(-5, 35),
    wind_m_s=st.floats(0, 20),
)


def offered(controller, panel_list, case):
    track, sky = case
    return controller_yield(controller, panel_list, track=track, sky=sky, nominal_V=12.0)


def assert_no_less(more, less):
    assert np.all(more.power_W >= less.power_W - SLACK)
    assert np.all(more.module_W >= less.module_W - SLACK)
    assert np.all(more.current_A >= less.current_A - SLACK)


@settings(max_examples=40)
@given(case=cases, controller=controllers, panel=panels, other=panels, factor=st.floats(1, 5))
def test_more_panel_never_offers_less(case, controller, panel, other, factor):
    alone = offered(controller, [panel], case)
    assert np.all(alone.power_W >= 0)
    assert np.all(alone.current_A >= 0)
    assert np.all(np.isfinite(alone.current_A))
    assert_no_less(offered(controller, [panel, other], case), alone)
    assert_no_less(offered(controller, [replace(panel, count=panel.count + 1)], case), alone)
    larger = replace(
        panel,
        power_W=panel.power_W * factor,
        module_Imp=panel.module_Imp * factor,
        module_Isc=panel.module_Isc * factor,
    )
    # The larger module is fitted anew, so its curve is the same shape to the solver's digits only.
    grown = offered(controller, [larger], case)
    assert np.all(grown.power_W >= alone.power_W - SLACK)
    assert np.all(grown.current_A >= alone.current_A * (1 - 1e-6) - SLACK)


@settings(max_examples=40)
@given(case=cases, panel=panels, around=st.lists(sectors, max_size=3), one=sectors)
def test_shade_never_adds(case, panel, around, one):
    """Power at the best voltage. By PWM a hot module's current may rise as a cloud or a sail
    cools it, so there the light alone is looked at, through `module_W`."""
    free = replace(panel, shades=tuple(around))
    shaded = replace(panel, shades=(*around, one))
    assert_no_less(*(offered(Controller(), [made], case) for made in (free, shaded)))


@given(
    around=st.lists(sectors, max_size=4),
    one=sectors,
    bearing_deg=st.floats(-720, 720),
    elevation_deg=st.floats(-5, 90),
    tack=st.sampled_from([-1, 1]),
)
def test_what_is_kept_is_a_share_and_another_sector_keeps_no_more(
    around, one, bearing_deg, elevation_deg, tack
):
    sun = {"bearing_deg": bearing_deg, "elevation_deg": elevation_deg, "tack": tack}
    assert 0 <= direct_kept_frac([*around, one], **sun) <= direct_kept_frac(around, **sun) <= 1
    more, fewer = (
        isotropic_kept_frac([*around, one], tack=tack),
        isotropic_kept_frac(around, tack=tack),
    )
    assert -SLACK <= more <= fewer + SLACK <= 1 + 2 * SLACK


@given(st.lists(sectors, max_size=4), st.sampled_from([-1, 1]))
def test_the_order_of_sectors_does_not_matter(around, tack):
    assert isotropic_kept_frac(around[::-1], tack=tack) == pytest.approx(
        isotropic_kept_frac(around, tack=tack), abs=1e-12
    )
