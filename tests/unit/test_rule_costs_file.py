"""[charging.costs] of boat.toml."""

import pytest

from powersim.inputs.boat import collect_boat
from powersim.records import RuleCosts

BOAT = '[battery]\nchemistry = "agm"\ncapacity = "100 Ah"\n'


def read(text):
    return collect_boat("boat.toml", text=BOAT + text)


def test_what_is_left_out_has_its_default_and_is_told():
    found = read('[charging.costs]\nengine_hour = "0.5 L"\n')
    assert found.problems == ()
    assert found.boat.costs == RuleCosts(engine_hour_L=0.5)
    places = {one.place for one in found.assumptions}
    assert "boat.toml charging.costs.start" in places
    assert "boat.toml charging.costs.engine_hour" not in places


def test_nothing_is_assumed_aloud_of_what_only_a_plan_asks_for():
    found = read("")
    assert found.boat.costs == RuleCosts()
    assert not [one for one in found.assumptions if "costs" in one.place]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[charging.costs]\nstart = "-1 L"\n', "boat.toml:5: charging.costs.start: "),
        ('[charging]\ncosts = "0.3 L"\n', "boat.toml:5: charging.costs: '0.3 L' is not a table"),
        (
            '[charging.costs]\nengine_hours = "1 L"\n',
            "boat.toml:5: charging.costs.engine_hours: unknown key; did you mean 'engine_hour'?",
        ),
    ],
)
def test_what_is_wrong_is_told_with_its_line(text, said):
    (problem,) = read(text).problems
    assert str(problem).startswith(said)
