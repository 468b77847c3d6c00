"""Whatever is moved on the page, in whatever order: the answer is that of the files as they are."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tried import Page, folder_in, listed, session_of

from powersim import api
from powersim.errors import InputError
from powersim.inputs.folder import load_folder
from powersim.report.figure_fan import fan_figure
from powersim.report.files import answer
from powersim.tryout.changes import values_of

MEMBERS, STEP_h = 3, 1.0
#: What each place may be given; some of it is no value at all, and some rules out something else.
VALUES = {
    "loads.laptop": (None,),
    "loads.laptop.draw": ("20 W", "45 W", "3 A", "30", "4,5 W"),
    "loads.tiller pilot.on": ("30 %", "9 h/day", "25 h/day"),
    "loads.cabin lights.count": ("0", "2", "-1"),
    "loads.fridge": ({"draw": "40 W", "on": "30 %", "spread": "30 %"}, None),
    "battery.capacity": ("60 Ah", "200 Ah", "200"),
    "battery.chemistry": ("agm", "lifepo4"),
    "battery.floor": ("40 %", "10 %", None),
    "panel.arch.power": ("20 W", "150 W"),
    "panel.arch": (None,),
    "panel.stern": ({"power": "60 W"},),
    "charging.start": ("60 %", "90 %", "abc"),
    "charging.run": ("30 min", "3 h", None),
    "charging.read_at": ("06:00", "at any moment"),
    "alternator": (None,),
    "engine.rated": ("9 kW", "20 kW"),
    "fuel.tank": ("20 L", "90 L"),
    "passage.depart": ("2026-09-12 09:00", "2026-10-01", "soon"),
}
MOVES = st.sampled_from([(place, value) for place, some in VALUES.items() for value in some])
#: A move, or what is moved last undone.
STEPS = st.lists(st.one_of(MOVES, st.just("undo")), min_size=1, max_size=6)


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    folder = folder_in(tmp_path_factory.mktemp("any") / "order")
    route = (folder / "route.csv").read_text("utf-8")
    (folder / "route.csv").write_text(route.replace("32 00.0 N", "34 00.0 N"), encoding="utf-8")
    return Page(session_of(folder, members=MEMBERS, step_h=STEP_h))


def or_problems(ask, *of, **more):
    """What comes of it, or all that is wrong, in the words of `check`."""
    try:
        return ask(*of, **more)
    except InputError as error:
        return [str(one) for one in error.problems]


@settings(max_examples=8)
@given(steps=STEPS)
def test_the_last_answer_is_that_of_the_changes_that_stand(page, steps):
    folder, changes, told = page.session.folder, {}, None
    for step in steps:
        if step == "undo":
            if changes:
                changes.popitem()
        else:
            changes |= dict([step])
        told = or_problems(page.ask, "answer", changes)
    values = values_of(listed(changes))
    passage = or_problems(load_folder, folder, values=values)
    if isinstance(passage, list):
        assert told == passage
        return
    result = api.prepare(passage, step_h=STEP_h, members=MEMBERS).simulate()
    trial = page.session._now.trials.trial(values, lambda _done_frac: None)
    assert trial.summary == answer(result)
    assert trial.figure == fan_figure(result)
    assert told["changed"] == [{"place": one.place, "told": one.told} for one in passage.changed]
    if passage.changed:  # what would be written is read back, and refused if it said anything else
        page.ask("save", changes, into="new")
