"""What holds for every boat with other chargers: books close, and more charging is no harm."""

from dataclasses import replace

import pytest
from builders import boat_of, in_average, passage_of
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

import powersim
from powersim.inputs.power_curve import GENERIC_DIAMETER_M, generic_curve
from powersim.records import (
    CHEMISTRIES,
    OTHER_SOURCES,
    Load,
    ShorePower,
    WaterGenerator,
    WindGenerator,
    Window,
)

few = settings(
    phases=(Phase.explicit, Phase.generate),
    max_examples=20,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)


@st.composite
def generators(draw, kind):
    diameter_m = GENERIC_DIAMETER_M[kind] * draw(st.floats(0.2, 1.5))
    curve = generic_curve(kind, diameter_m=diameter_m)
    shared = {
        "powers_W": curve.powers_W,
        "diameter_m": diameter_m,
        "regulated": draw(st.booleans()),
        "wiring_frac": draw(st.floats(0.0, 0.2)),
    }
    if kind == "wind":
        return WindGenerator(
            **shared,
            speeds_m_s=curve.speeds,
            height_m=draw(st.floats(1.0, 20.0)),
            wind_angle_deg=draw(st.floats(0.0, 180.0)),
        )
    motoring = kind != "shaft" and draw(st.booleans())
    return WaterGenerator(**shared, kind=kind, speeds_kn=curve.speeds, motoring=motoring)


shore_power = st.builds(
    ShorePower,
    rated_A=st.floats(0.5, 80.0),
    hours_h=st.sampled_from(((0.0, 24.0), (18.0, 8.0))),
    temp_comp_V_per_C=st.sampled_from((0.0, -0.03)),
)
chargers = st.one_of(*map(generators, ("wind", *WaterGenerator.kinds)), shore_power)
LOADS = st.tuples(
    st.builds(Load, name=st.just("instruments"), draw_A=st.floats(0.0, 6.0)),
    st.builds(
        Load,
        name=st.just("laptop"),
        draw_W=st.floats(0.0, 90.0),
        window=st.sampled_from((Window(), Window(kind="night"))),
    ),
)


@st.composite
def passages(draw, *, panel_W, engine):
    """Three days, the first half of a day at a berth."""
    boat = boat_of(
        chemistry=draw(st.sampled_from(tuple(CHEMISTRIES))),
        capacity_Ah=draw(st.floats(60.0, 600.0)),
        battery={
            "soc_at_departure": draw(st.floats(0.3, 1.0)),
            "nominal_V": draw(st.sampled_from((12.0, 24.0))),
        },
        panel_W=panel_W,
        chargers=tuple(draw(st.lists(chargers, min_size=1, max_size=3))),
        **({} if engine else {"engine": None}),
    )
    leg = {"stop_h": 12.0, "stop_state": "berthed", "speed_kn": draw(st.floats(2.0, 9.0))}
    if engine:
        leg["motoring_calm_frac"] = draw(st.sampled_from((0.0, 0.6)))
    return passage_of(boat=boat, loads=draw(LOADS), lat_deg=draw(st.floats(-50.0, 60.0)), leg=leg)


@settings(few)
@given(passage=passages(panel_W=(100.0,), engine=True), step_h=st.sampled_from((0.25, 1.0)))
def test_books_close_and_only_what_is_aboard_gives(passage, step_h):
    """`simulate` raises if any step does not close in ampere-hours or in watt-hours."""
    hourly = in_average(passage, step_h=step_h).hourly
    aboard = {charger.source for charger in passage.boat.chargers}
    for source in OTHER_SOURCES:
        assert (f"{source}_Ah" in hourly) == (source in aboard)
        if source in aboard:
            assert hourly[f"{source}_Ah"].min() >= -1e-9
    assert hourly["soc"].between(-1e-9, 1.0 + 1e-9).all()


@settings(few, max_examples=6)
@given(passage=passages(panel_W=(100.0,), engine=True))
def test_books_close_in_many_members_too(passage):
    assert powersim.simulate(passage, members=3).ensemble.members == 3


def lowest_soc(passage):
    return in_average(passage).flow.soc.min()


def without(passage):
    return replace(passage, boat=replace(passage.boat, chargers=()))


@settings(few)
@given(passage=passages(panel_W=(), engine=False))
def test_another_charger_never_makes_the_lowest_charge_lower(passage):
    """But where the bare boat goes dark by her voltage, well above flat: held up by the charger,
    loads may draw on down to flat, and by one step below it."""
    bare = in_average(without(passage))
    least_soc = bare.flow.soc.min() - 1e-9
    if (bare.flow.dark > 0).any():
        least_soc = min(least_soc, passage.boat.battery.flat_soc) - 0.02
    assert lowest_soc(passage) >= least_soc


@settings(few)
@given(passage=passages(panel_W=(150.0,), engine=False))
def test_nor_beside_panels_but_for_the_float_of_a_bank_that_fills_sooner(passage):
    """Filled by wind, solar controllers fall back to float for the rest of the day."""
    bare = in_average(without(passage))
    least_soc = bare.flow.soc.min()
    if (bare.flow.dark > 0).any():
        least_soc = min(least_soc, passage.boat.battery.flat_soc)
    assert lowest_soc(passage) >= least_soc - 0.03


def test_a_charger_that_gives_much_keeps_the_bank_up():
    """So that the properties above are not of chargers at rest: 40 Ah a day against a towed one."""
    curve = generic_curve("towed", diameter_m=GENERIC_DIAMETER_M["towed"])
    towed = WaterGenerator(speeds_kn=curve.speeds, powers_W=curve.powers_W)
    boat = boat_of(panel_W=(), engine=None, chargers=(towed,))
    passage = passage_of(boat=boat, loads=(Load(name="all", draw_A=40.0 / 24.0),))
    assert lowest_soc(passage) > 0.95
    # Three days of 40 Ah from 220 Ah at 85 %, of which a little is lost by itself.
    assert lowest_soc(without(passage)) == pytest.approx(1.0 - 120.0 / 187.0, abs=0.02)
