"""`powersim plan` on a short passage of the demo's boat."""

import csv
import json

import pytest

from powersim.inputs.starter import demo_files

ROUTE = "waypoint,position,speed\nStart,52 00.0 N 020 00.0 W,5 kn\nEnd,46 00.0 N 020 00.0 W,\n"
QUICK = ("--members", "20", "--step", "60 min")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Four days of September in the North Atlantic."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "short").mkdir()
    for name, text in (demo_files() | {"route.csv": ROUTE}).items():
        (tmp_path / "short" / name).write_text(text, encoding="utf-8")
    change(tmp_path, "[battery]\n", '[battery]\nat_departure = "85 %"\n')
    return tmp_path


def change(folder, old, new):
    path = folder / "short" / "boat.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_a_rule_is_found_and_its_timetable_can_be_run(call, folder):
    outcome = call("plan", "short", *QUICK)
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    for words in ("HOLDS", "The rule, in ship's time", "How good it is", "[charging]"):
        assert words in outcome.out
    plan = folder / "short" / "results" / "plan.csv"
    rows = list(csv.DictReader(plan.read_text(encoding="utf-8").splitlines()))
    assert rows
    again = call(
        *("simulate", "short", "--engine-plan", plan, "--step", "60 min"),
        *("--json", "--no-figures", "--out", "again"),
    )
    charging_L = json.loads(again.out)["average"]["fuel"]["charging_L"]
    assert charging_L == pytest.approx(sum(float(row["fuel_L"]) for row in rows), abs=0.01)


def test_the_rule_put_into_the_file_is_the_one_that_was_found(call, folder):
    answer = json.loads(call("plan", "short", *QUICK, "--json").out)
    outcome = call("plan", "short", *QUICK)
    keep = outcome.out.split("put this into boat.toml:\n\n")[1].split("\n\n")[0]
    boat = (folder / "short" / "boat.toml").read_text(encoding="utf-8")
    before, _, after = boat.partition("[charging]\n")
    rest = after[after.index("\n\n") :]
    (folder / "short" / "boat.toml").write_text(f"{before}{keep}{rest}", encoding="utf-8")
    again = call("simulate", "short", "--step", "60 min", "--json", "--no-figures")
    runs = json.loads(again.out)["average"]["engine"]["charging_runs"]
    assert runs == len(answer["runs"])


def test_when_no_rule_holds_it_says_why_and_exits_with_1(call, folder):
    change(folder, 'charging = "45 A"', 'charging = "2 A"')
    change(folder, 'at_departure = "85 %"', 'at_departure = "60 %"')
    outcome = call("plan", "short", *QUICK)
    assert outcome.code == 1
    told = " ".join(outcome.out.split())
    assert "FAILS NO RULE HOLDS: by the nearest, of 1000 simulated passages" in told
    assert "In the way: charge falls below its floor too often." in told
    assert "No rule holds; the nearest, which fails" in told
    assert "Leave the engine alone" not in told
    assert "How good it is" not in told
    plan = folder / "short" / "results" / "plan.csv"
    assert plan.read_text(encoding="utf-8").startswith("# NO RULE HOLDS")
    assert "put this into boat.toml" not in outcome.out


def test_a_boat_that_leaves_below_her_floor_gets_a_rule_and_no_darkness(call, folder):
    """At 48 % without the engine she is dark within the four days; with it, never."""
    change(folder, 'at_departure = "85 %"', 'at_departure = "48 %"')
    outcome = call("plan", "short", *QUICK, "--json")
    assert outcome.code == 0
    answer = json.loads(outcome.out)
    assert answer["rule"]["by_engine"]
    assert answer["verdict"]["counted_from_h"] == 24.0
    assert answer["verdict"]["dark"]["frac"] == 0.0
    simulated = call(
        *("simulate", "short", "--step", "60 min", "--json", "--no-figures", "--out", "s"),
    )
    charge = json.loads(simulated.out)["average"]["charge"]
    # A little of it goes before the first reading.
    assert (charge["lowest_soc"], charge["days_to_floor"]) == (pytest.approx(0.48, abs=0.005), 0.0)


@pytest.mark.parametrize(
    ("risk", "why"),
    [
        ("0 %", "no number of passages shows that nothing ever fails"),
        ("100 %", "then every choice would do"),
    ],
)
def test_a_risk_that_cannot_be_searched_for_is_refused(call, folder, risk, why):
    outcome = call("plan", "short", "--risk", risk)
    assert (outcome.code, outcome.out) == (2, "")
    assert f"'{risk}' cannot be searched for: {why}; such as 5 %" in outcome.err


def test_too_few_members_are_refused(call, folder):
    outcome = call("plan", "short", "--members", "3")
    assert outcome.code == 2
    assert "from 20 to 20,000" in outcome.err


def test_a_plan_of_the_sailors_own_is_not_written_over(call, folder):
    (folder / "mine").mkdir()
    (folder / "mine" / "plan.csv").write_text("mine", encoding="utf-8")
    outcome = call("plan", "short", *QUICK, "--out", "mine")
    assert outcome.code == 2
    assert "plan.csv" in outcome.err
    assert (folder / "mine" / "plan.csv").read_text(encoding="utf-8") == "mine"


def test_a_shared_bank_is_not_run_down_to_where_it_cannot_start(call, folder):
    change(folder, 'start_battery = "separate"', 'start_battery = "shared"')
    change(folder, 'start = "80 %"', 'start = "35 %"')
    outcome = call("plan", "short")
    assert (outcome.code, outcome.out) == (2, "")
    assert "charging.start: the engine would be started at 35 %" in outcome.err
    assert "40 % or more, or a starting battery of its own" in outcome.err


def test_a_plan_edited_into_overlapping_runs_is_refused(call, folder):
    plan = folder / "plan.csv"
    plan.write_text(
        "start_utc,run_min\n2026-09-06 08:00,60\n2026-09-06 08:45,30\n", encoding="utf-8"
    )
    outcome = call("simulate", "short", "--engine-plan", plan, "--no-figures")
    assert (outcome.code, outcome.out) == (2, "")
    assert "begins before the run of line 2 ends" in outcome.err
