"""The ladder from today's charge, for a boat as her log shows her to be; and the next port."""

import numpy as np
import pytest
from builders import calm_seas, passage_of

from powersim.logbook.forecast import forecast_forcing
from powersim.logbook.posterior import Now
from powersim.planning.cases import lost_together
from powersim.planning.ladder import ladder_aboard
from powersim.planning.ports import next_port
from powersim.records import Load, Waypoint
from powersim.report.ladder_view import ladder_underway
from powersim.report.screen_text import screen_text
from powersim.simulation.factors import Factors
from powersim.simulation.prepare import prepare

LOADS = (
    Load(name="lookout", draw_A=0.5, role="lookout", spread_frac=0.5),
    Load(name="music", draw_A=0.5, priority="comfort", spread_frac=0.5),
)
MEMBERS = 20


@pytest.fixture
def found(middle_banks):
    """100 Ah at 80 %, three days to go, and loads that draw twice what the list says."""
    battery = {"health_frac": 1.0, "floor_soc": 0.5, "reading": "monitor", "cutout_V": 9.0}
    boat = {"capacity_Ah": 100.0, "chemistry": "lifepo4", "battery": battery}
    passage = calm_seas(boat=boat, loads=LOADS, days=3.0, ship_offset_h=0.0)
    one = np.ones(MEMBERS)
    factors = Factors(demand=2.0 * one, solar=one, capacity=one, burn=one, alternator=one)
    now = Now(soc=0.8 * one, left_L=0.0 * one, factors=factors)
    case = lost_together((), passage, prepare(passage, step_h=1.0))
    told, others = (
        forecast_forcing(passage, now, members=MEMBERS, first=first, seed=1, step_h=1.0)
        for first in (0, MEMBERS)
    )
    return ladder_aboard(case, told, others, risk_frac=0.05)


def test_it_begins_with_what_the_log_says_of_bank_and_loads(found):
    """30 Ah above the floor at twice 1 A are 15 h, in every member: what each load draws beside
    that has been told by the log, and is not drawn again. Without the music 30 h."""
    assert found.soc == pytest.approx(0.8)
    all_on, without_music = found.on_rung
    assert 24.0 * all_on.floor_days == pytest.approx(15.0, abs=1e-6)
    assert 24.0 * without_music.floor_days == pytest.approx(30.0, abs=1e-6)


def test_the_bank_alone_lasts_by_the_same_loads(found):
    """70 Ah until it is flat, at 2 A: 35 h; at 1 A 70 h, in the step before landfall."""
    assert [24.0 * float(days[0]) for days in found.alone_days] == pytest.approx([35.0, 70.0])


def test_it_is_said_from_here_on(found):
    text = screen_text(ladder_underway(found))
    assert text.startswith("What to give up from here\n")
    assert "From here, with 80 % in the bank: " in " ".join(text.split())


def test_the_next_port_is_a_stop_in_port_or_landfall():
    """120 miles at 5 kn are a day. At sea hove-to is no port."""
    places = [(40.0, {}), (38.0, {"stop_h": 12.0, "stop_state": "hove-to"})]
    places += [(36.0, {"stop_h": 24.0, "stop_state": "anchored"}), (34.0, {})]
    waypoints = tuple(
        Waypoint(name=f"at {lat_deg:.0f} N", lat_deg=lat_deg, lon_deg=-30.0, speed_kn=5.0, **stop)
        for lat_deg, stop in places
    )
    track = prepare(passage_of(waypoints=waypoints), step_h=1.0).track
    port = next_port(track, first=0)
    assert port.waypoint == 2
    assert port.days == pytest.approx(2.5, abs=0.1)
    assert next_port(track, first=round(24 * 2.8)).days == 0.0
    last = next_port(track, first=round(24 * 4.0))
    assert last.waypoint == 3
    assert last.days == pytest.approx(track.arrival_h / 24.0 - 4.0)
