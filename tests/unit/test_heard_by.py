"""How far VHF reaches, against arithmetic, and what is left aboard to be heard and seen by."""

from dataclasses import replace

import pytest
from builders import passage_of

from powersim.planning.heard_by import heard_by, radio_horizon_nm
from powersim.records import Load, Session


def test_the_radio_horizon_by_hand():
    """sqrt(2 * 4/3 * 6371 km * h): 12 m is sqrt(203.87 km2) = 14.278 km; 25 m is sqrt(424.73 km2) =
    20.609 km. Together 34.887 km / 1.852 = 18.84 nm."""
    assert radio_horizon_nm(12.0, 25.0) == pytest.approx(18.84, abs=0.005)


@pytest.mark.parametrize("height_m", [2.0, 10.0, 50.0])
def test_the_radio_horizon_against_the_rule_of_the_trade(height_m):
    """4.12 km times the root of the height in metres: a common rule for VHF, from memory."""
    by_rule_nm = 4.12 * height_m**0.5 / 1.852
    assert radio_horizon_nm(height_m) == pytest.approx(by_rule_nm, rel=2e-3)


LOADS = (
    Load(name="tricolour", draw_W=2.0, role="sailing lights"),
    Load(name="vhf radio", draw_A=0.3, role="vhf"),
    Load(name="AIS transponder", draw_W=3.0, role="lookout"),
    Load(name="radar alarm", draw_W=1.0, role="lookout"),
    Load(name="short-wave receiver", draw_W=1.0, role="comms"),
    Load(name="satellite phone", draw_W=7.0, role="comms"),
    Load(
        name="sky from above",
        draw_W=7.0,
        role="comms",
        on_frac=None,
        session=Session(words="downloads", each_h=0.1),
    ),
    Load(name="phone in port", draw_W=7.0, role="comms", states=frozenset({"berthed"})),
)


def test_what_is_heard_and_seen_by_its_role_its_name_and_its_sessions():
    left = heard_by(passage_of(loads=LOADS))
    assert left.anywhere == ("satellite phone",)
    assert (left.vhf, left.seen, left.lights) == (("vhf radio",), ("AIS transponder",), True)


def test_what_is_lost_is_not_heard():
    lost = passage_of(loads=[replace(load, count=0) for load in LOADS])
    left = heard_by(lost)
    assert (left.anywhere, left.vhf, left.seen, left.lights) == ((), (), (), False)
