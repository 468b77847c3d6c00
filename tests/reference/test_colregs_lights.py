"""Lights by boat state against the collision regulations."""

import csv
from pathlib import Path

import pytest

from powersim.records import BOAT_STATES, Load, Window
from powersim.records.lights import LIGHT_RULES, lights_missing, lights_not_allowed

_FILE = Path(__file__).parent / "data" / "colregs_lights.csv"


def _rows():
    with _FILE.open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


ROWS = {(row["rule"], row["vessel"]): row for row in _rows()}
SAIL = ROWS["25(a)", "sailing vessel under way under sail alone"]
LANTERN = ROWS["25(b)", "sailing vessel under 20 m under sail alone"]
POWER = ROWS["23(a)", "power-driven (includes sailing vessel with engine propelling) under 50 m"]
SMALL_POWER = ROWS["23(d)(i)", "power-driven under 12 m"]
ANCHOR = ROWS["30(b)", "under 50 m at anchor"]


def light(role, *states):
    return Load(
        name=role, draw_A=1.0, role=role, window=Window(kind="night"), states=frozenset(states)
    )


@pytest.mark.parametrize(
    ("state", "row"), [("sailing", SAIL), ("motoring", POWER), ("anchored", ANCHOR)]
)
def test_each_state_at_night_is_held_to_its_own_rule(state, row):
    """COLREGs 1972, Rules 25(a), 23(a), 30(b): one rule a state, in force at night."""
    assert row["condition"] == "night"
    assert row["rule"] in LIGHT_RULES[state].rules
    assert lights_missing([], state=state) is LIGHT_RULES[state]


@pytest.mark.parametrize(
    ("state", "row", "words"),
    [
        ("sailing", SAIL, ("sidelights", "sternlight")),
        ("sailing", LANTERN, ("sidelights", "sternlight")),
        ("motoring", POWER, ("masthead", "sidelights", "sternlight")),
        ("anchored", ANCHOR, ("all-round white light",)),
    ],
)
def test_the_rule_asks_for_the_lights_of_the_convention(state, row, words):
    """COLREGs 1972, column required_lights."""
    for word in words:
        assert word in row["required_lights"]
        assert word in LIGHT_RULES[state].shows


@pytest.mark.parametrize(
    ("state", "row", "word"),
    [
        ("sailing", LANTERN, "lantern"),
        ("sailing", LANTERN, "masthead"),
        ("motoring", SMALL_POWER, "all-round white"),
    ],
)
def test_what_a_small_boat_may_show_instead_is_named(state, row, word):
    """COLREGs 1972, Rules 25(b) and 23(d)(i), column option."""
    assert word in row["option"]
    assert word in LIGHT_RULES[state].shows


def test_the_masthead_lantern_has_no_place_under_engine():
    """Rule 25(b) allows it under sail alone; Rule 23 does not name it."""
    assert "under sail alone" in LANTERN["vessel"]
    assert "lantern" not in POWER["required_lights"] + POWER["option"]
    tricolour = light("sailing lights", *BOAT_STATES)
    assert lights_not_allowed([tricolour], state="sailing") == ()
    assert lights_not_allowed([tricolour], state="motoring") == (tricolour,)


def test_the_lights_hold_from_sunset_to_sunrise():
    """Rule 20(b): so a window of daylight does not do, and one of the night does."""
    assert ROWS["20(b)", "any"]["condition"] == "from sunset to sunrise"
    by_night = light("anchor light", "anchored")
    by_day = Load(name="ball", role="anchor light", window=Window(kind="day"))
    assert lights_missing([by_night], state="anchored") is None
    assert lights_missing([by_day], state="anchored") is LIGHT_RULES["anchored"]


def test_one_states_light_does_not_do_for_another():
    """Rules 23, 25 and 30 ask for different lights."""
    lights = [light("sailing lights", *BOAT_STATES)]
    missing = [state for state in BOAT_STATES if lights_missing(lights, state=state)]
    assert missing == ["motoring", "anchored"]


@pytest.mark.parametrize("state", ["hove-to", "drifting"])
def test_a_boat_that_is_hove_to_or_drifts_shows_that_she_is_under_way(state):
    """Rule 25(a) holds for a sailing vessel under way, and under way is every vessel that is not
    at anchor, made fast to the shore or aground (Rule 3(i), from memory). Rule 30 is for those at
    anchor, so that an anchor light in mid-ocean would say what is not so.
    """
    assert "under way" in SAIL["vessel"]
    assert "at anchor" in ANCHOR["vessel"]
    rule = LIGHT_RULES[state]
    assert (rule.state, rule.role) == (state, "sailing lights")
    assert SAIL["rule"] in rule.rules
    assert LANTERN["rule"] in rule.rules
    for word in ("sidelights", "sternlight"):
        assert word in SAIL["required_lights"]
        assert word in rule.shows
    anchor_light, steaming = light("anchor light", state), light("power lights", state)
    assert lights_missing([anchor_light, steaming], state=state) is rule
    assert lights_not_allowed([anchor_light, steaming], state=state) == (anchor_light, steaming)
    sailing_lights = light("sailing lights", state)
    assert lights_missing([sailing_lights], state=state) is None
    assert lights_not_allowed([sailing_lights], state=state) == ()
