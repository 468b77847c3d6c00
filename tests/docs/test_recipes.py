"""Every recipe for a notebook runs, in the order of its page, and does what it says it does."""

import matplotlib
import numpy as np
import pandas as pd
import pytest
from pages import ROOT, blocks

from powersim.inputs.starter import demo_files

PAGE = ROOT / "docs" / "reference" / "recipes.md"
#: Two days of the demo's boat, in little enough time for a test.
ROUTE = "waypoint,position,speed\nA,40 N 30 W,5 kn\nB,36 N 30 W,\n"
QUICK = {
    "members=200": "members=3, step_h=1.0",
    "powersim.plan(passage)": "powersim.plan(passage, members=20, step_h=1.0)",
    'from_date="worst"': 'from_date="worst", step_h=1.0',
}


@pytest.fixture(scope="module")
def names(tmp_path_factory):
    """What the recipes leave behind, one after the other in one notebook."""
    pytest.importorskip("xarray", reason="a recipe wants the extra 'xarray'")
    here = tmp_path_factory.mktemp("notebook")
    (here / "my-passage").mkdir()
    for name, text in (demo_files() | {"route.csv": ROUTE}).items():
        (here / "my-passage" / name).write_text(text, encoding="utf-8")
    told = []
    names = {"print": lambda *words: told.append(" ".join(map(str, words)))}
    with pytest.MonkeyPatch.context() as patch, matplotlib.rc_context({"backend": "agg"}):
        patch.chdir(here)
        for block in blocks(PAGE, "python"):
            for before, after in QUICK.items():
                block = block.replace(before, after)
            exec(block, names)
    return names | {"told": told, "here": here}


def test_the_weeks_add_up_to_the_passage(names):
    ensemble, weeks = names["result"].ensemble, names["weeks"]
    assert weeks.runs.sum(axis=0) == pytest.approx(ensemble.charging_runs)
    days = [line for line in names["told"] if " days: " in line]
    assert [float(line.split()[0]) for line in days] == pytest.approx(weeks.days, abs=0.05)


def test_each_capacity_and_each_departure_has_its_answer(names):
    told = names["told"]
    assert [line.split()[0] for line in told[:3]] == ["220", "330", "440"]
    assert [line.split()[0] for line in told[3:6]] == ["2026-08-15", "2026-09-05", "2026-09-25"]
    assert {line.split()[1] for line in told[3:6]} <= {"holds", "FAILS"}


def test_pictures_and_spreadsheets_are_written(names):
    assert all((names["here"] / name).stat().st_size > 5000 for name in ("soc.png", "bands.png"))
    assert list(names["bands"].columns) == [0.1, 0.5, 0.9]
    written = pd.read_csv(names["here"] / "members.csv", index_col=0, parse_dates=True)
    assert list(written.columns) == ["1", "2", "3"]
    assert written.index.equals(names["result"].hourly.index)
    assert np.allclose(written, names["soc"])


def test_the_fridge_is_in_the_budget(names):
    """4 A for 35 % of the day, by hand: 33.6 Ah."""
    day = names["powersim"].budget(names["with_fridge"]).days[0]
    assert next(row.charge_Ah for row in day.rows if row.load == "fridge") == pytest.approx(33.6)


def test_a_warm_answer_is_the_one_of_a_fresh_simulation(names):
    fresh = names["powersim"].simulate(names["changed"], members=3, step_h=1.0).summary
    lowest_soc = fresh["average"]["charge"]["lowest_soc"]
    assert any(line == f"6 h/day {lowest_soc}" for line in names["told"])


def test_more_hours_of_the_laptop_leave_less_charge(names):
    lowest = [float(line.split()[-1]) for line in names["told"] if "h/day " in line]
    assert lowest == sorted(lowest, reverse=True)
    assert lowest[0] > lowest[-1]


def test_the_mistakes_are_told(names):
    assert names["told"][-2:] == [
        "battery.capacity: '220 W' is a power",
        "panel.arch.mount: 'mast' is not known here",
    ]
