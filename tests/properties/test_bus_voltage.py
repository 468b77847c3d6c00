"""No bus stands below its least voltage, above what its chargers hold, or nowhere at all."""

import math

import numpy as np
import pytest
from builders import boat_of
from hypothesis import given, settings
from hypothesis import strategies as st
from kernels import compiled
from one_step import OneStep, mppt, signals_of

from powersim.records import CHEMISTRIES, Controller
from powersim.simulation.run import run

TINY, HUGE = 0.02, 1e6
#: Of an empty bank at rest (common practice, no source). [V]
EMPTY_V = {"flooded": 11.7, "gel": 11.4, "agm": 11.4, "lifepo4": 10.8}

boats = st.fixed_dictionaries(
    {
        "chemistry": st.sampled_from(tuple(CHEMISTRIES)),
        "capacity_Ah": st.sampled_from((TINY, 1.0, 60.0, 220.0, 5000.0)),
        "battery": st.fixed_dictionaries(
            {
                "health_frac": st.sampled_from((0.05, 0.5, 1.0)),
                "cutout_V": st.sampled_from((9.0, 11.5, 12.6)),
                "flat_soc": st.sampled_from((0.0, 0.1)),
                "self_discharge_frac_per_month": st.sampled_from((0.0, 0.9)),
            }
        ),
        "controllers": st.sampled_from((0.0, 0.015, 5.0)).map(
            lambda idle_A: (Controller(idle_A=idle_A),)
        ),
        "alternator": st.fixed_dictionaries(
            {"charging_A": st.sampled_from((1.0, 45.0, 500.0)), "motoring_A": st.just(50.0)}
        ),
    }
)
draws = st.one_of(st.just(0.0), st.floats(0.1, 100.0), st.floats(100.0, HUGE))
rows = st.fixed_dictionaries(
    {
        "load_A": st.tuples(draws, draws, st.just(0.0), st.just(0.0)),
        "load_W": st.tuples(draws, draws, st.just(0.0), st.just(0.0)),
        "peak_A": st.tuples(draws, st.just(0.0), st.just(0.0), st.just(0.0)),
        "bank_C": st.floats(-40.0, 60.0),
        "takes_charge": st.sampled_from((0.0, 1.0)),
        "ordered": st.booleans(),
        "may_run": st.just(True),
    }
)


steps = {
    "boat": boats,
    "row": rows,
    "sun_W": st.one_of(st.just(0.0), st.floats(0.1, 2000.0)),
    "soc": st.one_of(st.sampled_from((0.0, 1e-6, 0.02, 1.0)), st.floats(0.0, 1.0)),
    "step_h": st.sampled_from((1.0 / 12.0, 1.0)),
    "dark": st.booleans(),
}


@settings(max_examples=200)
@given(**steps)
def test_every_voltage_is_one_that_the_bus_has(boat, row, sun_W, soc, step_h, dark):
    """Loads of a megawatt on a worn bank in hard frost: what it cannot give goes unserved.

    The lowest is the cut-out, or an empty bank at rest; the highest what a charger holds, or a full
    bank at rest.
    """
    one = OneStep(boat_of(**boat), soc=soc, step_h=step_h, dark=dark)
    flow = one.take(solar=[mppt(sun_W)], **row)
    for name, value in flow._asdict().items():
        assert math.isfinite(value), name
    rested_V = one.plant.bank.emf_knots_V[-1]
    lowest_V = min(flow.bank_V, flow.sag_V)
    least_V = min(boat["battery"]["cutout_V"], EMPTY_V[boat["chemistry"]])
    assert least_V - 1e-9 <= lowest_V <= flow.bank_V <= max(14.4, rested_V) + 1e-9
    assert 0.0 <= flow.served <= 1.0
    bus_in_A = flow.solar_A + flow.alternator_A + flow.out_A
    assert bus_in_A == pytest.approx(flow.load_A + flow.in_A, rel=1e-9, abs=1e-7)
    assert -1e-9 <= flow.soc <= 1.0 + 1e-9


def test_compiled_it_is_the_same_voltage():
    """The same loads on the same banks by machine code: every flow and the state, to the bit."""

    @settings(max_examples=150)
    @given(**steps)
    def same(boat, row, sun_W, soc, step_h, dark):
        one, solar = OneStep(boat_of(**boat), soc=soc, step_h=step_h, dark=dark), [mppt(sun_W)]
        begin = one.state
        flow = one.take(solar=solar, **row)
        many, after = run(
            signals_of(step_h=step_h, solar=solar, **row), plant=one.plant, state=begin
        )
        for name, value in flow._asdict().items():
            assert np.array_equal(getattr(many, name), [[value]], equal_nan=True), name
        for name, value in one.state._asdict().items():
            assert np.array_equal(getattr(after, name), [value], equal_nan=True), name

    with compiled():
        same()
