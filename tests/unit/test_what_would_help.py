"""What would help does help, and a step less does not."""

from dataclasses import replace

import pytest
from planned import RISK, grey_passage, hopeless_plan

from powersim.planning.rule_limits import limits_of
from powersim.planning.rule_search import search
from powersim.planning.size_choices import boat_with, choice_of
from powersim.planning.what_would_help import what_would_help
from powersim.simulation.prepare import prepare
from powersim.simulation.weathers import weathers_of

MEMBERS = 60


def searched(passage):
    """The search, and what it says would help."""
    prepared = prepare(passage, step_h=1.0)
    weathers = weathers_of(passage, prepared, members=2 * MEMBERS, seed=1)
    few, judges = weathers.between(0, MEMBERS), weathers.between(MEMBERS, 2 * MEMBERS)
    limits = limits_of(passage.boat, risk_frac=RISK)
    found = search(passage.boat, few, judges, limits)
    return found, what_would_help(passage, few, found, limits)


def test_with_so_many_more_watts_a_rule_holds():
    passage = hopeless_plan().passage
    help_ = hopeless_plan().help
    own = choice_of(passage.boat)
    more = boat_with(
        {own.chemistry: passage.boat}, replace(own, solar_W=own.solar_W + help_.more_W)
    )
    found, _ = searched(replace(passage, boat=more))
    assert found.worst_frac <= RISK + 0.05  # judged in weathers that it was not chosen by


def test_diesel_that_is_short_is_told_in_litres():
    # Two litres above the reserve, where some days of charging take more.
    passage = grey_passage(fuel={"tank_L": 30.0, "jerrycans_L": 0.0, "aboard_L": 23.0})
    found, help_ = searched(passage)
    assert not found.holds
    assert help_.in_the_way == "reserve"
    fuel = replace(
        passage.boat.fuel, tank_L=60.0, aboard_L=passage.boat.fuel.aboard_L + help_.more_L
    )
    again, _ = searched(replace(passage, boat=replace(passage.boat, fuel=fuel)))
    assert again.worst_frac <= RISK + 0.05
    # Rounded up to a whole litre, so a litre and a half less is not enough.
    assert help_.more_L < 15.0


def test_loads_are_left_off_from_comfort_up_and_never_protected_ones():
    passage = grey_passage(engine=None, days=5.0, panel_W=(60.0,))
    found, help_ = searched(passage)
    assert not found.holds
    assert help_.more_L is None
    names = [load.name for load in passage.loads if load.name != "lights"]
    assert help_.leave_off
    assert set(help_.leave_off) <= set(names)
    assert help_.leave_off[0] == "laptop"


@pytest.mark.parametrize("panel_W", [()])
def test_a_boat_without_panels_is_not_told_to_have_more(panel_W):
    passage = grey_passage(engine=None, days=5.0, panel_W=panel_W)
    _, help_ = searched(passage)
    assert help_.more_W is None
