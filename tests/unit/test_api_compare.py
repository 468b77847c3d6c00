"""Comparing from a notebook: the same as the command, and names that tell passages apart."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from builders import boat_of, passage_of

import powersim

QUICK = {"members": 6, "step_h": 1.0, "jobs": 1}
PASSAGE = passage_of(boat=boat_of(battery={"soc_at_departure": 0.6}), days=1.0)
BIGGER = replace(
    PASSAGE, boat=replace(PASSAGE.boat, battery=replace(PASSAGE.boat.battery, capacity_Ah=400.0))
)


@pytest.fixture(scope="module")
def found():
    later = PASSAGE.depart_utc + timedelta(days=30)
    passages = {"as she is": PASSAGE, "a bigger bank": BIGGER}
    return powersim.compare(passages, departs=["2026-09-05", later], seed=4, **QUICK)


def test_every_passage_on_every_departure_the_first_in_front(found):
    assert isinstance(found, powersim.Comparison)
    # A date without a time is that day at the passage's own time: for the first it is its own.
    assert [(one.name, f"{one.passage.depart_utc:%m-%d %H}") for one in found.choices] == [
        ("as she is", "09-05 09"),
        ("as she is", "10-05 09"),
        ("a bigger bank", "09-05 09"),
        ("a bigger bank", "10-05 09"),
    ]


def test_each_is_what_simulate_says(found):
    for choice, outcome in zip(found.choices, found.outcomes, strict=True):
        result = powersim.simulate(choice.passage, members=6, step_h=1.0, seed=4)
        assert outcome.verdict == result.verdict


def test_table_and_picture(found):
    table = found.to_dataframe()
    assert table["folder"].tolist() == ["as she is"] * 2 + ["a bigger bank"] * 2
    assert table["lowest_soc_mean"][2] > table["lowest_soc_mean"][0]
    assert table["more_lowest_soc_mean"][2] == found.differences[2]["lowest"].mean
    assert found.plot().figure.axes


def test_passages_without_names_are_told_apart_by_numbers():
    found = powersim.compare([PASSAGE, BIGGER], **QUICK)
    assert [one.name for one in found.choices] == [f"{PASSAGE.name} 1", f"{PASSAGE.name} 2"]
    alone = powersim.compare(PASSAGE, departs=[datetime(2026, 9, 6, tzinfo=UTC)], **QUICK)
    assert [one.name for one in alone.choices] == [PASSAGE.name] * 2


def test_what_cannot_be_compared_is_refused():
    with pytest.raises(ValueError, match="no passage to compare"):
        powersim.compare([])
    with pytest.raises(ValueError, match="members must be 2 or more"):
        powersim.compare(PASSAGE, members=1)
    with pytest.raises(TypeError, match="expected a passage"):
        powersim.compare(["my-passage"])
