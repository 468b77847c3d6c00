"""Which failures a boat has, what each takes away, and what the sailor may list."""

from dataclasses import replace
from itertools import pairwise

import pytest
from builders import boat_of, passage_of

from powersim.errors import InputError
from powersim.kernel.state import Switches
from powersim.planning.cases import LOAD_SETS, cases_of
from powersim.planning.failures import FAILURES, NO_CHARGING, NO_ENGINE, WORKING, without_motoring
from powersim.records import Controller, Load, ShorePower, panel_of
from powersim.simulation.prepare import prepare

PILOTED = (
    Load(name="Tiller Pilot", draw_A=2.0, standby_A=0.1, role="pilot"),
    Load(name="VHF", draw_A=0.3, role="vhf"),
    Load(name="engine alarm", draw_A=0.1),
)


def cases(passage, without=()):
    return {
        case.loss: case for case in cases_of(passage, prepare(passage, step_h=1.0), without=without)
    }


@pytest.fixture(scope="module")
def passage():
    return passage_of(loads=PILOTED, days=1.0, leg={"motoring_start_h": 3.0})


def test_lines_of_a_boat_that_has_most_of_it():
    two = boat_of(
        chemistry="lifepo4",
        panel_W=(100.0, 50.0),
        controllers=(Controller(name="a"), Controller(name="b")),
        chargers=(ShorePower(name="shore", rated_A=20.0),),
    )
    found = cases(passage_of(boat=two, loads=PILOTED, days=1.0))
    names = [failure.name.format(bank="lithium") for failure in FAILURES]
    assert list(found) == [WORKING, *names]
    assert found["other chargers lost"].notes == ("other chargers lost: shore",)
    (opens,) = found["lithium protection opens"].notes
    assert opens.startswith("lithium protection opens: everything goes dark at once")


def test_lines_of_a_boat_with_a_battery_and_no_more():
    bare = boat_of(panel_W=(), engine=None)
    found = cases(passage_of(boat=bare, loads=(), days=1.0))
    assert list(found) == [WORKING, NO_CHARGING, "battery at half capacity"]


def test_names_and_keys_are_told_apart():
    words = [word for failure in FAILURES for word in (failure.key, failure.name)]
    assert len(set(words)) == len(words)
    assert {"alternator", "engine", "panel", "solar", "charging"} <= set(words)


def test_what_each_takes_away(passage):
    found = cases(passage)
    assert found[WORKING].passage is passage
    assert found[WORKING].switches == Switches()
    assert found["alternator lost"].switches == Switches(alternator=0.0)
    assert found["solar lost"].switches == Switches(solar=0.0)
    nothing = Switches(solar=0.0, others=0.0, alternator=0.0)
    assert found[NO_CHARGING].switches == nothing
    assert found["tank fuel fouled"].cans_only
    lost = found[NO_ENGINE]
    assert lost.switches == Switches(engine=False)
    assert lost.passage == without_motoring(passage)
    assert lost.passage.waypoints[0].motoring_start_h == 0.0
    halved = found["battery at half capacity"].passage.boat.battery
    assert halved.real_capacity_Ah == passage.boat.battery.real_capacity_Ah / 2.0
    pilot, *others = found["pilot draw doubled"].passage.loads
    assert (pilot.draw_A, pilot.standby_A) == (4.0, 0.1)
    assert others == list(PILOTED[1:])


def test_the_panel_that_is_lost_gives_the_most():
    """One of two of 60 W gives more than one of 50 W; none aboard gives nothing, however large."""
    panels = (
        panel_of("deck", power_W=50.0, controller="controller"),
        panel_of("arch", power_W=60.0, count=2, mount="arch", controller="controller"),
        panel_of("ashore", power_W=500.0, count=0, controller="controller"),
    )
    passage = passage_of(boat=replace(boat_of(), panels=panels), days=1.0)
    found = cases(passage)["one panel lost"]
    assert [panel.count for panel in found.passage.boat.panels] == [1, 1, 0]
    assert found.notes == ("one panel lost: arch, the one that gives the most",)


def test_what_the_sailor_lists_is_one_more_line(passage):
    *_, last = cases_of(
        passage,
        prepare(passage, step_h=1.0),
        without=["Engine", "solar lost", "  tiller   pilot ", "vhf"],
    )
    assert last.loss == "without engine and solar and tiller pilot and vhf"
    assert last.switches == Switches(engine=False, solar=0.0)
    assert [load.count for load in last.passage.loads] == [0, 0, 1]
    assert last.passage.waypoints[0].motoring_start_h == 0.0


def test_a_role_takes_all_of_its_loads(passage):
    last = cases(passage, without=["pilot"])["without pilot"]
    assert [load.count for load in last.passage.loads] == [0, 1, 1]
    assert last.switches == Switches()


def test_everything_wrong_with_a_list_at_once():
    passage = passage_of(boat=boat_of(engine=None), loads=PILOTED, days=1.0)
    with pytest.raises(InputError) as caught:
        cases(passage, without=["engine", "tiler pilot", ""])
    expected = (
        "  expected  solar, charging, half battery, double pilot, or a load or a role of "
        "loads.csv; for example 'solar'"
    )
    assert str(caught.value) == "\n".join(
        [
            "without: 'engine' is not something this boat has",
            expected,
            "without: nothing aboard is called 'tiler pilot'; did you mean 'tiller pilot'?",
            expected,
            "without: nothing aboard is called ''",
            expected,
        ]
    )


def test_a_page_pasted_by_mistake_is_not_repeated(passage):
    with pytest.raises(InputError) as caught:
        cases(passage, without=["x" * 100_000])
    text = f"without: nothing aboard is called '{'x' * 57}...'"
    assert str(caught.value).splitlines()[0] == text


def test_load_sets_keep_ever_less():
    shares = list(LOAD_SETS.values())
    assert shares[0] == (1.0, 1.0, 1.0, 1.0)
    for more, less in pairwise(shares):
        assert sum(less) < sum(more)
        assert less[0] == 1.0
