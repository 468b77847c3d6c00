"""Loads that fail and what is left without them; what a spare gains, by hand."""

import math

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.planning.dropping import Dropping, LoadGain
from powersim.planning.endurance_table import DaysFrom, Endurance
from powersim.planning.failures import FAILURES, NO_CHARGING, WORKING
from powersim.planning.loads_lost import loads_lost
from powersim.planning.spares import SPARES, spares_of
from powersim.records import Load, Session
from powersim.report.endurance_losses import losses_sections

AT_SEA = {"states": frozenset({"sailing"})}
LOADS = (
    Load(name="satellite phone", draw_W=7.0, role="comms"),
    Load(
        name="weather by satellite phone",
        draw_W=7.0,
        role="comms",
        on_frac=None,
        session=Session(words="downloads", each_h=0.1, beside=("laptop",)),
    ),
    Load(name="laptop", draw_W=30.0, role="navigation"),
    Load(name="tablet", draw_W=8.0, role="navigation"),
    Load(name="vhf", draw_A=0.3, role="vhf"),
    Load(name="pilot under sail", draw_A=1.0, role="pilot", **AT_SEA),
    Load(name="pilot under engine", draw_A=1.0, role="pilot", states=frozenset({"motoring"})),
    Load(name="music", draw_A=1.0),
)


def gain(load, days):
    return LoadGain(
        load=load,
        group="useful",
        charge_Ah_per_day=1.0,
        days_to_floor=0.0,
        days_to_flat=days,
        beside_days_to_floor=0.0,
        beside_days_to_flat=0.0,
    )


DROPPING = Dropping(
    beside="engine lost", gains=(gain("laptop", 0.5), gain("satellite phone", 0.001))
)


@pytest.fixture
def lost():
    return {one.load.name: one for one in loads_lost(passage_of(loads=LOADS), DROPPING)}


def test_what_speaks_navigates_and_steers_may_fail_and_music_is_not_told(lost):
    assert "music" not in lost
    assert next(iter(lost)) == "satellite phone"
    assert len(lost) == 7


def test_what_hangs_on_a_load_goes_with_it(lost):
    """A laptop by the sessions that name it; what is done by a phone, by its name."""
    assert lost["laptop"].also == ("weather by satellite phone",)
    assert lost["satellite phone"].also == ("weather by satellite phone",)
    assert lost["tablet"].also == ()
    assert lost["satellite phone"].left.anywhere == ()
    assert lost["tablet"].left.anywhere == ("satellite phone",)


def test_the_pilot_under_engine_is_the_one_under_sail(lost):
    assert lost["pilot under sail"].same == ()
    assert lost["laptop"].same == ("tablet",)


def test_in_words():
    table = next(
        one
        for one in losses_sections(passage_of(loads=LOADS), DROPPING, end="landfall")
        if hasattr(one, "rows")
    )
    rows = [tuple(map(str, row)) for row in table.rows]
    phone = "satellite phone, and with it weather by satellite phone"
    assert rows[0] == (phone, "unaffected", "VHF, about 19 nm to a ship")
    assert ("pilot under sail", "unaffected", "the vane, or your hands") in rows
    laptop = "laptop, and with it weather by satellite phone"
    assert (laptop, "+ 12 h", "tablet") in rows


def moment(lines):
    """Lines from a moment 20 days before landfall; to flat and to the floor alike."""
    return DaysFrom(
        from_h=0.0,
        soc=np.ones(2),
        days_to_landfall=20.0,
        lines=tuple(
            Endurance(
                loss=loss,
                loads="all loads",
                days_to_floor=np.array(values),
                days_to_flat=np.array(values),
            )
            for loss, values in lines.items()
        ),
    )


def test_what_a_spare_gains_is_the_days_with_it_less_those_without():
    """To landfall at most: 15 and 20 days with all working, less 3 and 5 without the engine, 15
    and 12 without the sun."""
    lines = {
        WORKING: [15.0, math.inf],
        "solar lost": [15.0, 12.0],
        "engine lost": [3.0, 5.0],
        NO_CHARGING: [1.0, 1.0],
    }
    engine, solar = spares_of(moment(lines), boat_of().battery)
    assert (engine.loss, solar.loss) == ("engine lost", "solar lost")
    assert engine.to_flat_days.tolist() == [12.0, 15.0]
    assert solar.to_flat_days.tolist() == [0.0, 8.0]


def test_every_failure_but_the_loss_of_all_charging_has_a_spare():
    assert set(SPARES) == {one.key for one in FAILURES} - {"charging"}
