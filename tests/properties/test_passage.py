"""What holds for every boat on every short passage."""

import dataclasses
import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from builders import boat_of, in_average, passage_of
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from kernels import plain

import powersim
from powersim.kernel.state import Switches
from powersim.records import (
    CHEMISTRIES,
    LYING_STATES,
    Controller,
    HeavyWeather,
    Load,
    Shedding,
    Waypoint,
    Window,
)
from powersim.simulation.books import books_of
from powersim.simulation.books_record import Books
from powersim.simulation.prepare import prepare
from powersim.simulation.result import simulate
from powersim.simulation.run import run
from powersim.simulation.state import start_state

few = settings(
    phases=(Phase.explicit, Phase.generate),  # a smaller example takes a minute to find
    max_examples=20,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)

controllers = st.builds(
    Controller,
    kind=st.sampled_from(("mppt", "pwm")),
    rated_A=st.one_of(st.none(), st.floats(1.0, 20.0)),
    temp_comp_V_per_C=st.sampled_from((None, 0.0)),
)
loads = st.tuples(
    st.builds(Load, name=st.just("instruments"), draw_A=st.floats(0.0, 6.0)),
    st.builds(
        Load,
        name=st.just("laptop"),
        draw_W=st.floats(0.0, 90.0),
        on_frac=st.floats(0.0, 1.0),
        window=st.sampled_from((Window(), Window(kind="night"), Window(kind="day"))),
        priority=st.just("comfort"),
    ),
    st.builds(Load, name=st.just("winch"), draw_A=st.floats(0.0, 60.0), on_frac=st.just(0.01)),
)
departures = st.builds(
    lambda hours: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=hours),
    st.integers(0, 8760),
)


heavy_weathers = st.one_of(
    st.just(HeavyWeather()),
    st.builds(
        HeavyWeather,
        lie_to_above_kn=st.one_of(st.none(), st.floats(10.0, 40.0)),
        lie_to=st.sampled_from(LYING_STATES),
        no_engine_above_kn=st.one_of(st.none(), st.floats(10.0, 40.0)),
        spray_above_kn=st.one_of(st.none(), st.floats(10.0, 40.0)),
        rough_above_kn=st.one_of(st.none(), st.floats(10.0, 20.0)),
        very_rough_above_kn=st.one_of(st.none(), st.floats(21.0, 40.0)),
        sea_lasts_h=st.floats(0.0, 24.0),
    ),
)


@st.composite
def boats(draw, *, engine=True):
    start_soc = draw(st.floats(0.3, 0.7))
    nominal_V = draw(st.sampled_from((12.0, 24.0)))
    power = {}
    if engine:
        power = {
            "alternator": {
                "charging_A": draw(st.floats(0.0, 90.0)),
                "constant_V": 14.2 * nominal_V / 12.0,
                "regulator": draw(st.sampled_from(("constant", "multi-stage"))),
            },
            "engine": {
                "start_battery": draw(st.sampled_from(("separate", "shared"))),
                "charges_flat_bank": draw(st.booleans()),
            },
            "charging": {
                "start_soc": start_soc,
                "stop_soc": draw(st.floats(start_soc + 0.05, 1.0)),
                "full_every_days": draw(st.one_of(st.none(), st.floats(0.5, 2.0))),
            },
            "shedding": Shedding(comfort_below_soc=draw(st.one_of(st.none(), st.floats(0.2, 0.8)))),
        }
    return boat_of(
        chemistry=draw(st.sampled_from(tuple(CHEMISTRIES))),
        capacity_Ah=draw(st.floats(60.0, 800.0)),
        battery={
            "soc_at_departure": draw(st.floats(0.0, 1.0)),
            "nominal_V": nominal_V,
        },
        panel_W=(draw(st.floats(5.0, 400.0)),),
        controllers=(draw(controllers),),
        heavy_weather=draw(heavy_weathers),
        **({} if engine else {"engine": None}),
        **power,
    )


passages = st.builds(
    passage_of,
    boat=boats(),
    loads=loads,
    days=st.floats(0.5, 3.0),
    lat_deg=st.floats(-70.0, 75.0),
    lon_deg=st.floats(-180.0, 180.0),
    depart_utc=departures,
    leg=st.fixed_dictionaries(
        {"motoring_start_h": st.floats(0.0, 6.0)}, optional={"cabin_C": st.floats(-10.0, 35.0)}
    ),
)


@settings(few, max_examples=40)
@given(passage=passages, step_h=st.sampled_from((1 / 12, 0.25, 0.5, 1.0)))
def test_books_close_and_charge_stays_between_empty_and_full(passage, step_h):
    """`simulate` raises if any step does not close in ampere-hours or in watt-hours."""
    result = simulate(passage, step_h=step_h)
    assert result.flow.soc.min() >= -1e-9
    assert result.flow.soc.max() <= 1.0 + 1e-9
    for name in Books.names():
        assert np.isfinite(result.books.column(name)).all(), name


@few
@given(
    boat=boats(engine=False), draw_A=st.floats(0.5, 8.0), more=st.floats(1.0, 3.0), when=departures
)
def test_with_the_engine_off_a_bigger_load_never_lasts_longer(boat, draw_A, more, when):
    """Days to flat, to a step: by sun alone, every member with a little more to carry."""
    days = []
    for factor in (1.0, more):
        passage = passage_of(
            boat=boat, loads=(Load(name="all", draw_A=draw_A * factor),), depart_utc=when, days=2.0
        )
        result = simulate(passage)
        dark = np.flatnonzero(result.flow.dark[:, 0])
        days.append(dark[0] if len(dark) else math.inf)
    assert days[1] <= days[0]


@few
@given(boat=boats(engine=False), loads=loads, more=st.floats(1.0, 3.0), when=departures)
def test_with_the_engine_off_more_panel_never_leaves_more_unserved(boat, loads, more, when):
    """More light can end a blackout earlier and so bring on the next: half an hour is let pass."""
    unserved_Ah = []
    for factor in (1.0, more):
        (panel,) = boat.panels
        wider = dataclasses.replace(
            boat,
            panels=(
                dataclasses.replace(
                    panel,
                    power_W=panel.power_W * factor,
                    module_Imp=panel.module_Imp * factor,
                    module_Isc=panel.module_Isc * factor,
                ),
            ),
        )
        result = simulate(passage_of(boat=wider, loads=loads, depart_utc=when, days=2.0))
        unserved_Ah.append(result.books.unserved_Ah.sum())
    wanted_Ah = result.books.unserved_Ah.sum() + result.books.loads_Ah.sum()
    assert unserved_Ah[1] <= unserved_Ah[0] + 0.5 * wanted_Ah / 48.0 + 1e-9


@few
@given(boat=boats(engine=False), loads=loads, when=departures, lat_deg=st.floats(-50.0, 60.0))
def test_the_step_length_hardly_matters_with_the_engine_off(boat, loads, when, lat_deg):
    """Steps of 5 and 15 minutes. Seen in 60 random boats of three days that never go dark: 0.0022
    of charge at landfall apart, 0.0054 at the lowest; a blackout's end differs by up to 0.05.
    """
    lively = dataclasses.replace(
        boat, battery=dataclasses.replace(boat.battery, soc_at_departure=0.9)
    )
    passage = passage_of(boat=lively, loads=loads, depart_utc=when, lat_deg=lat_deg, days=1.5)
    fine, coarse = (simulate(passage, step_h=step_h) for step_h in (1 / 12, 0.25))
    if not (fine.flow.dark.any() or coarse.flow.dark.any()):
        assert fine.flow.soc[-1, 0] == pytest.approx(coarse.flow.soc[-1, 0], abs=0.01)
        assert fine.flow.soc.min() == pytest.approx(coarse.flow.soc.min(), abs=0.02)


@few
@given(passage=passages, socs=st.lists(st.floats(0.0, 1.0), min_size=2, max_size=4))
def test_every_member_of_many_closes_its_books(passage, socs):
    prepared = prepare(passage)
    state = start_state(prepared.plant, soc=np.array(socs))
    flow, _ = run(prepared.signals, plant=prepared.plant, state=state)
    books_of(flow, state=state, prepared=prepared, switches=Switches())
    with plain():
        alone, _ = run(
            prepared.signals, plant=prepared.plant, state=start_state(prepared.plant, soc=socs[0])
        )
    for name in alone._fields:
        assert np.array_equal(getattr(flow, name)[:, [0]], getattr(alone, name)), name


@few
@given(shift_deg=st.floats(-1.0, 1.0), when=departures)
def test_a_passage_over_the_date_line_is_a_passage_like_any_other(shift_deg, when):
    """Two degrees along the equator: over the line, with longitudes written as 181 and as -179,
    and beside it. Distance and hours are the same, and the sun rises on both.
    """

    def along(lon_deg):
        ends = ((lon + 180.0) % 360.0 - 180.0 for lon in (lon_deg, lon_deg + 2.0))
        return simulate(
            passage_of(
                waypoints=[
                    Waypoint(name=name, lat_deg=0.0, lon_deg=lon, speed_kn=5.0, cloud_oktas=2.0)
                    for name, lon in zip("AB", ends, strict=True)
                ],
                depart_utc=when,
                ship_offset_h=12.0,
            )
        )

    over, beside = along(179.0 + 0.9 * shift_deg), along(176.0 + 0.9 * shift_deg)
    assert over.summary["passage"]["days"] == pytest.approx(beside.summary["passage"]["days"])
    assert over.books.solar_Ah.sum() == pytest.approx(beside.books.solar_Ah.sum(), rel=0.05)
    assert over.flow.soc[-1, 0] == pytest.approx(beside.flow.soc[-1, 0], abs=0.01)


BOAT = """
[passage]
depart = "2026-09-05 09:00"
[battery]
chemistry = "flooded"
capacity = "{capacity}"
[[panel]]
name = "arch"
power = "{panel}"
[alternator]
nameplate = "{alternator}"
[engine]
rated = "14 kW"
[fuel]
tank = "{tank}"
"""
LOADS = "load,draw,on\ninstruments,{amps},100 %\nlaptop,{watts},{on}\n"
ROUTE = "waypoint,position,speed\nA,40 00.0 N 30 00.0 W,{speed}\nB,{end},\n"
PLAIN = {
    "capacity": "220 Ah",
    "panel": "100 W",
    "alternator": "75 A",
    "tank": "80 L",
    "amps": "1.25 A",
    "watts": "45 W",
    "on": "3 h/day",
    "speed": "5 kn",
    "end": "38 00.0 N 30 00.0 W",
}
OTHER = {
    "capacity": "220000 mAh",
    "panel": "0.1 kW",
    "alternator": "0.075 kA",
    "tank": "80000 mL",
    "amps": "1250 mA",
    "watts": "0.045 kW",
    "on": "12.5 %",
    "speed": "9.26 km/h",
    "end": "38.0 -30.0",
}


@few
@given(changed=st.sets(st.sampled_from(sorted(PLAIN)), min_size=1))
def test_what_is_written_in_another_unit_gives_the_same_answer(changed, tmp_path_factory):
    """A knot is 1.852 km/h and 3 h are an eighth of a day by definition; the rest are prefixes."""

    def answer(words):
        folder = tmp_path_factory.mktemp("passage")
        for name, text in (("boat.toml", BOAT), ("loads.csv", LOADS), ("route.csv", ROUTE)):
            (folder / name).write_text(text.format(**words), encoding="utf-8")
        return in_average(powersim.load(folder)).hourly.select_dtypes("number")

    plain, other = answer(PLAIN), answer(PLAIN | {name: OTHER[name] for name in changed})
    assert other.to_numpy() == pytest.approx(plain.to_numpy(), rel=1e-9, abs=1e-9)
