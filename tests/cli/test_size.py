"""`powersim size` on a short passage: what it prints, what it writes, what it refuses."""

import csv
import json
import os
import signal
import subprocess
import sys
import time

import pytest

import powersim
from powersim.errors import NotWrittenError
from powersim.planning import size as size_module
from powersim.planning import size_replan
from powersim.report import size_unfinished, writing

#: Invented: two days from the Azores southwards on a bank that wants the engine.
FILES = {
    "boat.toml": (
        '[passage]\nname = "two days"\ndepart = "2026-09-05 09:00"\n'
        '[battery]\nchemistry = "flooded"\ncapacity = "100 Ah"\nat_departure = "70 %"\n'
        'weight = "30 kg"\n'
        '[[panel]]\npower = "50 W"\nmount = "arch"\n'
        '[[controller]]\nkind = "mppt"\nrated = "10 A"\n'
        '[alternator]\ncharging = "40 A"\n'
        '[engine]\nrated = "10 kW"\n'
        '[fuel]\ntank = "50 L"\n'
        '[charging]\nstart = "60 %"\nstop = "75 %"\n'
    ),
    "loads.csv": "load,draw\nall of it,24 W\n",
    "route.csv": "waypoint,position,speed\nA,38 00 N 28 00 W,5 kn\nB,34 00 N 28 00 W,\n",
}
QUICK = ("--members", "20", "--jobs", "1", "--step", "60 min")
RANGES = ("--battery", "100:300:100Ah", "--solar", "50W,200W")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "two-days"
    path.mkdir()
    for name, text in FILES.items():
        (path / name).write_text(text, encoding="utf-8")
    return path


def written(folder):
    return sorted(path.name for path in folder.iterdir() if not path.name.startswith("."))


def test_a_page_and_three_files(call, folder):
    outcome = call("size", "two-days", *RANGES, *QUICK)
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    assert outcome.out.startswith("two days: 6 choices, each in the same 20 simulated passages. ")
    for heading in ("The boat as she is", "Cheapest adequate choices", "The next best"):
        assert f"\n{heading}\n{'-' * len(heading)}\n" in outcome.out
    assert "Results in two-days/results: size.csv, size.json, size.png." in outcome.out
    results = folder / "results"
    assert written(results) == ["size.csv", "size.json", "size.png"]
    assert (results / "size.png").read_bytes().startswith(b"\x89PNG")
    rows = list(csv.DictReader((results / "size.csv").read_text(encoding="utf-8").splitlines()))
    sizes = [(row["battery_Ah"], row["solar_W"]) for row in rows]
    assert sizes == [(Ah, watts) for Ah in ("100", "200", "300") for watts in ("50", "200")]
    answer = json.loads((results / "size.json").read_text(encoding="utf-8"))
    assert [choice["adequate"] for choice in answer["choices"]] == [
        row["adequate"] == "yes" for row in rows
    ]


@pytest.mark.slow
def test_the_answer_is_the_same_with_two_processes(call, folder):
    alone = call("size", "two-days", *RANGES, *QUICK, "--json", "--no-figures", "--out", "one")
    several = ("--members", "20", "--jobs", "2", "--step", "60 min")
    both = call("size", "two-days", *RANGES, *several, "--json", "--no-figures", "--out", "two")
    assert (alone.code, alone.err) == (both.code, both.err) == (0, "")
    assert alone.out == both.out
    assert (folder.parent / "one" / "size.csv").read_bytes() == (
        folder.parent / "two" / "size.csv"
    ).read_bytes()


def test_a_notebook_gets_the_same(call, folder):
    call("size", "two-days", *RANGES, "--chemistry", "agm,lifepo4", *QUICK, "--no-figures")
    answer = json.loads((folder / "results" / "size.json").read_text(encoding="utf-8"))
    sized = powersim.size(
        powersim.load(folder),
        batteries_Ah=(100.0, 200.0, 300.0),
        solars_W=(50.0, 200.0),
        chemistries=("agm", "lifepo4"),
        members=20,
        step_h=1.0,
        jobs=1,
    )
    assert [point.fuel_L for point in sized.points] == [
        choice["fuel_L"] for choice in answer["choices"]
    ]
    marked = {choice["mark"]: choice["weight_kg"] for choice in answer["choices"]}
    assert [one.point.weight_kg for one in sized.front] == [
        marked[place] for place in sorted(marked) if place
    ]


def test_another_chemistry_brings_its_rule_and_says_what_stays(call, folder):
    outcome = call("size", "two-days", "--chemistry", "lifepo4", *QUICK, "--no-figures")
    assert "kept with every chemistry, as boat.toml says: alternator.charging = 40 A" in " ".join(
        outcome.out.split()
    )
    answer = json.loads((folder / "results" / "size.json").read_text(encoding="utf-8"))
    assert [choice["chemistry"] for choice in answer["choices"]] == ["flooded", "lifepo4"]
    # 30 kg as given; 100 Ah of lithium at 0.12 kg/Ah; 50 W at 0.075; 40 A at 0.13.
    assert [choice["weight_kg"] for choice in answer["choices"]] == pytest.approx([38.95, 20.95])


def test_in_brief(call, folder):
    outcome = call("size", "two-days", *RANGES, *QUICK, "--quiet", "--no-figures")
    assert outcome.code == 0
    assert "The boat as she is" not in outcome.out
    assert "Cheapest adequate choices" in outcome.out


def test_a_rule_of_its_own_for_the_marked_choices(call, folder):
    options = ("--battery", "200Ah", "--solar", "100W", "--replan", "--no-figures", "--quiet")
    outcome = call("size", "two-days", *options, *QUICK, "--risk", "30 %")
    assert (outcome.code, outcome.err) == (0, "")
    text = " ".join(outcome.out.split())
    assert "With a rule of its own" in text
    assert "checked in 1000 other simulated passages" in text
    answer = json.loads((folder / "results" / "size.json").read_text(encoding="utf-8"))
    marked = sorted(choice["mark"] for choice in answer["choices"] if choice["mark"])
    assert [rule["mark"] for rule in answer["rules"]] == marked
    assert all(rule["holds"] and rule["floor_frac"] <= 0.3 for rule in answer["rules"])


def test_no_choice_is_adequate(call, folder):
    boat = folder / "boat.toml"
    bare = boat.read_text(encoding="utf-8").replace('start = "60 %"', 'hours = "09:00-09:05"')
    boat.write_text(bare.replace('stop = "75 %"', ""), encoding="utf-8")
    outcome = call("size", "two-days", "--battery", "60Ah", *QUICK, "--no-figures")
    assert outcome.code == 1
    assert "None is adequate" in outcome.out
    assert "The nearest\n-----------\n" in outcome.out


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            (),
            "size: no sizes are listed to choose from\n"
            "  expected  for example --battery 150:400:50Ah --solar 100:400:100W\n"
            "\n1 problem\n",
        ),
        (
            ("--battery", "400:150:50Ah", "--solar", "100:400:0W"),
            "battery: '400:150:50Ah' runs backwards\n"
            "  expected  capacities at the 20-hour rate, for example --battery 150:400:50Ah\n"
            "solar: '100:400:0W' has a step that is not above 0 W\n"
            "  expected  watts of all panels together, for example --solar 100:400:100W\n"
            "\n2 problems\n",
        ),
        (
            ("--battery", "1:200:1Ah", "--solar", "1:100:1W"),
            "size: these ranges make 20,000 choices\n"
            "  expected  at most 10,000; take longer steps, for example 150:400:50Ah\n"
            "\n1 problem\n",
        ),
        (
            ("--alternator", "45W"),
            "alternator: '45W' is a power\n"
            "  expected  hot output at charging revs, for example --alternator 45A,90A\n"
            "\n1 problem\n",
        ),
        (
            ("--chemistry", "lithium"),
            "chemistry: 'lithium' is not known here\n"
            "  expected  kinds of battery, of flooded, gel, agm, lifepo4, for example "
            '--chemistry "agm,lifepo4"\n'
            "\n1 problem\n",
        ),
        (
            ("--battery", "100Ah", "--backend", "dask"),
            "scheduler: --backend dask needs the address of a scheduler\n"
            "  expected  what 'dask scheduler' prints, for example --scheduler "
            "tcp://192.168.1.20:8786\n"
            "\n1 problem\n",
        ),
        (
            ("--battery", "100Ah", "--scheduler", "tcp://192.168.1.20:8786"),
            "scheduler: --scheduler is given without --backend dask\n"
            "  expected  --backend dask --scheduler tcp://192.168.1.20:8786\n"
            "\n1 problem\n",
        ),
    ],
)
def test_what_is_refused(call, folder, options, message):
    outcome = call("size", "two-days", *options)
    assert (outcome.code, outcome.out, outcome.err) == (2, "", message)
    assert not (folder / "results").exists()


@pytest.mark.parametrize(
    ("risk", "why"),
    [
        ("0 %", "cannot be searched for: no number of passages shows that nothing ever fails"),
        ("100 %", "cannot be searched for: then every choice would do"),
        ("120 %", "is not a share from 0 % to below 100 %"),
    ],
)
def test_a_risk_that_cannot_be_searched_for(call, folder, risk, why):
    outcome = call("size", "two-days", *RANGES, "--risk", risk)
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err.splitlines()[-1] == (
        f"Error: Invalid value for '--risk': {risk!r} {why}, such as 5 %"
        if risk == "120 %"
        else f"Error: Invalid value for '--risk': {risk!r} {why}; such as 5 %"
    )


def test_a_boat_without_panels_has_none_to_scale(call, folder):
    boat = folder / "boat.toml"
    text = boat.read_text(encoding="utf-8")
    bare = text.replace('[[panel]]\npower = "50 W"\nmount = "arch"\n', "")
    boat.write_text(
        bare.replace('[[controller]]\nkind = "mppt"\nrated = "10 A"\n', ""), encoding="utf-8"
    )
    outcome = call("size", "two-days", "--solar", "50W", *QUICK)
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err == (
        "size: there are no panels to scale\n"
        "  expected  such a part in boat.toml first, whatever its size\n\n1 problem\n"
    )


def test_a_file_in_the_way_is_told_before_the_work(call, folder):
    (folder / "results").mkdir()
    (folder / "results" / "size.csv").write_text("mine\n", encoding="utf-8")
    outcome = call("size", "two-days", "--battery", "100:9000:1Ah", "--members", "20000")
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err == (
        "powersim: two-days/results holds size.csv, not written by powersim or changed since; "
        "name another folder, or overwrite with --force\n"
    )


@pytest.fixture
def stopped_after(monkeypatch):
    """Ctrl-C after so many choices; gives the list of all that were tried."""
    tried = []

    def stop(count):
        def points(study, choices, **where):
            for done, point in enumerate(honest(study, choices, **where)):
                if done == count:
                    raise KeyboardInterrupt
                tried.append(point.choice)
                yield point

        monkeypatch.setattr(size_module, "points", points)
        return tried

    honest = size_module.points
    return stop


def test_ctrl_c_keeps_what_is_finished_and_resume_goes_on(call, folder, stopped_after):
    options = ("size", "two-days", *RANGES, *QUICK, "--no-figures", "--json")
    whole = call(*options, "--out", "whole")
    tried = stopped_after(4)
    outcome = call(*options)
    assert (outcome.code, outcome.out) == (130, "")
    kept = os.path.join("two-days", "results", "size-unfinished.json")
    assert outcome.err == (
        f"4 of 6 choices are kept in {kept}; the same command with --resume goes on\n"
        "powersim: stopped\n"
    )
    assert written(folder / "results") == ["size-unfinished.json"]
    # Without --resume it is not begun again unasked.
    again = call(*options)
    assert (again.code, again.out) == (2, "")
    assert again.err == (
        f"powersim: {kept} holds what is finished of a search that was stopped; go on with it by "
        "--resume, or begin again with --force\n"
    )
    resumed = call(*options, "--resume")
    assert (resumed.code, resumed.err) == (0, "")
    assert resumed.out == whole.out
    assert len(tried) == len(set(tried)) == 6
    assert written(folder / "results") == ["size.csv", "size.json"]
    whole_csv, resumed_csv = (
        (place / "size.csv").read_bytes() for place in (folder.parent / "whole", folder / "results")
    )
    assert resumed_csv == whole_csv


def test_a_search_goes_on_where_what_is_finished_cannot_be_kept(call, folder, monkeypatch):
    said = "cannot write to two-days/results: No space left on device; nothing was written"

    def full(*_, **__):
        raise NotWrittenError(said)

    monkeypatch.setattr(size_unfinished, "write_all", full)
    monkeypatch.setattr(size_unfinished, "_PACE_s", 0.0)
    monkeypatch.setattr(writing, "write_all", full)
    outcome = call("size", "two-days", "--battery", "100Ah,220Ah", *QUICK, "--json")
    assert outcome.code == 74
    assert json.loads(outcome.out)
    assert outcome.err == (
        f"powersim: going on, but what is finished is not kept: {said}\npowersim: {said}\n"
    )


def test_ctrl_c_before_anything_is_finished_leaves_nothing(call, folder, stopped_after):
    stopped_after(0)
    outcome = call("size", "two-days", *RANGES, *QUICK)
    assert (outcome.code, outcome.out, outcome.err) == (130, "", "powersim: stopped\n")
    assert not (folder / "results").exists()


def test_ctrl_c_among_the_rules_keeps_all_choices(call, folder, monkeypatch):
    def interrupted(asked, choices, **where):
        assert choices
        raise KeyboardInterrupt

    monkeypatch.setattr(size_replan, "replan", interrupted)
    options = ("size", "two-days", *RANGES, *QUICK, "--no-figures")
    outcome = call(*options, "--replan")
    kept = os.path.join("two-days", "results", "size-unfinished.json")
    assert (outcome.code, outcome.out) == (130, "")
    assert outcome.err == (
        f"all choices are kept in {kept}; the same command with --resume goes on\n"
        "powersim: stopped\n"
    )
    assert call(*options, "--resume").code == 0
    assert written(folder / "results") == ["size.csv", "size.json"]


def test_resume_refuses_another_question(call, folder, stopped_after):
    stopped_after(2)
    call("size", "two-days", *RANGES, *QUICK)
    outcome = call("size", "two-days", *RANGES, *QUICK, "--seed", "5", "--resume")
    assert (outcome.code, outcome.out) == (2, "")
    kept = os.path.join("two-days", "results", "size-unfinished.json")
    assert outcome.err == (
        f"{kept}: answers another question: begun with --seed 1, and now it is --seed 5\n"
        "  expected  what it was begun with; or --force in place of --resume to begin again\n"
        "\n1 problem\n"
    )
    stopped_after(6)  # which is all of them
    assert call("size", "two-days", *RANGES, *QUICK, "--seed", "5", "--force").code == 0


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="a group of processes is stopped as a shell does")
def test_a_real_ctrl_c_reaches_two_processes(folder, environment):
    """As a terminal sends it: to the command and to the processes that work for it."""
    command = ["size", "two-days", "--battery", "100:4000:1Ah", "--members", "20", "--jobs", "2"]
    with subprocess.Popen(
        [sys.executable, "-m", "powersim", *command],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
        start_new_session=True,
    ) as process:
        kept, begun_s = folder / "results" / "size-unfinished.json", time.monotonic()
        while not kept.exists() and time.monotonic() - begun_s < 60.0:
            time.sleep(0.1)
        os.killpg(process.pid, signal.SIGINT)
        out, err = process.communicate(timeout=30)
    assert (process.returncode, out) == (130, "")
    count = len(json.loads(kept.read_text(encoding="utf-8"))["points"])
    assert err == (
        f"{count} of 3901 choices are kept in two-days/results/size-unfinished.json; the same "
        "command with --resume goes on\npowersim: stopped\n"
    )
    assert count > 0
