"""`powersim report` on a short passage and on the demo."""

import json
import re

import pytest

from powersim.inputs.starter import demo_files, starter_files

#: Enough for what is asked here, and quick.
ALONE = ("--members", "1")


@pytest.fixture
def short(tmp_path, monkeypatch):
    """The starter's boat on a passage of two days, in a folder "mine" where the command is run."""
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "mine"
    folder.mkdir()
    route = "waypoint,position,speed\nA,38 30 N 28 30 W,4 kn\nB,36 00 N 29 00 W,\n"
    for name, text in (starter_files() | {"route.csv": route}).items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def written(folder):
    return sorted(path.name for path in folder.iterdir() if not path.name.startswith("."))


def test_the_page_is_written_and_says_what_the_summary_says(call, short, undrawn):
    outcome = call("report", "mine", "--step", "60 min", *ALONE)
    assert outcome.err == ""
    assert outcome.out.splitlines()[-1] == "Wrote mine/results/report.html"
    assert written(short / "results") == ["report.html"]
    told = call("simulate", "mine", "--step", "60 min", "--no-figures", "--json", *ALONE)
    assert outcome.code == told.code
    summary = json.loads(told.out)
    page = (short / "results" / "report.html").read_text(encoding="utf-8")
    assert outcome.out.split()[0] == ("HOLDS" if summary["holds"] else "FAILS")
    for key, found in (
        ("average.charge.lowest_soc", summary["average"]["charge"]["lowest_soc"]),
        ("average.fuel.left_L", summary["average"]["fuel"]["left_L"]),
        ("passage.days", summary["passage"]["days"]),
    ):
        (value,) = set(re.findall(rf'<data value="([^"]+)" data-key="{re.escape(key)}">', page))
        assert json.loads(value) == found


@pytest.mark.slow
def test_pictures_by_themselves_elsewhere(call, short):
    outcome = call(
        "report", "mine", "--step", "60 min", "--format", "pdf", "--out", "there", *ALONE
    )
    names = ["budget.pdf", "energy.pdf", "fuel.pdf", "map.pdf", "report.html", "soc.pdf"]
    assert written(short.parent / "there") == names
    assert sorted(re.findall(r"Wrote there/(\S+)", outcome.out)) == names
    assert not (short / "results").exists()


@pytest.mark.slow
def test_the_card_comes_beside_the_page(call, short, undrawn):
    outcome = call("report", "mine", "--step", "60 min", "--card", *ALONE)
    assert written(short / "results") == ["card.pdf", "report.html"]
    assert (short / "results" / "card.pdf").read_bytes().startswith(b"%PDF-")
    assert "Wrote mine/results/card.pdf" in outcome.out


@pytest.mark.slow
def test_a_page_of_the_sailors_is_not_written_over(call, short, undrawn):
    (short / "results").mkdir()
    mine = short / "results" / "report.html"
    mine.write_text("mine")
    outcome = call("report", "mine", "--step", "60 min", *ALONE)
    assert (outcome.code, mine.read_text()) == (2, "mine")
    assert "--force" in outcome.err
    assert call("report", "mine", "--step", "60 min", "--force", "--quiet", *ALONE).err == ""
    assert mine.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_mistakes_write_nothing(call, short):
    path = short / "boat.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r'capacity = "\d+ Ah"', 'capacity = "220 W"', text), encoding="utf-8")
    outcome = call("report", "mine")
    assert (outcome.code, outcome.out) == (2, "")
    assert not (short / "results").exists()


@pytest.mark.slow
def test_a_passage_that_fails_in_members_is_exit_code_1(call, tmp_path):
    for name, text in demo_files().items():
        text = text.replace('capacity = "220 Ah"', 'capacity = "60 Ah"')
        (tmp_path / name).write_text(text, encoding="utf-8")
    outcome = call("report", tmp_path, "--members", "3", "--step", "60 min", "--quiet")
    assert (outcome.code, outcome.err) == (1, "")
    assert outcome.out.startswith("FAILS  of 3 simulated passages, all fail")
    page = (tmp_path / "results" / "report.html").read_text(encoding="utf-8")
    assert "of 3 simulated passages, all fail" in re.sub("<[^>]+>", "", page)
    assert len(page.encode()) < 2_000_000  # 32 days, hour by hour, with all pictures
