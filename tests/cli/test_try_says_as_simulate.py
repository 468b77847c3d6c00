"""What the page says is what `simulate` says of the folder that it would write, to the digit."""

import json
from dataclasses import replace

import click
import pytest
from tried import MEMBERS, Page, STEP_h, folder_in, session_of

from powersim.cli.simulate import simulate, simulated
from powersim.planning.measures import measure_of, measured
from powersim.report.differences_told import difference_told, measure_told
from powersim.report.figure_fan import fan_figure
from powersim.report.files import answer
from powersim.report.verdict_view import verdict_view

#: Every kind of change, and some of them together.
CHANGES = {
    "a load left off": {"loads.laptop": None},
    "a load's draw": {"loads.tiller pilot.draw": "3.1 A"},
    "a load's hours": {"loads.laptop.on": "90 min/day", "loads.laptop.window": "night"},
    "a load more": {"loads.fridge": {"draw": "40 W", "on": "30 %", "temp": "fridge"}},
    "a supply": {"supply.laptop supply.idle": "2 W"},
    "a larger bank": {"battery.capacity": "200 Ah", "battery.floor": "45 %"},
    "another chemistry": {"battery.chemistry": "lifepo4"},
    "a default typed": {"battery.health": "70 %"},
    "a panel": {'panel."rail no. 2".power': "120 W"},
    "a panel more": {"panel.stern": {"power": "60 W", "mount": "clear"}},
    "a panel less": {"panel.arch": None},
    "the rule": {"charging.run": None, "charging.stop": "85 %", "charging.start": "70 %"},
    "the readings": {"charging.read_at": "05:00, 13:00, 21:00", "charging.hours": "any"},
    "no alternator": {"alternator": None},
    "the engine": {"engine.rated": "9 kW", "fuel.tank": "40 L", "fuel.reserve": None},
    "a week later": {"passage.depart": "2026-09-12 09:00"},
    "switching off": {"shedding.comfort_below": "60 %", "shedding.useful_below": "55 %"},
    "much at once": {
        "loads.cabin lights": None,
        "loads.ais.draw": "4 W",
        "battery.capacity": "150 Ah",
        "panel.arch.count": "2",
        'panel."rail no. 2"': None,
        "charging.start": "65 %",
        "charging.by_engine": "true",
        "passage.depart": "2026-09-20",
    },
}


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    return Page(session_of(folder_in(tmp_path_factory.mktemp("tried") / "four days")))


@pytest.fixture(scope="module")
def as_files_say(page):
    return result_of(page.session.folder)


def result_of(folder):
    """What the command makes of a folder, before it says or writes anything."""
    with click.Context(simulate):  # which the units aboard are set in
        return simulated(folder, step_h=STEP_h, members=MEMBERS)


def written(page, changes):
    """The folder that the page writes, and what it says of that."""
    told = page.ask("save", changes, into="new")
    return page.session.folder.parent / told["folder"].strip("'\"").rpartition("/")[2], told


def bare(figure):
    """A picture without its title, which says of a changed passage that it is one."""
    return replace(figure, charge=replace(figure.charge, name=""))


def without_changed(summary):
    return {name: one for name, one in summary.items() if name != "changed"}


@pytest.mark.parametrize("changes", CHANGES.values(), ids=CHANGES)
def test_of_every_kind_of_change(page, as_files_say, changes):
    told = page.ask("answer", changes)
    folder, saved = written(page, changes)
    trial, result = page.session._now.trials.known[-1], result_of(folder)
    boat = result.passage.boat
    assert trial.result.passage.boat == boat
    assert without_changed(trial.summary) == without_changed(answer(result))
    assert told["verdict"]["sentence"] == str(verdict_view(answer(result)).why)
    now, then = (measured(one.ensemble, one.passage.boat) for one in (result, as_files_say))
    assert [(one["id"], one["told"]) for one in told["measures"]] == [
        (name, measure_told(measure_of(name), values)) for name, values in now.items()
    ]
    for one in told["measures"]:
        measure = measure_of(one["id"])
        difference = measure.difference(then[one["id"]], now[one["id"]])
        assert one["difference"] == difference_told(measure, difference)
        assert one["label"] == measure.named(boat)
    assert bare(trial.figure) == bare(fan_figure(result))
    assert list(saved["changes"]) == [one["told"] for one in told["changed"]]


def test_as_the_command_prints_and_writes_it(page, call):
    changes = CHANGES["much at once"]
    verdict = page.ask("answer", changes)["verdict"]
    folder, _ = written(page, changes)
    out = folder / "results"
    done = call(
        *("simulate", folder, "--members", MEMBERS, "--step", "60 min", "--out", out),
        "--no-figures",
    )
    assert f"{verdict['word']} {verdict['sentence']}" in " ".join(done.out.split())
    assert done.code == (0 if verdict["holds"] else 1)
    summary = json.loads((out / "summary.json").read_text("utf-8"))
    told = page.session._now.trials.known[-1].summary
    assert without_changed(told) == without_changed(summary)
    assert (len(told["changed"]), summary["changed"]) == (len(changes), [])
