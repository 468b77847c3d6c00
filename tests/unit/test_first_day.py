"""From when on the floor counts, of a bank that is low as it begins."""

import pytest
from builders import boat_of, passage_of

from powersim.planning.policy_evaluation import evaluate_policies
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.first_day import DAY_h, counted_from_h
from powersim.simulation.prepare import prepare

NEVER = {"charging_A": 0.1}


def counted(*, soc, days=2.0, **boat):
    passage = passage_of(
        boat=boat_of(battery={"soc_at_departure": soc}, panel_W=(), **boat), days=days
    )
    forcing = draw_ensemble(passage, prepare(passage, step_h=1.0), members=5, seed=1)
    return counted_from_h(passage.boat, forcing, risk_frac=0.05), passage, forcing


@pytest.mark.parametrize(
    ("soc", "alternator", "from_h"),
    [
        (0.48, {}, DAY_h),
        (0.50, {}, DAY_h),
        (0.56, NEVER, DAY_h),  # some 40 Ah a day of 187 Ah: at its floor before the day is over
        (0.56, {}, 0.0),  # the engine may run from 08:00, and it is 07:00
        (0.62, NEVER, 0.0),  # more than a night above: that it falls is no matter of the start
    ],
)
def test_a_bank_at_its_floor_or_near_it_has_a_day_to_come_up(soc, alternator, from_h):
    assert counted(soc=soc, alternator=alternator)[0] == from_h


def test_without_an_engine_the_sun_has_a_day():
    assert counted(soc=0.45, engine=None)[0] == DAY_h


def test_the_day_excuses_low_charge_and_no_darkness():
    """Nothing charges: 48 % of 187 Ah are 52 Ah above flat, and the loads take some 43 Ah a day."""
    _, passage, forcing = counted(soc=0.48, engine=None, days=3.0)
    rules = [passage.boat.charging]
    whole = evaluate_policies(passage.boat, forcing, rules)
    later = evaluate_policies(passage.boat, forcing, rules, counted_from_h=DAY_h)
    assert later.dark_h.tolist() == whole.dark_h.tolist()
    assert whole.dark_h.all()
    assert whole.below_floor_h == pytest.approx(72.0)
    assert later.below_floor_h == pytest.approx(48.0)
    assert later.below_floor.all()


def test_one_day_of_a_passage_can_be_tried_alone():
    _, passage, forcing = counted(soc=0.60, engine=None)
    rules = [passage.boat.charging]
    day = evaluate_policies(passage.boat, forcing, rules, until_h=DAY_h)
    whole = evaluate_policies(passage.boat, forcing, rules)
    assert (day.end_soc > whole.end_soc).all()
    assert (day.lowest_soc > whole.lowest_soc).all()
