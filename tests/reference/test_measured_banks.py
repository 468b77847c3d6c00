"""The middle bank and the members' banks against measured ones, and the tables of the docs.

Sources stand in the first lines of the data: a 17 Ah AGM bank (BSD-3-Clause, published with a paper
of 2019), figures of a 100 Ah one on a bench, one LiFePO4 cell (MIT), and a boatyard's, second hand.
"""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from bank_runs import (
    VRLA,
    bank_of,
    discharge_V,
    given_Ah,
    middle,
    read_runs,
    vrla_runs,
)

from powersim.physics.bank import discharge_resistance_ohm, emf_V

ROOT = Path(__file__).parents[2]
NOTES = (ROOT / "docs" / "model" / "battery.md").read_text(encoding="utf-8")
sys.path.insert(0, str(ROOT / "docs"))
import fit_bank  # noqa: E402


def number(cell):
    return float(cell.split()[0])


DISCHARGES = list(fit_bank.discharge_rows())
CHARGES = list(fit_bank.charge_rows())


def in_notes(cells):
    assert "| " + " | ".join(cells) + " |" in NOTES


@pytest.mark.parametrize("row", DISCHARGES, ids=[row[0] for row in DISCHARGES])
def test_volts_of_every_measured_discharge(row):
    """Given its 20-hour capacity alone."""
    _, gave, model, off, inside, _ = row
    assert number(off) < 0.08
    assert number(inside) >= 95.0
    assert number(model) == pytest.approx(number(gave), rel=0.06)
    in_notes(row)


@pytest.mark.parametrize("row", CHARGES, ids=[row[0] for row in CHARGES])
def test_tapers_of_every_measured_charge(row):
    """In points of the capacity. The first charge of the 17 Ah bank took in the most gas."""
    _, taper, model, tail, model_tail = row
    assert number(taper) == pytest.approx(number(model), abs=5.0)
    if tail:
        assert number(tail) == pytest.approx(number(model_tail), abs=5.0)
    in_notes(row)


def test_rested_volts_of_lithium():
    """From 10 to 90 %, 5 to 45 degC; and at -5 degC, where it must not be charged."""
    rows = list(fit_bank.lithium_rows())
    assert len(rows) == 6
    for row in rows:
        assert number(row[1]) < 15.0
        in_notes(row)


def test_the_code_has_what_was_fitted():
    """Rounded, within what the discharges tell apart: 0.04 V, and a quarter of an ohm Ah."""
    fitted, code = fit_bank.fitted_curves(), fit_bank.in_code()
    assert code[:3] == pytest.approx(fitted[:3], abs=0.04)
    assert code[3:] == pytest.approx(fitted[3:], abs=0.25)


def test_how_far_each_measured_bank_lies_from_the_middle_one():
    rows = list(fit_bank.measured_rows())
    kept = (ROOT / "tests" / "reference" / "data" / "measured_banks.csv").read_text("utf-8")
    for row in rows:
        assert ",".join(row) in kept
        name, *_, offset, slope, resistance = row
        in_notes((name, f"{offset} V", slope, resistance))
    assert len(rows) == 2


def test_the_curve_is_that_of_the_kernels_functions():
    battery = middle("agm", VRLA[1])
    bank, run = bank_of(battery, step_h=1.0), vrla_runs()[0]
    volts, moved = discharge_V(bank, run), np.concatenate([[0.0], run.Ah[1:]])
    for row in (0, 150, 300, len(moved) - 5):
        soc = 1.0 - moved[row] / bank.capacity_Ah
        ohm = discharge_resistance_ohm(bank, soc, run.bank_C[row])
        assert volts[row] == pytest.approx(emf_V(bank, soc) - run.amps[row] * ohm, abs=1e-9)


@pytest.mark.parametrize("kind", ["flooded", "gel", "agm"])
@pytest.mark.parametrize("ten_Ah", [None, 92.0, 99.0])
def test_a_5_hour_capacity_lasts_five_hours(kind, ten_Ah):
    """By definition; 99 and 80 Ah are a pair that no two wells give."""
    battery = middle(kind, 100.0, capacity_5h_Ah=80.0, capacity_10h_Ah=ten_Ah)
    assert given_Ah(battery, 16.0) == pytest.approx(80.0, abs=1e-6)


def held_bank(*given):
    done = subprocess.run(
        [sys.executable, ROOT / "docs" / "held_bank.py", *map(str, given)],
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


def test_a_record_of_your_own_is_held_against_the_model(tmp_path):
    """Hours, and amperes without a sign: 8 A for ten hours from 12.8 to 11.2 V."""
    path = tmp_path / "mine.csv"
    rows = (f"{h / 10},{12.8 - 0.016 * h:.3f},8.0" for h in range(101))
    path.write_text("time_h,volts,amps\n" + "\n".join(rows) + "\n")
    code, said = held_bank(path, "--kind", "agm", "--capacity", "90")
    assert code == 0
    assert "discharge,    8.00 A: gave   80.0 Ah" in said
    assert max(map(len, said.splitlines())) <= 80
    (run,) = read_runs(path, capacity_Ah=90.0)
    assert (run.what, run.amps[0], run.hours[-1]) == ("discharge", 8.0, 10.0)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("hour,U\n0,12\n", "no column of time or volts or amps among hour, U"),
        ("time_h,volts,amps\n0,12.8,8\n1,twelve,8\n", "mine.csv:3: volts: 'twelve' is no volts"),
        ("time_h,volts,amps\n1,12.8,8\n0,12.7,8\n", "mine.csv:3: time runs backwards"),
    ],
)
def test_a_record_that_cannot_be_read_is_told(tmp_path, text, says):
    path = tmp_path / "mine.csv"
    path.write_text(text)
    with pytest.raises(SystemExit) as caught:
        read_runs(path, capacity_Ah=90.0)
    assert says in str(caught.value)


def test_a_record_in_which_nothing_happens_is_told(tmp_path):
    path = tmp_path / "mine.csv"
    path.write_text("time_h,volts,amps\n0,12.8,8\n0.1,12.7,8\n")
    code, said = held_bank(path, "--kind", "agm", "--capacity", "90")
    assert (code, "nothing in it moves a fifth of 90 Ah" in said) == (1, True)
