"""The cautions of charging: on every boat those that concern her, wherever they are told."""

from dataclasses import replace

import pytest
from builders import in_average
from hand_worked import bank_of, passage_of, with_panels, without_engine
from planned import grey_plan

from powersim.inputs.standing_cautions import standing_cautions
from powersim.planning.endurance import endurance
from powersim.records.care import (
    DOZING,
    EXHAUST_WATER,
    HATCHES_SHUT,
    HYDROGEN,
    TURNING_ALTERNATOR,
    care_in_short,
    care_of_engine,
)
from powersim.report.card import card_of
from powersim.report.plan_text import plan_text

OF_ENGINE = care_of_engine(passage_of().boat.engine)
ALL = (*OF_ENGINE, HYDROGEN, TURNING_ALTERNATOR)


def of(boat):
    short = care_in_short(boat)
    return [care for care in ALL if care.short in short]


@pytest.mark.parametrize(
    ("boat", "minded"),
    [
        (with_panels(battery=bank_of("flooded")), ALL),
        (with_panels(battery=bank_of("lifepo4")), (*OF_ENGINE, TURNING_ALTERNATOR)),
        (replace(without_engine(), battery=bank_of("agm")), (HYDROGEN,)),
        (replace(without_engine(), battery=bank_of("lifepo4")), ()),
    ],
    ids=["all of it", "lithium", "no engine", "lithium without an engine"],
)
def test_a_boat_is_told_what_concerns_her(boat, minded):
    assert of(boat) == list(minded)
    told = standing_cautions(replace(passage_of(), boat=boat))
    assert [care for care in ALL if care.full in told] == list(minded)


def test_plan_tells_it_beside_the_rule():
    text = " ".join(plan_text(grey_plan()).split())
    for care in (*OF_ENGINE, TURNING_ALTERNATOR):
        assert care.short in text


def test_the_card_tells_it_at_its_foot():
    result = in_average(passage_of(), step_h=1.0)
    assert (
        care_in_short(result.passage.boat)
        in card_of(result, endurance=endurance(result, members=1)).care
    )


@pytest.mark.parametrize(
    ("care", "words"),
    [
        (EXHAUST_WATER, ("heeled", "intake can lift out", "every few minutes", "Clipped on")),
        (DOZING, ("alarm", "before you doze")),
        # "Open up" is no advice with the sea on deck: when, and what of the air.
        (HATCHES_SHUT, ("lull", "hove-to", "carbon monoxide alarm", "air for the engine")),
    ],
)
def test_each_says_what_to_do(care, words):
    """Common practice, no source."""
    for word in words:
        assert word in care.full
    assert len(care.short) <= 80
