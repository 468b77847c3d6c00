"""A boat with wind, towed and shore chargers, from her files through `simulate` to its tables."""

import csv
import json

import pytest

# An invented boat that eats more than her small windmill and her spinner give, and lies alongside
# for two days at the end. No sun: the panels' part is tested elsewhere.
BOAT = """\
[passage]
name = "Windy"
depart = "2026-03-01 12:00"

[battery]
chemistry = "agm"
capacity = "200 Ah"

[[charger]]
name = "windmill"
kind = "wind"
diameter = "0.6 m"

[[charger]]
name = "spinner"
kind = "towed"
curve = "spinner.csv"

[[charger]]
name = "marina"
kind = "shore"
rated = "20 A"

[alternator]
nameplate = "45 A"

[engine]
rated = "14 kW"

[fuel]
tank = "80 L"

[charging]
start = "55 %"
stop = "75 %"
"""
LOADS = """\
load,draw,when,window,role
instruments,5 A,sailing; motoring,always,
lantern,1 A,sailing,night,sailing lights
deck lights,2 A,motoring,night,power lights
vhf,0.4 A,any,always,vhf
"""
ROUTE = """\
waypoint,position,speed,stop,motoring
A,38°00'N 030°00'W,5 kn,,2 h at start
B,32°00'N 030°00'W,,2 days berthed,
"""
#: Invented; 21 W at 5 kn, so some 35 Ah a day on its own.
SPINNER = "speed_kn,power_W\n0,0\n3,7\n5,21\n7,40\n"
SOURCES = ("wind", "water", "shore", "alternator")
#: Six significant digits in the files.
ROUNDED = {"rel": 2e-5, "abs": 2e-4}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("windy")
    files = {"boat.toml": BOAT, "loads.csv": LOADS, "route.csv": ROUTE, "spinner.csv": SPINNER}
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def simulated(folder):
    """What the command says in a process of its own, with four members."""
    import os
    import subprocess
    import sys
    from pathlib import Path

    root = Path(__file__).resolve().parents[2]
    command = [sys.executable, "-m", "powersim", "simulate", str(folder), "--step", "60 min"]
    return subprocess.run(
        [*command, "--members", "4", "--no-figures"],
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=os.environ | {"PYTHONPATH": str(root), "PYTHONIOENCODING": "utf-8"},
        timeout=120,
        check=False,
    )


def rows_of(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture
def hourly(folder, simulated):
    return rows_of(folder / "results" / "hourly.csv")


def of_state(hourly, *states):
    """Hours wholly in one of the states: in that of landfall she sails and then lies alongside."""
    names = [row["state"] for row in hourly]
    return [
        row
        for row, name, later in zip(hourly, names, [*names[1:], names[-1]], strict=True)
        if name in states and later in states
    ]


def total(rows, *names):
    return sum(float(row[name]) for row in rows for name in names)


def test_it_ends_well_and_fits_the_page(simulated):
    assert (simulated.returncode in (0, 1), simulated.stderr) == (True, "")
    assert max(map(len, simulated.stdout.splitlines())) <= 80
    assert "\nchargers " in simulated.stdout


def test_every_charger_gives_where_it_can_and_nowhere_else(hourly):
    under_way, berthed = of_state(hourly, "sailing", "motoring"), of_state(hourly, "berthed")
    assert len(berthed) == pytest.approx(48, abs=1)
    assert total(under_way, "shore_Ah") == total(berthed, "water_Ah") == 0.0
    # In the first two hours the engine is in gear, and the spinner aboard.
    assert total(hourly[:2], "water_Ah") == 0.0
    for rows, name in [(under_way, "wind_Ah"), (under_way, "water_Ah"), (berthed, "shore_Ah")]:
        assert total(rows, name) > 5.0


def test_what_the_spinner_gives_is_its_curve_over_the_volts(hourly):
    """By hand: 21 W at 5 kn, 3 % of them lost in the cable, over the voltage of the bank."""
    alone = [row for row in of_state(hourly, "sailing") if float(row["soc"]) < 0.9]
    assert len(alone) > 24
    for row in alone:
        taken_Ah = 0.97 * 21.0 / float(row["bank_V"])
        assert float(row["water_Ah"]) == pytest.approx(taken_Ah, rel=1e-3)


def test_the_bus_closes_in_every_hour_of_the_file(hourly):
    """What comes from all sources and out of the bank goes to the loads and into the bank."""
    for row in hourly:
        given_Ah = total([row], *(f"{source}_Ah" for source in SOURCES), "from_battery_Ah")
        taken_Ah = total([row], "loads_Ah", "into_battery_Ah")
        assert given_Ah == pytest.approx(taken_Ah, **ROUNDED)


def test_the_bank_closes_over_the_passage(hourly):
    """Charge in less charge out, gas and self-discharge is what the bank gained: 170 Ah of it."""
    gained_Ah = total(hourly, "into_battery_Ah") - total(
        hourly, "from_battery_Ah", "gassing_Ah", "self_discharge_Ah"
    )
    assert gained_Ah == pytest.approx(total(hourly, "change_Ah"), abs=0.02)
    assert gained_Ah == pytest.approx(170.0 * (float(hourly[-1]["soc"]) - 1.0), abs=0.02)


def test_energy_closes_over_the_passage(hourly):
    given_Wh = total(hourly, *(f"{source}_Wh" for source in SOURCES))
    losses = ["alternator_cable", "supply", "resistance", "gassing", "self_discharge"]
    gone_Wh = total(hourly, "loads_Wh", *(f"{loss}_loss_Wh" for loss in losses), "change_Wh")
    assert given_Wh == pytest.approx(gone_Wh, rel=1e-4)


def test_every_ledger_is_shown(folder, simulated, hourly):
    """The sums of the file are those of the summary, and those of the page but for rounding."""
    summary = json.loads((folder / "results" / "summary.json").read_text(encoding="utf-8"))
    days = summary["passage"]["days"]
    (line,) = (line for line in simulated.stdout.splitlines() if line.startswith("chargers "))
    for source in SOURCES[:3]:
        sum_Ah = total(hourly, f"{source}_Ah")
        assert summary["totals"][f"{source}_Ah"] == pytest.approx(sum_Ah, **ROUNDED)
        shown = float(line.split(f"{source} ")[1].split(" Ah")[0])
        band = summary["ensemble"][f"{source}_Ah"]
        assert shown == pytest.approx(band["mean"] / days, abs=0.5)
        assert 0.0 <= band["p10"] <= band["p50"] <= band["p90"]
    members = rows_of(folder / "results" / "members.csv")
    assert [int(row["member"]) for row in members] == [1, 2, 3, 4]
    winds = {row["wind_Ah"] for row in members}
    assert len(winds) == 4  # each has a wind of its own


def test_check_tells_them_and_what_to_mind(call, folder):
    outcome = call("check", folder)
    assert outcome.code == 0
    said = " ".join(outcome.out.split())
    assert "windmill, wind, up to" in said
    assert "spinner, towed, up to 40 W; marina, shore, 20.0 A at a berth" in said
    for word in ("blades maim", "take a finger", "residual-current device"):
        assert word in said
    assert max(map(len, outcome.out.splitlines())) <= 80
