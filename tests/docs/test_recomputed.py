"""The pages of docs/model suffice: who has them alone gets our numbers (tests/recomputed).

The demo passage in the mean sky, hour by hour, by a second description that uses numpy,
pandas' calendar, pvlib and geographiclib, and nothing of ours. She motors out and in and through
calms, fills her bank and floats it, lies at anchor and alongside, and charges by rules of several
kinds, in runs that begin and end within a step.
"""

import ast
import re
import sys

import numpy as np
import pytest
from builders import in_average
from pages import ROOT
from recomputed.passage import COLUMNS, hourly

import powersim

DEMO = ROOT / "loads" / "iceland-to-cabo-verde"
CLIMATOLOGY = ROOT / "powersim" / "sky" / "data" / "ocean_climatology.npz"

LEDGERS = ["fuel_charging_L", "fuel_motoring_L", "fuel_alternator_motoring_L", "fuel_heater_L"]

#: By how much they may differ in an hour, and by how much they do. Our sun takes its parallax at
#: the mean distance, which moves it by 0.00002 degree, and with it the light by a millionth.
QUIET = {
    "soc": 1e-6,  # 2e-7, by which the engine has started sooner or later days ago
    "bank_V": 2e-5,  # 1e-5, as the last of the sun leaves float
    "solar_Ah": 5e-5,  # 3e-5, as the bank fills up, else 5e-6
    "alternator_Ah": 4e-5,  # 2e-5, in gear, what the sun leaves
    "loads_Ah": 2e-6,  # 8e-7, in the hours of sunset and sunrise
    "charging_h": 0.0,
    "fuel_L": 1e-7,  # 3e-8, the alternator's share in gear
}
#: The engine starts as charge crosses 65 %. It falls by 0.01 an hour, so that 2e-7 of charge are
#: 2e-5 h of the engine; at 30 A these are 6e-4 Ah, 3e-6 of charge, and in 1.7 V of lift 4e-5 V.
CHARGING = {
    "soc": 5e-6,
    "bank_V": 1e-4,
    "solar_Ah": 5e-5,
    "alternator_Ah": 1e-3,
    "loads_Ah": 2e-5,
    "charging_h": 5e-5,
    "fuel_L": 3e-5,
}


#: Rules of which each shows something else, in place of the demo's own.
RULES = {
    "always known, by level": 'read_at = []\nstart = "65 %"\nstop = "80 %"',
    "read, by the ammeter": 'read_at = ["06:00", "18:00"]\nstart = "75 %"\nstop_below = "18 A"',
}


@pytest.fixture(scope="module", params=RULES)
def folder(request, tmp_path_factory):
    copy = tmp_path_factory.mktemp("demo")
    for path in DEMO.iterdir():
        if path.is_dir():  # answers may lie beside the files
            continue
        (copy / path.name).write_bytes(path.read_bytes())
    text = (copy / "boat.toml").read_text(encoding="utf-8")
    rule = f'[charging]\n{RULES[request.param]}\nhours = "08:00-20:00"\n'
    text = re.sub(r"^\[charging\]\n(?:(?!\[).*\n?)*", rule, text, flags=re.MULTILINE)
    (copy / "boat.toml").write_text(text, encoding="utf-8")
    return copy


@pytest.fixture(scope="module")
def recomputed(folder):
    return hourly(folder, climatology=CLIMATOLOGY)


@pytest.fixture(scope="module")
def ours(folder):
    hours = in_average(powersim.load(folder)).hourly
    return hours.assign(fuel_L=hours[LEDGERS].sum(axis=1))


@pytest.mark.parametrize("name", COLUMNS)
def test_the_pages_give_our_numbers(recomputed, ours, name):
    runs = recomputed["charging_h"] > 0.0
    allowed = np.where(runs, CHARGING[name], QUIET[name])
    np.testing.assert_array_less(np.abs(recomputed[name] - ours[name]), allowed + 1e-15)


def test_the_passage_has_what_is_told_of_it(recomputed, ours):
    """Else the figures above would hold of less than they say."""
    assert len(recomputed["soc"]) == len(ours) == 769
    assert set(ours["state"]) == {"motoring", "sailing", "anchored", "berthed"}
    assert (ours["days_since_full"] == 0.0).any()
    run_h = recomputed["charging_h"]
    assert np.count_nonzero((run_h > 0.0) & (run_h < 1.0)) >= 6
    assert not ours["dark_h"].any()


def test_it_has_nothing_of_ours():
    pages = sorted((ROOT / "tests" / "recomputed").glob("*.py"))
    names = {name for path in pages for name in imported(path)}
    allowed = {"numpy", "pandas", "pvlib", "geographiclib", "recomputed"}
    assert names - set(sys.stdlib_module_names) == allowed


def imported(path):
    """The first part of every module's name that a file imports."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module.split(".")[0]
