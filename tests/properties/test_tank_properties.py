"""What holds for the dip stick of any tank: a deeper one is never less, nor more than all."""

from itertools import pairwise

import hand_worked
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tanks_made import SHARES, tanks

from powersim.physics.tank import above_tank, litres_at, sounding
from powersim.planning.sounding import sounded
from powersim.records import Fuel, Tank

#: Perhaps with another capacity than their measures have.
OF_PARTS = tanks(st.none() | st.floats(5.0, 2_000.0))
#: As far above the brim as a stick may be wet: 1 cm of creeping and three times 1 cm of rolling.
ABOVE_m = 0.0099


@st.composite
def tables(draw):
    """Two to eight rows with steps of a millimetre and half a litre or more."""
    steps = st.tuples(st.floats(0.001, 0.5), st.floats(0.5, 50.0))
    rows = [draw(st.just((0.0, 0.0)) | steps)]
    for step_m, step_L in draw(st.lists(steps, min_size=1, max_size=7)):
        rows.append((rows[-1][0] + step_m, rows[-1][1] + step_L))
    return Tank(table=tuple(rows))


ANY = OF_PARTS | tables()


def boat_of(tank):
    """A boat with that tank, two cans, a reserve and some litres out of reach."""
    fuel = Fuel(
        tank_L=tank.full_L,
        jerrycans_L=40.0,
        aboard_L=tank.full_L + 40.0,
        reserve_L=min(25.0, tank.full_L),
        unusable_frac=0.05,
        shape=tank,
    )
    return hand_worked.boat_of(fuel=fuel)


@given(tank=ANY, one=SHARES, other=SHARES)
def test_a_longer_wet_stick_is_never_less_diesel(tank, one, other):
    """Most likely, at least, at most, and in hours and miles."""
    low, high = sorted((one, other))
    shallow, deep = (
        sounded(boat_of(tank), share * (tank.top_m + ABOVE_m)) for share in (low, high)
    )
    for name in ("tank_L", "least_L", "most_L", "usable_L"):
        assert getattr(shallow, name) <= getattr(deep, name) + 1e-9
    for worth in ("worth", "worth_least", "worth_most"):
        for name in ("litres", "charging_h", "motoring_h", "motoring_nm"):
            assert (
                getattr(getattr(shallow, worth), name) <= getattr(getattr(deep, worth), name) + 1e-9
            )


@given(tank=ANY, share=SHARES)
def test_a_dip_lies_between_nothing_and_what_the_tank_holds(tank, share):
    found = sounded(boat_of(tank), share * (tank.top_m + ABOVE_m))
    assert 0.0 <= found.least_L <= found.tank_L <= found.most_L <= tank.full_L * (1 + 1e-9)
    assert 0.0 <= found.usable_L <= found.tank_L
    worths = (found.worth_least.litres, found.worth.litres, found.worth_most.litres)
    assert 0.0 <= worths[0] <= worths[1] <= worths[2]
    assert found.above_full == (found.depth_m > tank.top_m)


@given(tank=OF_PARTS, share=SHARES)
def test_a_table_read_off_a_shape_agrees_with_the_shape(tank, share):
    """Two hundred rows: between two of them a straight line is off by the bulge of one step."""
    steps = 200
    marks_m = [tank.top_m * mark / steps for mark in range(steps + 1)]
    rows = [(mark_m, litres_at(tank, mark_m)) for mark_m in marks_m]
    if any(not more_L > less_L for (_, less_L), (_, more_L) in pairwise(rows)):
        return  # a part that is raised above another's top leaves a gap that no table has
    table = Tank(table=tuple(rows))
    depth_m = share * tank.top_m
    step = min(int(share * steps), steps - 1)
    bulge_L = rows[step + 1][1] - rows[step][1]
    assert litres_at(table, depth_m) == pytest.approx(litres_at(tank, depth_m), abs=bulge_L + 1e-9)
    for mark_m in marks_m[:: steps // 10]:
        assert litres_at(table, mark_m) == pytest.approx(
            litres_at(tank, mark_m), rel=1e-9, abs=1e-9
        )


@given(tank=OF_PARTS, more=st.floats(0.5, 2.0), share=SHARES)
def test_another_capacity_scales_every_depth_alike(tank, more, share):
    larger = Tank(parts=tank.parts, capacity_L=more * tank.full_L)
    depth_m = share * tank.top_m
    assert litres_at(larger, depth_m) == pytest.approx(more * litres_at(tank, depth_m), rel=1e-9)


@given(tank=ANY, past_m=st.floats(0.011, 10.0))
def test_outside_the_tank_there_is_no_answer(tank, past_m):
    assert above_tank(tank, tank.top_m + past_m)
    with pytest.raises(ValueError, match="above the tank"):
        sounded(boat_of(tank), tank.top_m + past_m)
    for depth_m in (-past_m, float("nan")):
        with pytest.raises(ValueError, match="must not be negative"):
            sounding(tank, depth_m)
