"""The engine dead on day twelve, a boat without one, and a lithium bank: each also by hand.

Invented boats, with loads that never change and a generator towed behind that stands for a sun that
never sets: watts against watts, so that the bank gives the difference.

    lookout, tricolour, VHF   24 W     never given up
    messenger                  6 W     essential, comms
    pilot                     24 W     useful
    music                     12 W     comfort
    all                       66 W     generator 24 W

What the bank gives, with nothing given up and after music, pilot and messenger in turn:
42, 30, 6 and 0 W. At 12 to 13.4 V that is so many amperes, and days = charge / amperes.
"""

from typing import NamedTuple

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.api.asked import ready_of
from powersim.planning.ladder import ladder
from powersim.records import Load, WaterGenerator
from powersim.report.ladder_answer import answer
from powersim.report.ladder_view import ladder_sections
from powersim.report.screen_text import screen_text
from powersim.simulation import ensemble_forcing
from powersim.simulation.member_banks import BankDraws

LOADS = (
    Load(name="AIS transponder", draw_W=12.0, role="lookout"),
    Load(name="tricolour", draw_W=6.0, role="sailing lights"),
    Load(name="vhf", draw_W=6.0, role="vhf"),
    Load(name="messenger", draw_W=6.0, role="comms", priority="essential"),
    Load(name="pilot", draw_W=24.0, role="pilot", priority="useful"),
    Load(name="music", draw_W=12.0, priority="comfort"),
)
#: 24 W at the bank: 3 % are lost in its cable.
GENERATOR = WaterGenerator(speeds_kn=(2.0, 4.0, 6.0), powers_W=(0.0, 24.0 / 0.97, 24.0 / 0.97))
RUNGS_W = (42.0, 30.0, 6.0, 0.0)
DAYS = 18.0


class Kind(NamedTuple):
    """A boat, when it is asked of her, and between which volts her bank gives."""

    boat: dict
    from_h: float
    capacity_Ah: float
    least_V: float
    most_V: float
    loss: str


ENGINE = {"charging": {"start_soc": 0.75, "stop_soc": 0.95}}
KINDS = {
    "engine dead on day twelve": Kind(
        boat={"chemistry": "flooded", **ENGINE},
        from_h=11 * 24.0,
        capacity_Ah=400.0,
        least_V=11.7,
        most_V=12.9,
        loss="engine lost",
    ),
    "no engine": Kind(
        boat={"chemistry": "agm", "engine": None},
        from_h=0.0,
        capacity_Ah=600.0,
        least_V=11.7,
        most_V=13.1,
        loss="everything working",
    ),
    "lithium": Kind(
        boat={"chemistry": "lifepo4", **ENGINE},
        from_h=11 * 24.0,
        capacity_Ah=400.0,
        least_V=12.6,
        most_V=13.6,
        loss="engine lost",
    ),
}


@pytest.fixture(scope="module", params=KINDS)
def asked(request):
    """The ladder of one of them, and how she is; every member has the middle bank of its kind."""
    kind = KINDS[request.param]
    battery = {
        "health_frac": 1.0,
        "self_discharge_frac_per_month": 0.0,
        "standby_A": 0.0,
        "reading": "monitor",
        "floor_soc": 0.5,
        "cutout_V": 9.0,
    }
    boat = boat_of(
        capacity_Ah=kind.capacity_Ah,
        panel_W=(),
        chargers=(GENERATOR,),
        battery=battery,
        **kind.boat,
    )
    leg = {"cabin_C": 25.0}
    passage = passage_of(boat=boat, loads=LOADS, days=DAYS, ship_offset_h=0.0, leg=leg)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ensemble_forcing, "draw_banks", middle_banks)
        yield ladder(ready_of(passage, step_h=1.0), from_h=kind.from_h, members=20), kind


def middle_banks(battery, *, seed, members):
    one = np.ones(members)
    return BankDraws(
        offset_V=0.0 * one,
        slope=one,
        resistance=one,
        exponent=battery.peukert_exponent * one,
        capacity=one,
    )


def between(asked, charge_soc, watts):
    """Days in which a bank gives a charge at so many watts: least and most, by its volts."""
    _, kind = asked
    held_Ah = charge_soc * kind.capacity_Ah
    return [held_Ah * volts / watts / 24.0 for volts in (kind.least_V, kind.most_V)]


def test_the_days_on_each_rung_are_charge_over_draw(asked):
    """From what the bank holds to its floor at 50 %, in every passage; past landfall is never."""
    found, kind = asked
    assert found.loss == kind.loss
    for watts, one in zip(RUNGS_W, found.on_rung, strict=True):
        for held_soc, floor_days in zip(found.soc, one.floor_days, strict=True):
            if watts == 0.0:
                assert np.isinf(floor_days)
                continue
            least, most = between(asked, max(held_soc - 0.5, 0.0), watts)
            if most < found.to_landfall_days:
                assert least <= floor_days <= most
            elif least > found.to_landfall_days:
                assert np.isinf(floor_days)


def test_what_each_step_saves_and_gains(asked):
    """12, 24 and 6 W all day are 24, 48 and 12 Ah at 12 V, or less at 12.8 V. The bank alone gives
    66, 54, 30 and 24 W until it is flat."""
    found, _ = asked
    nominal_V = found.passage.boat.battery.nominal_V
    saved_Ah = [step.charge_Ah_per_day for step in found.steps.worth]
    assert saved_Ah == pytest.approx([24.0 * w / nominal_V for w in (12.0, 24.0, 6.0)], rel=1e-9)
    flat_soc = found.passage.boat.battery.flat_soc
    for watts, days in zip((66.0, 54.0, 30.0, 24.0), found.alone_days, strict=True):
        for held_soc, alone_days in zip(found.soc, days, strict=False):
            least, most = between(asked, held_soc - flat_soc, watts)
            if most < found.to_landfall_days:
                # A dark step more, and what the high draw leaves in the bank.
                assert 0.85 * least <= alone_days <= most + 1.0 / 24.0


def test_the_question_is_answered(asked):
    """With music and pilot given up all the way 6 W are left: 0.5 A, or 84 Ah in a week and 216 Ah
    in 18 days. Of 400 Ah that are four fifths full, and of 600 Ah that are full, more than half is
    left, so that nothing goes dark and the messenger may stay on.

    With all on 42 W are 84 Ah a day, and no bank of these lasts to landfall above its floor.
    """
    found, _ = asked
    assert found.holds
    assert not found.needless
    assert not found.by_ladder.dark.any()
    music, pilot, messenger = found.steps.worth
    assert not found.evenings(messenger).any()
    assert found.evenings(music).min() >= found.evenings(pilot).min() > 0
    words = " ".join(str(answer(found)).split())
    assert "seen and heard to landfall" in words
    assert "in all of 20 simulated passages, if what is told below is given up (else in " in words
    assert "), with the messenger every day in all" in words
    assert max(map(len, screen_text(ladder_sections(found)).splitlines())) <= 80


def test_at_which_charge_the_pilot_is_given_up(asked):
    """A figure is the charge for so many days on the rung before, 30 W with the music off, and then
    6 W to landfall: 50 % + (30 W * ahead + 6 W * (days - ahead)) / (capacity * volts).

    With 6.5 days to go and 2 of them ahead, of 400 Ah at 13.2 V: 50 % + (1440 + 648) Wh / 5280 Wh =
    90 %. It is enough in half of the passages or more, as it is read: a few hundredths above.
    """
    found, kind = asked
    table = found.table
    for row, figures in enumerate(table.least_soc):
        days = min((row + 1.0) * table.row_days, found.to_landfall_days)
        # The last evening before so long before landfall; one falls into every row.
        by_hand = []
        for volts, left_days in ((kind.most_V, days - 1.0), (kind.least_V, days)):
            ahead = min(table.ahead_days, left_days)
            given_Wh = 24.0 * (30.0 * ahead + 6.0 * (left_days - ahead))
            by_hand.append(0.5 + given_Wh / (kind.capacity_Ah * volts))
        if by_hand[0] > 1.0:
            assert figures[1] == np.inf
        elif by_hand[1] < 0.95:
            assert by_hand[0] - 0.01 <= figures[1] <= by_hand[1] + 0.08


def test_the_pilot_works_no_longer_than_the_bank_has_for_it(asked):
    """What the bank holds above its floor, less 6 W to landfall, is the pilot's: so many Wh are a
    24th of them in days. Where the floor is kept it is off on all other evenings, one more or less
    at either end."""
    found, kind = asked
    pilot = found.steps.worth[1]
    to_go_days = found.to_landfall_days
    above_Wh = (found.soc - 0.5) * kind.capacity_Ah * kind.most_V
    works_days = np.maximum(above_Wh / 24.0 - 6.0 * to_go_days, 0.0) / 24.0
    least_evenings = np.ceil(to_go_days - works_days) - 2.0
    kept_floor = ~found.by_ladder.below_floor
    assert kept_floor.mean() >= 0.75
    assert (found.evenings(pilot)[kept_floor] >= least_evenings[kept_floor]).all()
